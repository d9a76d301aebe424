"""Run statements read into legs: from one component to the next, with stretches and devices between them."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise
from typing import Any

from copperplate.model import Size
from copperplate.resolve.brackets import InLine, read_bracket
from copperplate.resolve.facts import Entry, fold, read_entries
from copperplate.resolve.reading import LEFT_OPEN, UNREAD, Facts, Place, Reading
from copperplate.resolve.words import SAMPLE_LENGTHS
from copperplate.standards.colours import COLOURS, colour_letters
from copperplate.syntax.tree import STROKES, Bracket, End, Number, RunElement, RunStatement, Segment, Stroke, Word
from copperplate.text import Span, nearest


@dataclass(frozen=True)
class Stretch:
    """One segment: its length one way, the routes in it with their lengths, whether it is sheathed."""

    length_m: float
    routes: tuple[tuple[str, float], ...]
    sheath: bool
    span: Span


Line = tuple[Stretch | InLine, ...]
"""What stands between two ends, in order."""


@dataclass(frozen=True)
class Leg:
    """A run from one component to the next, number `number` of the `of` of its statement.

    `sound` is False where something in it could not be read (its findings are made): it still connects its ends,
    and no run is made of it."""

    statement: RunStatement
    number: int
    of: int
    near: Word
    far: Word
    conductors: int
    stroke: Span
    line: Line
    size: Size | None
    size_span: Span | None
    parallel: int
    insulation_c: float | None
    insulation_v: float | None
    sound: bool
    signal_a: float | None = None
    data: bool = False
    bonding: bool = False
    lead: str = ""
    colour: str = ""
    remark: str = ""
    cores: tuple[Number, ...] = ()
    length_open: bool = False

    @property
    def serves(self) -> bool:
        """Whether it may end at control ports, which no power passes."""
        return self.data or self.signal_a is not None

    @property
    def tapped(self) -> tuple[bool, bool]:
        """Which of its ends, near and far, stand in the middle of the statement."""
        return self.number > 0, self.number < self.of - 1

    @cached_property
    def span(self) -> Span:
        """From its near end to its far one."""
        return self.near.span.to(self.far.span)

    @cached_property
    def length_m(self) -> float:
        """Its length one way."""
        return sum(thing.length_m for thing in self.line if isinstance(thing, Stretch))

    def beside(self, side: int) -> InLine | None:
        """The bracket right beside its near end (side 0) or its far one."""
        thing = self.line[-1 if side else 0] if self.line else None
        return thing if isinstance(thing, InLine) else None


def read_legs(reading: Reading) -> list[Leg]:
    """Every leg of every run, in the order of the plate."""
    legs: list[Leg] = []
    for statement in reading.plate.statements:
        if isinstance(statement, RunStatement):
            legs += _legs(statement, reading)
    return legs


def _legs(statement: RunStatement, reading: Reading) -> list[Leg]:
    elements = statement.elements
    ends = [(place, element.address) for place, element in enumerate(elements) if isinstance(element, End)]
    strokes = [element for element in elements if isinstance(element, Stroke)]
    if len(ends) < 2 or not strokes:
        reading.names.touched.update(address.text.split(".")[0] for _, address in ends)
        return []
    conductors = strokes[0].conductors if strokes[0].conductors in STROKES else 1
    legs: list[Leg] = []
    said: dict[str, Any] = {}
    for number, ((start, near), (stop, far)) in enumerate(pairwise(ends)):
        between = elements[start + 1 : stop]
        facts, line, sound = _line(statement, far, between, reading)
        leg = Leg(
            statement=statement,
            number=number,
            of=len(ends) - 1,
            near=near,
            far=far,
            conductors=conductors,
            stroke=next((element.span for element in between if isinstance(element, Stroke)), near.span),
            line=line,
            size=facts.values.get("size"),
            size_span=facts.spans.get("size"),
            parallel=facts.values.get("parallel", 1),
            insulation_c=facts.values.get("insulation_c"),
            insulation_v=facts.values.get("insulation_v"),
            cores=facts.values.get("cores", ()),
            colour=_colour(facts, Place("run", far.text, reading)),
            sound=sound,
            length_open="length_m" in facts.left_open,
        )
        legs.append(leg)
        said |= {key: facts.values[key] for key in _OF_THE_RUN & facts.values.keys()}
    return [replace(leg, **said) for leg in legs] if said else legs


_OF_THE_RUN = {"signal_a", "data", "bonding", "lead", "remark"}
"""What a stretch says once for its whole run."""


def _line(
    statement: RunStatement, far: Word, between: tuple[RunElement, ...], reading: Reading
) -> tuple[Facts, Line, bool]:
    """What a leg states of itself, what stands in its line, and whether all of it could be read."""
    subject = f"{far.text}.run" if statement.name is None else statement.name.text
    place, facts = Place("run", subject, reading), Facts()
    line: list[Stretch | InLine | None] = []
    for element in between:
        if isinstance(element, Segment):
            line.append(_stretch(element, facts, place))
        elif isinstance(element, Bracket):
            line.append(read_bracket(element, subject, reading))
    return facts, tuple(thing for thing in line if thing is not None), None not in line


def _colour(facts: Facts, place: Place) -> str:
    """The letters of the colour that a leg states."""
    word = facts.values.get("colour")
    if word is None:
        return ""
    letters = colour_letters(word.text)
    if not letters:
        place.report("CP128", word.span, likely=nearest(word.text, COLOURS), choices=tuple(COLOURS))
    return letters


_MILLIMETRES = re.compile(r"([0-9.]+) *mm")
_AREAS = ("0.5", "0.75", "1", "1.5", "2.5", "4", "6", "10", "16", "25", "35", "50", "70", "95", "120")
"""Numbers in front of mm that may well be areas (IEC 60228)."""
_LONGEST_GAP_MM = 16.0
"""No stretch of conductor is as short as this, in millimetres."""


def _stretch(segment: Segment, facts: Facts, place: Place) -> Stretch | None:
    """One stretch; what it states of the whole run (size, parallel, insulation) goes into `facts`."""
    own, reading, sample = Facts(), place.reading, SAMPLE_LENGTHS[place.reading.length_unit]["run"]
    routes: dict[str, float] = {}
    thin: list[tuple[Span, str]] = []
    length_m, lengths, sheath, sound = 0.0, 0, False, True
    for attribute, value, span in read_entries((item.atoms for item in segment.items), place, own):
        if attribute.key == "length_m":
            lengths += 1
            written = _MILLIMETRES.fullmatch(span.text)
            thin += [(span, written[1])] if written and written[1] in _AREAS else []
            if value is LEFT_OPEN:
                facts.left_open.add("length_m")
                value = reading.unmeasured_m
            sound = sound and value is not UNREAD
            length_m += value or 0.0
        elif attribute.key == "via":
            lengths += 1
            route_m = _via(value, place) if value is not UNREAD else None
            if route_m is None:
                sound = False
            elif value.text in routes:
                place.report("CP205", span, route=value.text)
            else:
                routes[value.text] = route_m
                length_m += route_m
        elif attribute.key == "sheath":
            sheath = True
        else:
            _fold_once((attribute, value, span), facts, place)
    for span, number in thin:
        if lengths > 1 or float(number) <= _LONGEST_GAP_MM:
            place.report("CP121", span, length=span.text, area=number)
            sound = False
    if lengths == 0:
        start = segment.span.start
        loose = segment.span.source.text[max(start - 8, 0) : start].rstrip().endswith(",")  # It has its finding.
        if not own.unread and not loose:
            place.report("CP220", segment.span, sample=sample, written=segment.span.text)
        sound = False
    sheath = sheath or (bool(routes) and all(reading.routes[name].sheath for name in routes))
    return Stretch(length_m, tuple(routes.items()), sheath, segment.span) if sound else None


def _fold_once(entry: Entry, facts: Facts, place: Place) -> None:
    """One size, one insulation for the whole of a run: a second, different one is a question."""
    attribute, value, span = entry
    first = facts.spans.get(attribute.key)
    if first is None or value is UNREAD:
        fold([entry], facts, place)
    elif value != facts.values.get(attribute.key):
        place.report("CP228", span, first=first.text, second=span.text, at={"first": first})


def _via(name: Word, place: Place) -> float | None:
    """The length of the route that a run goes through, in metres."""
    reading, names = place.reading, place.reading.names
    route, kind = reading.routes.get(name.text), names.kinds.get(name.text)
    if route is not None:
        reading.used_routes.add(route.id)
        if route.length_m is None and route.id not in names.unread:
            names.unread.add(route.id)  # One finding is enough, at the first run that goes through it.
            sample = SAMPLE_LENGTHS[reading.length_unit]["route"]
            place.report("CP220", name.span, route=route.id, sample=sample, at={"route": route.span})
        return route.length_m
    if name.text in names.unread:
        return None
    if kind is not None and kind != "route":
        place.report("CP202", name.span, name=name.text, other=kind)
    else:
        likely = reading.meant(name.text, reading.routes)
        place.report("CP202", name.span, route=name.text, keyword="via", likely=likely)
        names.unread.add(name.text)  # Once, for all that go through it.
    return None
