"""Sections 3 to 5: circuits, wiring list, terminals. One fact a row, in the order of declaration."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import NamedTuple

from copperplate.model import Panel
from copperplate.model.links import Link
from copperplate.model.results import Fit, RunResult
from copperplate.model.system import Conductor, Lead, Run
from copperplate.report.blocks import Block, Column, Heading, Table
from copperplate.report.facts import Facts
from copperplate.report.front import ac_caution, battery_caution
from copperplate.report.words import code, fixed, text, trimmed


def circuits(facts: Facts) -> list[Block]:
    """Section 3: one row a way of every panel, then the runs that no way feeds."""
    blocks: list[Block] = [
        Heading(2, "3", "Circuit schedule"),
        "Spare is how much longer the circuit may become, one way, before the next size is needed."
        ' What the size was set by is one of the reasons that section 9 explains; "stated" sizes were checked.',
    ]
    listed: set[str] = set()
    for panel in facts.design.system.of(Panel):
        ways = _ways(facts, panel)
        listed.update(way.run.id for way in ways if way.run is not None)
        blocks += ac_caution(facts.design) if panel.ac else []
        blocks.append(_circuits(facts, panel, ways))
    others = [run for run in facts.design.system.runs.values() if run.id not in listed]
    if others:
        blocks.append(_feeders(facts, others, "Feeders, sources and other runs." if listed else "Runs."))
    if leads := facts.design.system.leads:
        blocks.append(_leads(facts, leads.values()))
    return blocks


class _Way(NamedTuple):
    """A row of a panel: the number of a way ("" where it has none, and for what follows the first run of one), a run
    (None: spare) and the way's own device in it."""

    number: str
    run: Run | None = None
    device: str = ""


def _ways(facts: Facts, panel: Panel) -> list[_Way]:
    """Rows of a panel, spare ways too. Ways without a number come last."""
    devices = [d for d in facts.design.system.devices.values() if d.panel == panel.id]
    by_way = {d.way: d for d in devices if d.way is not None}
    count = max([panel.ways or 0, *by_way])
    ways = [(str(way), by_way.get(way)) for way in range(1, count + 1)]
    rows: list[_Way] = []
    for number, device in [*ways, *(("", d) for d in devices if d.way is None)]:
        run = facts.way_runs.get(device.id) if device else None
        if device is None or run is None:
            rows.append(_Way(number))
            continue
        first, *others = facts.circuit(run)
        rows += [_Way(number, first, device.id), *(_Way("", other) for other in others)]
    return rows


def _circuits(facts: Facts, panel: Panel, ways: list[_Way]) -> Table:
    """The circuits of a panel, one a row."""
    design = facts.design
    switched = any(d.roles.switches for d in design.system.devices.values() if d.panel == panel.id)
    note = (
        "Length is one way; each circuit has one conductor of this size in each pole. Volts are solved in the load's"
        " worst case."
    )

    def column(head: str, width: int, unit: str, decimals: int | None, cell: Callable[[Run], str]) -> Column:
        return Column(head, width, unit, decimals, lambda way: "" if way.run is None else cell(way.run))

    def result(way: _Way) -> RunResult | None:
        return None if way.run is None else design.runs.get(way.run.id)

    def title(run: Run) -> str:
        return text(facts.title(run.to_end)) or text(run.to_end)

    def volts(run: Run) -> str:
        load = design.loads.get(run.to_end.split(".")[0])
        return fixed(load.voltage_v, 2) if load else ""

    def rating(way: _Way) -> str:
        built = design.devices.get(way.device)
        return trimmed(built.rating.rating_a, 1) if built else ""

    return Table.of(
        ways,
        f"{'AC' if panel.ac else 'DC'} circuits of {', '.join(filter(None, (code(panel.id), text(panel.title))))}.",
        Column("Way", 4, decimals=0, cell=lambda way: way.number),
        Column("Circuit", 24, cell=lambda way: title(way.run) if way.run else "spare"),
        column("Address", 18, "", None, lambda run: code(run.to_end)),
        Column("Load", 8, "A", 2, lambda way: fixed(r.design_current.value, 2) if (r := result(way)) else ""),
        Column("Breaker" if switched else "Fuse", 10, "A", 1, rating),
        facts.size_column("Size", lambda way: facts.size_cell(result(way))),
        column("Colours", 10, "", None, facts.colours),
        facts.length_column("Length", lambda way: way.run and way.run.length_m),
        column("Route", 20, "", None, lambda run: text(" ".join(run.routes))),
        column("At load", 10, "V", 2, volts),
        Column("Size set by", 14, cell=lambda way: r.governed_by if (r := result(way)) else ""),
        facts.length_column("Spare", lambda way: r.spare_length_m if (r := result(way)) else None),
        note="Length is one way." if panel.ac else note,
        marks=("schedule",),
    )


