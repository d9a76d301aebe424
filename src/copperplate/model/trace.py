"""Traced numbers: a value that knows how it came about."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Traced:
    """A number that reaches a reader.

    `quantity` names it ("ampacity"), `formula` is what was done ("table x ambient x engine space"), `inputs`
    are (name, value, unit) in the order of the formula, `source` the published rule or table row
    ("33 CFR 183.425 Table 5, 12 AWG, 105 °C"), `status` how that source was checked.
    """

    value: float
    unit: str
    quantity: str
    formula: str = ""
    inputs: tuple[tuple[str, float | str, str], ...] = ()
    source: str = ""
    status: str = ""

    @property
    def cited(self) -> str:
        """Its source as a finding cites it."""
        return f"{self.source}, {self.status}" if self.status == "from memory" else self.source


@dataclass(frozen=True, slots=True)
class Assumption:
    """A value that the compiler took because the plate was silent, or a reading it chose among two.

    `subject` is an address or "system"; `text` one sentence with the figure; `source` where it comes from
    ("common practice, no source" where it is only that).
    """

    subject: str
    text: str
    source: str = ""
