"""What the computing rooms hand on, and the finished design. Frozen; SI floats with the unit in the name."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from copperplate.findings import Finding
from copperplate.model.links import Link
from copperplate.model.system import System
from copperplate.model.trace import Assumption, Traced
from copperplate.model.values import Size
from copperplate.units import Measured, number

GovernedBy = Literal[
    "stated", "minimum", "ampacity", "protection", "drop", "window", "start", "advice", "comparable", "terminal",
    "stock", "shared budget", "earth table", "lead", "link", "not sized",
]  # fmt: skip
"""The closed list of binding reasons. "shared budget": a feeder larger than its own ladder asks because the
budgets below it are cheapest to hold there; "window": the device's own voltage window; "start": the same window while
a motor starts; "not sized": a run
that this version does not size (the report says so)."""


@dataclass(frozen=True)
class Demand:
    """Currents for sizing, fixed before any size is known (amperes, never less than in the final solve).

    By conductor id: `design_a` the largest over all cases; `drop_a` the largest over load cases (what voltage
    drop is judged with); `factored_a` the design current with the profile's continuous and source factors,
    which devices (and conductors where the profile says so) must carry. By load id: `load_a`. By device id:
    `device_a` and `device_factored_a`. `why` by conductor, device or load id traces the figure; by `inv.ac-in` what an
    inverter draws to charge, on each line."""

    design_a: Mapping[str, float]
    drop_a: Mapping[str, float]
    factored_a: Mapping[str, float]
    load_a: Mapping[str, float]
    device_a: Mapping[str, float]
    device_factored_a: Mapping[str, float]
    case_a: Mapping[str, Mapping[str, float]]
    """By case id, then conductor id: signed amperes from `from_node` to `to_node`."""
    budget_v: Mapping[str, Traced]
    """By load id (inverters, converters and other consumers too): the voltage-drop budget of its whole path."""
    why: Mapping[str, Traced]
    low_v: Mapping[str, float] = field(default_factory=dict)
    """By zone: the lowest terminal voltage that its source holds in load cases."""


@dataclass(frozen=True)
class Solution:
    """The network solved with the sizes as built. By case id, then node, conductor, device, part.

    `node_v` volts against the negative of the bank (or other source) that the node hangs together with;
    `conductor_a`, `device_a` signed amperes in the direction from the source as written; `load_a`, `source_a` amperes
    by part id; `resistance_ohm` of a conductor with its copper as warm as the case makes it, `temperature_c` in the
    case of its largest current. `collapsed` names the loads (by case) whose supply breaks down."""

    node_v: Mapping[str, Mapping[str, float]]
    conductor_a: Mapping[str, Mapping[str, float]]
    device_a: Mapping[str, Mapping[str, float]]
    load_a: Mapping[str, Mapping[str, float]]
    source_a: Mapping[str, Mapping[str, float]]
    temperature_c: Mapping[str, float]
    resistance_ohm: Mapping[str, Mapping[str, float]]
    held_v: Mapping[str, Mapping[str, float]]
    """By case id, then source id: the terminal voltage that the source is held at."""
    collapsed: Mapping[str, tuple[str, ...]]

    def hottest_ohm(self, conductor: str) -> float:
        """Resistance of a conductor in the case that warms it most; 0.0 where it has no size."""
        return max((ohms.get(conductor, 0.0) for ohms in self.resistance_ohm.values()), default=0.0)


@dataclass(frozen=True)
class Guard:
    """What protects one ungrounded conductor, by topology alone.

    `devices`: ids of the devices that stand between it and each source of large fault current (the nearest
    one on each side that carries such a source). `own_end`: ids of devices at its far end, past an
    unprotected stretch that begins at `origin` ("battery" terminal or "bar") and is `unprotected_m` long
    (0.0 where it is protected from its start; "bar" also stands for the terminals of an alternator that is not
    self-limiting). `sources`: ids of the sources that reach it. `sides` are `devices` again, by the end that
    they feed it through: devices that feed one end together let the sum of their ratings pass."""

    conductor: str
    devices: tuple[str, ...]
    own_end: tuple[str, ...]
    origin: Literal["", "battery", "bar"]
    unprotected_m: float
    sources: tuple[str, ...]
    sides: tuple[tuple[str, ...], ...] = ()
    limited_a: float = 0.0
    """What current-limited sources (converters, arrays, shore, ...) can push into it for ever without passing a
    device, where nothing larger reaches it: it needs no device if it carries that."""

    def upstream_a(self, rating_a: Mapping[str, float | None]) -> float | None:
        """Amperes that can flow in it for ever: of its two ends the larger sum of the ratings of its `devices`, and
        `limited_a`. None where neither bounds it or a device has no rating yet."""
        passed = _larger_sum(self.sides, rating_a)
        if self.limited_a == 0.0 or (passed is None and self.devices):
            return passed
        return max(passed or 0.0, self.limited_a)

    def own_end_a(self, rating_a: Mapping[str, float | None]) -> float | None:
        """Amperes that the devices at its far end let pass for ever. None where none stand there or one of
        them has no rating yet."""
        return _larger_sum((self.own_end,), rating_a)


def _larger_sum(groups: tuple[tuple[str, ...], ...], rating_a: Mapping[str, float | None]) -> float | None:
    sums: list[float] = []
    for group in groups:
        ratings = [rating_a.get(device) for device in group]
        if any(rating is None for rating in ratings):
            return None
        if group:
            sums.append(sum(rating for rating in ratings if rating is not None))
    return max(sums, default=None)


@dataclass(frozen=True)
class Rating(Measured):
    """A device's rating as chosen or stated. `needs_a` is the current it must carry continuously with its
    factors; `rating_a` None where no standard rating exists (a finding tells)."""

    device: str
    family: str
    needs_a: Traced
    rating_a: float | None
    stated: bool
    interrupting_a: float | None
    voltage_v: float | None
    source: str = ""
    status: str = ""


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


@dataclass(frozen=True)
class DeviceResult(Measured):
    """One device as built, with what it must do and what it can. None where it does not apply or is not known
    (`opens_within_s` None with `far_end` "not proven" where no curve is shipped)."""

    device: str
    rating: Rating
    protects: tuple[str, ...]
    """Ids of the runs whose conductors rely on it."""
    smallest_ampacity_a: float | None
    distance_from_source_m: float | None
    placement_limit_m: float | None
    placement_rule: str
    prospective_fault: Traced | None
    interrupting_a: float | None
    end_fault: Traced | None
    opens_within_s: float | None
    i2t_a2s: float | None
    k2s2_a2s: float | None
    far_end: Literal["opens", "does not open", "not proven", ""]
    current_a: Mapping[str, float] = field(default_factory=dict)
    earth_fault: Traced | None = None
    """Of an AC device: the smallest current of a line to the protective earth at the far end."""
    earth_end: Literal["opens", "does not open", "not proven", ""] = ""
    """What opens that one in time: the device itself, or a residual-current device on the way."""


@dataclass(frozen=True)
class PathStep(Measured):
    """One leg of a load's voltage path, in order from the source's positive terminal to its negative one."""

    reached: str
    through: str
    """Conductor or device id; "" for the start."""
    size: str
    length_m: float
    current_a: float
    lost_v: float
    judged_v: float


@dataclass(frozen=True)
class LoadResult(Measured):
    """Voltage at one load in its worst case. `drop_v`/`drop_percent` judged by the profile over the whole path
    and on nominal; `voltage_v`, `solved_drop_v` physical. `works_low_v`/`works_high_v` the device's window."""

    load: str
    current_a: float
    voltage_v: float
    highest_v: float | None
    nominal_v: float
    drop_v: float
    drop_percent: float
    solved_drop_v: float
    solved_percent: float
    budget_v: float
    budget_percent: float
    works_low_v: float | None
    works_high_v: float | None
    worst_case: str
    source: str
    run: str
    """The run that brings its positive (or only) conductor."""
    path: tuple[PathStep, ...]
    start_a: float | None = None
    start_v: float | None = None
    """Volts at a motor that states `inrush`, at that current, in the load case that leaves least."""


