"""Sections 3 to 5: circuits, wiring list, terminals. One fact a row, in the order of declaration."""

from __future__ import annotations

from copperplate.model import Panel
from copperplate.model.links import Link
from copperplate.model.system import Run
from copperplate.report.facts import Facts
from copperplate.report.front import ac_caution, battery_caution
from copperplate.report.tables import Block, Column, Table
from copperplate.report.words import code, fixed, plain, text, trimmed


def circuits(facts: Facts) -> list[Block]:
    """Section 3: one row a way of every panel, then the runs that no way feeds."""
    blocks: list[Block] = [
        "## 3 Circuit schedule",
        "Spare is how much longer the circuit may become, one way, before the next size is needed."
        ' What the size was set by is one of the reasons that section 9 explains; "stated" sizes were checked.',
    ]
    listed: set[str] = set()
    for panel in facts.design.system.of(Panel):
        rows, runs = _panel_rows(facts, panel)
        listed.update(runs)
        kind = "AC" if panel.ac else "DC"
        blocks += ac_caution(facts.design) if panel.ac else []
        caption = f"{kind} circuits of {code(panel.id)}{_named(panel.title)}."
        blocks.append(Table(caption, _circuit_columns(facts, panel), rows, _circuit_note(panel), ("schedule",)))
    others = [run for run in facts.design.system.runs.values() if run.id not in listed]
    if others:
        rows = tuple(_feeder_row(facts, run) for run in others)
        caption = "Feeders, sources and other runs." if listed else "Runs."
        note = "Length is one way, of one conductor."
        blocks.append(Table(caption, _feeder_columns(facts), rows, note, ("schedule",)))
    return blocks


def _named(title: str) -> str:
    return f", {text(title)}" if plain(title) else ""


def _circuit_note(panel: Panel) -> str:
    if panel.ac:
        return "Length is one way."
    return (
        "Length is one way; each circuit has one conductor of this size in each pole. Volts are solved in the load's"
        " worst case."
    )


def _circuit_columns(facts: Facts, panel: Panel) -> tuple[Column, ...]:
    switched = any(d.roles.switches for d in facts.design.system.devices.values() if d.panel == panel.id)
    return (
        Column("Way", 4, decimals=0),
        Column("Circuit", 24),
        Column("Address", 18),
        Column("Load", 8, "A", 2),
        Column("Breaker" if switched else "Fuse", 10, "A", 1),
        facts.size_column(),
        Column("Colours", 10),
        facts.length_column("Length"),
        Column("Route", 20),
        Column("At load", 10, "V", 2),
        Column("Size set by", 14),
        facts.length_column("Spare"),
    )


def _panel_rows(facts: Facts, panel: Panel) -> tuple[tuple[tuple[str, ...], ...], list[str]]:
    """Rows of a panel, spare ways too, and the runs that they list. Ways without a number come last."""
    devices = [d for d in facts.design.system.devices.values() if d.panel == panel.id]
    by_way = {d.way: d for d in devices if d.way is not None}
    count = max([panel.ways or 0, *by_way])
    ways = [(str(way), by_way.get(way)) for way in range(1, count + 1)]
    rows: list[tuple[str, ...]] = []
    listed: list[str] = []
    for way, device in [*ways, *(("", d) for d in devices if d.way is None)]:
        run = facts.way_runs.get(device.id) if device else None
        if device is None or run is None:
            rows.append((way, "spare", *[""] * 10))
            continue
        for member in facts.circuit(run):
            rows.append(_circuit_row(facts, member, way, device.id if member is run else ""))
            listed.append(member.id)
            way = ""
    return tuple(rows), listed


def _circuit_row(facts: Facts, run: Run, way: str, device: str) -> tuple[str, ...]:
    result = facts.design.runs.get(run.id)
    load = facts.design.loads.get(run.to_end.split(".")[0])
    built = facts.design.devices.get(device)
    return (
        way,
        text(facts.title(run.to_end)) or text(run.to_end),
        code(run.to_end),
        fixed(result.design_current.value, 2) if result else "",
        trimmed(built.rating.rating_a, 1) if built else "",
        facts.size_cell(result),
        facts.colours(run),
        facts.length(run.length_m),
        text(" ".join(run.routes)),
        fixed(load.voltage_v, 2) if load else "",
        result.governed_by if result else "",
        facts.length(result.spare_length_m) if result else "",
    )


