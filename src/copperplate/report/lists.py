"""Lists for other programs: circuits, materials, cuts, labels as CSV.

RFC 4180 with LF, a head line, text quoted where it must be. No cell of text can run as a formula in a
spreadsheet: one that begins like a formula gets an apostrophe before it, which spreadsheets read as "text".
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable

from copperplate.model.results import Design
from copperplate.model.system import Conductor, Run
from copperplate.report.facts import Facts
from copperplate.report.words import fixed, plain, trimmed
from copperplate.units import from_si

_FORMULA = ("=", "+", "-", "@", "\uff1d", "\uff0b", "\uff0d", "\uff20")
"""What begins a formula in spreadsheets, in full width too."""


def circuits(design: Design) -> str:
    """One row a run, in the order of the plate."""
    facts = Facts(design, {})
    unit = facts.length_unit
    head = (
        "run", "from", "to", "title", "current", "design_a", "device", "family", "device_a", "size", "parallel",
        "area_mm2", "ampacity_a", "colours", f"length_{unit}", "routes", "at_load_v", "judged_percent",
        "budget_percent", "set_by", f"spare_{unit}", "spare_a",
    )  # fmt: skip
    return _write(head, (_circuit(facts, run) for run in design.system.runs.values()))


def _circuit(facts: Facts, run: Run) -> tuple[str, ...]:
    design = facts.design
    result = design.runs.get(run.id)
    load = design.loads.get(run.to_end.split(".")[0])
    load = load if load is not None and load.run == run.id else None
    guard = next((design.devices[d] for d in (result.protected_by if result else ()) if d in design.devices), None)
    return (
        run.id,
        _safe(run.from_end),
        _safe(run.to_end),
        _safe(facts.title(run.to_end)),
        run.current,
        fixed(result.design_current.value, 3) if result else "",
        guard.device if guard else "",
        guard.rating.family if guard else "",
        trimmed(guard.rating.rating_a, 1) if guard else "",
        result.size.key if result and result.size else "",
        str(result.parallel) if result and result.size else "",
        trimmed(result.area_mm2, 3) if result and result.size else "",
        fixed(result.ampacity.value, 1) if result and result.ampacity else "",
        facts.colours(run),
        _length(facts, run.length_m),
        _safe(" ".join(run.routes)),
        fixed(load.voltage_v, 3) if load else "",
        fixed(load.drop_percent, 2) if load else "",
        trimmed(load.budget_percent, 3) if load else "",
        result.governed_by if result else "",
        _length(facts, result.spare_length_m) if result else "",
        fixed(result.spare_current_a, 2) if result else "",
    )


def materials(design: Design) -> str:
    """One row a line to buy."""
    facts = Facts(design, {})
    unit = facts.length_unit
    rows = (
        (
            line.group,
            _safe(line.item),
            _length(facts, line.quantity) if line.unit == "m" else trimmed(line.quantity, 3),
            unit if line.unit == "m" else _safe(line.unit),
            _safe(" ".join(line.where)),
        )
        for line in design.materials
    )
    return _write(("group", "item", "quantity", "unit", "for"), rows)


def cuts(design: Design) -> str:
    """One row a conductor to cut."""
    facts = Facts(design, {})
    unit = facts.length_unit
    head = (
        "tag", "size", "colour", f"length_{unit}", f"cut_{unit}", "first_end", "first_fitting", "second_end",
        "second_fitting",
    )  # fmt: skip
    rows = (
        (
            _safe(cut.conductor),
            cut.size,
            cut.colour,
            _length(facts, cut.length_m),
            _length(facts, cut.cut_m),
            _safe(facts.end(cut.from_end, True)),
            _safe(cut.from_fitting),
            _safe(facts.end(cut.to_end, False)),
            _safe(cut.to_fitting),
        )
        for cut in design.cuts
    )
    return _write(head, rows)


def labels(design: Design) -> str:
    """Two rows a conductor, one for the marker at each end: what to print, where it goes, where the other end is."""
    facts = Facts(design, {})
    head = ("marker", "end", "at", "other_end", "title", "size", "colour")
    return _write(head, (row for c in design.system.conductors.values() for row in _labels(facts, c)))


def _labels(facts: Facts, conductor: Conductor) -> tuple[tuple[str, ...], ...]:
    first, second = facts.end(conductor.from_node, True), facts.end(conductor.to_node, False)
    result = facts.design.runs.get(conductor.run)
    built = facts.design.conductors.get(conductor.id)
    title = facts.title(facts.design.system.runs[conductor.run].to_end)
    size = facts.several(result.parallel, result.size.label) if result and result.size else ""
    facts_of_it = (_safe(title), size, built.colour if built else "")
    return (
        (_safe(conductor.marker), "first", _safe(first), _safe(second), *facts_of_it),
        (_safe(conductor.marker), "second", _safe(second), _safe(first), *facts_of_it),
    )


def _length(facts: Facts, metres: float | None) -> str:
    return "" if metres is None else trimmed(from_si(metres, facts.length_unit), 3)


def _safe(value: str) -> str:
    """Text as data: one line, and never the start of a formula."""
    shown = plain(value)
    return f"'{shown}" if shown.startswith(_FORMULA) else shown


def _write(head: tuple[str, ...], rows: Iterable[tuple[str, ...]]) -> str:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(head)
    writer.writerows(rows)
    return text.getvalue()