@dataclass(frozen=True)
class SourceResult(Measured):
    """A source: held terminal voltage by case, full-charge e.m.f. and lowest resistance for faults."""

    source: str
    kind: str
    terminal_v: Mapping[str, float]
    current_a: Mapping[str, float]
    emf_full_v: float | None
    resistance_low_ohm: float | None
    fault_current_a: float | None
    limits: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class EnergyLine(Measured):
    """Daily energy of one load (or loss) in watt-hours."""

    subject: str
    what: str
    wh: float


@dataclass(frozen=True)
class EnergyResult(Measured):
    """Energy of one battery bank. None where the plate gives too little to tell."""

    bank: str
    lines: tuple[EnergyLine, ...]
    daily_wh: float
    usable_wh: float | None
    autonomy_days: float | None
    recharge: tuple[tuple[str, float, float], ...]
    """(source id, amperes into the bank, hours from usable-empty to full)."""
    by_case: tuple[tuple[str, float, float | None], ...] = ()
    """(load case id, watts that the bank gives in it, hours that its usable capacity lasts at that; None where the
    capacity is not known or nothing is drawn)."""


@dataclass(frozen=True)
class Material:
    """One line to buy. `group` is "conductor", "cable", "lug", "ferrule", "splice", "fuse", "holder", "breaker" or
    "device"."""

    group: str
    item: str
    quantity: float
    unit: str
    where: tuple[str, ...]


