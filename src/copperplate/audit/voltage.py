"""Budgets along each load's path, and the voltages that devices work at."""

from __future__ import annotations

from collections.abc import Iterator

from copperplate.audit.banks import batteries_by_zone, own_ohm
from copperplate.audit.consumers import budget_v, drawn_a
from copperplate.audit.incidence import across_v, incidence, nodes_by_part
from copperplate.findings import Finding, make
from copperplate.model import Battery, Case, Inverter, Load, Node, Part, State
from copperplate.model.graph import graph
from copperplate.model.groups import Groups
from copperplate.model.results import Design, LoadResult
from copperplate.standards import profile

SLACK = 1.0001
ROUNDING_V = 1e-9


def check_voltage(design: Design) -> Iterator[Finding]:
    """Each load's path by the profile's figure against its budget; its solved voltage against its window."""
    radial, terminals = _radial(design), nodes_by_part(design.system)
    for load in design.loads.values():
        yield from _budget(design, load, radial)
    for part in design.system.parts.values():
        yield from _window(design, part, terminals.get(part.id, []))
    for motor in design.system.of(Load, Inverter) if radial else ():
        yield from _start(design, motor, terminals.get(motor.id, []))


def _radial(design: Design) -> bool:
    """Whether no two ways lead to any node: one source a system, and no ring. Only then is the current that a
    conductor was judged with known to the last digit; elsewhere sources and ways share it."""
    system = design.system
    joined = Groups[str]()
    batteries = {battery.id for battery in system.of(Battery)}
    zones = [node.zone for node in system.nodes.values() if node.pole == "pos" and node.part in batteries]
    links = [(c.from_node, c.to_node) for c in system.conductors.values()]
    links += [leg for device in system.devices.values() for leg in device.legs]
    return all(joined.join(a, b) for a, b in links) and len(zones) == len(set(zones))


def _budget(design: Design, load: LoadResult, radial: bool) -> Iterator[Finding]:
    """The sum over the path of current times the judged ohms of each conductor. The current is the largest solved
    one that flows to the load while devices discharge the bank, so that a path cannot be judged with less: what a
    source pushes the other way loses nothing of it."""
    system, rules = design.system, profile(design.profile)
    load_cases = [case.id for case in system.cases if case.kind == "load"]
    total_v = 0.0
    for step in load.path:
        conductor = system.conductors.get(step.through)
        result = design.runs.get(conductor.run) if conductor is not None else None
        if conductor is None or result is None or result.size is None:
            continue
        ohm = rules.judged_ohm_per_m(result.size, system.settings.tinned).value * conductor.length_m / result.parallel
        solved = design.conductors.get(conductor.id)
        solved_a = solved.current_a if solved is not None else {}
        back = step.current_a * solved_a.get(load.worst_case, 0.0) < 0.0
        flows = [max(-a if back else a, 0.0) for case, a in solved_a.items() if case in load_cases]
        lost_v = max(flows, default=0.0) * ohm if radial else step.judged_v
        if radial and abs(step.judged_v) < lost_v / SLACK - ROUNDING_V:
            yield make("CP594", load.load, through=step.through, lost=lost_v)
            return
        total_v += lost_v
    steps_v = sum(step.judged_v for step in load.path)
    allowed_v = budget_v(design, system.parts[load.load], load.nominal_v)
    if radial and total_v > load.drop_v * SLACK + ROUNDING_V:
        yield make("CP594", load.load, path=total_v, judged=load.drop_v)
    elif steps_v > load.drop_v * SLACK + ROUNDING_V:
        yield make("CP594", load.load, steps=steps_v, judged=load.drop_v)
    elif total_v > allowed_v * SLACK + ROUNDING_V or load.drop_v > allowed_v * (1 + 1e-7) + ROUNDING_V:
        yield make("CP594", load.load, path=max(total_v, load.drop_v), budget=allowed_v)


def _window(design: Design, part: Part, nodes: list[Node]) -> Iterator[Finding]:
    """Of parts that take their power by a positive and a negative terminal; an output has the window of none."""
    if part.works is None or part.id not in design.loads:
        return
    for pos in nodes:
        stem = pos.id.removesuffix(".pos")
        if not pos.id.endswith(".pos") or stem.endswith(".out"):
            continue
        for case in (*design.system.cases, *design.states):
            volts = across_v(design, case, pos.id, f"{stem}.neg")
            if volts is None or not _on(part, case):
                continue
            if volts < part.works.low - 1e-6 or volts > part.works.high + 1e-6:
                yield make("CP594", part.id, case=case.id, volts=volts, low=part.works.low, high=part.works.high)
                return


def _start(design: Design, motor: Part, nodes: list[Node]) -> Iterator[Finding]:
    """The volts left while a motor starts or an inverter gives its surge: those of the case less what the added current
    loses on its own way and within its bank. Of a surge the current at the low end of the window is taken, for at that
    it must still be given."""
    result = design.loads.get(motor.id)
    pos = next((node.id for node in nodes if node.pole == "pos"), "")
    neg = next((node.id for node in nodes if node.pole == "neg"), "")
    if motor.works is None or result is None:
        return
    if isinstance(motor, Load):
        starting_a = motor.inrush_a or 0.0
    else:
        surge_w = (motor.surge_w or 0.0) if isinstance(motor, Inverter) else 0.0
        starting_a = surge_w / motor.efficiency / motor.works.low
    if not starting_a:
        return
    through = [step.through for step in result.path]
    ohm = sum(design.conductors[c].hottest_ohm for c in through if c in design.conductors)
    ohm += sum(design.system.devices[d].resistance_ohm for d in through if d in design.system.devices)
    zone = design.system.nodes[pos].zone if pos else ""
    banks = batteries_by_zone(design.system, graph(design.system)).get(zone, [])
    ohm += sum(own_ohm(bank) for bank in banks[:1])
    for case in design.system.cases:
        volts, share = across_v(design, case, pos, neg), case.shares.get(motor.id)
        if case.kind != "load" or not share or volts is None:
            continue
        if isinstance(motor, Load):
            steady_a = drawn_a(motor, volts) * share
        else:
            steady_a = abs(incidence(design.system).leaving_a(design, case, pos) or 0.0)
        starting_v = volts - max(0.0, starting_a - steady_a) * ohm
        if starting_v < motor.works.low - 1e-3:
            yield make("CP594", motor.id, starting=starting_v, low=motor.works.low)
            return


def _on(part: Part, case: Case) -> bool:
    """A device that is off, or whose supply is dead, is held to no window; while batteries are charged it may be on."""
    ending = case.kind == "charge" and not isinstance(case, State)
    return ending or bool(case.shares.get(part.id) and not (isinstance(case, State) and case.out))
