"""Whether each conductor carries what the devices before it let pass for ever."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import prod
from typing import Any

from copperplate.findings import Finding, make
from copperplate.model import Run, Size
from copperplate.protection.placement import limit_of
from copperplate.protection.situation import Situation
from copperplate.protection.topology import Stretch
from copperplate.standards import OutsideTable
from copperplate.standards.conductors import area_mm2
from copperplate.units import exceeds, suffices


@dataclass(frozen=True, slots=True)
class Reliance:
    """The devices whose ratings a conductor must carry together (`bound_a` their sum, None where one has no
    rating): those at its far end where it is short enough to rely on them, else those before it."""

    devices: tuple[str, ...]
    bound_a: float | None


def reliances(situation: Situation) -> dict[str, Reliance]:
    """What each guarded conductor relies on, in declaration order."""
    over: dict[str, list[Stretch]] = {}
    for stretch in situation.stretches:
        for conductor in stretch.conductors if stretch.device else ():
            over.setdefault(conductor, []).append(stretch)
    result: dict[str, Reliance] = {}
    for conductor, guard in situation.guards.items():
        stretches = over.get(conductor, [])
        near = not any(exceeds(s.length_m, limit_of(situation, s).value) for s in stretches)
        if (stretches and near) or (not guard.devices and not guard.limited_a):
            result[conductor] = Reliance(guard.own_end, guard.own_end_a(situation.rating_a))
            continue
        let = {side: sum(situation.rating_a.get(d) or 0.0 for d in side) for side in guard.sides}
        result[conductor] = Reliance(max(let, key=let.__getitem__, default=()), guard.upstream_a(situation.rating_a))
    return result


def check_covering(situation: Situation, relies: Mapping[str, Reliance]) -> list[Finding]:
    """Devices rated above what their conductors carry, and conductors that get smaller without a device."""
    system = situation.system
    worst: dict[tuple[str, str], tuple[float, str]] = {}
    for conductor, reliance in relies.items():
        carried = situation.ampacity_a(conductor)
        if reliance.bound_a is None or carried is None:
            continue
        run = system.runs[system.conductors[conductor].run]
        share = situation.profile.device_share(system.nodes[system.conductors[conductor].from_node].nominal_v)
        if not exceeds(reliance.bound_a, carried * share.value):
            continue
        own = [d for d in reliance.devices if system.devices[d].run == run.id]
        key = ("CP404", own[0]) if own else ("CP403", run.id)
        if situation.guards[conductor].limited_a >= reliance.bound_a:
            key = ("CP432", run.id)
        if key not in worst or carried < worst[key][0]:
            worst[key] = (carried, conductor)
    return [
        _uncovered(situation, code, subject, conductor, relies[conductor], carried)
        for (code, subject), (carried, conductor) in worst.items()
    ]


def _uncovered(
    situation: Situation, code: str, subject: str, conductor: str, reliance: Reliance, carried: float
) -> Finding:
    """A run carries less than what stands before it lets pass: its own device, those of other runs, or a source that
    limits its own current."""
    system, bound = situation.system, reliance.bound_a or 0.0
    run = system.runs[system.conductors[conductor].run]
    size, larger = situation.runs[run.id].size, _size_for(situation, run, bound)
    figures: dict[str, Any] = {
        "rating": bound,
        "carries": carried,
        "size": size.label if size else "",
        "larger": larger.label if larger else None,
        "rule": situation.profile.clauses["device-rating" if code == "CP404" else "protection"],
    }
    place = run.size_span or run.span
    if code == "CP432":
        return make(code, subject, place, **figures)
    figures |= _in_law(situation, conductor, bound, carried)
    if code == "CP403":
        own = [(system.devices[d].span, {"own": situation.rating_a.get(d) or 0.0}) for d in reliance.devices]
        return make(code, subject, place, at={"device": own}, devices=reliance.devices, start=run.from_end, **figures)
    rating = situation.ratings[subject]
    ratings_a = situation.profile.family(rating.family).ratings_a if len(reliance.devices) == 1 else ()
    fitting = (r for r in ratings_a if suffices(r, rating.needs_a.value) and not exceeds(r, carried))
    span = system.devices[subject].span
    return make(code, subject, span, at={"run": place}, run=run.id, next=next(fitting, None), **figures)


def check_small(situation: Situation, relies: Mapping[str, Reliance]) -> list[Finding]:
    """Devices above what the profile allows on a small conductor, whatever its ampacity."""
    system = situation.system
    found: list[Finding] = []
    told: set[str] = set()
    for conductor, reliance in relies.items():
        run = system.runs[system.conductors[conductor].run]
        result = situation.runs.get(run.id)
        if result is None or result.size is None or reliance.bound_a is None or not reliance.devices:
            continue
        cap = situation.profile.device_cap(result.size, run.current)
        if cap is None or run.parallel > 1 or not exceeds(reliance.bound_a, cap.value) or run.id in told:
            continue
        told.add(run.id)
        sizes = situation.profile.sizes(system.settings.conductors)
        caps = [(size, situation.profile.device_cap(size, run.current)) for size in sizes]
        larger = [s for s, c in caps if area_mm2(s) > result.area_mm2 and (c is None or c.value >= reliance.bound_a)]
        found.append(
            make(
                "CP433",
                reliance.devices[0],
                system.devices[reliance.devices[0]].span,
                at={"run": run.size_span or run.span},
                rating=reliance.bound_a,
                size=result.size.label,
                run=run.id,
                limit=cap.value,
                larger=larger[0].label if larger else None,
                rule=cap.source,
            )
        )
    return found


def _in_law(situation: Situation, conductor: str, bound: float, carried: float) -> dict[str, Any]:
    """What the rule itself would allow, where that is more than is kept to here."""
    nominal = situation.system.nodes[situation.system.conductors[conductor].from_node].nominal_v
    limit = situation.profile.device_share_limit(nominal)
    if limit.value <= situation.profile.device_share(nominal).value:
        return {}
    legal = limit.value * carried
    return {"percent": limit.value * 100, "legal": legal, "law": limit.source, "within": bound <= legal}


def _size_for(situation: Situation, run: Run, amperes: float) -> Size | None:
    """The smallest size of the plate's series that carries `amperes` under this run's factors."""
    result = situation.runs[run.id]
    factor = prod(factor.value for factor in result.factors)
    for size in situation.profile.sizes(situation.system.settings.conductors):
        try:
            table = situation.profile.ampacity(size, result.insulation_c)
        except OutsideTable:
            continue
        if suffices(table.value * factor * result.parallel, amperes):
            return size
    return None
