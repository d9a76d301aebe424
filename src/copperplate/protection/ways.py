"""Ways without a device that the rules allow, and on what conditions."""

from __future__ import annotations

from copperplate.findings import Finding, make
from copperplate.flow import Tap
from copperplate.model import DC_POLES, Traced
from copperplate.protection.allowances import length
from copperplate.protection.study import ProtectionStudy
from copperplate.units import exceeds


def check_sheaths(study: ProtectionStudy) -> list[Finding]:
    """Devices so far from a battery's terminal that practice asks for a sheath over all of the way, which lies in none.
    One that stands beyond the rule's own distance has its finding."""
    bare = study.profile.figures.get("placement-battery-bare")
    worst: dict[str, Tap] = {}
    for device in study.system.devices.values() if bare is not None else ():
        lines = study.overload.pole.of.get(device.id, ()) if device.roles.protects and device.pole in DC_POLES else ()
        for tap in (tap for line in lines for tap in study.overload.leading.before_device(line)):
            beyond = exceeds(tap.metres, bare.value if bare else 0.0) and not exceeds(tap.metres, study.allowed_m(tap))
            if tap.origin == "battery" and not tap.sheath and beyond and tap.metres > _metres(worst.get(device.id)):
                worst[device.id] = tap
    return [_unsheathed(study, device, tap) for device, tap in worst.items()]


def _metres(tap: Tap | None) -> float:
    return tap.metres if tap is not None else 0.0


def _unsheathed(study: ProtectionStudy, device: str, tap: Tap) -> Finding:
    system, bare = study.system, study.profile.figures["placement-battery-bare"]
    first = next(c for c in tap.conductors if not system.conductors[c].sheath)
    return make(
        "CP439",
        device,
        system.devices[device].span,
        at={"conductor": system.conductors[first].span},
        length=length(study, tap.metres),
        length_m=tap.metres,
        start=tap.start,
        limit=length(study, bare.value),
        limit_m=bare.value,
        allowed=length(study, study.allowed_m(tap)),
        rule=bare.source,
    )


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
