"""Whether each ungrounded conductor is protected: by what can come into it for ever, or on a short tap."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from copperplate.findings import Finding, make
from copperplate.flow import Judged, Tap
from copperplate.model import DC_POLES, Battery, Traced
from copperplate.model.results import Limit
from copperplate.protection.allowances import in_law, length, size_for, together_in_time
from copperplate.protection.disconnection import Opening
from copperplate.protection.study import ProtectionStudy
from copperplate.standards.supplies import unlimited
from copperplate.units import exceeds, suffices


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
        for tap in (tap for line in lines for tap in overload.leading.before_device(line)):
            if tap.origin == "device":
                continue
            place = Place(tap.metres, study.profile.placement(tap.origin, tap.sheath))
            other = result.get(device.id)
            if other is None or place.distance_m - place.limit.value > other.distance_m - other.limit.value:
                result[device.id] = place
    return result


def check_conductors(study: ProtectionStudy, opened: Mapping[str, Opening]) -> list[Finding]:
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
        if own and not exceeds(cut.amperes, carried * share):  # It carries its source, and its own device passes more.
            cut = Limit(judged.duty.amperes, tuple((d, study.rating_a.get(d) or 0.0) for d in own))
        long = [way for way in judged.ways if exceeds(way.metres, study.allowed_m(way))]
        short = not exceeds(judged.passed_a, carried * share)
        together = together_in_time(study, system.runs[conductor.run], cut, carried * share, opened)
        if source is not None and any(way.bare for way in judged.ways):
            if conductor.run not in bare and _is_last(study, judged):
                bare[conductor.run] = _bare(study, judged, source)
        elif short and long and not together and (source is not None or _leads_to_own(study, long, conductor.run)):
            for device, finding in _far(study, judged, long, source):
                if device not in far or finding[0] > far[device][0]:
                    far[device] = finding
        else:
            ahead = [d for way in judged.ways for d, _ in way.devices if system.devices[d].run == conductor.run]
            above = own or (ahead if source is not None else [])
            key = ("CP404", above[0]) if above else ("CP403", conductor.run)
            if own and not exceeds(judged.direction.into_a, carried * share):
                # Its source gives no more than it carries: only the rating of its own device is above that.
                above_all = max(own, key=lambda device: study.rating_a[device] or 0.0)
                key = ("CP437" if _allowed(study, conductor.id, above_all, carried) else "CP404", above_all)
            elif not cut.devices and source is None:
                key = ("CP432", conductor.run)
            elif together:
                key = ("CP438", conductor.run)
            elif _within_law(study, judged, cut, carried):
                key = ("CP437", cut.devices[0][0])
            if key not in worst or carried < worst[key][0]:
                worst[key] = (carried, judged)
    uncovered = [_uncovered(study, *key, judged, carried) for key, (carried, judged) in worst.items()]
    return [*bare.values(), *(finding for _, finding in far.values()), *uncovered]


def _within_law(study: ProtectionStudy, judged: Judged, cut: Limit, carried: float) -> bool:
    """Whether the one device that limits what comes in has a stated rating that the rules allow above the ampacity."""
    if len(cut.devices) != 1 or cut.sources or cut.free:
        return False
    ((device, rating_a),) = cut.devices
    return _allowed(study, judged.conductor, device, carried) and not exceeds(judged.duty.amperes, rating_a)


def _allowed(study: ProtectionStudy, conductor: str, device: str, carried: float) -> bool:
    """Whether the rating of a device is stated, and one that the rules allow above the ampacity of a conductor."""
    law = in_law(study, conductor, study.rating_a[device] or 0.0, carried)
    return study.ratings[device].stated and bool(law.get("within"))


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
        length=length(study, pole.metres(begin, lambda line: line.protects).get(pole.number[end], 0.0)),
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
    size, larger = study.runs[run.id].size, size_for(study, run, bound)
    figures: dict[str, Any] = {
        "rating": bound,
        "carries": carried,
        "size": size.label if size else "",
        "larger": larger.label if larger else None,
        "rule": study.profile.clauses["device-rating" if code in ("CP404", "CP437") else "protection"],
    }
    place = run.size_span or run.span
    if code == "CP432":
        factored = max(study.demand.factored_a.get(conductor, 0.0) for conductor in run.conductor_ids)
        serves = suffices(carried * study.profile.figures["device-share"].value, factored)
        figures |= {"fuse": carried} if serves else {"needs": factored}
        sources = [part for part, _ in study.overload.limit(judged.direction).sources]
        return make(code, subject, place, sources=sources, **figures)
    figures |= in_law(study, judged.conductor, bound, carried)
    if code in ("CP403", "CP438"):
        own = [(system.devices[d].span, {"own": study.rating_a.get(d) or 0.0}) for d in devices]
        return make(code, subject, place, at={"device": own}, devices=devices, start=run.from_end, **figures)
    devices = (subject,) if code == "CP437" else devices
    rating = study.ratings[subject]
    ratings_a = study.profile.family(rating.family).ratings_a if len(devices) == 1 else ()
    fitting = (r for r in ratings_a if suffices(r, rating.needs_a.value) and not exceeds(r, carried))
    span = system.devices[subject].span
    return make(code, subject, span, at={"run": place}, run=run.id, next=next(fitting, None), **figures)