def _feeders(facts: Facts, runs: list[Run], caption: str) -> Table:
    """Runs that no way feeds, each with what was found for it."""
    return Table.of(
        [(run, facts.design.runs.get(run.id)) for run in runs],
        caption,
        Column("Run", 18, cell=lambda f: code(f[0].id)),
        Column("From", 16, cell=lambda f: text(f[0].from_end)),
        Column("To", 16, cell=lambda f: text(f[0].to_end)),
        Column("Design", 8, "A", 2, lambda f: fixed(f[1].design_current.value, 2) if f[1] else ""),
        Column("Ampacity", 11, "A", 1, lambda f: fixed(f[1].ampacity.value, 1) if f[1] and f[1].ampacity else ""),
        Column("Protected by", 18, cell=lambda f: text(" ".join(f[1].protected_by)) if f[1] else ""),
        facts.size_column("Size", lambda f: facts.size_cell(f[1])),
        Column("Colours", 10, cell=lambda f: facts.colours(f[0])),
        facts.length_column("Length", lambda f: f[0].length_m),
        Column("Route", 20, cell=lambda f: text(" ".join(f[0].routes))),
        Column("Size set by", 14, cell=lambda f: f[1].governed_by if f[1] else ""),
        facts.length_column("Spare", lambda f: f[1].spare_length_m if f[1] else None),
        note="Length is one way, of one conductor.",
        marks=("schedule",),
    )


def _leads(facts: Facts, leads: Iterable[Lead]) -> Table:
    return Table.of(
        leads,
        "Made-up leads.",
        Column("Lead", 18, cell=lambda lead: code(lead.marker)),
        Column("From", 16, cell=lambda lead: code(lead.from_end)),
        Column("To", 16, cell=lambda lead: code(lead.to_end)),
        facts.length_column("Length", lambda lead: lead.length_m),
        Column("Route", 20, cell=lambda lead: text(" ".join(lead.routes))),
        Column("What it is", 24, cell=lambda lead: text(lead.lead)),
        note="Bought by the piece: no size, colour or device is chosen for them.",
        marks=("schedule",),
    )


def wiring(facts: Facts) -> list[Block]:
    """Section 4: every conductor, one a row, and every link between the batteries of a bank."""

    def end(wire: Conductor | Link, first: bool) -> str:
        if isinstance(wire, Link):
            return text(wire.from_end if first else wire.to_end)
        return text(facts.wires.end(wire.from_node if first else wire.to_node, first))

    def colour(wire: Conductor | Link) -> str:
        built = facts.design.conductors.get(wire.id)
        return wire.colour if isinstance(wire, Link) else built.colour if built else ""

    wires = Table.of(
        (*facts.design.system.conductors.values(), *facts.design.links),
        "Every conductor, one a row.",
        Column("Tag", 20, cell=lambda wire: code(wire.marker)),
        Column("From", 20, cell=lambda wire: end(wire, True)),
        Column("To", 20, cell=lambda wire: end(wire, False)),
        facts.size_column("Size", lambda wire: facts.size_cell(facts.design.runs.get(wire.run))),
        Column("Colour", 6, cell=colour),
        facts.length_column("Length", lambda wire: wire.length_m),
        Column("Protected by", 20, cell=lambda w: "-" if isinstance(w, Link) else text(facts.wires.protected_by(w))),
        Column("Sheet", 5, cell=lambda wire: " ".join(str(n) for n in facts.sheets.get(wire.id, ()))),
        Column("Pulled", 6, cell=lambda _: "[ ]"),
        Column("Ended", 5, cell=lambda _: "[ ]"),
        note="A dash: no device in this conductor. Tick when pulled and when both ends are made.",
        marks=("schedule",),
    )
    return [Heading(2, "4", "Wiring list"), *battery_caution(facts.design), wires]


def terminals(facts: Facts) -> list[Block]:
    """Section 5: every end of every conductor."""
    head = Heading(2, "5", "Terminals and fittings")
    if not facts.design.fits:
        return [head, "No terminals were judged."]
    conductors = facts.design.system.conductors
    ends: list[tuple[Fit, bool]] = []
    """Each with whether it is the first of its conductor."""
    seen: set[str] = set()
    for fit in facts.design.fits:
        conductor = conductors.get(fit.conductor)
        at_start = conductor is not None and fit.node == conductor.from_node
        ends.append((fit, at_start and fit.conductor not in seen))
        seen.add(fit.conductor)
    every = Table.of(
        ends,
        "Every end, one a row.",
        Column("Tag", 20, cell=lambda e: code(conductors[c].marker if (c := e[0].conductor) in conductors else c)),
        Column("Terminal", 20, cell=lambda end: text(facts.wires.end(end[0].node, end[1]))),
        Column("Stands there", 20, cell=lambda end: text(end[0].terminal)),
        Column("Accepts", 18, cell=lambda end: text(end[0].accepts)),
        facts.size_column("Size", lambda end: text(facts.bare(end[0].size))),
        Column("Fitting", 26, cell=lambda end: text(end[0].fitting)),
        Column("Fit", 10, cell=lambda end: {True: "fits", False: "**no fit**", None: "not stated"}[end[0].fits]),
        marks=("schedule",),
    )
    return [
        head,
        every,
        "Lugs and ferrules are crimped with the tool of their maker; torque is the terminal maker's figure.",
    ]
