"""AC supplies against what is drawn from them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from copperplate.findings import Finding, make
from copperplate.model import Case, Generator, Inverter, Load, Part, Shore
from copperplate.model.graph import Graph, lines_of
from copperplate.model.transfer import handing
from copperplate.model.turns import Turn, turns
from copperplate.network.sources import sources_off
from copperplate.protection.study import ProtectionStudy
from copperplate.units import exceeds

Drawn = tuple[Part, float, tuple[int, ...]]
"""What takes alternating current, how much (watts, or volt-amperes where it states a current), and from which lines of
a split phase."""


def check_ac_sources(study: ProtectionStudy, net: Graph) -> list[Finding]:
    """Each AC supply against what it reaches in each case; what lies behind an inverter that hands a supply
    through counts with it, and so does the inverter's own charging, each by itself. A supply of two lines gives half on
    each, so that twice its more loaded line counts. The surge of each, or what it gives, against the largest start
    beside the rest."""
    found: list[Finding] = []
    by_supply = {turn.supply: turn for turn in turns(study.system, net)}
    for name, output in net.outputs.items():
        if output.current != "ac":
            continue
        part = study.system.parts[name]
        volts = part.gives_v or output.nominal_v * (2 if output.third else 1)
        gives = _gives_w(part, volts)
        if gives is None:
            continue
        cases = [(_asked_w(drawn), case, drawn) for case, drawn in _drawn(study, net, by_supply[name])]
        most, case, drawn = max(cases, key=lambda drawing: drawing[0], default=(0.0, None, []))
        if case is not None and exceeds(most, gives):
            per_unit, unit, key = (1.0, "W", "power_w") if part.power_w else (volts, "A", "current_a")
            charging = [each.id for each, _, _ in drawn if isinstance(each, Inverter)] if case.kind == "load" else []
            found.append(
                make(
                    "CP708",
                    name,
                    part.spans.get(key, part.span),
                    asked=most / per_unit,
                    given=gives / per_unit,
                    unit=unit,
                    case=case.id,
                    uneven=bool(output.third) and exceeds(most, sum(watts for _, watts, _ in drawn)),
                    charging=charging,
                    yielding=charging[0] if charging else None,
                )
            )
        found += _surge(net, part, gives, [drawing for drawing in cases if drawing[1].kind == "load"])
    return found


def _gives_w(part: Part, volts: float) -> float | None:
    """Continuous output of a supply in watts; None where the plate does not tell."""
    return part.power_w or (part.current_a * volts if part.current_a else None)


def _asked_w(drawn: Sequence[Drawn]) -> float:
    """What is asked of a supply, watts: all of it, or twice what its more loaded line gives."""
    by_line = [0.0, 0.0]
    for _, watts, lines in drawn:
        for line in lines:
            by_line[line] += watts / len(lines)
    return max(sum(watts for _, watts, _ in drawn), 2 * max(by_line))


def _drawn(study: ProtectionStudy, net: Graph, turn: Turn) -> list[tuple[Case, list[Drawn]]]:
    """By case: what each AC consumer takes that a supply reaches over what the case leaves closed, the other supplies
    kept off. An inverter that hands a supply through gives nothing itself, unless the case has it on too; nor does a
    supply that a case has off while another is on."""
    result: list[tuple[Case, list[Drawn]]] = []
    split = bool(net.outputs[turn.supply].third)
    through = handing(study.system, net)
    for case in study.system.cases:
        idle = turn.supply in through[case.id] and not case.shares.get(turn.supply, 0.0)
        if idle or turn.supply in sources_off(study.system, net, case):
            continue
        opened = case.open_devices | (net.inlets.keys() - through[case.id])
        reached = turn.reach(opened.__contains__)
        drawn: list[Drawn] = []
        for inverter in _charging(study, net, case, reached):
            both = split and net.inlets[inverter.id].third
            drawn.append((inverter, _charging_w(study, net, inverter), (0, 1) if both else ()))
        for name, ends in net.consumers.items():
            part = study.system.parts[name]
            share = case.shares.get(name, 0.0)
            charging = isinstance(part, Load) or case.kind == "charge" or not case.implied
            if ends.current == "ac" and ends.pos in reached and share > 0.0 and charging:
                watts = study.demand.load_a.get(name, 0.0) * share * ends.nominal_v
                drawn.append((part, watts, lines_of(net, ends) if split else ()))
        if drawn:
            result.append((case, drawn))
    return result


def _charging(study: ProtectionStudy, net: Graph, case: Case, reached: frozenset[str]) -> list[Inverter]:
    """The inverters that charge from a supply that reaches them in a case: in charging cases, and while they hand it
    through where that does not yield to the loads."""
    through = handing(study.system, net)[case.id]
    return [
        part
        for part in study.system.of(Inverter)
        if part.id in net.inlets
        and net.inlets[part.id].pos in reached
        and part.charges_a
        and (
            (case.kind == "charge" and case.shares.get(part.id, 0.0) > 0.0)
            or (case.kind == "load" and part.id in through and part.charges_beside)
        )
    ]


def _charging_w(study: ProtectionStudy, net: Graph, part: Part) -> float:
    """What an inverter draws from its AC supply to charge, watts."""
    drawn, inlet = study.demand.why.get(f"{part.id}.ac-in"), net.inlets[part.id]
    return drawn.value * inlet.nominal_v * (2 if inlet.third else 1) if drawn is not None else 0.0


def _surge(net: Graph, part: Part, gives_w: float, cases: list[tuple[float, Case, list[Drawn]]]) -> list[Finding]:
    """The largest motor's start while the rest of its case runs: against the surge of the supply, and where it states
    none against what it gives, beyond which nothing is proven."""
    starts = [
        (total - watts + load.inrush_a * net.consumers[load.id].nominal_v, load.id, case.id)
        for total, case, drawn in cases
        for load, watts, _ in drawn
        if isinstance(load, Load) and load.inrush_a
    ]
    starting_w, starting, case_id = max(starts, key=lambda start: start[0], default=(0.0, "", ""))
    surge_w = part.surge_w if isinstance(part, Inverter | Generator) else None
    if not exceeds(starting_w, surge_w or gives_w):
        return []
    figures: dict[str, Any] = {"asked": starting_w, "load": starting, "surge": surge_w, "gives": gives_w}
    figures |= {"case": case_id, "ashore": isinstance(part, Shore)}
    return [make("CP709" if surge_w else "CP720", part.id, part.spans.get("surge_w", part.span), **figures)]
