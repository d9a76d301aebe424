"""Levels of devices: which stand above which, and whether a branch fault would open the one above."""

from __future__ import annotations

from math import isclose

from copperplate.findings import Finding, make
from copperplate.model import DC_POLES
from copperplate.protection.circuit import Circuit
from copperplate.protection.regions import Region
from copperplate.protection.situation import Situation
from copperplate.units import TOLERANCE, exceeds, suffices


def levels(regions: tuple[Region, ...]) -> dict[str, tuple[str, ...]]:
    """By device: the protective devices directly above it, towards the sources. Devices that feed each other (two
    batteries on one bar) stand on one level."""
    above: dict[str, dict[str, None]] = {}
    for region in regions:
        feeding = dict.fromkeys(device for _, device in region.feeders)
        for _, device in region.border:
            if device not in feeding:
                above.setdefault(device, {}).update(feeding)
    return {device: tuple(names) for device, names in above.items()}


def branches(circuit: Circuit, regions: tuple[Region, ...]) -> dict[str, int]:
    """By device: how many ways lead on from the region behind it, those without a device of their own included. Of a
    device that can feed either side (a battery at each) the side with more ways counts."""
    count: dict[str, int] = {}
    for region in regions:
        feeding = {device for _, device in region.feeders}
        if not feeding:
            continue
        onward = len({device for _, device in region.border} - feeding)
        ends = [node for node in region.nodes if len(circuit.at[node]) == 1]
        for device in feeding:
            count[device] = max(count.get(device, 0), onward + len(ends))
    return count


def check_coordination(situation: Situation) -> list[Finding]:
    """Devices that are not clearly larger than those below them, where other circuits would go dark with them. DC
    only: AC breakers of one panel are chosen by its maker."""
    below: dict[str, list[str]] = {}
    for device, above in situation.upstream.items():
        for upper in above:
            below.setdefault(upper, []).append(device)
    others = branches(situation.circuit, situation.regions)
    found: list[Finding] = []
    for upper in situation.system.devices:
        direct_current = situation.system.devices[upper].pole in DC_POLES
        if upper not in below or others.get(upper, 0) < 2 or not direct_current:
            continue
        rating = situation.ratings.get(upper)
        if rating is not None and not suffices(rating.rating_a or 0.0, rating.needs_a.value):
            continue  # Too small by itself, which is told as an error: the rating that mends it is judged.
        close = _close(situation, upper, below[upper])
        if close:
            found.append(_finding(situation, upper, close))
    return found


def _close(situation: Situation, upper: str, below: list[str]) -> list[str]:
    """Those of `below` that the device above is not clearly larger than, the largest first."""
    rating_a, clear = situation.rating_a, situation.profile.figures["selectivity"].value
    own = rating_a.get(upper)
    if own is None:
        return []
    near = [d for d in below if exceeds((rating_a.get(d) or 0.0) * clear, own)]
    return sorted(near, key=lambda d: -(rating_a[d] or 0.0))


def _finding(situation: Situation, upper: str, close: list[str]) -> Finding:
    devices, rating_a = situation.system.devices, {d: situation.rating_a[d] or 0.0 for d in (upper, *close)}
    own, largest = rating_a[upper], rating_a[close[0]]
    family = situation.profile.family(situation.ratings[upper].family)
    clear = situation.profile.figures["selectivity"]
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
