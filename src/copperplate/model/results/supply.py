"""Volts at each load and what it costs to get there, sources, and the energy of a day."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from copperplate.units import Measured


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
    given: tuple[tuple[str, float], ...] = ()
    """(source with stated hours, watt-hours that it brings into the bank in a day)."""
