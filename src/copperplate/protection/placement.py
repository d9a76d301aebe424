"""Where devices stand: how far along the conductor from the source or bar that they protect it from."""

from __future__ import annotations

from dataclasses import dataclass

from copperplate.findings import Finding, make
from copperplate.model import DC_POLES, Traced
from copperplate.protection.situation import Situation
from copperplate.protection.topology import Stretch
from copperplate.units import exceeds, show, suffices


@dataclass(frozen=True, slots=True)
class Place:
    """The longest unprotected stretch before a device, and how long it may be."""

    distance_m: float
    limit: Traced


def limit_of(situation: Situation, stretch: Stretch) -> Traced:
    """How long a stretch may be; in a sheath only where every conductor of it is in one."""
    conductors = [situation.system.conductors[c] for c in stretch.conductors]
    sheath = bool(conductors) and all(conductor.sheath for conductor in conductors)
    return situation.profile.placement(stretch.origin, sheath)


def places(situation: Situation) -> dict[str, Place]:
    """The place of each device that stands at the end of a stretch: the one that exceeds its limit the most."""
    result: dict[str, Place] = {}
    for stretch in situation.stretches:
        if not stretch.device:
            continue
        place = Place(stretch.length_m, limit_of(situation, stretch))
        other = result.get(stretch.device)
        if other is None or place.distance_m - place.limit.value > other.distance_m - other.limit.value:
            result[stretch.device] = place
    return result


def check_placement(situation: Situation) -> list[Finding]:
    """Stretches without a device, and devices too far from where their conductor begins. A floating negative with
    single-pole devices has a finding of its own, not one for every conductor."""
    system = situation.system
    single = any(d.poles < 2 for d in system.devices.values() if d.roles.protects and d.pole in DC_POLES)
    found: list[Finding] = []
    bare: set[tuple[str, str]] = set()
    for stretch in situation.stretches:
        if single and system.nodes[stretch.start].pole == "neg":
            continue
        if not stretch.device:
            key = (stretch.source, stretch.end)
            if key not in bare and (stretch.end, stretch.start) not in bare:
                bare |= {key, (stretch.start, stretch.end)}
                found.append(_bare(situation, stretch))
            continue
        limit = limit_of(situation, stretch)
        if not exceeds(stretch.length_m, limit.value) or _covered(situation, stretch):
            continue
        found.append(_far(situation, stretch, limit))
    return found


def _covered(situation: Situation, stretch: Stretch) -> bool:
    """Whether every conductor of a stretch behind other devices carries what those let pass for ever."""
    if stretch.origin == "battery" or stretch.source:
        return False
    for conductor in stretch.conductors:
        passed = situation.guards[conductor].upstream_a(situation.rating_a)
        carried = situation.ampacity_a(conductor)
        if passed is None or carried is None or not suffices(carried, passed):
            return False
    return True


def _bare(situation: Situation, stretch: Stretch) -> Finding:
    system = situation.system
    conductor = system.conductors[stretch.conductors[-1]] if stretch.conductors else None
    run = system.runs[conductor.run] if conductor else None
    source = system.parts[stretch.source]
    return make(
        "CP401",
        run.id if run else stretch.end,
        run.span if run else source.span,
        at={"source": source.span},
        length=_length(situation, stretch.length_m),
        source=source.id,
        end=system.nodes[stretch.end].part or stretch.end,
        limit=_length(situation, situation.profile.placement(stretch.origin, False).value),
        start=stretch.start,
        rule=situation.profile.clauses["protection"],
    )


def _far(situation: Situation, stretch: Stretch, limit: Traced) -> Finding:
    system = situation.system
    device = system.devices[stretch.device]
    conductor = system.conductors[stretch.conductors[0]] if stretch.conductors else None
    passed = None
    if stretch.origin == "bar" and not stretch.source and conductor is not None:
        passed = situation.guards[conductor.id].upstream_a(situation.rating_a)
    return make(
        "CP402",
        device.id,
        device.span,
        at={"conductor": conductor.span if conductor else None},
        length=_length(situation, stretch.length_m),
        length_m=stretch.length_m,
        start=stretch.start,
        limit=_length(situation, limit.value),
        limit_m=limit.value,
        mounted=limit.value == 0.0,
        passed=passed,
        reading=limit.formula or None,
        rule=limit.source,
    )


def _length(situation: Situation, metres: float) -> str:
    """A length as the plate's readers count: metres, or feet and for short ones inches."""
    if situation.system.settings.units == "metric":
        return show(metres, "m")
    return show(metres, "in") if metres < 1.9 else show(metres, "ft")
