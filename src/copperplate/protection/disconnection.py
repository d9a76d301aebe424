"""Whether a short at the far end opens each device in time, and before the conductor is damaged."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal

from copperplate.faults import FarEnd
from copperplate.model.results import Rating
from copperplate.protection.study import ProtectionStudy
from copperplate.standards import Profile, adiabatic_k, conductors, fuses
from copperplate.units import exceeds, suffices

Verdict = Literal["opens", "does not open", "not proven", ""]


@dataclass(frozen=True, slots=True)
class Opening:
    """What a far-end short does to one device. Seconds None where no curve is shipped, infinite where it need not
    open at all; `i2t` lets through at most, `k2s2` is what the weakest conductor stands (A²s)."""

    verdict: Verdict
    seconds: float | None
    i2t: float | None
    k2s2: float | None
    weakest: str


def openings(study: ProtectionStudy) -> dict[str, Opening]:
    """The far-end verdict of every protective device that a battery reaches."""
    behind: dict[str, list[str]] = {}
    for conductor, duty in study.duties.items():
        for device in duty.by:
            behind.setdefault(device, []).append(conductor)
    allowed_s = study.profile.figures["disconnection"].value
    result: dict[str, Opening] = {}
    for device, far in study.far.items():
        rating = study.ratings.get(device)
        if rating is None or rating.rating_a is None:
            continue
        family = study.profile.family(rating.family)
        amperes = far.current.value
        held = not exceeds(amperes, rating.rating_a)
        own_s = math.inf if held else fuses.slow_gate(family, rating.rating_a, amperes)
        seconds = own_s if held else _since_the_short(study, far, own_s)
        limits = [(withstood(study, c), c) for c in behind.get(device, [])]
        k2s2, weakest = min(((v, c) for v, c in limits if v > 0.0), default=(None, ""))
        if held:
            verdict: Verdict = "does not open"
            i2t = None
        elif seconds is None or not tells(family, rating.rating_a, allowed_s):
            verdict = "not proven"
            seconds, i2t = None, None
        else:
            i2t = let_through(family, rating.rating_a, amperes)
            verdict = "opens" if seconds <= allowed_s else "does not open"
        result[device] = Opening(verdict, seconds, i2t, k2s2, weakest)
    return result


def _since_the_short(study: ProtectionStudy, far: FarEnd, own_s: float | None) -> float | None:
    """Seconds from the short's beginning to a device's opening: those of the devices that open before it count too,
    of each turn the slowest. None where a curve is missing."""
    total = own_s
    for turn in far.earlier:
        times = [
            fuses.slow_gate(study.profile.family(study.ratings[each.device].family), rating_a, each.amperes)
            for each in turn
            if (rating_a := study.rating_a[each.device]) is not None
        ]
        if total is None or None in times:
            return None
        total += max((each for each in times if each is not None), default=0.0)
    return total


def tells(family: fuses.Family, rating_a: float, allowed_s: float) -> bool:
    """Whether the family's published curve reaches down to the time allowed at all."""
    return any(
        gate.max_s is not None and gate.max_s <= allowed_s and gate.rating_min_a <= rating_a <= gate.rating_max_a
        for gate in family.gates
    )


def let_through(family: fuses.Family, rating_a: float, amperes: float) -> float:
    """I²t that a device lets pass at `amperes`, at most, in A²s. At a published gate it is the gate's current squared
    times its longest time; a larger current melts the element with no more I²t, for less heat is lost meanwhile."""
    seconds = fuses.slow_gate(family, rating_a, amperes)
    bounds = [] if seconds is None or math.isinf(seconds) else [amperes**2 * seconds]
    for gate in family.gates:
        if gate.max_s is None or not gate.rating_min_a <= rating_a <= gate.rating_max_a:
            continue
        at_gate = gate.share * rating_a
        if not exceeds(at_gate, amperes):
            bounds.append(at_gate**2 * gate.max_s)
    return min(bounds, default=math.inf)


def passing(profile: Profile, ratings: Mapping[str, Rating]) -> Callable[[str, float], float | None]:
    """By device and current the I²t that it lets pass at most, see `let_through`: infinite where it does not open in
    the time allowed, None where no curve tells."""
    allowed_s = profile.figures["disconnection"].value

    def passed(device: str, amperes: float) -> float | None:
        rating = ratings.get(device)
        if rating is None or rating.rating_a is None:
            return None
        family = profile.family(rating.family)
        if not tells(family, rating.rating_a, allowed_s):
            return None
        in_time = suffices(allowed_s, fuses.slow_gate(family, rating.rating_a, amperes) or 0.0)
        return let_through(family, rating.rating_a, amperes) if in_time else math.inf

    return passed


def withstand(area_mm2: float, insulation_c: float) -> float:
    """k²S² in A²s: the I²t that a conductor stands without damage to its insulation, IEC 60364-4-43 434.5.2."""
    return (adiabatic_k(insulation_c).value * area_mm2) ** 2


def withstood(study: ProtectionStudy, conductor: str) -> float:
    """What a conductor stands, all its parallels together; 0.0 without a size."""
    run = study.runs.get(study.system.conductors[conductor].run)
    if run is None or run.size is None:
        return 0.0
    return withstand(conductors.area_mm2(run.size) * run.parallel, run.insulation_c)
