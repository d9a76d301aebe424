"""What a conductor of each size can carry where it lies."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from math import prod
from typing import Literal

from copperplate.model import Size, Traced
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


@dataclass(frozen=True, slots=True, eq=False)
class Gauge:
    """One size in one laying, made once. `ampacity_a` of one conductor after the factors; 0.0 with the reason in
    `outside` where the profile's tables do not reach."""

    size: Size
    laying: Laying
    area_mm2: float
    judged: Traced
    table: Traced | None
    factors: tuple[Traced, ...]
    ampacity_a: float
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
        return Gauge(size, laying, area, judged, None, (), 0.0, str(outside), small)
    return Gauge(size, laying, area, judged, table, factors, table.value * prod(f.value for f in factors), "", small)


@cache
def device_cap(profile: Profile, size: Size, current: Literal["dc", "ac"]) -> Traced | None:
    """The largest device on a small conductor, see `Profile.device_cap`."""
    return profile.device_cap(size, current)


@cache
def minimum(profile: Profile, series: str, laying: Laying) -> tuple[Size, Traced]:
    """The smallest size that the profile allows in a laying, and its rule."""
    return profile.minimum(series, laying.sheath, laying.nominal_v)


@cache
def ladder(profile: Profile, series: str, laying: Laying) -> tuple[Gauge, ...]:
    """Every size of the series that the profile offers, in a laying, by ascending area."""
    return tuple(gauge(profile, size, series, laying) for size in profile.sizes(series))