def _feeder_columns(facts: Facts) -> tuple[Column, ...]:
    return (
        Column("Run", 18),
        Column("From", 16),
        Column("To", 16),
        Column("Design", 8, "A", 2),
        Column("Ampacity", 11, "A", 1),
        Column("Protected by", 18),
        facts.size_column(),
        Column("Colours", 10),
        facts.length_column("Length"),
        Column("Route", 20),
        Column("Size set by", 14),
        facts.length_column("Spare"),
    )


def _feeder_row(facts: Facts, run: Run) -> tuple[str, ...]:
    result = facts.design.runs.get(run.id)
    return (
        code(run.id),
        text(run.from_end),
        text(run.to_end),
        fixed(result.design_current.value, 2) if result else "",
        fixed(result.ampacity.value, 1) if result and result.ampacity else "",
        text(" ".join(result.protected_by)) if result else "",
        facts.size_cell(result),
        facts.colours(run),
        facts.length(run.length_m),
        text(" ".join(run.routes)),
        result.governed_by if result else "",
        facts.length(result.spare_length_m) if result else "",
    )


def wiring(facts: Facts) -> list[Block]:
    """Section 4: every conductor, one a row."""
    columns = (
        Column("Tag", 20),
        Column("From", 20),
        Column("To", 20),
        facts.size_column(),
        Column("Colour", 6),
        facts.length_column("Length"),
        Column("Protected by", 20),
        Column("Sheet", 5),
        Column("Pulled", 6),
        Column("Ended", 5),
    )
    rows = tuple(
        (
            code(conductor.marker),
            text(facts.end(conductor.from_node, True)),
            text(facts.end(conductor.to_node, False)),
            facts.size_cell(facts.design.runs.get(conductor.run)),
            facts.design.conductors[conductor.id].colour if conductor.id in facts.design.conductors else "",
            facts.length(conductor.length_m),
            text(facts.protected_by(conductor)),
            " ".join(str(n) for n in facts.sheets.get(conductor.id, ())),
            "[ ]",
            "[ ]",
        )
        for conductor in facts.design.system.conductors.values()
    )
    links = (_link(facts, link) for link in facts.design.links)
    note = "A dash: no device in this conductor. Tick when pulled and when both ends are made."
    return [
        "## 4 Wiring list",
        *battery_caution(facts.design),
        Table("Every conductor, one a row.", columns, (*rows, *links), note, ("schedule",)),
    ]


def _link(facts: Facts, link: Link) -> tuple[str, ...]:
    """A conductor between the batteries of a bank."""
    return (
        code(link.marker),
        text(link.from_end),
        text(link.to_end),
        facts.size_cell(facts.design.runs.get(link.run)),
        link.colour,
        facts.length(link.length_m),
        "-",
        " ".join(str(n) for n in facts.sheets.get(link.id, ())),
        "[ ]",
        "[ ]",
    )


def terminals(facts: Facts) -> list[Block]:
    """Section 5: every end of every conductor."""
    columns = (
        Column("Tag", 20),
        Column("Terminal", 20),
        Column("Stands there", 20),
        Column("Accepts", 18),
        facts.size_column(),
        Column("Fitting", 26),
        Column("Fit", 10),
    )
    conductors = facts.design.system.conductors
    first: dict[str, str] = {}
    rows: list[tuple[str, ...]] = []
    for fit in facts.design.fits:
        conductor = conductors.get(fit.conductor)
        is_first = conductor is not None and fit.node == conductor.from_node and fit.conductor not in first
        first.setdefault(fit.conductor, fit.node)
        rows.append(
            (
                code(conductor.marker if conductor else fit.conductor),
                text(facts.end(fit.node, is_first)),
                text(fit.terminal),
                text(fit.accepts),
                text(facts.bare(fit.size)),
                text(fit.fitting),
                {True: "fits", False: "**no fit**", None: "not stated"}[fit.fits],
            )
        )
    advice = "Lugs and ferrules are crimped with the tool of their maker; torque is the terminal maker's figure."
    if not rows:
        return ["## 5 Terminals and fittings", "No terminals were judged."]
    return [
        "## 5 Terminals and fittings",
        Table("Every end, one a row.", columns, tuple(rows), marks=("schedule",)),
        advice,
    ]
