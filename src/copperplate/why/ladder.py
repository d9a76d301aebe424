"""`why`: the decision ladder of one run, as the sizing room left it. Nothing is computed here: every figure is a
field of the design, stands in one of its traces, or is told by the network of its states."""

from __future__ import annotations

from textwrap import wrap

from copperplate.model import Assumption, Device, Run, Traced
from copperplate.model.results import Candidate, Design, DeviceResult, LoadResult, Rung, RunResult
from copperplate.network import Governing, governing
from copperplate.standards import profile
from copperplate.units import number
from copperplate.units import show as quantity
from copperplate.why.faults import faults
from copperplate.why.flowing import governed, lasting
from copperplate.why.reasons import reason, shown_figure, shown_input

RULES = {
    "minimum": "least gauge",
    "ampacity": "ampacity",
    "protection": "protection",
    "drop": "drop, whole path",
    "start": "start of a motor",
    "advice": "maker's advice",
    "comparable": "comparable",
    "terminal": "terminals",
    "stock": "on the shelf",
}
CARRIED = ("to carry", "times the design current", "before factors", "to carry before factors")
"""What an ampacity is held against, beside what it is made of."""
LABEL = 17
CELL = 9
FIGURE = 11
WIDEST = 100
GUARDS = 4
"""Of more devices that stand before a run the rest is counted."""


def ladder(design: Design, address: str, width: int) -> str:
    """The ladder of the run `address` in at most `width` columns; ends with a line break."""
    run = design.system.runs[address]
    result = design.runs.get(address)
    width = min(width, WIDEST)
    if result is None:
        return f"{address}   not sized: see the findings\n"
    lines = [*_headline(design, run, result, width), ""]
    lines += _entry("design current", _current(result.design_current), width)
    state = governing_state(design, run)
    if state is not None:
        lines += _entry("", governed(state), width)
    lines += _entry("length", _length(design, run), width)
    for label, text in lasting(design, run):
        lines += _entry(label, text, width)
    lines += _table(design, result, width)
    lines += _margins(design, run, result, width)
    return "\n".join(line.rstrip() for line in lines) + "\n"


def governing_state(design: Design, run: Run) -> Governing | None:
    """What governs the design current of a run, where several parts add up in it."""
    result = design.runs.get(run.id)
    if result is None or not result.design_current.value:
        return None
    state = governing(design.system, profile(design.profile), run, result.design_current.value)
    return state if state is not None and len(state.adds) > 1 else None


def run_of(design: Design, address: str) -> str | None:
    """The run that an address of the plate means: the run itself, one of its conductors, devices or markers, or
    the part that it brings current to. None where it means none."""
    system = design.system
    if address in system.runs:
        return address
    if address in system.devices:
        return system.devices[address].run
    if address in design.loads:
        return design.loads[address].run
    for conductor in system.conductors.values():
        if address in (conductor.id, conductor.marker):
            return conductor.run
    for run in system.runs.values():
        if address in (run.to_end, run.from_end) or address in (f"{run.to_end}.run", f"{run.from_end}.run"):
            return run.id
    return next((run.id for run in system.runs.values() if address in system.end_parts(run)[::-1]), None)


def _headline(design: Design, run: Run, result: RunResult, width: int) -> list[str]:
    size = "no size" if result.size is None else result.size.label
    if result.parallel > 1:
        size = f"{result.parallel} x {size}"
    left = f"{run.id}   {size}"
    guards = [_guard(design, design.system.devices[device]) for device in result.protected_by]
    if guards:
        left += f", {' and '.join(guards)}"
    right = result.set_by
    if len(left) + 2 + len(right) <= width:
        return [left + right.rjust(width - len(left))]
    return [*wrap(left, width, break_on_hyphens=False, subsequent_indent="  "), f"  {right}"]


def _guard(design: Design, device: Device) -> str:
    result = design.devices.get(device.id)
    rating = result.rating.rating_a if result is not None else device.rating_a
    where = "on way" if device.panel else "behind"
    return f"{where} {device.id}" + (f" ({number(rating)} A)" if rating is not None else "")


def _current(trace: Traced) -> str:
    return f"{number(trace.value)} {trace.unit}   {reason(trace)}".rstrip()


