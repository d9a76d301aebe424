"""What protects each conductor, and each device with what it must do and can."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from copperplate.model.trace import Traced
from copperplate.units import Measured


@dataclass(frozen=True, slots=True)
class Limit:
    """What limits a current for ever, amperes (infinite where nothing does): `devices` with the rating of each and
    `sources` with what each gives at most; their sum is the current. `free` are sources without a limit that reach it
    unhindered."""

    amperes: float
    devices: tuple[tuple[str, float], ...] = ()
    sources: tuple[tuple[str, float], ...] = ()
    free: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Stretch:
    """A way of conductors without a device of its own: where it begins, metres to its farthest end and how many are
    allowed by which rule, and the devices at its ends with the metres to each."""

    start: str
    length_m: float
    limit_m: float
    rule: str
    devices: tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True)
class Lasting:
    """What flows for ever in a conductor from one of its ends. Where it carries less than that, the stretches that it
    lies on, and what the devices at their ends let pass, amperes; `tapped`: it relies on them."""

    limit: Limit
    stretches: tuple[Stretch, ...] = ()
    passed_a: float | None = None
    tapped: bool = False


@dataclass(frozen=True)
class Rating(Measured):
    """A device's rating as chosen or stated. `needs_a` is the current it must carry continuously with its
    factors; `rating_a` None where no standard rating exists (a finding tells); `air` the share of it that the device
    carries for ever in the hot air of its place, None elsewhere."""

    device: str
    family: str
    needs_a: Traced
    rating_a: float | None
    stated: bool
    interrupting_a: float | None
    voltage_v: float | None
    source: str = ""
    status: str = ""
    air: Traced | None = None

    @property
    def carries_a(self) -> float | None:
        """What it carries for ever where it stands."""
        return self.rating_a * self.air.value if self.rating_a is not None and self.air else self.rating_a


@dataclass(frozen=True, slots=True)
class Clearing:
    """How the smallest short that a device must open comes about: from a live node to a node of the return, what feeds
    it, ohms out and back of a single source as hot as insulation allows (None where several feed it), and the turn at
    which the device opens."""

    node: str
    back: str
    sources: tuple[str, ...]
    out_ohm: float | None
    back_ohm: float | None
    turn: int


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
    fault_sides: tuple[Traced | None, Traced | None] | None = None
    """What comes to a direct-current device from its first side and from its second, None where nothing does;
    `prospective_fault` is the larger."""
    clearing: Clearing | None = None
    earth_fault: Traced | None = None
    """Of an AC device: the smallest current of a line to the protective earth at the far end."""
    earth_end: Literal["opens", "does not open", "not proven", ""] = ""
    """What opens that one in time: the device itself, or a residual-current device on the way."""
