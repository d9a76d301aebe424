"""Every run sized, no conductor above its ampacity, below its minimum, off the shelf or off its terminals."""

from __future__ import annotations

from collections.abc import Iterator

from copperplate.audit.reported import reported
from copperplate.audit.wires import ampacity_a, area_mm2, brief_a, loaded_together
from copperplate.findings import Finding, make
from copperplate.model import DC_POLES, Advice, Load, Part, Run, Size, Terminal
from copperplate.model.results import Design
from copperplate.standards import conductors, profile

SLACK = 1.0001
SAME_AREA = 0.999
"""Areas of two systems of sizes are compared to the third digit."""


def check_sizes(design: Design) -> Iterator[Finding]:
    """The checks of one run at a time, and the number of different sizes."""
    together = loaded_together(design)
    for run in design.system.runs.values():
        result = design.runs.get(run.id)
        if run.role == "link" or not run.conductor_ids or (result is not None and result.governed_by == "not sized"):
            continue
        if result is None or result.size is None:
            yield make("CP591", run.id)
            continue
        yield from _carries(design, run, together[run.id])
        yield from _least(design, run, result.size)
        yield from _shelf(design, run, result.size)
        yield from _terminals(design, run, result.size)
    yield from _few(design)


def _carries(design: Design, run: Run, together: int) -> Iterator[Finding]:
    carries, result = ampacity_a(design, run, together), design.runs[run.id]
    if carries is None:
        return
    if result.ampacity is not None and result.ampacity.value > carries * SLACK:
        yield make("CP592", run.id, carries=carries, taken=result.ampacity.value)
    built = [design.conductors[c] for c in run.conductor_ids if c in design.conductors]
    solved = max((abs(amperes) for conductor in built for amperes in conductor.current_a.values()), default=0.0)
    flows, briefly = max(solved, 0.0 if run.earth else result.design_current.value), brief_a(design, run.id)
    if flows > max(carries, briefly) * SLACK:
        yield make("CP592", run.id, carries=max(carries, briefly), flows=flows)
    if briefly:
        brief = {load.id for load in design.system.of(Load) if load.for_h}
        steady = [case.id for case in design.system.cases if not brief & case.shares.keys()]
        flows = max((abs(wire.current_a.get(case, 0.0)) for wire in built for case in steady), default=0.0)
        if flows > carries * SLACK:
            yield make("CP592", run.id, carries=carries, flows=flows)


def _sheathed(design: Design, run: Run) -> bool:
    """Whether the least size of a sheathed run holds: its conductors are in the sheath but for what the rule allows
    at each end, counted here from the pieces where those tell."""
    pieces = [c for c in map(design.system.conductors.__getitem__, run.conductor_ids) if c.pole != "pe"]
    outside = sum(c.length_m for c in pieces if not c.sheath)
    rules = profile(design.profile)
    return all(c.sheath for c in pieces) or (outside > 0.0 and rules.sheathed(run.outside_m))


def _least(design: Design, run: Run, size: Size) -> Iterator[Finding]:
    """The profile's minimum and the maker's advice, also where it is for a shorter length. A size the plate states is
    its own answer to the advice, which a finding reports."""
    system = design.system
    if run.earth:
        return
    nominal_v = system.nodes[system.conductors[run.conductor_ids[0]].from_node].nominal_v
    smallest, rule = profile(design.profile).minimum(
        system.settings.conductors, _sheathed(design, run), nominal_v, run.parallel > 1
    )
    if conductors.area_mm2(size) < conductors.area_mm2(smallest) * SAME_AREA:
        yield make("CP593", run.id, size=size.label, smallest=smallest.label, rule=rule.source)
    if run.size is not None:
        return
    area = area_mm2(design, run.id)
    yield from _comparable(design, run, area)
    for conductor in run.conductor_ids:
        for node in _ends(design, conductor):
            advice = _advice(design, node)
            if advice is not None and area < conductors.area_mm2(advice.size) * SAME_AREA:
                yield make("CP593", run.id, size=size.label, advised=advice.size.label)
                return


def _ends(design: Design, conductor: str) -> tuple[str, str]:
    return design.system.conductors[conductor].from_node, design.system.conductors[conductor].to_node


def _comparable(design: Design, run: Run, area: float) -> Iterator[Finding]:
    """Where the maker advises nothing, no less than a device like it is wired with."""
    for name in design.system.end_parts(run):
        part = design.system.parts.get(name)
        if part is None or part.comparable is None or part.roles.splits:
            continue
        if run.current == "ac" and any(current == "dc" for _, current in part.groups):
            continue
        advised = part.advised.values()
        if any(advice.to_length_m is None or advice.to_length_m >= run.length_m for advice in advised):
            continue
        least = part.comparable[0]
        if area < conductors.area_mm2(least) * SAME_AREA:
            yield make("CP593", run.id, comparable=least.label)
            return


def _few(design: Design) -> Iterator[Finding]:
    """No more different sizes than the plate wants, stated ones and those that follow others left aside."""
    stock, system = design.system.stock, design.system
    if stock is None or stock.at_most is None or reported(design, "CP511"):
        return
    chosen = {
        result.size
        for name, result in design.runs.items()
        if result.size is not None and system.runs[name].size is None and not system.runs[name].earth
        if system.runs[name].role == "run" and system.runs[name].conductor_ids and result.governed_by != "lead"
    }
    if len(chosen) > stock.at_most:
        yield make("CP593", "system", sizes=len(chosen), at_most=stock.at_most)


def _shelf(design: Design, run: Run, size: Size) -> Iterator[Finding]:
    stock = design.system.stock
    if stock is None or not stock.sizes or run.size is not None or size in stock.sizes:
        return
    if design.runs[run.id].governed_by != "lead":
        yield make("CP593", run.id, size=size.label)


def _terminals(design: Design, run: Run, size: Size) -> Iterator[Finding]:
    for conductor in run.conductor_ids:
        for node in _ends(design, conductor):
            terminal = terminal_at(design, node)
            if terminal is None or terminal.form != "clamp" or terminal.smallest is None or terminal.largest is None:
                continue
            low, high = conductors.area_mm2(terminal.smallest), conductors.area_mm2(terminal.largest)
            if not low * 0.998 <= conductors.area_mm2(size) <= high * 1.002:
                smallest, largest = terminal.smallest.label, terminal.largest.label
                yield make("CP597", conductor, node=node, size=size.label, smallest=smallest, largest=largest)


def _at(design: Design, node: str) -> tuple[Part | None, tuple[str, ...]]:
    """The part of a node, and its ports by which something may be stated for it: its own, the one that it is a pole
    of, all."""
    port = design.system.nodes[node].port
    return design.system.parts.get(design.system.nodes[node].part), (port, port.rpartition(".")[0], "")


def terminal_at(design: Design, node: str) -> Terminal | None:
    """What a conductor lands on at a node, where the plate states it."""
    part, ports = _at(design, node)
    return next((part.terminals[port] for port in ports if port in part.terminals), None) if part else None


def _advice(design: Design, node: str) -> Advice | None:
    """What the maker advises for a conductor at a node; without a port, of a part with terminals of both currents, he
    means those of direct current."""
    part, ports = _at(design, node)
    if part is not None and design.system.nodes[node].pole not in DC_POLES:
        ports = ports if all(current == "ac" for _, current in part.groups) else ports[:-1]
    return next((part.advised[port] for port in ports if port in part.advised), None) if part else None
