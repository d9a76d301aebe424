"""Loading: what is carried against what may be carried; routes that runs share."""

from __future__ import annotations

from copperplate.model import Bus, Load, Panel
from copperplate.report.blocks import Block, Column, Heading, Table
from copperplate.report.facts import Facts, ampacity_used, carried
from copperplate.report.words import against, code, counted, fixed, text, trimmed
from copperplate.schema import loaded_conductors

FULLEST = 12
"""Rows of the table of branches and devices: enough to see what is near its limit."""

Entry = tuple[float, tuple[str, ...]]
"""The share of its limit that something uses, and its cells before that."""


def loading(facts: Facts) -> list[Block]:
    """Bars, panels and feeders in the order of the plate; branches and devices, fullest first."""
    feeders = {
        run.id
        for run in facts.design.system.runs.values()
        if not any(isinstance(facts.part_at(end), Load) for end in (run.to_end, run.from_end))
    }
    through = [*_bars(facts), *_conductors(facts, feeders)]
    others = [*_conductors(facts, set(facts.design.runs) - feeders), *_devices(facts)]
    if not through and not others:
        return [Heading(3, "Loading"), "Nothing was sized."]
    blocks: list[Block] = [Heading(3, "Loading")]
    if through:
        note = (
            "A bar or panel carries what enters it, in the case where that is most; a feeder its design current, of"
            " its ampacity."
        )
        blocks.append(_table("Bars, panels and feeders against their ratings.", through, note))
    if others:
        others.sort(key=lambda entry: -entry[0])
        rest = len(others) - FULLEST
        note = f"{counted(rest, 'less full one is', 'less full ones are')} left out." if rest > 0 else ""
        blocks.append(_table("Branches and devices against their limits, fullest first.", others[:FULLEST], note))
    return [*blocks, *_routes(facts)]


def _table(caption: str, entries: list[Entry], note: str) -> Table:
    columns = (
        Column("What", 28),
        Column("Where", 18),
        Column("Carries", 10, "A", 1),
        Column("Of", 9, "A", 1),
        Column("Used", 8, "%", 0),
    )
    rows = tuple((*row, against(100 * used, 100.0, 0)) for used, row in entries)
    return Table(caption, columns, rows, note, ("schedule",), "bar")


def _bars(facts: Facts) -> list[Entry]:
    """Bars and panels that state a rating, by the terminal that carries most."""
    system = facts.design.system
    ways = {end for device in system.devices.values() if device.panel for _, end in device.legs}
    entries: list[Entry] = []
    for part in system.of(Bus, Panel):
        rating = part.current_a
        nodes = [node.id for node in system.nodes.values() if node.part == part.id and node.id not in ways]
        if rating and nodes:
            amperes = max(facts.through(node) for node in nodes)
            what = text(facts.names.part(part.id))
            entries.append((amperes / rating, (what, code(part.id), against(amperes, rating, 1), trimmed(rating, 1))))
    return entries


def _conductors(facts: Facts, runs: set[str]) -> list[Entry]:
    entries: list[Entry] = []
    for r in facts.design.runs.values():
        if r.run in runs and r.ampacity and r.ampacity.value and r.size and r.design_current.value:
            what = text(f"{facts.names.of(r.run)}, {Facts.several(r.parallel, r.size.label)}")
            limit = r.ampacity.value
            row = (what, code(r.run), against(r.design_current.value, limit, 1), fixed(limit, 1))
            entries.append((ampacity_used(r), row))
    return entries


def _devices(facts: Facts) -> list[Entry]:
    entries: list[Entry] = []
    for d in facts.design.devices.values():
        if d.rating.rating_a:
            amperes = carried(d)
            what = text(facts.names.device(d.device))
            row = (what, code(d.device), against(amperes, d.rating.rating_a, 1), trimmed(d.rating.rating_a, 1))
            entries.append((amperes / d.rating.rating_a, row))
    return entries


def _routes(facts: Facts) -> list[Block]:
    """Places that conductors share: how warm, how many."""
    routes = facts.design.system.routes.values()
    if not routes:
        return []
    ambient = facts.design.system.settings.ambient_c
    shared = Table.of(
        routes,
        "Routes that runs share.",
        Column("Place", 24, cell=lambda route: text(route.title)),
        Column("Route", 18, cell=lambda route: code(route.id)),
        Column("Air", 8, "°C", 1, lambda route: trimmed(ambient if route.ambient_c is None else route.ambient_c, 1)),
        Column("Laid", 14, cell=lambda r: " ".join(filter(None, (r.laid, "engine space" if r.engine_space else "")))),
        Column("Runs", 5, decimals=0, cell=lambda route: str(len(route.runs))),
        Column("Loaded conductors", 17, decimals=0, cell=lambda route: str(loaded_conductors(facts.design, route))),
        note="Loaded conductors carry current in some case; those side by side in one pole are counted each.",
        marks=("schedule",),
    )
    return [shared]
