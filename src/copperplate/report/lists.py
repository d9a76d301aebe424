"""Lists for other programs: circuits, materials, cuts, labels as CSV.

RFC 4180 with LF, a head line, text quoted where it must be. No cell of text can run as a formula in a
spreadsheet: one that begins like a formula gets an apostrophe before it, which spreadsheets read as "text".
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable

from copperplate.model.results import Cut, Design
from copperplate.model.system import Conductor, Run
from copperplate.report import commissioning
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
        _safe(facts.names.titled(run.to_end)),
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
    """One row a conductor or cable to cut, by size and colour."""
    facts = Facts(design, {})
    unit = facts.length_unit
    head = (
        "tag", "size", "cores", "colour", f"length_{unit}", f"cut_{unit}", "first_end", "first_fitting", "second_end",
        "second_fitting",
    )  # fmt: skip
    rows = (
        (
            _safe(cut.conductor),
            cut.size,
            str(cut.cores),
            cut.colour,
            _length(facts, cut.length_m),
            _length(facts, cut.cut_m),
            _safe(first),
            _safe(cut.from_fitting),
            _safe(second),
            _safe(cut.to_fitting),
        )
        for cut in facts.cuts
        for first, second in [_cut_ends(facts, cut)]
    )
    return _write(head, rows)


def _cut_ends(facts: Facts, cut: Cut) -> tuple[str, str]:
    """What the two ends of a piece land on; a cable on the part or device, without the pole."""
    wires = facts.names.wires
    first, second = wires.end(cut.from_end, True), wires.end(cut.to_end, False)
    if cut.cores == 1:
        return first, second
    return first.removesuffix(" L").removesuffix(" L1"), second.removesuffix(" L").removesuffix(" L1")


def labels(design: Design) -> str:
    """One label a row, ready for a label printer: two rows for each conductor and each link of a bank, one for each
    end, and as many for each of several side by side. `marker` is what is printed; `end` first or second as the
    plate is read; `at` where the label goes, `other_end` where the conductor goes from there."""
    facts = Facts(design, {})
    head = ("marker", "end", "at", "other_end", "title", "size", "colour")
    rows = [row for c in design.system.conductors.values() for row in _labels(facts, c)]
    for link in design.links:
        title = facts.names.titled(link.bank)
        rows += _two(facts, link.marker, link.from_end, link.to_end, title, link.run, link.colour)
    return _write(head, rows)


def _labels(facts: Facts, conductor: Conductor) -> list[tuple[str, ...]]:
    first, second = facts.names.wires.end(conductor.from_node, True), facts.names.wires.end(conductor.to_node, False)
    built = facts.design.conductors.get(conductor.id)
    run = facts.design.system.runs[conductor.run]
    title = next((facts.names.titled(end) for end in (run.to_end, run.from_end) if not _meets(facts, end)), "")
    return _two(facts, conductor.marker, first, second, title, conductor.run, built.colour if built else "")


def _meets(facts: Facts, end: str) -> bool:
    """Whether conductors of several circuits meet at an end, so that its title tells nothing of one."""
    part = facts.part_at(end)
    return part is None or part.roles.is_busbar or part.roles.is_splice or part.roles.grounds


def _two(
    facts: Facts, marker: str, first: str, second: str, title: str, run: str, colour: str
) -> list[tuple[str, ...]]:
    """The labels of both ends, again for each of several conductors side by side."""
    result = facts.design.runs.get(run)
    size = facts.several(result.parallel, result.size.label) if result and result.size else ""
    count = result.parallel if result else 1
    about = (_safe(title), size, colour)
    return [
        (_safe(marker), "first", _safe(first), _safe(second), *about),
        (_safe(marker), "second", _safe(second), _safe(first), *about),
    ] * count


def tests(design: Design) -> str:
    """One test a row, to be filled in on site: the last six columns are empty. Figures in the unit of their row;
    `amps_predicted` is the current that `predicted` volts are lost at."""
    head = (
        "id", "test", "where", "situation", "unit", "predicted", "pass_min", "pass_max", "amps_predicted", "measured",
        "amps_measured", "by", "date", "meter", "note",
    )  # fmt: skip
    rows = (
        (
            _safe(t.id),
            _safe(t.test),
            _safe(t.where),
            _safe(t.situation),
            t.unit,
            *("" if figure is None else f"{figure:.6g}" for figure in (t.value, t.least, t.most, t.amps)),
            *[""] * 6,
        )
        for t in commissioning.tests(Facts(design, {}))
    )
    return _write(head, rows)


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
