"""What a reader hears of far ends: too slow, too hot, not proven."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from copperplate.findings import Finding, make
from copperplate.flow import NO_DUTY, duties
from copperplate.protection.disconnection import Opening, withstood
from copperplate.protection.study import ProtectionStudy
from copperplate.standards import adiabatic_k, conductors, fuses
from copperplate.units import exceeds, suffices


def check_opening(study: ProtectionStudy, found: Mapping[str, Opening]) -> list[Finding]:
    """Far ends that do not open their device in time, or only after the conductor is damaged, and what no published
    curve proves: one line for all devices whose far-end current is many times their rating."""
    result: list[Finding] = []
    silent: list[str] = []
    for device, opening in found.items():
        rating_a = study.rating_a[device] or 0.0
        far = study.far[device].current.value
        many = fuses.at_once(study.system.devices[device].kind).times * rating_a
        if opening.verdict == "not proven" and far >= many:
            silent.append(device)
        elif opening.verdict == "not proven":
            result.append(_finding(study, device, "CP417", many=many))
        elif opening.verdict == "does not open":
            result.append(_slow(study, device, opening, far, rating_a))
        else:
            result += _hot(study, device, opening, rating_a)
    return [*result, _silent(study, silent)] if silent else result


def check_returns(study: ProtectionStudy) -> list[Finding]:
    """Returns and bonds that a short heats more than they stand before it is cleared: the worst of each run. Where a
    return carries less than what flows in it for ever, that is the cause and has its finding."""
    system, carried = study.system, duties(study.from_consumers)
    worst: dict[str, tuple[float, str]] = {}
    for conductor, heat in study.heat.items():
        stands, run = withstood(study, conductor), system.conductors[conductor].run
        if exceeds(carried.get(conductor, NO_DUTY).amperes, study.ampacity_a(conductor) or 0.0):
            continue
        if stands > 0.0 and exceeds(heat.i2t, stands) and heat.i2t / stands > worst.get(run, (0.0, ""))[0]:
            worst[run] = heat.i2t / stands, conductor
    return [_overheated(study, run, conductor) for run, (_, conductor) in worst.items()]


def _overheated(study: ProtectionStudy, run: str, conductor: str) -> Finding:
    system, heat, size = study.system, study.heat[conductor], study.runs[run].size
    names = [system.nodes[node].part or node for node in (heat.node, heat.back)]
    return make(
        "CP436",
        run,
        system.runs[run].size_span or system.runs[run].span,
        at={"device": [(system.devices[d].span, {}) for d in heat.devices]},
        start=names[0],
        back=names[1],
        passes=heat.i2t,
        stands=withstood(study, conductor),
        size=size.label if size else "",
        devices=heat.devices,
        larger=_standing(study, conductor, heat.i2t),
        rule=study.profile.clauses["short"],
    )


def _hot(study: ProtectionStudy, device: str, opening: Opening, rating_a: float) -> list[Finding]:
    """A conductor that overheats. Where the rating is above what it carries, that is the cause and has its finding."""
    if opening.i2t is None or opening.k2s2 is None or not exceeds(opening.i2t, opening.k2s2):
        return []
    if exceeds(rating_a, study.ampacity_a(opening.weakest) or 0.0):
        return []
    larger = _standing(study, opening.weakest, opening.i2t)
    run = study.system.conductors[opening.weakest].run
    rule = study.profile.clauses["short"]
    figures = {"passes": opening.i2t, "stands": opening.k2s2, "run": run, "larger": larger, "rule": rule}
    return [_finding(study, device, "CP414", **figures)]


def _finding(study: ProtectionStudy, device: str, code: str, **figures: Any) -> Finding:
    """A finding on a far end: where that is, and how its current comes about."""
    system, far = study.system, study.far[device]
    run = system.runs[system.conductors[far.conductor].run]
    inputs = far.current.inputs
    limit = next(((what, value) for what, value, unit in inputs if unit == "A"), (None, None))
    rating_a, allowed = study.rating_a[device] or 0.0, study.profile.figures["disconnection"]
    return make(
        code,
        device,
        system.devices[device].span,
        at={"end": run.span},
        end=system.nodes[far.clearing.node].part or run.to_end,
        current=far.current.value,
        times=far.current.value / rating_a,
        rating=rating_a,
        family=study.profile.family(study.ratings[device].family).title,
        giver=limit[0],
        most=limit[1],
        volts=next(value for _, value, unit in inputs if unit == "V"),
        mohm=sum(float(value) for _, value, unit in inputs if unit == "mohm"),
        allowed=allowed.value,
        **{"rule": allowed.cited, **figures},
    )


def _slow(study: ProtectionStudy, device: str, opening: Opening, far: float, rating_a: float) -> Finding:
    rating = study.ratings[device]
    family = study.profile.family(rating.family)
    smaller = [
        r
        for r in family.ratings_a
        if suffices(r, rating.needs_a.value)
        and r < rating_a
        and (fuses.slow_gate(family, r, far) or math.inf) <= study.profile.figures["disconnection"].value
    ]
    # No copper makes a source that limits itself give more.
    limited = any(unit == "A" for _, _, unit in study.far[device].current.inputs)
    borne = limited and bool(opening.weakest) and (study.ampacity_a(opening.weakest) or 0.0) >= far
    seconds = opening.seconds if opening.seconds != math.inf else None
    next_a = smaller[-1] if smaller else None
    return _finding(study, device, "CP412", seconds=seconds, next=next_a, borne=borne)


def _standing(study: ProtectionStudy, conductor: str, i2t: float) -> str | None:
    """The smallest size that stands what a device lets through."""
    run = study.runs[study.system.conductors[conductor].run]
    least = math.sqrt(i2t) / adiabatic_k(run.insulation_c).value / run.parallel
    sizes = study.profile.sizes(study.system.settings.conductors)
    return next((size.label for size in sizes if conductors.area_mm2(size) >= least), None)


def _silent(study: ProtectionStudy, devices: list[str]) -> Finding:
    """One line for all the devices that no published curve tells of."""
    far = {d: study.far[d].current.value for d in devices}
    times = {d: far[d] / (study.rating_a[d] or 1.0) for d in devices}
    allowed = study.profile.figures["disconnection"]
    families = dict.fromkeys(study.profile.family(study.ratings[d].family).title for d in devices)
    return make(
        "CP418",
        devices[0],
        study.system.devices[devices[0]].span,
        devices=devices,
        times=min(times.values()),
        families=", ".join(families),
        shorts=[{"device": d, "current": far[d], "times": times[d]} for d in devices],
        allowed=allowed.value,
        rule=allowed.cited,
    )
