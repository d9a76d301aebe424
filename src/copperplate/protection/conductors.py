"""Whether each ungrounded conductor is protected: by what can come into it for ever, or on a short tap."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from math import prod
from typing import Any, Literal

from copperplate.findings import Finding, make
from copperplate.flow import Judged, Tap, duties
from copperplate.model import DC_POLES, Battery, Run, Size, Traced
from copperplate.model.results import Limit
from copperplate.protection.study import ProtectionStudy
from copperplate.standards import OutsideTable, fuses
from copperplate.standards.conductors import area_mm2
from copperplate.standards.supplies import unlimited
from copperplate.units import exceeds, show, suffices


@dataclass(frozen=True, slots=True)
class Place:
    """The longest stretch of conductor before a device from where it begins, metres, and how long it may be."""

    distance_m: float
    limit: Traced


def places(study: ProtectionStudy) -> dict[str, Place]:
    """The place of each device of the direct-current side: of its sides that something comes from the one that exceeds
    its limit the most."""
    overload = study.overload
    result: dict[str, Place] = {}
    for device in study.system.devices.values():
        lines = overload.pole.of.get(device.id, ()) if device.roles.protects and device.pole in DC_POLES else ()
        for tap in (tap for line in lines for tap in overload.before_device(line)):
            if tap.origin == "device":
                continue
            place = Place(tap.metres, study.profile.placement(tap.origin, tap.sheath))
            other = result.get(device.id)
            if other is None or place.distance_m - place.limit.value > other.distance_m - other.limit.value:
                result[device.id] = place
    return result


def check_conductors(study: ProtectionStudy) -> list[Finding]:
    """Conductors that nothing protects, devices that stand too far away, devices rated above what their conductors
    carry, and conductors that get smaller without a device. A floating negative with single-pole devices has a finding
    of its own, not one for every conductor."""
    system = study.system
    single = any(d.poles < 2 for d in system.devices.values() if d.roles.protects and d.pole in DC_POLES)
    bare: dict[str, Finding] = {}
    far: dict[str, tuple[float, Finding]] = {}
    worst: dict[tuple[str, str], tuple[float, Judged]] = {}
    for judged in study.judged:
        conductor = system.conductors[judged.conductor]
        carried = study.ampacity_a(conductor.id)
        if carried is None or (single and conductor.pole == "neg"):
            continue
        share = study.profile.figures["device-share"].value
        if not exceeds(judged.duty.amperes, carried * share):
            continue
        cut = study.overload.limit(judged.direction)
        source = _unprotected(study, cut)
        own = [d for d in judged.before if system.devices[d].run == conductor.run]
        long = [way for way in judged.ways if exceeds(way.metres, study.allowed_m(way))]
        short = not exceeds(judged.passed_a, carried * share)
        if source is not None and any(way.bare for way in judged.ways):
            if conductor.run not in bare and _is_last(study, judged):
                bare[conductor.run] = _bare(study, judged, source)
        elif short and long and (source is not None or _leads_to_own(study, long, conductor.run)):
            for device, finding in _far(study, judged, long, source):
                if device not in far or finding[0] > far[device][0]:
                    far[device] = finding
        else:
            ahead = [d for way in judged.ways for d, _ in way.devices if system.devices[d].run == conductor.run]
            above = own or (ahead if source is not None else [])
            key = ("CP404", above[0]) if above else ("CP403", conductor.run)
            if not cut.devices and source is None:
                key = ("CP432", conductor.run)
            if key not in worst or carried < worst[key][0]:
                worst[key] = (carried, judged)
    uncovered = [_uncovered(study, *key, judged, carried) for key, (carried, judged) in worst.items()]
    return [*bare.values(), *(finding for _, finding in far.values()), *uncovered]


def _unprotected(study: ProtectionStudy, cut: Limit) -> str | None:
    """A source that no device stands before and that gives more than its rating, where the cut has one."""
    free = (*cut.free, *(part for part, _ in cut.sources if unlimited(study.system.parts[part])))
    return free[0] if free else None


def _leads_to_own(study: ProtectionStudy, ways: Iterable[Tap], run: str) -> bool:
    """Whether a way ends at a device of the run itself, which could stand nearer."""
    return any(study.system.devices[device].run == run for way in ways for device, _ in way.devices)


def _is_last(study: ProtectionStudy, judged: Judged) -> bool:
    """Whether a way without a device ends right behind a conductor: one finding a way, at its last conductor."""
    pole = study.overload.pole
    end = pole.names[pole.other(judged.direction.line, judged.direction.node)]
    return any(end in way.bare for way in judged.ways)


def _bare(study: ProtectionStudy, judged: Judged, source: str) -> Finding:
    system = study.system
    run = system.runs[system.conductors[judged.conductor].run]
    pole = study.overload.pole
    begin = next(s.node for s in pole.sources if s.part == source and s.direct)
    origin: Literal["battery", "bar"] = "battery" if isinstance(system.parts[source], Battery) else "bar"
    end = pole.names[pole.other(judged.direction.line, judged.direction.node)]
    return make(
        "CP401",
        run.id,
        run.span,
        at={"source": system.parts[source].span},
        length=length(study, pole.metres(begin, pole.number[end])),
        source=source,
        end=system.nodes[end].part or end,
        limit=length(study, study.profile.placement(origin, False).value),
        start=pole.names[begin],
        limiting=None if isinstance(system.parts[source], Battery) else source,
        rule=study.profile.clauses["protection"],
    )


def _far(
    study: ProtectionStudy, judged: Judged, ways: Iterable[Tap], source: str | None
) -> Iterable[tuple[str, tuple[float, Finding]]]:
    """The devices at the ends of ways that are too long. Where no unlimited `source` stands behind it bare, what comes
    in is limited, so that conductors that carry it are another way out."""
    system = study.system
    alternator = source is not None and not isinstance(system.parts[source], Battery)
    for way in ways:
        if way.origin == "device":
            continue
        limit = study.profile.placement(way.origin, way.sheath)
        for name, metres in way.devices:
            device = system.devices[name]
            if not exceeds(metres, limit.value):
                continue
            finding = make(
                "CP402",
                device.id,
                device.span,
                at={"conductor": system.conductors[way.conductors[0]].span},
                length=length(study, metres),
                length_m=metres,
                start=way.start,
                limit=length(study, limit.value),
                limit_m=limit.value,
                mounted=limit.value == 0.0,
                passed=judged.direction.into_a if source is None else None,
                limiting=source if alternator else None,
                reading=limit.formula or None,
                rule=limit.source,
            )
            yield name, (metres, finding)


def _uncovered(study: ProtectionStudy, code: str, subject: str, judged: Judged, carried: float) -> Finding:
    """A run carries less than what stands before it lets pass: its own device, those of other runs, or a source that
    limits its own current."""
    system = study.system
    run = system.runs[system.conductors[judged.conductor].run]
    bound = judged.duty.amperes if judged.duty.amperes < math.inf else judged.passed_a
    devices = judged.duty.by or tuple(d for way in judged.ways for d, _ in way.devices)
    size, larger = study.runs[run.id].size, _size_for(study, run, bound)
    figures: dict[str, Any] = {
        "rating": bound,
        "carries": carried,
        "size": size.label if size else "",
        "larger": larger.label if larger else None,
        "rule": study.profile.clauses["device-rating" if code == "CP404" else "protection"],
    }
    place = run.size_span or run.span
    if code == "CP432":
        return make(code, subject, place, **figures)
    figures |= _in_law(study, judged.conductor, bound, carried)
    if code == "CP403":
        own = [(system.devices[d].span, {"own": study.rating_a.get(d) or 0.0}) for d in devices]
        return make(code, subject, place, at={"device": own}, devices=devices, start=run.from_end, **figures)
    rating = study.ratings[subject]
    ratings_a = study.profile.family(rating.family).ratings_a if len(devices) == 1 else ()
    fitting = (r for r in ratings_a if suffices(r, rating.needs_a.value) and not exceeds(r, carried))
    span = system.devices[subject].span
    return make(code, subject, span, at={"run": place}, run=run.id, next=next(fitting, None), **figures)


def check_bodies(study: ProtectionStudy) -> list[Finding]:
    """Conductors that lead back from a conducting body and carry less than a short to it can drive through them for
    ever."""
    found: dict[str, Finding] = {}
    for conductor, duty in duties(study.from_bodies).items():
        run = study.system.runs[study.system.conductors[conductor].run]
        carried = study.ampacity_a(conductor)
        if carried is None or run.id in found or not exceeds(duty.amperes, carried):
            continue
        size, larger = study.runs[run.id].size, _size_for(study, run, duty.amperes)
        found[run.id] = make(
            "CP435",
            run.id,
            run.size_span or run.span,
            at={"device": [(study.system.devices[d].span, {}) for d in duty.by]},
            size=size.label if size else "",
            carries=carried,
            passed=duty.amperes,
            devices=duty.by,
            larger=larger.label if larger else None,
            rule=study.profile.clauses["protection"],
        )
    return list(found.values())


def check_unprotected(study: ProtectionStudy) -> list[Finding]:
    """The conductors before a device that only the conditions of a rule allow without one: one line for all."""
    rule = study.profile.clauses.get("unprotected")
    metres: dict[str, float] = {}
    limits: dict[str, Traced] = {}
    for judged in study.judged if rule else ():
        for way in judged.ways if judged.short else ():
            for device, length_m in way.devices:
                if way.origin != "device" and exceeds(length_m, metres.get(device, 0.0)):
                    metres[device] = length_m
                    limits[device] = study.profile.placement(way.origin, way.sheath)
    if not metres:
        return []
    first = min(metres, key=list(study.system.devices).index)
    return [
        make(
            "CP441",
            first,
            study.system.devices[first].span,
            devices=list(metres),
            lengths=[{"device": device, "length": length(study, metres[device])} for device in metres],
            limit=length(study, max(limit.value for limit in limits.values())),
            rule=rule,
        )
    ]


def check_small(study: ProtectionStudy) -> list[Finding]:
    """Devices above what the profile allows on a small conductor, whatever its ampacity."""
    system = study.system
    found: dict[str, Finding] = {}
    for conductor, duty in study.duties.items():
        run = system.runs[system.conductors[conductor].run]
        result = study.runs.get(run.id)
        if result is None or result.size is None or not duty.by or run.id in found:
            continue
        cap = study.profile.device_cap(result.size, run.current)
        if cap is None or run.parallel > 1 or not exceeds(duty.amperes, cap.value):
            continue
        sizes = study.profile.sizes(system.settings.conductors)
        caps = [(size, study.profile.device_cap(size, run.current)) for size in sizes]
        larger = [s for s, c in caps if area_mm2(s) > result.area_mm2 and (c is None or c.value >= duty.amperes)]
        found[run.id] = make(
            "CP433",
            duty.by[0],
            system.devices[duty.by[0]].span,
            at={"run": run.size_span or run.span},
            rating=duty.amperes,
            size=result.size.label,
            run=run.id,
            limit=cap.value,
            larger=larger[0].label if larger else None,
            rule=cap.source,
        )
    return list(found.values())


def _in_law(study: ProtectionStudy, conductor: str, bound: float, carried: float) -> dict[str, Any]:
    """What the rule itself would allow, where that is more than is kept to here."""
    nominal = study.system.nodes[study.system.conductors[conductor].from_node].nominal_v
    limit = study.profile.device_share_limit(nominal)
    if limit.value <= study.profile.figures["device-share"].value:
        return {}
    legal = limit.value * carried
    following = study.profile.next_rating_only(nominal)
    if following:
        standard = fuses.next_rating(study.profile.family("breaker"), carried) or carried
        legal = carried if exceeds(standard, legal) else standard
    law = {"law": limit.source, "within": bound <= legal, "following": legal if following else None}
    return {"percent": limit.value * 100, "legal": legal, **law}


def _size_for(study: ProtectionStudy, run: Run, amperes: float) -> Size | None:
    """The smallest size of the plate's series that carries `amperes` under this run's factors."""
    result = study.runs[run.id]
    factor = prod(each.value for each in result.factors)
    for size in study.profile.sizes(study.system.settings.conductors):
        try:
            table = study.profile.ampacity(size, result.insulation_c)
        except OutsideTable:
            continue
        if suffices(table.value * factor * result.parallel, amperes):
            return size
    return None


def length(study: ProtectionStudy, metres: float) -> str:
    """A length as the plate's readers count: metres, or feet and for short ones inches."""
    if study.system.settings.units == "metric":
        return show(metres, "m")
    return show(metres, "in") if metres < 1.9 else show(metres, "ft")
