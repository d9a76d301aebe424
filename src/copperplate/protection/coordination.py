"""Levels of devices: which stand above which, and whether a branch fault would open the one above."""

from __future__ import annotations

from math import isclose

from copperplate.findings import Finding, make
from copperplate.model import DC_POLES
from copperplate.protection.study import ProtectionStudy
from copperplate.units import TOLERANCE, exceeds, suffices


def check_coordination(study: ProtectionStudy) -> list[Finding]:
    """Devices that are not clearly larger than those below them, where other circuits would go dark with them. DC
    only: AC breakers of one panel are chosen by its maker."""
    below: dict[str, list[str]] = {}
    for device, above in study.upstream.items():
        for upper in above:
            if _fed_through(study, upper, device):
                below.setdefault(upper, []).append(device)
    found: list[Finding] = []
    for upper in study.system.devices:
        direct_current = study.system.devices[upper].pole in DC_POLES
        if upper not in below or study.overload.leading.onward(upper) < 2 or not direct_current:
            continue
        rating = study.ratings.get(upper)
        if rating is not None and not suffices(rating.rating_a or 0.0, rating.needs_a.value):
            continue  # Too small by itself, which is told as an error: the rating that mends it is judged.
        close = _close(study, upper, below[upper])
        if close:
            found.append(_finding(study, upper, close))
    return found


def _fed_through(study: ProtectionStudy, upper: str, lower: str) -> bool:
    """Whether a battery drives the current of a short behind `lower` through the device above it. What an alternator
    alone pushes through its own device is little beside that, and nothing goes dark where it opens."""
    pole, both = study.overload.pole, study.sides.get(upper)
    if both is None:
        return True
    ends = [pole.lines[index] for index in pole.of.get(lower, ())]
    here = {pole.region[node] for line in ends for node in (line.a, line.b)}
    lines = [pole.lines[index] for index in pole.of.get(upper, ())]
    away = [
        side
        for line in lines
        for node, side in ((line.a, both.first), (line.b, both.second))
        if pole.region[node] not in here
    ]
    return not away or any(what.endswith(" e.m.f.") for side in away if side for what, _, _ in side.inputs)


def _close(study: ProtectionStudy, upper: str, below: list[str]) -> list[str]:
    """Those of `below` that the device above is not clearly larger than, the largest first."""
    rating_a, clear = study.rating_a, study.profile.figures["selectivity"].value
    own = rating_a.get(upper)
    if own is None:
        return []
    near = [d for d in below if exceeds((rating_a.get(d) or 0.0) * clear, own)]
    return sorted(near, key=lambda d: -(rating_a[d] or 0.0))


def _finding(study: ProtectionStudy, upper: str, close: list[str]) -> Finding:
    devices, rating_a = study.system.devices, {d: study.rating_a[d] or 0.0 for d in (upper, *close)}
    own, largest = rating_a[upper], rating_a[close[0]]
    family = study.profile.family(study.ratings[upper].family)
    clear = study.profile.figures["selectivity"]
    return make(
        "CP419",
        upper,
        devices[upper].span,
        at={"below": [(devices[d].span, {"own": rating_a[d]}) for d in close[:3]]},
        rating=own,
        first=close[0],
        largest=largest,
        more=len(close) - 1 or None,
        equal=isclose(own, largest, rel_tol=TOLERANCE),
        smaller=own < largest,
        ratio=own / largest,
        clear=clear.value,
        wanted=next((r for r in family.ratings_a if r >= largest * clear.value), None),
        rule=clear.cited,
    )
