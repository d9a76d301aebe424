"""Arrays: what flows back into a string, the fuses that serve them, and the voltage of insulation."""

from __future__ import annotations

from typing import Any

from copperplate.findings import Finding, make
from copperplate.model import Solar
from copperplate.protection.study import ProtectionStudy
from copperplate.units import exceeds, suffices


def check_arrays(study: ProtectionStudy) -> list[Finding]:
    """Strings that others feed more than their modules stand, fuses of families that never serve an array, and
    insulation for less than the highest voltage."""
    return [*_strings(study), *_families(study), *_insulation(study)]


def _strings(study: ProtectionStudy) -> list[Finding]:
    """Strings without a fuse each, where the others together, or another source, drive back more than the largest
    series fuse of the modules; where that is not stated, from so many strings on."""
    fewest = study.profile.figures["strings-solar"]
    alike: dict[tuple[float, float | None], list[tuple[Solar, int]]] = {}
    for part in study.system.of(Solar):
        own_a = (part.isc_a or part.imp_a or 0.0) * study.profile.figures["source-solar"].value
        back_a, others = _back(study, part)
        back_a += (part.parallel - 1) * own_a
        strings = part.parallel + others
        stands = part.max_fuse_a
        if exceeds(back_a, stands) if stands is not None and own_a else strings >= fewest.value:
            alike.setdefault((back_a, stands if own_a else None), []).append((part, strings))
    found: list[Finding] = []
    for (back_a, stands), parts in alike.items():
        (first, strings), *_ = parts
        arrays = [part.id for part, _ in parts]
        span = first.spans.get("parallel", first.spans.get("max_fuse_a", first.span))
        figures: dict[str, Any] = {"arrays": arrays, "array": True, "strings": strings, "others": strings - 1}
        figures["limit"] = int(fewest.value) - 1
        if stands is not None:
            own_a = back_a / max(strings - 1, 1)
            figures |= {"backward": back_a, "stands": stands, "limit": 1 + int(stands / own_a)}
        found.append(make("CP426", first.id, span, rule=fewest.cited, **figures))
    return found


def _back(study: ProtectionStudy, part: Solar) -> tuple[float, int]:
    """What comes back into an array from its wiring for ever, and how many strings of others drive it."""
    pole = study.overload.pole
    node = pole.number.get(f"{part.id}.pos")
    most, others = 0.0, 0
    for index in pole.at[node] if node is not None else ():
        for direction in study.overload.directions(index):
            if direction.node != node and direction.into_a > 0.0:
                limit = study.overload.limit(direction)
                arrays = (study.system.parts[name] for name, _ in limit.sources)
                most = max(most, direction.into_a)
                others = max(others, sum(array.parallel for array in arrays if isinstance(array, Solar)))
    return most, others


def _families(study: ProtectionStudy) -> list[Finding]:
    unfit: dict[str, list[str]] = {}
    for device in study.system.devices.values():
        in_array = isinstance(study.system.parts.get(study.system.nodes[device.legs[0][0]].zone), Solar)
        rating = study.ratings.get(device.id)
        if in_array and rating is not None and rating.family in study.profile.never_in_array:
            unfit.setdefault(rating.family, []).append(device.id)
    found: list[Finding] = []
    for name, devices in unfit.items():
        first, highest = study.system.devices[devices[0]], study.zone_v(devices[0])
        family, made = study.profile.family(name), study.profile.family(study.profile.fuse_order(True)[0])
        figures: dict[str, Any] = {"highest": highest.value if highest else None, "word": made.id}
        figures |= {"devices": devices, "family": family.title}
        found.append(make("CP449", first.id, first.span, rule=made.standard, **figures))
    return found


def _insulation(study: ProtectionStudy) -> list[Finding]:
    system, rule = study.system, study.profile.clauses["device-voltage"]
    found: list[Finding] = []
    for run in system.runs.values():
        zone = system.nodes[system.conductors[run.conductor_ids[0]].from_node].zone if run.conductor_ids else ""
        highest, limit = study.highest.get(zone), run.insulation_v
        if limit is not None and highest is not None and not suffices(limit, highest.value):
            figures: dict[str, Any] = {"limit": limit, "highest": highest.value, "what": highest.quantity}
            found.append(make("CP451", run.id, run.span, rule=rule, **figures))
    return found
