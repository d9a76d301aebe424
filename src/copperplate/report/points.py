"""What is to be settled before a design can be installed: a letter a question, and a number a deviation accepted."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from copperplate.findings import SEVERITIES, Finding
from copperplate.findings.codes import CODES
from copperplate.model.results import Design
from copperplate.report.names import Names
from copperplate.report.words import joined, sentence

WHO = {
    "designer": "Designer",
    "owner": "You",
    "maker": "Designer, with the maker",
    "installer": "Installer",
    "licensed electrician": "Licensed electrician",
}
"""Whose answer settles a finding, as the client reads it."""
PLACES = {"3": "volts-at-the-loads", "4": "protection", "5": "wiring", "6": "what-it-can-do",
          "7": "protection"}  # fmt: skip
"""Where the figures of a finding stand, by the family of its code."""
SECTIONS = {
    "volts-at-the-loads": "Engineer, volts",
    "assumptions": "Engineer, assumptions",
    "protection": "Inspector, protection",
    "wiring": "Installer, wiring",
    "what-it-can-do": "What it can do",
}


@dataclass(frozen=True)
class Point:
    """One question with the findings that it settles, the gravest first."""

    letter: str
    question: str
    findings: tuple[Finding, ...]

    @property
    def what(self) -> str:
        return self.question.rstrip(".")

    @property
    def binding(self) -> bool:
        """Whether nothing may be installed before it is settled; advice may be left."""
        return any(f.severity != "advice" for f in self.findings)

    @property
    def who(self) -> str:
        return WHO[CODES[self.findings[0].code].who]

    @property
    def by(self) -> str:
        return CODES[self.findings[0].code].by

    @property
    def place(self) -> str:
        """The id of the section with its figures."""
        return PLACES.get(self.findings[0].code[2], "assumptions")


class Register:
    """The points and deviations of one design. `before`: questions in the order of their letters in an earlier
    revision, which keep them."""

    def __init__(self, design: Design, names: Names, before: Sequence[str] = ()) -> None:
        self.design, self.names = design, names
        standing = [f for f in design.findings if f.accepted is None]
        standing.sort(key=lambda f: SEVERITIES.index(f.severity))
        asked: dict[str, list[Finding]] = {}
        for f in standing:
            asked.setdefault(CODES[f.code].question, []).append(f)
        self.questions = tuple(dict.fromkeys((*before, *asked)))
        """In the order of their letters, those too that are settled by now."""
        letters = {question: lettered(n) for n, question in enumerate(self.questions)}
        self.points = tuple(Point(letters[q], q, tuple(asked[q])) for q in self.questions if q in asked)
        self.accepted = tuple(f for f in design.findings if f.accepted is not None)

    @cached_property
    def binding(self) -> tuple[str, ...]:
        """Letters of the points that nothing may be installed before."""
        return tuple(point.letter for point in self.points if point.binding)

    @cached_property
    def marks(self) -> Mapping[str, tuple[tuple[str, Finding], ...]]:
        """By address that a finding is about: the letter of its point, or the number of its deviation, with it."""
        found: dict[str, list[tuple[str, Finding]]] = {}
        for point in self.points:
            for f in point.findings:
                self._mark(found, point.letter, f)
        for n, f in enumerate(self.accepted, 1):
            self._mark(found, f"D{n}", f)
        return {address: tuple(marks) for address, marks in found.items()}

    def _mark(self, found: dict[str, list[tuple[str, Finding]]], mark: str, f: Finding) -> None:
        known = self.design.system.devices
        ways = [d.id for d in known.values() if d.panel == f.subject]
        for address in dict.fromkeys(
            (f.subject, *ways, *_named(f.figures.get("devices")), *_named(f.figures.get("shorts")))
        ):
            found.setdefault(address, []).append((mark, f))

    def plain(self, words: str) -> str:
        """A sentence of a finding with titles in the place of addresses, as Markdown."""
        return sentence(re.sub(r"`([^`]+)`", lambda name: self._titled(name[1]), words))

    def _titled(self, address: str) -> str:
        system = self.design.system
        if address in system.devices or address in system.runs or address in system.conductors:
            return self.names.of(address)
        return self.names.part(address.split(".")[0]) if address.split(".")[0] in system.parts else address

    def why(self, point: Point) -> str:
        """What is so, in two sentences: the gravest finding, and what else asks the same."""
        first = self.plain(point.findings[0].message)
        others = [f for f in point.findings[1:] if f.code == point.findings[0].code]
        so_too = f" So too: {self.names.listed((self._circuit(f.subject) for f in others), 4)}." if others else ""
        kinds = dict.fromkeys(f.code for f in point.findings)
        rest = [next(f for f in point.findings if f.code == code) for code in list(kinds)[1:]]
        return first + so_too + "".join(f" {self.plain(f.message)}" for f in rest)

    def _circuit(self, address: str) -> str:
        """What a finding is about, for a list: of a way's device its circuit."""
        device = self.design.system.devices.get(address)
        return device.run if device is not None and device.panel else address

    def verdict(self) -> str:
        """Whether it can be installed, in a sentence."""
        if self.design.errors:
            return "Cannot be built as drawn."
        if not self.design.rechecked:
            return "Not ready to install: the independent re-check has not confirmed this design."
        if self.binding:
            is_are = "is" if len(self.binding) == 1 else "are"
            return f"Not ready to install yet. It can be installed once {joined(self.binding)} {is_are} settled."
        return "Ready to install."


def questions(design: Design) -> tuple[str, ...]:
    """The questions of a design in the order of their letters."""
    return Register(design, Names(design)).questions


def lettered(number: int) -> str:
    """A to Z, then AA."""
    return (lettered(number // 26 - 1) if number >= 26 else "") + chr(ord("A") + number % 26)


def _named(figure: Any) -> Iterator[str]:
    """The addresses in a figure of a finding: itself, or what its mappings call a device."""
    for item in figure if isinstance(figure, Iterable) and not isinstance(figure, str) else ():
        if isinstance(item, str):
            yield item
        elif isinstance(item, Mapping) and isinstance(item.get("device"), str):
            yield item["device"]
