"""What an address of a plate names: a component, one of its terminals, a group of them, or a way."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any, Literal, get_args

from copperplate.model import Bus, Earth, Junction, Load, Panel, Part, Pole, Selector, Settings, Splitter
from copperplate.model.parts import Current
from copperplate.resolve.bars import BAR_POLES, bars_by_polarity
from copperplate.resolve.reading import Reading
from copperplate.syntax.tree import Word
from copperplate.text import nearest

POLES: tuple[Pole, ...] = get_args(Pole)
AC_POLES: tuple[Pole, ...] = ("l", "l1", "l2", "n", "pe")
DC_PAIR: tuple[Pole, ...] = ("pos", "neg")


def node_id(*words: str) -> str:
    """The address of a node of these words, as part, group of terminals and pole; "" falls away."""
    return ".".join(filter(None, words))


def part_of(address: str) -> str:
    """The name of the component that an address begins with."""
    return address.partition(".")[0]


def pole_named(word: str) -> Pole | None:
    """The pole of that name, or None where it names none."""
    return next((pole for pole in POLES if pole == word), None)


@dataclass(frozen=True, slots=True)
class Target:
    """What an address names: one terminal with its pole (None: not known yet), a group of terminals, a way of a
    panel (`port` its number), a control port, or a part as a whole."""

    part: Part
    form: Literal["terminal", "group", "way", "control", "whole"]
    port: str = ""
    pole: Pole | None = None


@dataclass
class Ends:
    """What the ends of runs are understood with."""

    parts: Mapping[str, Part]
    settings: Settings
    reading: Reading = field(repr=False)
    poled: dict[str, int] = field(default_factory=dict)
    """By junction: the greatest number of conductors that reach it together (1: a single pole)."""
    ac_points: set[str] = field(default_factory=set)
    """Junctions in AC runs."""
    lines: dict[tuple[str, str], int] = field(default_factory=dict)
    """By part and AC group: the greatest number of conductors that reach it together."""
    unknown: dict[str, list[Word]] = field(default_factory=dict)
    """Ends whose name nothing carries, by that name."""

    @cached_property
    def bars(self) -> Mapping[str, tuple[str, ...]]:
        """The bars of the plate by polarity."""
        return bars_by_polarity(self.parts)

    def target(self, word: Word, serves: bool = False, single: bool = False) -> Target | None:
        """What the address names; None with a finding where nothing carries it. `serves`: at a run that may end at
        control ports; `single`: of one conductor."""
        name, _, rest = word.text.partition(".")
        part = self.parts.get(name)
        if part is None:
            self._unknown(word, name)
            return None
        target = _target(part, rest)
        if serves and single and not rest and target is not None and isinstance(part, Load) and not part.ac:
            # A signal lands on the one terminal of a sender or push, and on the positive of what it feeds.
            fed = part.stated.intersection((*part.exclusive, "fuse_a"))
            return _target(part, "pos") if fed else Target(part, "control", "signal")
        if target is None and serves and rest in (controls(part) or (rest,)):
            return Target(part, "control", rest)
        if target is None:
            self._no_terminal(word, part, rest)
        return target

    def is_ac(self, target: Target) -> bool:
        """True where the end can only carry AC."""
        if isinstance(target.part, Junction):
            return target.part.id in self.ac_points
        kinds = {current for group, current in target.part.groups if target.form != "group" or group == target.port}
        return kinds == {"ac"}

    def lines_of(self, part: Part, group: str) -> int:
        """How many conductors an AC group has: 4 with two lines, 3 (or 2, without earth) with one."""
        default = 4 if isinstance(part, Panel) and self.settings.ac == "120/240" else 3
        return self.lines.get((part.id, group), default)

    def _is_torn(self, word: Word) -> bool:
        """True for the half of `a--b`, written without blanks where `a-b` is what a statement declares; the first half
        has the finding."""
        text, span = word.span.source.text, word.span
        behind = re.match(r"--([a-z0-9]+(?:-[a-z0-9]+)*)", text[span.end : span.end + 80])
        before = re.search(r"([a-z][a-z0-9]*(?:-[a-z0-9]+)*)--$", text[max(0, span.start - 80) : span.start])
        whole = f"{word.text}-{behind[1]}" if behind else f"{before[1]}-{word.text}" if before else ""
        if whole not in self.parts:
            return False
        self.reading.names.touched.add(whole)
        if behind:
            place = replace(span, end=span.end + behind.end())
            doubled = f"{word.text}--{behind[1]}"
            self.reading.report("CP109", whole, place, doubled=doubled, name=whole)
        return True

    def _unknown(self, word: Word, name: str) -> None:
        if self._is_torn(word):
            return
        kind = self.reading.names.kinds.get(name)
        if name in self.reading.names.unread:
            return
        if kind is not None:
            self.reading.names.touched.add(name)
            is_route, is_run = kind == "route", kind == "run"
            self.reading.report("CP221", word.text, word.span, name=name, kind=kind, route=is_route, run=is_run)
            return
        self.unknown.setdefault(name, []).append(word)

    def report_unknown(self) -> None:
        """One finding for each name that nothing carries, at the first run that ends there."""
        for name, words in self.unknown.items():
            first, *others = words
            rest = first.text.partition(".")[2]
            likely = self.reading.meant(name, self.parts)
            if likely is not None:
                self.reading.names.touched.add(likely)
                likely = node_id(likely, rest)
            runs = len(words) if len(words) > 3 else None
            at = {"others": [other.span for other in others[:2]]}
            self.reading.report("CP202", first.text, first.span, name=name, likely=likely, runs=runs, at=at)

    def _no_terminal(self, word: Word, part: Part, rest: str) -> None:
        self.reading.names.touched.add(part.id)
        bar = part.return_bar if isinstance(part, Panel) and rest == "neg" else None
        known = (*terminals(part), *controls(part))
        likely = nearest(rest, known)
        about: dict[str, Any] = {"part": part.id if bar else None, "bar": bar, "kind": part.kind, "terminal": rest}
        about["point"] = None if known else part.id
        about["likely"] = f"{part.id}.{likely}" if likely else None
        options = [f"{part.id}.{port}" for port in known]
        self.reading.report("CP222", word.text, word.span, **about, options=options, at={"part": part.span})


def controls(part: Part) -> tuple[str, ...]:
    """The control ports of a part; () where any word is one."""
    return (*part.control_ports, *part.implied_ports) if part.control_ports is not None else ()


def terminals(part: Part) -> tuple[str, ...]:
    """The terminals of a part as a run may name them."""
    if isinstance(part, Junction):
        return DC_PAIR
    ports = tuple(port for port in part.ports if port)
    return (*ports, "1") if isinstance(part, Panel) else ports


def _target(part: Part, rest: str) -> Target | None:
    """What `rest`, behind the dot of an address, names of the part; None for nothing."""
    if isinstance(part, Earth):
        return None if rest else Target(part, "terminal", "", earth_pole(part))
    if isinstance(part, Junction):
        pole = pole_named(rest)
        return Target(part, "terminal", rest, pole) if pole else None if rest else Target(part, "whole")
    if isinstance(part, Bus) and not part.groups:
        pole = BAR_POLES.get(part.polarity or "")
        return Target(part, "terminal", "", pole) if rest in ("", pole) else None
    if isinstance(part, Selector) and not part.ac:
        return Target(part, "terminal", rest, "pos") if rest in part.ports else None
    if isinstance(part, Splitter) or rest in part.outputs:
        return Target(part, "terminal", rest or "in", "pos") if (rest or "in") in part.ports else None
    if not rest:
        return Target(part, "whole")
    if isinstance(part, Panel) and rest.isascii() and rest.isdigit() and len(rest) < 6:
        return Target(part, "way", str(int(rest)))
    if isinstance(part, Panel) and not part.ac:
        return Target(part, "terminal", rest, "neg" if rest == "neg" else "pos") if rest in part.ports else None
    return _grouped(part, rest)


def earth_pole(earth: Earth) -> Pole:
    """The pole of an earth: a return where it conducts."""
    return "neg" if earth.conducts else "pe"


def _grouped(part: Part, rest: str) -> Target | None:
    """A group of terminals, or one terminal in a group: `out`, `out.pos`, `neg`, `ac-in.n`, `pe`."""
    for group, current in part.groups:
        if rest == group:
            return Target(part, "group", group)
        pole = pole_named(rest.removeprefix(f"{group}.") if group else rest)
        if pole in _poles(current) and rest == node_id(group, pole or ""):
            return Target(part, "terminal", rest, pole)
    if rest == "pe" and rest in part.ports:
        return Target(part, "terminal", "pe", "pe")
    mains = [group for group, current in part.groups if current == "ac"]
    if rest in AC_POLES and len(mains) == 1:
        return Target(part, "terminal", node_id(mains[0], rest), pole_named(rest))
    return None


def _poles(current: Current) -> tuple[Pole, ...]:
    return DC_PAIR if current == "dc" else AC_POLES
