"""Every run sized, no conductor above its ampacity, below its minimum, off the shelf or off its terminals."""

from __future__ import annotations

from copperplate.audit.saying import told
from copperplate.audit.wires import ampacity, neighbours
from copperplate.findings import Finding, finding
from copperplate.model import Run, Size, Terminal
from copperplate.model.results import Design
from copperplate.standards import conductors, profile

SLACK = 1.0001


def check_sizes(design: Design) -> list[Finding]:
    """The checks of one run at a time."""
    together = neighbours(design)
    found: list[Finding] = []
    for run in design.system.runs.values():
        result = design.runs.get(run.id)
        if run.role == "link" or not run.conductor_ids or (result is not None and result.governed_by == "not sized"):
            continue
        if result is None or result.size is None:
            found.append(_say("CP591", run.id, f"`{run.id}` has no size"))
            continue
        found += _carries(design, run, together[run.id])
        found += _least(design, run, result.size)
        found += _shelf(design, run, result.size)
        found += _terminals(design, run, result.size)
    return [*found, *_few(design)]


def _say(code: str, subject: str, message: str) -> Finding:
    return finding(code, subject, message, help="a defect of this program, not of the plate: please report it")


def _carries(design: Design, run: Run, together: int) -> list[Finding]:
    carried = ampacity(design, run, together)
    result = design.runs[run.id]
    if carried is None:
        return []
    found: list[Finding] = []
    if result.ampacity is not None and result.ampacity.value > carried * SLACK:
        found.append(
            _say("CP592", run.id, f"`{run.id}` carries {carried:.4g} A, and {result.ampacity.value:.4g} A was taken")
        )
    solved = max(
        (abs(a) for c in run.conductor_ids if c in design.conductors for a in design.conductors[c].current_a.values()),
        default=0.0,
    )
    wanted = max(solved, 0.0 if run.earth else result.design_current.value)
    if wanted > carried * SLACK:
        found.append(_say("CP592", run.id, f"`{run.id}` carries {carried:.4g} A, and {wanted:.4g} A flow in it"))
    return found


def _sheathed(design: Design, run: Run) -> bool:
    """Whether the least size of a sheathed run holds: its conductors are in the sheath but for what the rule allows
    at each end, counted here from the pieces where those tell."""
    pieces = [c for c in map(design.system.conductors.__getitem__, run.conductor_ids) if c.pole != "pe"]
    outside = sum(c.length_m for c in pieces if not c.sheath)
    rules = profile(design.profile)
    return all(c.sheath for c in pieces) or (outside > 0.0 and rules.sheathed(run.outside_m))


def _least(design: Design, run: Run, size: Size) -> list[Finding]:
    """The profile's minimum and the maker's advice, also where it is for a shorter length. A size the plate states is
    its own answer to the advice, which a finding tells of."""
    system = design.system
    if run.earth:
        return []
    found: list[Finding] = []
    nominal_v = system.nodes[system.conductors[run.conductor_ids[0]].from_node].nominal_v
    smallest, rule = profile(design.profile).minimum(system.settings.conductors, _sheathed(design, run), nominal_v)
    area = conductors.area_mm2(size)
    if area < conductors.area_mm2(smallest) * 0.999:
        found.append(_say("CP593", run.id, f"`{run.id}` is {size.label}, below {smallest.label}: {rule.source}"))
    if run.size is not None:
        return found
    found += _comparable(design, run, area)
    for conductor in (system.conductors[c] for c in run.conductor_ids):
        for node in (conductor.from_node, conductor.to_node):
            part = system.parts.get(system.nodes[node].part)
            if part is None or not part.advised:
                continue
            port = system.nodes[node].port
            advice = part.advised.get(port) or part.advised.get(port.rpartition(".")[0]) or part.advised.get("")
            if advice is None:
                continue
            if area * design.runs[run.id].parallel < conductors.area_mm2(advice.size) * 0.999:
                found.append(
                    _say("CP593", run.id, f"`{run.id}` is {size.label}, and the maker advises {advice.size.label}")
                )
                return found
    return found


def _comparable(design: Design, run: Run, area: float) -> list[Finding]:
    """Where the maker advises nothing, no less than a device like it is wired with."""
    for name in design.system.end_parts(run):
        part = design.system.parts.get(name)
        if part is None or part.comparable is None or part.kind in ("bus", "panel", "junction"):
            continue
        if any(advice.to_length_m is None or advice.to_length_m >= run.length_m for advice in part.advised.values()):
            continue
        wanted = part.comparable[0]
        if area * design.runs[run.id].parallel < conductors.area_mm2(wanted) * 0.999:
            return [_say("CP593", run.id, f"`{run.id}` is below {wanted.label}, taken from a comparable device")]
    return []


def _few(design: Design) -> list[Finding]:
    """No more different sizes than the plate wants, stated ones and those that follow others left aside."""
    stock = design.system.stock
    if stock is None or stock.at_most is None or told(design, "CP511"):
        return []
    chosen = {
        result.size
        for name, result in design.runs.items()
        if result.size is not None and design.system.runs[name].size is None and not design.system.runs[name].earth
        if design.system.runs[name].role == "run"
        and result.governed_by != "lead"
        and design.system.runs[name].conductor_ids
    }
    if len(chosen) <= stock.at_most:
        return []
    return [_say("CP593", "system", f"{len(chosen)} sizes are used, and {stock.at_most} are wanted")]


def _shelf(design: Design, run: Run, size: Size) -> list[Finding]:
    stock = design.system.stock
    if stock is None or not stock.sizes or run.size is not None or size in stock.sizes:
        return []
    if design.runs[run.id].governed_by == "lead":
        return []
    return [_say("CP593", run.id, f"`{run.id}` is {size.label}, which is not in stock")]


def _terminals(design: Design, run: Run, size: Size) -> list[Finding]:
    found: list[Finding] = []
    for conductor in (design.system.conductors[c] for c in run.conductor_ids):
        for node in (conductor.from_node, conductor.to_node):
            terminal = _at(design, node)
            if terminal is None or terminal.form != "clamp" or terminal.smallest is None or terminal.largest is None:
                continue
            area = conductors.area_mm2(size)
            low, high = conductors.area_mm2(terminal.smallest), conductors.area_mm2(terminal.largest)
            if not low * 0.998 <= area <= high * 1.002:
                found.append(
                    _say(
                        "CP597",
                        conductor.id,
                        f"`{conductor.id}` is {size.label}, and `{node}` takes {terminal.smallest.label} to "
                        f"{terminal.largest.label}",
                    )
                )
    return found


def _at(design: Design, node: str) -> Terminal | None:
    part = design.system.parts.get(design.system.nodes[node].part)
    if part is None:
        return None
    port = design.system.nodes[node].port
    return part.terminals.get(port) or part.terminals.get(port.rpartition(".")[0]) or part.terminals.get("")
