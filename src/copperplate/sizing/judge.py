"""Judging what came of the sizes: the voltage at every load, by the profile's figure and as solved."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import fsum

from copperplate.findings import Finding
from copperplate.model import Inverter, Load, System
from copperplate.model.graph import Graph, Terminals, graph
from copperplate.model.paths import Paths, Step, paths, paths_by_source
from copperplate.model.results import Demand, LoadResult, PathStep, RunResult, Solution
from copperplate.sizing.drops import warm_c
from copperplate.sizing.motor_start import StartVoltage, start_voltage, too_low
from copperplate.sizing.sizing_units import ringed
from copperplate.sizing.supply_paths import fixed_v, legs
from copperplate.sizing.voltage_findings import JudgedVoltages, voltage_findings
from copperplate.standards import Profile, conductors
from copperplate.standards.adiabatic import carries_a
from copperplate.units import NOISE, exceeds, suffices


def judge(
    system: System, profile: Profile, demand: Demand, runs: Mapping[str, RunResult], solution: Solution
) -> tuple[dict[str, RunResult], dict[str, LoadResult], tuple[Finding, ...]]:
    """The runs with `drop_hot_v`, the voltage at every consumer that has a supply path, and what is wrong with it."""
    net = graph(system)
    first, by_source = paths(system, net), paths_by_source(system, net)
    worst = _worst(system, profile, demand, runs, first, by_source, ringed(net))
    others = frozenset(load for load, source in worst.source.items() if source != first.source[load])
    judging = _Judging(system, profile, demand, runs, solution, worst, ringed(net))
    lowest = _lowest(judging, net, (first, *by_source))
    loads = {load: judging.load(load, ends) for load, ends in net.consumers.items() if judging.can_judge(load)}
    judged = {run_id: replace(result, drop_hot_v=judging.hot_v(result)) for run_id, result in runs.items()}
    starts = {load: start for load in loads if (start := judging.start(load, net.consumers[load])) is not None}
    for load, start in starts.items():
        loads[load] = replace(loads[load], start_a=start.amperes, start_v=start.volts)
    failing = [
        too_low(system, profile, judged, part, start, low)
        for part in system.of(Load, Inverter)
        if (start := starts.get(part.id)) is not None
        and (low := loads[part.id].works_low_v) is not None
        and not suffices(start.volts, low, NOISE)
        and suffices(loads[part.id].voltage_v, low, NOISE)
    ]
    running = voltage_findings(JudgedVoltages(system, profile, judged, solution, loads, others, lowest))
    return judged, loads, (*running, *failing)


def _lowest(judging: _Judging, net: Graph, sources: tuple[Paths, ...]) -> dict[str, tuple[float, str]]:
    """By load whose zone several sources hold: the volts that the worst of them, left to carry all, leaves it in warm
    copper, and that source."""
    lowest: dict[str, tuple[float, str]] = {}
    several = {load for alone in sources[1:] for load in alone.to}
    for alone in sources if several else ():
        for load, steps in alone.to.items():
            if load not in several or not judging.can_judge(load):
                continue
            ends = net.consumers[load]
            left_v = judging.demand.low_v.get(ends.zone, ends.nominal_v) - judging.warm_v(steps)
            if load not in lowest or left_v < lowest[load][0] - NOISE:
                lowest[load] = (left_v, alone.source[load])
    return lowest


def _worst(
    system: System,
    profile: Profile,
    demand: Demand,
    runs: Mapping[str, RunResult],
    first: Paths,
    others: tuple[Paths, ...],
    ringed: frozenset[str],
) -> Paths:
    """The paths to judge: from the battery whose leads, as sized, lose most where it alone is left to carry all."""

    def lost_v(steps: tuple[Step, ...]) -> float:
        lost = 0.0
        for leg in legs(system, demand, steps, ringed):
            result = runs.get(leg.run)
            if result is not None and result.size is not None:
                lost += leg.ampere_metres * profile.judged_ohm_per_m(result.size, system.settings.tinned).value
        return lost

    to, source, origin = dict(first.to), dict(first.source), dict(first.origin)
    for other in others:
        for load, steps in other.to.items():
            if load in to and exceeds(lost_v(steps), lost_v(to[load]), NOISE):
                to[load], source[load], origin[load] = steps, other.source[load], other.origin[load]
    return Paths(to, source, origin)


@dataclass(frozen=True)
class _Judging:
    """What voltages are judged from: `paths` are the supply paths that lose most, `ringed` the conductors in a loop."""

    system: System
    profile: Profile
    demand: Demand
    runs: Mapping[str, RunResult]
    solution: Solution
    paths: Paths
    ringed: frozenset[str]

    def can_judge(self, load: str) -> bool:
        """Whether a consumer has a budget, a supply path, and cases to be judged in."""
        return load in self.demand.budget_v and load in self.paths.to and bool(self.solution.node_v)

    def start(self, load: str, ends: Terminals) -> StartVoltage | None:
        """A motor's start or an inverter's surge; none where its supply breaks down already as it runs."""
        part = self.system.parts[load]
        if any(load in loads for loads in self.solution.collapsed.values()):
            return None
        bank_ohm = self.demand.bank_ohm.get(ends.zone, 0.0)
        return start_voltage(self.system, self.solution, part, ends, self.paths.to[load], bank_ohm)

    def warm_v(self, steps: tuple[Step, ...]) -> float:
        """What a supply path loses at its sizing currents, in copper as warm as these make it."""
        path = legs(self.system, self.demand, steps, self.ringed)
        lost = fixed_v(path)
        for leg in path:
            result = self.runs.get(leg.run)
            if result is None or result.size is None or result.ampacity is None:
                continue
            carries = carries_a(
                result.ampacity.value, result.parallel, result.insulation_c, result.area_mm2, result.brief_s
            )
            at_c = warm_c(result.ambient_c, result.insulation_c, leg.amperes, carries)
            lost += leg.ampere_metres * conductors.ohm_per_m(result.size, at_c, self.system.settings.tinned)
        return lost

    def hot_v(self, result: RunResult) -> float:
        """What a run loses out and back as solved, in the load case in which it loses most."""
        run = self.system.runs[result.run]
        live = [c for c in run.conductor_ids if self.system.conductors[c].pole != "pe"]
        ohms = {c: self.solution.hottest_ohm(c) for c in live}
        load_cases = [self.solution.conductor_a[case.id] for case in self.system.cases if case.kind == "load"]
        return max((fsum(abs(amperes[c]) * ohms[c] for c in live) for amperes in load_cases), default=0.0)

    def across_v(self, ends: Terminals, case: str) -> float:
        """Volts at a consumer's terminals in a case."""
        volts = self.solution.node_v[case]
        between = volts[ends.pos] - volts[ends.neg]
        return abs(between) if ends.current == "ac" else between

    def load(self, load: str, ends: Terminals) -> LoadResult:
        """The voltage at one consumer in the worst of the cases in which it is on (of the load cases where it
        never is); none where its supply breaks down. While charging, with the banks low and as it ends."""
        cases = (*self.system.cases, *(state for state in self.solution.states if not state.out))
        broken = [case for case in cases if load in self.solution.collapsed.get(case.id, ())]
        on = [case for case in cases if self.solution.load_a[case.id].get(load, 0.0) > 0.0]
        judged = broken or on or [case for case in cases if case.kind == "load"] or list(cases)
        worst = min(judged, key=lambda case: self.across_v(ends, case.id))
        at_v = 0.0 if broken else self.across_v(ends, worst.id)
        steps = self.paths.to[load]
        path = self._path(load, steps, worst.id)
        nominal = ends.nominal_v
        budget = self.demand.budget_v[load].value
        drop = fsum(step.judged_v for step in path)
        source = self.paths.source[load]
        held = self._held_v(ends, source, worst.id) * (2.0 if self._doubled(ends, source) else 1.0)
        works = self.system.parts[load].works
        return LoadResult(
            load=load,
            current_a=self.solution.load_a[worst.id].get(load, 0.0),
            voltage_v=at_v,
            highest_v=max(self.across_v(ends, case.id) for case in cases),
            nominal_v=nominal,
            drop_v=drop,
            drop_percent=100.0 * drop / nominal,
            solved_drop_v=held - at_v,
            solved_percent=100.0 * (held - at_v) / nominal,
            budget_v=budget,
            budget_percent=round(100.0 * budget / nominal, 9),
            works_low_v=works.low if works is not None else None,
            works_high_v=works.high if works is not None else None,
            worst_case=worst.id,
            source=source,
            run=self._own_run(load, ends),
            path=path,
        )

    def _held_v(self, ends: Terminals, source: str, case: str) -> float:
        """Volts that the supply of a consumer holds in a case. Where a selector has put the supply of the judged path
        off, the one of the same zone that is on in its place."""
        held = self.solution.held_v[case]
        if held.get(source, ends.nominal_v) > 0.0:
            return held.get(source, ends.nominal_v)
        outputs = graph(self.system).outputs
        return max((v for part, v in held.items() if part in outputs and outputs[part].zone == ends.zone), default=0.0)

    def _doubled(self, ends: Terminals, source: str) -> bool:
        """Whether a load lies between the two lines of a supply that is held from each of them to a neutral."""
        supply = graph(self.system).outputs.get(source)
        if supply is None or not supply.third:
            return False
        first, last = self.paths.origin[ends.part]
        nodes = self.system.nodes
        return {nodes[first].pole, nodes[last].pole} == {"l1", "l2"} and bool(source)

    def _path(self, load: str, steps: tuple[Step, ...], case: str) -> tuple[PathStep, ...]:
        """A supply path step by step: as solved in a case, and by the figure that the profile judges with."""
        amperes, devices, volts = (
            self.solution.conductor_a[case], self.solution.device_a[case], self.solution.node_v[case]
        )  # fmt: skip
        first, _ = self.paths.origin[load]
        # On the second line of a split phase the current runs against the path.
        sign = -1 if self.system.nodes[first].pole == "l2" else 1
        found = [PathStep(first, "", "", 0.0, 0.0, 0.0, 0.0)]
        for leg in legs(self.system, self.demand, steps, self.ringed):
            edge, along, lost = leg.step.edge, leg.step.along * sign, leg.amperes * leg.ohm
            if edge.kind == "conductor":
                conductor, result = self.system.conductors[edge.id], self.runs.get(leg.run)
                size = result.size if result is not None else None
                rate = self.profile.judged_ohm_per_m(size, self.system.settings.tinned).value if size else 0.0
                solved_v = (volts[conductor.from_node] - volts[conductor.to_node]) * along
                label, judged_v = size.laid(result.parallel) if result and size else "", leg.ampere_metres * rate + lost
                metres, current = conductor.length_m, amperes[edge.id] * along
                found.append(PathStep(leg.step.reached, edge.id, label, metres, current, solved_v, judged_v))
            elif edge.kind == "device":
                current = devices[edge.id] * along
                found.append(PathStep(leg.step.reached, edge.id, "", 0.0, current, current * leg.ohm, lost))
        return tuple(found)

    def _own_run(self, load: str, ends: Terminals) -> str:
        """The run that brings the positive or line conductor: the last before the consumer's own terminal."""
        last = ""
        for step in self.paths.to[load]:
            if step.edge.kind == "conductor":
                last = self.system.conductors[step.edge.id].run
            if step.reached == ends.pos:
                break
        return last
