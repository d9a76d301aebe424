"""What a plate is read with, and what comes of reading it: names and types, findings and assumptions."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from copperplate.findings import Finding, make
from copperplate.model import Advice, Assumption, Budget, DeviceKind, Route, Size, Terminal
from copperplate.model import Place as Location
from copperplate.model.kinds import Attribute
from copperplate.resolve.words import Table, sample, table
from copperplate.syntax.tree import Plate, Text
from copperplate.text import Span, nearest

COMMON_PRACTICE = "common practice, no source"
"""The source of an assumption that has no other."""


class Unread:
    """Stands for a value that could not be read; its finding is made."""

    def __bool__(self) -> bool:
        return False


UNREAD = Unread()


class LeftOpen(Unread):
    """Stands for a value that the plate leaves open with `?`."""


LEFT_OPEN = LeftOpen()


@dataclass
class Facts:
    """What one statement states. `values` by the keys of the kinds table, `spans` the place of each; `broken` the
    keys whose value could not be read (their findings are made, so nothing is missed a second time)."""

    values: dict[str, Any] = field(default_factory=dict)
    spans: dict[str, Span] = field(default_factory=dict)
    terminals: dict[str, Terminal] = field(default_factory=dict)
    advised: dict[str, Advice] = field(default_factory=dict)
    budgets: dict[str, Budget] = field(default_factory=dict)
    """By class, "" for all."""
    comparable: tuple[Size, str] | None = None
    title: Text | None = None
    broken: set[str] = field(default_factory=set)
    left_open: set[str] = field(default_factory=set)
    """Keys left open with `?`; they are broken too."""
    lost: bool = False
    """True behind the name and title of what was meant to be another statement."""
    strange: int = 0
    """How many things could not be read and nobody knows which attribute they were."""

    def by_form(self, form: str) -> dict[str, Any]:
        """Where the values of a form that names what each is for are held, by what that is."""
        return {"terminal": self.terminals, "advice": self.advised, "budgets": self.budgets}[form]  # type: ignore[return-value]

    @property
    def unread(self) -> bool:
        """Whether an attribute may be there and was not understood."""
        return self.strange > 0

    def lacks(self, *keys: str) -> bool:
        """Whether none of these is stated and nothing unread can have been one of them."""
        return not self.unread and not any(key in self.values or key in self.broken for key in keys)


@dataclass
class Names:
    """Who carries which name. `unread` are names of statements that could not be read: they may be referred to
    and say nothing. `touched` are components that a broken statement may well connect, so that nobody reports
    them as unconnected."""

    kinds: dict[str, str] = field(default_factory=dict)
    spans: dict[str, Span] = field(default_factory=dict)
    unread: set[str] = field(default_factory=set)
    touched: set[str] = field(default_factory=set)
    twice: set[int] = field(default_factory=set)
    """`id()` of the words that repeat a name or are none: their statements are left out."""
    lost_case: bool = False
    """True where a case could not be read, so that nobody knows what it turns on."""


@dataclass(frozen=True)
class Type:
    """One `part` statement; `own` where the plate itself declares it, not a used file."""

    name: str
    kind: str
    facts: Facts
    span: Span
    own: bool


@dataclass
class Library:
    """All types that the plate can name, and the files read on the way."""

    types: dict[str, Type] = field(default_factory=dict)
    unread: set[str] = field(default_factory=set)
    files: list[str] = field(default_factory=list)
    used: set[str] = field(default_factory=set)
    complete: bool = True
    """False where a used file could not be read: what is missing may well stand in it."""


@dataclass
class Cable:
    """A cable, and the numbers of its cores that runs have taken; `size` is that of each core."""

    name: str
    title: str
    cores: int
    size: Size | None
    shared_negative: bool
    size_span: Span | None = None
    taken: set[int] = field(default_factory=set)


@dataclass
class Gang:
    """Several switches, or the pins of a connector, that one statement declares, and the numbers of those that brackets
    have named."""

    name: str
    ways: int
    facts: Facts
    span: Span
    kind: DeviceKind = "switch"
    taken: set[int] = field(default_factory=set)


@dataclass
class Reading:
    """One plate while it is read. `length_unit` is that of its messages, "m" or "ft"; `used_routes` are those that
    a run goes through."""

    plate: Plate
    length_unit: str
    names: Names = field(default_factory=Names)
    library: Library = field(default_factory=Library)
    routes: dict[str, Route] = field(default_factory=dict)
    places: dict[str, Location] = field(default_factory=dict)
    cables: dict[str, Cable] = field(default_factory=dict)
    gangs: dict[str, Gang] = field(default_factory=dict)
    used_routes: set[str] = field(default_factory=set)
    unmeasured_m: float = 5.0
    findings: list[Finding] = field(default_factory=list)
    assumptions: list[Assumption] = field(default_factory=list)

    def report(self, code: str, subject: str, /, span: Span | None, **figures: Any) -> None:
        """Adds a finding."""
        self.findings.append(make(code, subject, span, **figures))

    def assume(self, subject: str, text: str, source: str = "") -> None:
        """Adds an assumption."""
        self.assumptions.append(Assumption(subject, text, source))

    def meant(self, word: str, names: Iterable[str]) -> str | None:
        """The name that `word` probably means. None behind so many findings that nobody would read this one:
        looking through the names of a large plate takes time."""
        return nearest(word, names) if len(self.findings) < 100 else None


@dataclass(frozen=True)
class Place:
    """Where values stand: the kind and the address of what states them. Nothing is reported where it is `silent`.
    `in_line`: in a bracket."""

    kind: str
    subject: str
    reading: Reading = field(repr=False)
    silent: bool = False
    in_line: bool = False

    @property
    def words(self) -> Table:
        """What may stand here."""
        return table(self.kind, self.in_line)

    def report(self, code: str, span: Span | None, **figures: Any) -> Unread:
        """Adds a finding; returns UNREAD for the caller to hand on."""
        if not self.silent:
            self.reading.report(code, self.subject, span, **figures)
        return UNREAD

    def sample(self, attribute: Attribute) -> str:
        """How this plate writes an attribute."""
        return sample(attribute, self.reading.length_unit)
