"""Conductors that no current of the plate sizes: the links inside a bank, and earths."""

from __future__ import annotations

from collections.abc import Iterator

from copperplate.audit.reported import reported
from copperplate.audit.wires import area_mm2
from copperplate.findings import Finding, make
from copperplate.model import Battery, Bus, Junction, Run
from copperplate.model.results import Design
from copperplate.standards import OutsideTable, conductors, profile, table

SLACK = 0.999


def check_passive(design: Design) -> Iterator[Finding]:
    """Each link has the copper of every lead of its bank, whose whole current the last link carries. Each earth has
    what the table of the rules asks for the largest device where it begins at a bar, and else at least for the
    smallest one in the runs of its part."""
    for run in design.system.runs.values():
        if run.role == "link":
            yield from _link(design, run)
        elif run.earth and run.conductor_ids:
            yield from _earth(design, run)


def _link(design: Design, run: Run) -> Iterator[Finding]:
    bank = run.from_end.split(".")[0]
    leads = {
        conductor.run
        for conductor in design.system.conductors.values()
        for node in (conductor.from_node, conductor.to_node)
        if design.system.nodes[node].part == bank and conductor.pole in ("pos", "neg")
    }
    if not leads:
        return
    area, lead = max((area_mm2(design, name), name) for name in leads)
    own = area_mm2(design, run.id)
    if own <= 0.0:
        yield make("CP591", run.id)
    elif own < area * SLACK and run.id not in reported(design, "CP620"):
        yield make("CP593", run.id, own=own, lead=lead, area=area)


def _earth(design: Design, run: Run) -> Iterator[Finding]:
    system, rules = design.system, profile(design.profile)
    pieces = [system.conductors[c] for c in run.conductor_ids]
    ends = {system.nodes[node].part for c in pieces for node in (c.from_node, c.to_node)}
    common = any(isinstance(system.parts.get(part), (Bus, Battery, Junction)) for part in ends)
    ratings = [
        result.rating.rating_a
        for name, result in design.devices.items()
        if result.rating.rating_a is not None
        and system.devices[name].roles.protects
        and system.runs[system.devices[name].run].current == run.current
        and (common or _feeds(design, name, ends))
    ]
    if not ratings:
        return
    # At a bar or battery the faults of every circuit return.
    amperes = max(ratings) if common else min(ratings)
    rule = rules.sheet.get("earth", {})
    if rule.get("by") == "line" and run.current in rule.get("currents", ()):
        yield from _beside(design, run, ends)
        return
    try:
        earth = rules.earth_size(amperes, system.settings.conductors, run.current, None)
    except OutsideTable:
        return
    own = area_mm2(design, run.id)
    if earth is not None and own < earth[1].value * SLACK:
        yield make("CP593", run.id, own=own, device=amperes, earth=earth[0].label)


def _beside(design: Design, run: Run, ends: set[str]) -> Iterator[Finding]:
    """By the line conductor, in the table of the rules: a share of it or an area of its own. The line is the largest
    conductor of the circuits that meet at the ends of the earth."""
    system = design.system
    lines = [
        conductors.area_mm2(result.size)
        for name, result in design.runs.items()
        if result.size is not None and not system.runs[name].earth and system.runs[name].role == "run"
        if ends & set(system.end_parts(system.runs[name]))
    ]
    line = max(lines, default=0.0)
    rows = table(profile(design.profile).sheet["earth"]["table"]).records
    row = next(r for r in rows if line <= float(r["line_max_mm2"] or "inf"))
    least = line * float(row["share"]) if row["share"] else float(row["area_mm2"])
    own = area_mm2(design, run.id)
    if own < least * SLACK:
        yield make("CP593", run.id, own=own, least=least, line=line)


def _feeds(design: Design, device: str, parts: set[str]) -> bool:
    """Whether a device sits in a run that ends at one of these parts, an earth left aside."""
    system = design.system
    here = system.end_parts(system.runs[system.devices[device].run])
    return any(p in parts and p in system.parts and not system.parts[p].roles.grounds for p in here)
