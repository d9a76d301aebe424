"""Levels of devices: which stand above which, and whether a branch fault would open the one above."""

from __future__ import annotations

from math import isclose

from copperplate.findings import Finding, make
from copperplate.model import DC_POLES, Device, Traced
from copperplate.protection.study import ProtectionStudy
from copperplate.units import TOLERANCE, exceeds, suffices

Levels = dict[tuple[str, str], float]
"""By a device above and one below it the share of a short's current behind the lower that comes by the upper."""


def check_coordination(study: ProtectionStudy) -> list[Finding]:
    """Devices that are not clearly larger than those below them, where other circuits would go dark with them. DC
    only: AC breakers of one panel are chosen by its maker."""
    below: dict[str, dict[str, float]] = {}
    for (upper, lower), share in _levels(study).items():
        below.setdefault(upper, {})[lower] = share
    found: list[Finding] = []
    for upper in study.system.devices:
        circuits = _circuits(study, below, upper)
        if not circuits:
            continue
        rating = study.ratings.get(upper)
        if rating is not None and not suffices(rating.rating_a or 0.0, rating.needs_a.value):
            continue  # Too small by itself, which is told as an error: the rating that mends it is judged.
        close = _close(study, upper, circuits)
        if close:
            found.append(_finding(study, upper, close))
    return found


def _circuits(study: ProtectionStudy, below: dict[str, dict[str, float]], upper: str) -> dict[str, float]:
    """The devices of the circuits that go dark with one above them: those right below it, or below the only one that
    is; none where there is one circuit."""
    seen = {upper}
    while len(at := below.get(upper, {})) + study.overload.leading.bare_ends(upper) == 1 and at:
        (upper,) = at
        if upper in seen:
            return {}
        seen.add(upper)
    return at if len(at) + study.overload.leading.bare_ends(upper) > 1 else {}


def _levels(study: ProtectionStudy) -> Levels:
    """A device stands above another where batteries drive the current of a short behind the lower through it. Where
    each stands above the other, as with batteries side by side, they are no levels, nor are two in one run."""
    devices = study.system.devices
    found: Levels = {}
    for device in devices.values():
        if device.roles.protects and device.pole in DC_POLES:
            for upper, share in _above(study, device):
                if devices[upper].run != device.run or devices[upper].panel:
                    found[upper, device.id] = max(share, found.get((upper, device.id), 0.0))
    return {(upper, lower): share for (upper, lower), share in found.items() if (lower, upper) not in found}


def _above(study: ProtectionStudy, device: Device) -> list[tuple[str, float]]:
    """The devices directly above one, on either side of it, with the share that comes by each: what its own far side
    brings, of all that comes to this one there."""
    pole, both = study.overload.pole, study.sides.get(device.id)
    found: list[tuple[str, float]] = []
    for line in (pole.lines[index] for index in pole.of.get(device.id, ())):
        for node, side in ((line.a, both.first if both else None), (line.b, both.second if both else None)):
            for upper in study.overload.leading.large_into(node):
                if upper != device.id and (brought := _brought(study, upper, pole.region[node])) is not None:
                    share = min(brought / side.value, 1.0) if side is not None and side.value > 0.0 else 1.0
                    found.append((upper, share))
    return found


def _brought(study: ProtectionStudy, upper: str, region: int) -> float | None:
    """What the batteries beyond a device bring to a short in a region that it borders on; None where none does. What an
    alternator alone pushes through its own device is little beside that, and nothing goes dark where it opens."""
    pole, both = study.overload.pole, study.sides.get(upper)
    if both is None:
        return float("inf")
    lines = [pole.lines[index] for index in pole.of.get(upper, ())]
    ends = [(node, side) for line in lines for node, side in ((line.a, both.first), (line.b, both.second))]
    away = [side for node, side in ends if pole.region[node] != region and side is not None and _by_battery(side)]
    return max((side.value for side in away), default=None)


def _by_battery(side: Traced) -> bool:
    return any(what.endswith(" e.m.f.") for what, _, _ in side.inputs)


def _close(study: ProtectionStudy, upper: str, below: dict[str, float]) -> dict[str, float]:
    """Those of `below` that the device above is not clearly larger than, with what each counts for against it, amperes:
    its rating times the share. The largest first."""
    own, clear = study.rating_a.get(upper), study.profile.figures["selectivity"].value
    if own is None:
        return {}
    against = {device: (study.rating_a.get(device) or 0.0) * share for device, share in below.items()}
    near = {device: a for device, a in against.items() if exceeds(a * clear, own)}
    return dict(sorted(near.items(), key=lambda each: -each[1]))


def _finding(study: ProtectionStudy, upper: str, near: dict[str, float]) -> Finding:
    close = list(near)
    devices, rating_a = study.system.devices, {d: study.rating_a[d] or 0.0 for d in (upper, *close)}
    own, largest, against = rating_a[upper], rating_a[close[0]], near[close[0]]
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
        ratio=own / against,
        clear=clear.value,
        wanted=next((r for r in family.ratings_a if r >= against * clear.value), None),
        rule=clear.cited,
    )
