"""What protects each conductor, and each device with what it must do and can."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from copperplate.model.trace import Traced
from copperplate.units import Measured


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
    fault_sides_a: tuple[float, float] | None = None
    """What comes to a direct-current device from its first side and from its second; `prospective_fault` is the
    larger."""
    clearing: Clearing | None = None
    earth_fault: Traced | None = None
    """Of an AC device: the smallest current of a line to the protective earth at the far end."""
    earth_end: Literal["opens", "does not open", "not proven", ""] = ""
    """What opens that one in time: the device itself, or a residual-current device on the way."""
