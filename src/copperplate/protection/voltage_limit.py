"""Whether each device is made for the highest voltage of its circuit."""

from __future__ import annotations

from copperplate.findings import Finding, make
from copperplate.model import Device, Solar, Traced
from copperplate.protection.study import ProtectionStudy
from copperplate.units import suffices


def check_voltage(study: ProtectionStudy) -> list[Finding]:
    """The device's DC voltage against the highest of its circuit, charging and cold sun included. Ways of one panel
    and family make one finding."""
    found: list[Finding] = []
    shelves: dict[tuple[str, str, float | None], list[Device]] = {}
    for device in study.system.devices.values():
        rating, highest = study.ratings.get(device.id), study.zone_v(device.id)
        if rating is None or highest is None or not device.roles.protects:
            continue
        limit = rating.voltage_v
        unknown = limit is None and highest.value > study.profile.figures["voltage-unstated"].value
        if not unknown and (limit is None or suffices(limit, highest.value)):
            continue
        if device.panel:
            shelves.setdefault((device.panel, rating.family, limit), []).append(device)
        else:
            found.append(_finding(study, [device], limit, highest))
    for (_, _, limit), devices in shelves.items():
        highest = study.zone_v(devices[0].id)
        found += [_finding(study, devices, limit, highest)] if highest is not None else []
    return found


def _finding(study: ProtectionStudy, devices: list[Device], limit: float | None, highest: Traced) -> Finding:
    first = devices[0]
    owner = study.system.parts.get(first.panel) or first
    word, serves = _instead(study, first, highest.value)
    return make(
        "CP431" if limit is None else "CP413",
        owner.id,
        owner.span,
        several=len(devices) if len(devices) > 1 else None,
        device=first.id,
        family=study.profile.family(study.ratings[first.id].family).title,
        limit=limit,
        highest=highest.value,
        what=highest.quantity,
        panel=first.panel or None,
        word=word,
        serves=serves,
        rule=study.profile.clauses["device-voltage"],
    )


def _instead(study: ProtectionStudy, device: Device, volts: float) -> tuple[str | None, float | None]:
    """A family of fuses that serves the voltage and has a rating, and its voltage; none for a breaker."""
    needs = study.ratings[device.id].needs_a.value
    array = isinstance(study.system.parts.get(study.system.nodes[device.legs[0][0]].zone), Solar)
    known = study.profile.fuse_order(True) if array else ("single-bolt", "strip-70v", "class-t", "gg")
    for name in known if device.roles.melts else ():
        family = study.profile.family(name)
        if (family.voltage_v or 0.0) >= volts and family.ratings_a[-1] >= needs:
            return name, family.voltage_v
    return None, None
