"""What the rules allow beyond what is kept to here, the size that would carry a current, and lengths for readers."""

from __future__ import annotations

from collections.abc import Mapping
from math import prod
from typing import Any

from copperplate.model import Run, Size
from copperplate.model.results import Limit
from copperplate.protection.disconnection import Opening
from copperplate.protection.study import ProtectionStudy
from copperplate.standards import OutsideTable, fuses
from copperplate.units import exceeds, show, suffices


def in_law(study: ProtectionStudy, conductor: str, bound: float, carried: float) -> dict[str, Any]:
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


def together_in_time(
    study: ProtectionStudy, run: Run, limit: Limit, carried: float, opened: Mapping[str, Opening]
) -> bool:
    """Whether several devices that let more pass together than a stated size carries may be left to their shorts: each
    alone is no larger than what it carries, and its smallest short of all opens it in time."""
    devices = [device for device, _ in limit.devices]
    if run.size is None or len(devices) < 2 or limit.sources or limit.free:
        return False
    return all(not exceeds(a, carried) and _in_time(study, device, opened) for device, a in limit.devices)


def _in_time(study: ProtectionStudy, device: str, opened: Mapping[str, Opening]) -> bool:
    """By its curve; without one at the multiple of its rating from which its kind is only listed."""
    opening = opened.get(device)
    if opening is None or opening.verdict != "not proven":
        return opening is not None and opening.verdict == "opens"
    times = fuses.at_once(study.system.devices[device].kind).times
    return suffices(study.far[device].current.value, times * (study.rating_a[device] or 0.0))


def size_for(study: ProtectionStudy, run: Run, amperes: float) -> Size | None:
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
