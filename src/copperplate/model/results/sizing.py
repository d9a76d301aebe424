"""The size of each run with the ladder that led to it, and each conductor as built."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from copperplate.model.trace import Traced
from copperplate.model.values import Size
from copperplate.units import Measured, number

GovernedBy = Literal[
    "stated", "minimum", "ampacity", "protection", "drop", "window", "start", "advice", "comparable", "terminal",
    "stock", "shared budget", "earth table", "lead", "link", "not sized",
]  # fmt: skip
"""The closed list of binding reasons. "shared budget": a feeder larger than its own ladder asks because the
budgets below it are cheapest to hold there; "window": the device's own voltage window; "start": the same window while
a motor starts; "not sized": a run that this version does not size (the report says so)."""
SET_BY: Mapping[str, str] = {
    "minimum": "the rule's least gauge",
    "ampacity": "ampacity",
    "protection": "the rating of its device",
    "drop": "voltage drop",
    "window": "the voltage that the device works at",
    "start": "the voltage that a motor needs to start",
    "advice": "the maker's advice",
    "comparable": "a comparable device",
    "terminal": "the terminal",
    "stock": "the stock",
    "shared budget": "the budgets of the loads below it",
    "earth table": "the table of earth conductors",
    "lead": "the device's own lead",
    "link": "the lead of its bank",
}
"""What sets a size, in the words of every output; a size that is stated, or a run that is not sized, has none."""


Verdict = Literal["ok", "refused", "chosen", "not judged"]


@dataclass(frozen=True)
class Rung:
    """One step of the ladder for one candidate size: `shown` is the cell that a reader sees ("4.9 %")."""

    rule: Literal["minimum", "ampacity", "protection", "drop", "start", "advice", "comparable", "terminal", "stock"]
    verdict: Verdict
    shown: str
    value: Traced | None = None


@dataclass(frozen=True)
class Candidate:
    """One size on the ladder with its verdict by each rule. `chosen` for the one taken."""

    size: Size
    parallel: int
    rungs: tuple[Rung, ...]
    chosen: bool = False

    @property
    def refused_by(self) -> tuple[str, ...]:
        return tuple(rung.rule for rung in self.rungs if rung.verdict == "refused")


@dataclass(frozen=True)
class Binding:
    """What uses up a margin first. `drop` is the budget of the load `subject`, `window` its own voltage window (both
    as volts lost on its way by the profile's figure), `start` the volts that its start may lose; `protection` the
    largest rating that the device `subject` may have, `ampacity` that of the run `subject`."""

    rule: Literal["drop", "window", "start", "protection", "ampacity"]
    subject: str
    limit: float
    unit: str

    @property
    def words(self) -> str:
        """What happens then, for a reader; names in strokes."""
        limit = f"{number(self.limit)} {self.unit}"
        return {
            "drop": f"the budget of `{self.subject}` ({limit}) is used up",
            "window": f"`{self.subject}` is at the end of its voltage window",
            "start": f"`{self.subject}` starts at the end of its voltage window",
            "protection": f"`{self.subject}` is at the largest rating allowed there ({limit})",
            "ampacity": f"the ampacity of `{self.subject}` ({limit}) is used up",
        }[self.rule]


@dataclass(frozen=True)
class RunResult(Measured):
    """The size of one run and why. `size` None only where nothing fits (an error finding tells).

    `ampacity_a` is after factors and for all parallel conductors; `factors` the factors in the order applied.
    `drop_v` is what this run loses (out and back) by the profile's figure at the sizing current, `drop_hot_v`
    by the physical solve. `budget_v` the tightest budget among the loads below, `spare_*` the margins
    within which all sizes still serve (None where they cannot be told), `spare_*_by` what is used up then."""

    run: str
    size: Size | None
    parallel: int
    area_mm2: float
    stated: bool
    governed_by: GovernedBy
    design_current: Traced
    ampacity: Traced | None
    table_ampacity_a: float | None
    factors: tuple[Traced, ...]
    insulation_c: float
    ambient_c: float
    drop_v: float
    drop_hot_v: float
    candidates: tuple[Candidate, ...]
    protected_by: tuple[str, ...]
    spare_length_m: float | None
    spare_current_a: float | None
    next_size: Size | None
    copper_mm2_m: float
    """Area x length, summed over the conductors of the run."""
    offers: tuple[str, ...] = ()
    """Sentences computed for the reader: "14 AWG would do if ...", "the clamp takes up to 16 mm²"."""
    spare_length_by: Binding | None = None
    spare_current_by: Binding | None = None
    brief_s: float | None = None
    """Seconds that loads run which run but briefly, where it carries some."""

    @property
    def set_by(self) -> str:
        """What set its size: "set by voltage drop", "stated by the plate, and checked"."""
        if self.governed_by in SET_BY:
            return f"set by {SET_BY[self.governed_by]}"
        return "stated by the plate, and checked" if self.stated else "not sized here"


@dataclass(frozen=True)
class ConductorResult(Measured):
    """One conductor as built. By case: its resistance, copper as warm as the case makes it and what an earth that it
    lands on adds; its signed current from `from_node`. `temperature_c` is that of its largest current."""

    conductor: str
    resistance_ohm: Mapping[str, float]
    temperature_c: float
    current_a: Mapping[str, float]
    colour: str
    """IEC 60757 letters: RD, BK, YE, BU, BN, GNYE, WH ..."""

    @property
    def hottest_ohm(self) -> float:
        """Resistance in the case that warms it most."""
        return max(self.resistance_ohm.values())
