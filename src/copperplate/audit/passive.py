"""Conductors that no current of the plate sizes: the links inside a bank, and earths."""

from __future__ import annotations

from copperplate.findings import Finding, finding
from copperplate.model import PROTECTIVE, Run
from copperplate.model.results import Design
from copperplate.standards import OutsideTable, conductors, profile, table

SLACK = 0.999


def check_passive(design: Design) -> list[Finding]:
    """Each link has the copper of every lead of its bank, whose whole current the last link carries. Each earth has
    what the table of the rules asks for the largest device where it begins at a bar, and else at least for the
    smallest one in the runs of its part."""
    found: list[Finding] = []
    for run in design.system.runs.values():
        if run.role == "link":
            found += _link(design, run)
        elif run.earth:
            found += _earth(design, run)
    return found


def _say(code: str, subject: str, message: str) -> Finding:
    return finding(code, subject, message, help="a defect of this program, not of the plate: please report it")


def _area(design: Design, run: str) -> float:
    result = design.runs.get(run)
    return conductors.area_mm2(result.size) * result.parallel if result is not None and result.size is not None else 0.0


def _link(design: Design, run: Run) -> list[Finding]:
    bank = run.from_end.split(".")[0]
    leads = {
        conductor.run
        for conductor in design.system.conductors.values()
        for node in (conductor.from_node, conductor.to_node)
        if design.system.nodes[node].part == bank and conductor.pole in ("pos", "neg")
    }
    if not leads:
        return []
    area, lead = max((_area(design, name), name) for name in leads)
    own = _area(design, run.id)
    if own <= 0.0:
        return [_say("CP591", run.id, f"`{run.id}` has no size")]
    if own < area * SLACK:
        return [_say("CP593", run.id, f"`{run.id}` has {own:.4g} mm², and the lead `{lead}` {area:.4g} mm²")]
    return []


def _earth(design: Design, run: Run) -> list[Finding]:
    if not run.conductor_ids:
        return []
    ends = {design.system.nodes[node].part for c in run.conductor_ids for node in _nodes(design, c)}
    ratings = [
        result.rating.rating_a
        for name, result in design.devices.items()
        if result.rating is not None
        and result.rating.rating_a is not None
        and design.system.devices[name].kind in PROTECTIVE
        and design.system.runs[design.system.devices[name].run].current == run.current
        and (_common(design, ends) or _feeds(design, name, ends))
    ]
    if not ratings:
        return []
    amperes = max(ratings) if _common(design, ends) else min(ratings)
    rules, system = profile(design.profile), design.system
    earth = rules.sheet.get("earth", {})
    if earth.get("by") == "line" and run.current in earth.get("currents", ()):
        return _beside(design, run, ends)
    try:
        told = rules.earth_size(amperes, system.settings.conductors, run.current, None)
    except OutsideTable:
        return []
    if told is None or _area(design, run.id) >= told[1].value * SLACK:
        return []
    own = _area(design, run.id)
    return [_say("CP593", run.id, f"`{run.id}` has {own:.4g} mm², and the earth for {amperes:.4g} A {told[0].label}")]


def _beside(design: Design, run: Run, ends: set[str]) -> list[Finding]:
    """By the line conductor, in the table of the rules: a share of it or an area of its own. The line is the largest
    conductor of the circuits that meet at the ends of the earth."""
    areas = [
        conductors.area_mm2(result.size)
        for name, result in design.runs.items()
        if result.size is not None and not design.system.runs[name].earth and design.system.runs[name].role == "run"
        if ends & set(design.system.end_parts(design.system.runs[name]))
    ]
    line = max(areas, default=0.0)
    rows = table(profile(design.profile).sheet["earth"]["table"]).records
    row = next(r for r in rows if line <= float(r["line_max_mm2"] or "inf"))
    wanted = line * float(row["share"]) if row["share"] else float(row["area_mm2"])
    own = _area(design, run.id)
    if own >= wanted * SLACK:
        return []
    return [_say("CP593", run.id, f"`{run.id}` has {own:.4g} mm², and {wanted:.4g} mm² is asked beside {line:.4g} mm²")]


def _nodes(design: Design, conductor: str) -> tuple[str, str]:
    one = design.system.conductors[conductor]
    return one.from_node, one.to_node


def _common(design: Design, parts: set[str]) -> bool:
    """Whether an earth begins at a bar or battery, where the faults of every circuit return."""
    kinds = {design.system.parts[part].kind for part in parts if part in design.system.parts}
    return bool(kinds & {"bus", "battery", "junction"})


def _feeds(design: Design, device: str, parts: set[str]) -> bool:
    """Whether a device sits in a run that ends at one of these parts."""
    run = design.system.runs[design.system.devices[device].run]
    here = [p for p in design.system.end_parts(run) if p in parts and p in design.system.parts]
    return any(design.system.parts[part].kind != "earth" for part in here)