@dataclass(frozen=True)
class Cut(Measured):
    """One conductor to cut, or one AC cable with all its cores: net length and length with slack. `colour` of a cable
    are those of its `cores`, `conductor` its run without the names of cores."""

    conductor: str
    size: str
    colour: str
    length_m: float
    cut_m: float
    from_end: str
    to_end: str
    from_fitting: str
    to_fitting: str
    cores: int = 1


@dataclass(frozen=True)
class Fit:
    """One end of one conductor on its terminal."""

    conductor: str
    node: str
    terminal: str
    """What stands there: "stud M8", "clamp 1.5 to 35 mm²", "way of a panel", "not stated"."""
    accepts: str
    size: str
    fitting: str
    fits: bool | None
    """None where the plate states no terminal."""


@dataclass(frozen=True)
class Source:
    """A published source that this design used."""

    title: str
    edition: str
    clause: str
    status: str


@dataclass(frozen=True)
class Design:
    """The finished design: one value, from which every output is made. Mappings keep declaration order.

    With error findings the results may be partial: a run or device whose result could not be reached is
    absent from its mapping."""

    system: System
    source_name: str
    source_sha256: str
    profile: str
    profile_title: str
    runs: Mapping[str, RunResult]
    conductors: Mapping[str, ConductorResult]
    devices: Mapping[str, DeviceResult]
    loads: Mapping[str, LoadResult]
    sources: Mapping[str, SourceResult]
    node_v: Mapping[str, Mapping[str, float]]
    """By node id, then case id: volts against the negative of the bank (or other source) that the node hangs
    together with."""
    energy: tuple[EnergyResult, ...]
    materials: tuple[Material, ...]
    cuts: tuple[Cut, ...]
    fits: tuple[Fit, ...]
    assumptions: tuple[Assumption, ...]
    sources_used: tuple[Source, ...]
    constants: Mapping[str, Traced]
    """Every constant of the rule profile used."""
    findings: tuple[Finding, ...]
    not_covered: tuple[str, ...] = ()
    """Sentences for the first page: what this version does not size or prove for this plate."""
    links: tuple[Link, ...] = ()
    """The conductors between the batteries of banks, with their colours. Their size is that of their run."""
    rechecked: bool = False
    """True where the independent re-check agreed with every constraint."""

    @property
    def errors(self) -> tuple[Finding, ...]:
        return tuple(f for f in self.findings if f.severity == "error")

    @property
    def complete(self) -> bool:
        """True where no error stands and every run has its size."""
        return not self.errors and all(r.size is not None for r in self.runs.values())