def _length(design: Design, run: Run) -> str:
    unit = design.system.settings.length_unit
    one_way, circuit = quantity(run.length_m, unit), quantity(run.circuit_length_m, unit)
    if run.conductors == 1:
        return f"{one_way}   one conductor"
    return f"{circuit}   {one_way} out and back" if run.conductors == 2 else f"{one_way}   one way"


def _entry(label: str, text: str, width: int) -> list[str]:
    """A label in its column and a text beside it, wrapped under itself."""
    figure, apart, rest = text.rpartition("   ")
    hang = FIGURE if apart else 0
    parts = _lines(rest, width - LABEL - hang)
    lines = [f"{label:<{LABEL}}{figure:<{hang}}{parts[0]}"]
    return lines + [" " * (LABEL + hang) + part for part in parts[1:]]


def _shown(candidates: tuple[Candidate, ...], count: int) -> list[Candidate]:
    """The candidates that tell most: the chosen one, one larger, and those just below it."""
    chosen = next((i for i, c in enumerate(candidates) if c.chosen), len(candidates) - 1)
    end = min(chosen + 2, len(candidates))
    return list(candidates[max(end - count, 0) : end])


def _table(design: Design, result: RunResult, width: int) -> list[str]:
    """A column for each candidate, a row for each rule, the rule's source at the right. What a rule says of all
    candidates alike stands once."""
    if not result.candidates:
        return []
    candidates = _shown(result.candidates, 4 if width >= 90 else 3)
    rows = {rule: [next((r for r in c.rungs if r.rule == rule), None) for c in candidates] for rule in RULES}
    unjudged = [RULES[rule] for rule, rungs in rows.items() if not any(r and r.verdict != "not judged" for r in rungs)]
    rows = {rule: rungs for rule, rungs in rows.items() if RULES[rule] not in unjudged}
    alike = {rule for rule, rungs in rows.items() if _said_once(rungs)}
    cells = [rung.shown for rule, rungs in rows.items() if rule not in alike for rung in rungs if rung]
    cell = max(CELL, *(len(text) + 2 for text in (*cells, *map(_name, candidates))))
    lines = [" " * LABEL + "".join(f"{_name(c):<{cell}}" for c in candidates)]
    for rule, rungs in rows.items():
        if rule in alike and rungs[0] is not None:
            lines += _entry(RULES[rule], rungs[0].shown, width)
            continue
        left = f"{RULES[rule]:<{LABEL}}" + "".join(f"{'-' if rung is None else rung.shown:<{cell}}" for rung in rungs)
        note = _lines(_source(design, result, candidates, rungs, rule), width - len(left))
        lines += [left + note[0], *(" " * len(left) + part for part in note[1:])]
    lines.append(" " * LABEL + "".join(f"{_mark(c):<{cell}}" for c in candidates))
    return lines + (_entry("not judged", ", ".join(unjudged), width) if unjudged else [])


def _said_once(rungs: list[Rung | None]) -> bool:
    """A sentence that is the same for every candidate, and no verdict in a cell."""
    first = rungs[0]
    if first is None or len(first.shown) < CELL - 1:
        return False
    return all(rung is not None and rung.shown == first.shown for rung in rungs)


def _source(design: Design, result: RunResult, candidates: list[Candidate], rungs: list[Rung | None], rule: str) -> str:
    """Why a rule says so, from the trace of the chosen candidate (none chosen: of the largest shown)."""
    guards = [design.devices[device] for device in result.protected_by if device in design.devices]
    if rule == "protection" and guards:
        needed = [text for each in guards[:GUARDS] for text in _needed(each, len(guards))]
        rest = f"and {len(guards) - GUARDS} more" if len(guards) > GUARDS else ""
        return "; ".join(dict.fromkeys(filter(None, (*needed, rest))))
    rung_shown = next((rung for c, rung in zip(candidates, rungs, strict=True) if c.chosen), None) or rungs[-1]
    trace = rung_shown.value if rung_shown is not None else None
    if trace is None:
        return ""
    if rule == "ampacity":
        from_table, *factors = [entry for entry in trace.inputs if entry[0] not in CARRIED]
        taken = (f"{shown_figure(*entry[1:])} ({entry[0]})" for entry in factors)
        shown = " x ".join([shown_figure(*from_table[1:]), *taken])
        carried = ", ".join(shown_input(*entry) for entry in trace.inputs if entry[0] in CARRIED)
        beside = [f"{f.quantity}: {reason(f)}" for f in result.factors]
        return "; ".join((shown, trace.source, *beside, carried))
    first = ", ".join(shown_input(*entry) for entry in trace.inputs) if rule in ("drop", "start") else trace.formula
    return "; ".join(filter(None, (first, trace.source)))


