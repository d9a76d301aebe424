"""What a device lets through in the largest short right behind it, against what the conductor there stands."""

from __future__ import annotations

from typing import Any

from copperplate.findings import Finding, make
from copperplate.model import DC_POLES
from copperplate.protection.disconnection import let_through, tells, withstood
from copperplate.protection.study import ProtectionStudy
from copperplate.units import exceeds, suffices


def check_near_end(study: ProtectionStudy) -> list[Finding]:
    """Devices that do not limit the current and may let more I²t pass than the first conductor behind them stands: one
    line for all. What cannot break its fault current is told of that; what limits it is its maker's to tell."""
    system, least = study.system, study.profile.figures["opening-least"]
    rows: list[dict[str, Any]] = []
    behind: dict[str, list[str]] = {}
    for conductor_id, duty in study.duties.items():
        for device in duty.by:
            behind.setdefault(device, []).append(conductor_id)
    for device, largest in study.largest.items():
        rating, part = study.ratings.get(device), system.devices[device]
        if rating is None or rating.rating_a is None or not part.roles.protects or part.pole not in DC_POLES:
            continue
        family, amperes = study.profile.family(rating.family), largest.value
        if family.limits or rating.interrupting_a is None or not suffices(rating.interrupting_a, amperes):
            continue
        passes = amperes**2 * least.value
        if tells(family, rating.rating_a, study.profile.figures["disconnection"].value):
            passes = let_through(family, rating.rating_a, amperes)
        ends = {node for leg in part.legs for node in leg}
        conductors = (system.conductors[c] for c in behind.get(device, ()))
        beside = [conductor for conductor in conductors if {conductor.from_node, conductor.to_node} & ends]
        weakest = min(beside, key=lambda conductor: withstood(study, conductor.id), default=None)
        stands = withstood(study, weakest.id) if weakest is not None else 0.0
        if weakest is None or not stands or not exceeds(passes, stands):
            continue
        size = study.runs[weakest.run].size
        row = {"device": device, "current": amperes, "run": weakest.run, "size": size.label if size else ""}
        rows.append({**row, "passes": passes / 1000, "stands": stands / 1000})
    if not rows:
        return []
    first = rows[0]["device"]
    names = [row["device"] for row in rows]
    span, within = system.devices[first].span, least.value * 1000
    return [make("CP447", first, span, devices=names, shorts=rows, milliseconds=within, rule=least.cited)]
