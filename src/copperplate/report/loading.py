"""Section 8: what is carried against what may be carried; routes that runs share."""

from __future__ import annotations

from copperplate.model import Bus, Load, Panel
from copperplate.report.blocks import Block, Column, Heading, Table
from copperplate.report.facts import Facts, carried
from copperplate.report.front import ampacity_used
from copperplate.report.words import code, counted, fixed, text, trimmed
from copperplate.schema import loaded_conductors

FULLEST = 30
"""Rows of the table of branches and devices: enough to see what is near its limit."""

Entry = tuple[float, tuple[str, ...]]
"""The share of its limit that something uses, and its cells before that."""


def loading(facts: Facts) -> list[Block]:
    """Section 8: bars, panels and feeders in the order of the plate; branches and devices, fullest first."""
    feeders = {
        run.id
        for run in facts.design.system.runs.values()
        if not any(isinstance(facts.part_at(end), Load) for end in (run.to_end, run.from_end))
    }
    through = [*_bars(facts), *_conductors(facts, feeders)]
    others = [*_conductors(facts, set(facts.design.runs) - feeders), *_devices(facts)]
    if not through and not others:
        return [Heading(2, "8", "Loading"), "Nothing was sized."]
    blocks: list[Block] = [Heading(2, "8", "Loading")]
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
        Column("Where", 18),
        Column("What", 24),
        Column("Carries", 10, "A", 2),
        Column("Of", 9, "A", 1),
        Column("Used", 8, "%", 0),
    )
    rows = tuple((*row, fixed(100 * used, 0)) for used, row in entries)
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
            what = text(facts.title(part.id)) or part.kind
            entries.append((amperes / rating, (code(part.id), what, fixed(amperes, 2), trimmed(rating, 1))))
    return entries


def _conductors(facts: Facts, runs: set[str]) -> list[Entry]:
    entries: list[Entry] = []
    for r in facts.design.runs.values():
        if r.run in runs and r.ampacity and r.ampacity.value and r.size and r.design_current.value:
            what = f"conductor {Facts.several(r.parallel, r.size.label)}"
            row = (code(r.run), what, fixed(r.design_current.value, 2), fixed(r.ampacity.value, 1))
            entries.append((ampacity_used(r), row))
    return entries


def _devices(facts: Facts) -> list[Entry]:
    entries: list[Entry] = []
    for d in facts.design.devices.values():
        if d.rating.rating_a:
            what = text(" ".join(dict.fromkeys((facts.design.system.devices[d.device].kind, d.rating.family))))
            amperes = carried(d)
            row = (code(d.device), what, fixed(amperes, 2), trimmed(d.rating.rating_a, 1))
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
        Column("Route", 18, cell=lambda route: code(route.id)),
        Column("Place", 24, cell=lambda route: text(route.title)),
        Column("Air", 8, "°C", 1, lambda route: trimmed(ambient if route.ambient_c is None else route.ambient_c, 1)),
        Column("Laid", 14, cell=lambda r: " ".join(filter(None, (r.laid, "engine space" if r.engine_space else "")))),
        Column("Runs", 5, decimals=0, cell=lambda route: str(len(route.runs))),
        Column("Loaded conductors", 17, decimals=0, cell=lambda route: str(loaded_conductors(facts.design, route))),
        note="Loaded conductors carry current in some case; those side by side in one pole are counted each.",
        marks=("schedule",),
    )
    return [shared]
