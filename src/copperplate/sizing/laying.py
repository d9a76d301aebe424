"""What a conductor of each size can carry where it lies."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from math import prod
from typing import Literal

from copperplate.model import Run, Size, System, Traced
from copperplate.model.results import Demand
from copperplate.sizing.bundles import loaded
from copperplate.standards import OutsideTable, Profile, conductors
from copperplate.units import suffices


@dataclass(frozen=True, slots=True)
class Laying:
    """How the conductors of a run lie: everything that their ampacity depends on beside the size."""

    insulation_c: float
    ambient_c: float
    engine_space: bool
    nominal_v: float
    loaded: int
    laid: str
    sheath: bool
    tinned: bool
    parallel: bool


@dataclass(frozen=True, slots=True, eq=False)
class Gauge:
    """One size in one laying, made once. `ampacity_a` of one conductor after the factors and `unfactored_a` before any
    of them, not above its terminals' column; 0.0 with the reason in `outside` where the tables do not reach."""

    size: Size
    laying: Laying
    area_mm2: float
    judged: Traced
    table: Traced | None
    factors: tuple[Traced, ...]
    ampacity_a: float
    unfactored_a: float
    outside: str
    below_minimum: bool

    def ampacity(self, parallel: int) -> Traced | None:
        """The ampacity of a pole of so many conductors in parallel, with its trace."""
        if self.table is None:
            return None
        inputs = [("table", self.table.value, "A")] + [(f.quantity, f.value, "") for f in self.factors]
        if parallel > 1:
            inputs.append(("in parallel", float(parallel), ""))
        formula = " x ".join(["table", *(f.quantity.removesuffix(" factor") for f in self.factors)])
        return Traced(
            self.ampacity_a * parallel, "A", "ampacity", formula + (" x conductors" if parallel > 1 else ""),
            tuple(inputs), self.table.source, self.table.status,
        )  # fmt: skip


@cache
def gauge(profile: Profile, size: Size, series: str, laying: Laying) -> Gauge:
    """What a size can carry in a laying under a profile. `series` is the one that the plate chooses from."""
    judged = profile.judged_ohm_per_m(size, laying.tinned)
    area = conductors.area_mm2(size)
    smallest, _ = minimum(profile, series, laying)
    small = not suffices(area, conductors.area_mm2(smallest))
    try:
        table = profile.ampacity(size, laying.insulation_c)
        factors = profile.factors(
            size, laying.insulation_c, laying.ambient_c, laying.engine_space, laying.nominal_v, laying.loaded,
            laying.laid,
        )  # fmt: skip
    except OutsideTable as outside:
        return Gauge(size, laying, area, judged, None, (), 0.0, 0.0, str(outside), small)
    ampacity_a = table.value * prod(f.value for f in factors)
    unfactored_a = profile.unfactored_a(size, laying.insulation_c)
    return Gauge(size, laying, area, judged, table, factors, ampacity_a, unfactored_a, "", small)


@cache
def device_cap(profile: Profile, size: Size, current: Literal["dc", "ac"]) -> Traced | None:
    """The largest device on a small conductor, see `Profile.device_cap`."""
    return profile.device_cap(size, current)


@cache
def minimum(profile: Profile, series: str, laying: Laying) -> tuple[Size, Traced]:
    """The smallest size that the profile allows in a laying, and its rule."""
    return profile.minimum(series, laying.sheath, laying.nominal_v, laying.parallel)


@cache
def ladder(profile: Profile, series: str, laying: Laying) -> tuple[Gauge, ...]:
    """Every size of the series that the profile offers, in a laying, by ascending area."""
    return tuple(gauge(profile, size, series, laying) for size in profile.sizes(series))


def layings(system: System, profile: Profile, demand: Demand) -> dict[str, Laying]:
    """How the conductors of every run that joins terminals of the plate (links and earths apart) lie, by run id."""
    settings = system.settings
    together = loaded(system, demand)
    known: dict[Laying, Laying] = {}
    by_run: dict[str, Laying] = {}
    for run in system.runs.values():
        if run.role == "link" or run.earth or not run.conductor_ids:
            continue
        laying = Laying(
            insulation_c=run.insulation_c or settings.insulation_c,
            ambient_c=max(run.ambient_c, profile.figures["engine-space"].value) if run.engine_space else run.ambient_c,
            engine_space=run.engine_space,
            nominal_v=nominal_v(system, run),
            loaded=together[run.id],
            laid=run.laid,
            sheath=profile.sheathed(run.outside_m),
            tinned=settings.tinned,
            parallel=run.parallel > 1,
        )
        by_run[run.id] = known.setdefault(laying, laying)
    return by_run


def nominal_v(system: System, run: Run) -> float:
    """Nominal voltage of the system that a run belongs to."""
    return system.nodes[system.conductors[run.conductor_ids[0]].from_node].nominal_v


def carried_a(system: System, profile: Profile, layings: Mapping[str, Laying]) -> dict[str, float | None]:
    """What each conductor of a stated size carries after its factors, all in parallel together, amperes; None where
    the size is left out or where the tables do not reach."""
    carried: dict[str, float | None] = dict.fromkeys(system.conductors)
    for run_id, laying in layings.items():
        run = system.runs[run_id]
        if run.size is not None:
            laid = gauge(profile, run.size, system.settings.conductors, laying)
            for conductor in run.conductor_ids if not laid.outside else ():
                carried[conductor] = laid.ampacity_a * run.parallel
    return carried