def _needed(device: DeviceResult, guards: int) -> tuple[str, str]:
    """What a device must carry and by which rule; by its name where it is one of several."""
    needs = device.rating.needs_a
    made = " x ".join(shown_figure(value, unit) for _, value, unit in needs.inputs)
    made = f"{made} = " if len(needs.inputs) > 1 else ""
    whose = f" by `{device.device}`" if guards > 1 else ""
    air = device.rating.air
    hot = f", and air of {shown_figure(*air.inputs[0][1:])} leaves {number(air.value)} of a rating" if air else ""
    return f"{made}{number(needs.value)} {needs.unit} are needed{whose}{hot}", needs.source


def _lines(text: str, room: int) -> list[str]:
    return wrap(text, max(room, 20), break_on_hyphens=False) or [""]


def _name(candidate: Candidate) -> str:
    return (f"{candidate.parallel} x " if candidate.parallel > 1 else "") + candidate.size.label


def _mark(candidate: Candidate) -> str:
    return "chosen" if candidate.chosen else "refused" if candidate.refused_by else ""


def _margins(design: Design, run: Run, result: RunResult, width: int) -> list[str]:
    lines = []
    unit = design.system.settings.length_unit
    margins = []
    if result.spare_length_m is not None:
        until = f", until {result.spare_length_by.words}" if result.spare_length_by else ""
        margins.append(f"{quantity(result.spare_length_m, unit)} longer{until}")
    if result.spare_current_a is not None:
        until = f", until {result.spare_current_by.words}" if result.spare_current_by else ""
        margins.append(f"{number(result.spare_current_a)} A more{until}")
    if margins:
        lines += _entry("spare", "; or ".join(margins), width)
    for load in design.loads.values():
        if load.run == run.id:
            lines += _entry("hot conductor", _at_load(load) + _temperature(design, run), width)
    for name in dict.fromkeys((*result.protected_by, *run.device_ids)):
        if name in design.devices:
            for label, text in faults(design, design.devices[name]):
                lines += _entry(label, text, width)
    for offer in result.offers:
        lines += _entry("offered", offer, width)
    for finding in design.findings:
        subjects = (run.id, *_ends(design, run), *panels(design, run))
        if finding.subject in subjects and finding.accepted is None:
            lines += _entry(f"{finding.severity} {finding.code}", finding.message, width)
    for index, text in enumerate([a.text for a in assumed(design, run)] or ["nothing for this run"]):
        lines += _entry("" if index else "assumed", text, width)
    return lines


def _at_load(load: LoadResult) -> str:
    text = f"drop {number(load.solved_percent, 2)} %, {load.voltage_v:.2f} V at `{load.load}` in case {load.worst_case}"
    if load.works_low_v is not None and load.works_high_v is not None:
        text += f" (works {number(load.works_low_v)} to {number(load.works_high_v)} V)"
    if load.start_v is not None and load.start_a is not None:
        text += f", {load.start_v:.2f} V as it starts at {number(load.start_a)} A"
    return text


def _temperature(design: Design, run: Run) -> str:
    """How warm its copper is, from which its resistance follows."""
    degrees = [design.conductors[c].temperature_c for c in run.conductor_ids if c in design.conductors]
    return f", its copper at {number(max(degrees))} °C" if degrees else ""


def _ends(design: Design, run: Run) -> tuple[str, ...]:
    """What belongs to this run alone beside itself: its devices and the load that it brings current to."""
    loads = tuple(load.load for load in design.loads.values() if load.run == run.id)
    return (*run.device_ids, *loads)


def panels(design: Design, run: Run) -> tuple[str, ...]:
    """The panels whose ways are the run's devices; what is found of them all alike is told of the panel."""
    result = design.runs.get(run.id)
    guards = (*run.device_ids, *(result.protected_by if result is not None else ()))
    return tuple(dict.fromkeys(filter(None, (design.system.devices[device].panel for device in guards))))


def assumed(design: Design, run: Run) -> tuple[Assumption, ...]:
    """The assumptions that this run rests on: its own, and those of its devices and its load."""
    subjects = {run.id, *_ends(design, run)}
    return tuple(a for a in design.assumptions if a.subject in subjects)
