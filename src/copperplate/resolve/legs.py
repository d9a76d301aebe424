"""Run statements read into legs: from one component to the next, with stretches and devices between them."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Any

from copperplate.findings import Finding, make
from copperplate.model import Route, Size
from copperplate.model.kinds import DEVICE_KINDS
from copperplate.resolve.atoms import UNREAD, Place
from copperplate.resolve.facts import Facts, fold, read_entries
from copperplate.resolve.names import Names, meant
from copperplate.resolve.types import Library, apply_type
from copperplate.resolve.words import SAMPLE_LENGTHS, table
from copperplate.syntax.tree import (
    Atom,
    Bracket,
    End,
    Plate,
    RunElement,
    RunStatement,
    Segment,
    Stroke,
    Word,
)  # fmt: skip
from copperplate.text import Span, nearest

STROKES = {1: "--", 2: "-//-", 3: "-///-", 4: "-////-"}


@dataclass(frozen=True)
class Stretch:
    """One segment: its length one way, the routes in it with their lengths, whether it is sheathed."""

    length_m: float
    routes: tuple[tuple[str, float], ...]
    sheath: bool
    span: Span


@dataclass(frozen=True)
class InLine:
    """A bracket. `kind` None where it names no device: `[10 A]`."""

    name: Word | None
    kind: str | None
    facts: Facts
    span: Span


Line = tuple[Stretch | InLine, ...]
"""What stands between two ends, in order."""


@dataclass(frozen=True)
class Leg:
    """A run from one component to the next. `tapped` tells which ends stand in the middle of a statement.

    `sound` is False where something in it could not be read (its findings are made): it still connects its ends,
    and no run is made of it."""

    statement: RunStatement
    number: int
    of: int
    near: Word
    far: Word
    tapped: tuple[bool, bool]
    conductors: int
    stroke: Span
    line: Line
    size: Size | None
    size_span: Span | None
    parallel: int
    insulation_c: float | None
    sound: bool

    @cached_property
    def span(self) -> Span:
        return self.near.span.to(self.far.span)

    @cached_property
    def length_m(self) -> float:
        return sum(thing.length_m for thing in self.line if isinstance(thing, Stretch))


@dataclass(frozen=True)
class Reading:
    """What legs are read with."""

    plate: Plate
    routes: dict[str, Route]
    names: Names
    library: Library
    length_unit: str
    findings: list[Finding]
    used_routes: set[str]


def read_legs(reading: Reading) -> list[Leg]:
    """Every leg of every run, in the order of the plate."""
    legs: list[Leg] = []
    for statement in reading.plate.statements:
        if isinstance(statement, RunStatement):
            legs += _legs(statement, reading)
    return legs


def _legs(statement: RunStatement, reading: Reading) -> list[Leg]:
    elements = statement.elements
    ends = [i for i, element in enumerate(elements) if isinstance(element, End)]
    strokes = [e for e in elements if isinstance(e, Stroke)]
    if len(ends) < 2 or not strokes:
        reading.names.touched.update(e.address.text.split(".")[0] for e in elements if isinstance(e, End))
        return []
    conductors = strokes[0].conductors if strokes[0].conductors in STROKES else 1
    legs = []
    for number, (start, stop) in enumerate(pairwise(ends)):
        near, far = elements[start], elements[stop]
        assert isinstance(near, End) and isinstance(far, End)
        between = elements[start + 1 : stop]
        tapped = (number > 0, number < len(ends) - 2)
        legs.append(
            _leg(statement, number, len(ends) - 1, near.address, far.address, tapped, conductors, between, reading)
        )
    return legs


def _leg(
    statement: RunStatement,
    number: int,
    of: int,
    near: Word,
    far: Word,
    tapped: tuple[bool, bool],
    conductors: int,
    between: tuple[RunElement, ...],
    reading: Reading,
) -> Leg:
    subject = f"{far.text}.run" if statement.name is None else statement.name.text
    place = Place("run", subject, reading.length_unit, reading.findings)
    line: list[Stretch | InLine] = []
    said = Facts()
    sound = True
    for element in between:
        if isinstance(element, Segment):
            stretch = _stretch(element, said, place, reading)
            sound = sound and stretch is not None
            if stretch is not None:
                line.append(stretch)
        elif isinstance(element, Bracket):
            line.append(_bracket(element, subject, reading))
    return Leg(
        statement=statement,
        number=number,
        of=of,
        near=near,
        far=far,
        tapped=tapped,
        conductors=conductors,
        stroke=next((e.span for e in between if isinstance(e, Stroke)), near.span),
        line=tuple(line),
        size=said.values.get("size"),
        size_span=said.spans.get("size"),
        parallel=said.values.get("parallel", 1),
        insulation_c=said.values.get("insulation_c"),
        sound=sound,
    )


_MILLIMETRES = re.compile(r"([0-9.]+) *mm")
_AREAS = ("0.5", "0.75", "1", "1.5", "2.5", "4", "6", "10", "16", "25", "35", "50", "70", "95", "120")
"""Numbers in front of mm that may well be areas (IEC 60228)."""
_LONGEST_GAP_MM = 16.0
"""No stretch of conductor is as short as this, in millimetres."""


def _stretch(segment: Segment, said: Facts, place: Place, reading: Reading) -> Stretch | None:
    """One stretch; what it says of the whole run (size, parallel, insulation) goes into `said`."""
    length_m = 0.0
    routes: list[tuple[str, float]] = []
    lengths = 0
    sheath = False
    sound = True
    local = Facts()
    thin: list[tuple[Span, str]] = []
    rest: list[tuple[Any, Any, Span]] = []
    for attribute, value, span in read_entries((i.atoms for i in segment.items), table("run"), place, local):
        if attribute.key == "length_m":
            lengths += 1
            written = _MILLIMETRES.fullmatch(span.text)
            thin += [(span, written[1])] if written and written[1] in _AREAS else []
            sound = sound and value is not UNREAD
            length_m += value or 0.0
        elif attribute.key == "via":
            lengths += 1
            route_m = _via(value, reading, place) if value is not UNREAD else None
            if route_m is None:
                sound = False
            elif any(name == value.text for name, _ in routes):
                place.report("CP205", span, route=value.text)
            else:
                routes.append((value.text, route_m))
                length_m += route_m
        elif attribute.key == "sheath":
            sheath = True
        else:
            rest.append((attribute, value, span))
    _fold_run(rest, said, place)
    for span, number in thin:
        if lengths > 1 or float(number) <= _LONGEST_GAP_MM:
            place.report("CP121", span, length=span.text, area=number)
            sound = False
    if local.unread:
        sound = sound and lengths > 0
    elif lengths == 0:
        sample = SAMPLE_LENGTHS[place.length_unit]["run"]
        place.report("CP220", segment.span, sample=sample, written=segment.span.text)
        sound = False
    sheath = sheath or (bool(routes) and all(reading.routes[name].sheath for name, _ in routes))
    return Stretch(length_m, tuple(routes), sheath, segment.span) if sound else None


def _fold_run(entries: list[tuple[Any, Any, Span]], said: Facts, place: Place) -> None:
    """One size, one insulation for the whole of a run: a second, different one is a question."""
    for attribute, value, span in entries:
        first = said.spans.get(attribute.key)
        if first is not None and value is not UNREAD and value == said.values.get(attribute.key):
            continue
        if first is not None and value is not UNREAD:
            place.report("CP228", span, first=first.text, second=span.text, at={"first": first})
            continue
        fold([(attribute, value, span)], said, place)


def _via(name: Word, reading: Reading, place: Place) -> float | None:
    """The length of the route that a run goes through."""
    route = reading.routes.get(name.text)
    if route is None:
        kind = reading.names.kinds.get(name.text)
        if name.text in reading.names.unread:
            return None
        if kind is not None and kind != "route":
            place.report("CP202", name.span, name=name.text, other=kind)
            return None
        likely = meant(name.text, reading.routes, place.findings)
        place.report("CP202", name.span, route=name.text, keyword="via", likely=likely)
        return None
    reading.used_routes.add(route.id)
    if route.length_m is None and route.id in reading.names.unread:
        return None
    if route.length_m is None:
        reading.names.unread.add(route.id)  # One finding is enough, at the first run that goes through it.
        sample = SAMPLE_LENGTHS[place.length_unit]["route"]
        place.report("CP220", name.span, route=route.id, sample=sample, at={"route": route.span})
        return None
    return route.length_m


def _bracket(bracket: Bracket, run: str, reading: Reading) -> InLine:
    """A device in the line: its kind, then what the kinds table lets a device say."""
    kind: str | None = None
    groups: list[tuple[Atom, ...]] = [item.atoms for item in bracket.items]
    if groups and groups[0] and isinstance(groups[0][0], Word):
        first = groups[0][0]
        if first.text in DEVICE_KINDS:
            kind = first.text
            groups[0] = groups[0][1:]
        elif first.text not in table("device").known:
            likely = nearest(first.text, DEVICE_KINDS)
            kind = likely or "fuse"
            groups[0] = groups[0][1:]
            if likely is not None:
                reading.findings.append(make("CP204", run, first.span, device=first.text, instead=likely))
            else:
                inside = " ".join(bracket.span.text.strip("[]").split()).removeprefix(first.text).strip()
                named = f"{first.text}: fuse {inside}".strip()
                reading.findings.append(
                    make("CP226", run, first.span, word=first.text, devices=DEVICE_KINDS, named=named)
                )
    reference = _reference(groups)
    if kind is None and reference is not None:
        found = reading.library.types.get(reference.text)
        kind = found.kind if found is not None and found.kind in DEVICE_KINDS else kind
    subject = bracket.name.text if bracket.name is not None else run
    place = Place(kind or "device", subject, reading.length_unit, reading.findings)
    facts = Facts()
    fold(read_entries(groups, table(kind or "device"), place, facts), facts, place)
    facts.values.pop("part", None)
    if reference is not None and (kind is not None or reference.text not in reading.library.types):
        apply_type(facts, kind or "fuse", reference, reading.library, subject, reading.findings)
    elif reference is not None:
        other = reading.library.types[reference.text].kind
        reading.library.used.add(reference.text)
        reading.findings.append(make("CP215", subject, reference.span, part=reference.text, other=other))
        kind = "fuse"
    return InLine(bracket.name, kind, facts, bracket.span)


def _reference(groups: list[tuple[Atom, ...]]) -> Word | None:
    for group in groups:
        for word, name in pairwise(group):
            if isinstance(word, Word) and word.text == "part" and isinstance(name, Word):
                return name
    return None
