"""Whether each device can break the largest fault current that reaches it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from copperplate.findings import Finding, make
from copperplate.model import Battery, Device, Solar, Traced
from copperplate.model.groups import reached
from copperplate.protection.study import ProtectionStudy
from copperplate.standards import chemistry_of, fuses
from copperplate.units import suffices


def check_figures(study: ProtectionStudy) -> list[Finding]:
    """Batteries without a figure for their fault current: nothing can be said of any device that they reach."""
    found: list[Finding] = []
    for battery in study.system.of(Battery):
        unread = battery.unread & {"fault_current_a", "internal_ohm"}
        if study.banks[battery.id].resistance_ohm is None and not unread:
            usual, rule = chemistry_of(battery).fault_range, study.profile.clauses["breaking"]
            found.append(make("CP416", battery.id, battery.span, usual=usual, rule=rule))
    return found


def check_breaking(study: ProtectionStudy) -> list[Finding]:
    """Devices that cannot break their fault current: an error at a battery, a warning behind another device. The
    ways of one panel that are of one family and one capacity make one finding."""
    found: list[Finding] = []
    shelves: dict[tuple[str, str, float | None], list[Device]] = {}
    for device in study.system.devices.values():
        current = study.largest.get(device.id)
        if not device.roles.protects or current is None or device.id not in study.ratings:
            continue
        breaks = study.ratings[device.id].interrupting_a
        if breaks is not None and suffices(breaks, current.value):
            continue
        if device.id in study.nearest:
            found.append(make("CP411", device.id, device.span, **_figures(study, device, current.value, breaks)))
        elif backed(study, device, study.largest):
            continue
        elif device.panel:
            shelves.setdefault((device.panel, study.ratings[device.id].family, breaks), []).append(device)
        else:
            found.append(make("CP415", device.id, device.span, **_figures(study, device, current.value, breaks)))
    for (panel, _, breaks), devices in shelves.items():
        most = max(devices, key=lambda device: study.largest[device.id].value)
        figures = _figures(study, most, study.largest[most.id].value, breaks)
        figures |= {"way": most.id, "several": len(devices) if len(devices) > 1 else None}
        found.append(make("CP415", panel, study.system.parts[panel].span, at={"way": devices[0].span}, **figures))
    return found


def backed(study: ProtectionStudy, device: Device, largest: Mapping[str, Traced]) -> bool:
    """Whether the maker's stated combination with a device above it settles the matter: that one breaks it all, the
    `largest` current by device."""
    name = device.backed_by or ""
    above = reached((device.id,), lambda below: study.upstream.get(below, ()))
    return name in study.ratings and name in above and _breaks(study, name, largest)


def _breaks(study: ProtectionStudy, device: str, largest: Mapping[str, Traced] | None = None) -> bool:
    """Whether a device breaks its own largest fault current."""
    rating, current = study.ratings.get(device), (study.largest if largest is None else largest).get(device)
    breaks = rating.interrupting_a if rating is not None else None
    return breaks is not None and current is not None and suffices(breaks, current.value)


def printed(amperes: float) -> float:
    """The next breaking capacity that makers print."""
    steps = (500, 750, 1000, 1500, 2000, 2500, 3000, 5000, 6000, 10000, 15000, 20000, 25000, 50000, 100000)
    return next((float(step) for step in steps if step >= amperes), amperes)


def _figures(study: ProtectionStudy, device: Device, amperes: float, breaks: float | None) -> dict[str, Any]:
    """What a device breaks and can meet, where that comes from, and what would break it."""
    inputs = study.largest[device.id].inputs
    batteries = [what.removesuffix(" e.m.f.") for what, _, _ in inputs if what.endswith(" e.m.f.")]
    inner = {f"{battery} resistance" for battery in batteries}
    breaking = [u for u in study.upstream.get(device.id, ()) if _breaks(study, u)]
    uppers = breaking or study.upstream.get(device.id, ())
    return {
        "current": amperes,
        "breaks": breaks,
        "family": study.profile.family(study.ratings[device.id].family).title,
        "batteries": batteries,
        "mohm": sum(float(value) for what, value, unit in inputs if unit == "mohm" and what not in inner),
        "pushed": sum(float(value) for _, value, unit in inputs if unit == "A") or None,
        "wanted": printed(amperes),
        "rule": study.profile.clauses["breaking"],
        "upper": uppers[0] if uppers else None,
        **_instead(study, device, amperes),
    }


def _instead(study: ProtectionStudy, device: Device, amperes: float) -> dict[str, Any]:
    """A family of fuses that breaks it, serves the voltage and has a rating; none for a breaker."""
    highest = study.zone_v(device.id)
    needs = study.ratings[device.id].needs_a.value
    array = isinstance(study.system.parts.get(study.system.nodes[device.legs[0][0]].zone), Solar)
    for name in study.profile.fuse_order(array) if device.roles.melts else ():
        family = study.profile.family(name)
        serves = (family.voltage_v or 0.0) >= (highest.value if highest else 0.0)
        breaks, rating = family.interrupting_a or 0.0, fuses.next_rating(family, needs)
        if serves and breaks >= amperes and rating is not None and rating >= family.found_from_a:
            return {"word": name, "serves": breaks}
    return {}
