"""Currents into and out of each bank against its limits, and of converters against their rating."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from copperplate.energy.bank import EnergyStore
from copperplate.energy.recharge import Charging
from copperplate.findings import Finding, make
from copperplate.model import Alternator, Battery, Converter, System
from copperplate.model.graph import Graph
from copperplate.model.results import Demand
from copperplate.units import exceeds


def check_limits(
    system: System, net: Graph, demand: Demand, bank: EnergyStore, sources: tuple[Charging, ...]
) -> Iterator[Finding]:
    """The largest discharge over the load cases and the largest charge over the charging ones, against the limits of
    each battery statement. One source above the limit is an error; several that only together exceed it are a
    warning, for they need not run at once."""
    for battery in bank.batteries:
        discharge_a, case = _largest(system, net, demand, battery, "load")
        yield from _over("CP601", battery, "max_discharge_a", battery.max_discharge_a, discharge_a, case)
        if battery.max_charge_a is None:
            continue
        charge_a, case = _largest(system, net, demand, battery, "charge")
        charge_a = min(charge_a, sum(source.rated_a for source in sources))
        most_a = bank.max_charge_a or battery.max_charge_a * battery.parallel
        alone = max((s for s in sources if exceeds(s.rated_a, most_a)), key=lambda s: s.rated_a, default=None)
        code, name = "CP602" if alone or len(sources) < 2 else "CP615", None
        if alone is not None and len(sources) > 1:
            name, charge_a = alone.part.id, charge_a * alone.rated_a / sum(source.rated_a for source in sources)
        yield from _over(code, battery, "max_charge_a", battery.max_charge_a, charge_a, case, name)


def _over(
    code: str, battery: Battery, key: str, limit_a: float | None, worst_a: float, case: str, alone: str | None = None
) -> Iterator[Finding]:
    """A current above the limit of one battery by its strings."""
    strings = battery.parallel
    if limit_a is not None and exceeds(worst_a, limit_a * strings):
        yield make(
            code,
            battery.id,
            battery.spans.get(key, battery.span),
            worst=worst_a,
            limit=limit_a * strings,
            each=limit_a,
            strings=strings if strings > 1 else None,
            wanted=-(-worst_a // limit_a),
            case=case,
            alone=alone,
        )


def check_alternators(system: System, net: Graph, demand: Demand) -> Iterator[Finding]:
    """What converters draw from an alternator's own zone while it charges: more than it gives empties its battery."""
    for alternator in system.of(Alternator):
        output, gives_a = net.outputs.get(alternator.id), alternator.current_a
        if output is None or not gives_a:
            continue
        beside = [c.id for c in system.of(Converter) if c.id in net.consumers]
        fed = [converter for converter in beside if net.consumers[converter].zone == output.zone]
        for case in system.cases:
            if case.kind != "charge" or not case.shares.get(alternator.id):
                continue
            drawn_a = {name: demand.load_a.get(name, 0.0) * case.shares.get(name, 0.0) for name in fed}
            total_a = sum(drawn_a.values())
            if exceeds(total_a, gives_a * case.shares[alternator.id]):
                yield make(
                    "CP616",
                    alternator.id,
                    alternator.spans.get("current_a", alternator.span),
                    converters=[name for name, amperes in drawn_a.items() if amperes > 0.0],
                    drawn=total_a,
                    gives=gives_a,
                    case=case.id,
                )
                break


def _largest(
    system: System, net: Graph, demand: Demand, battery: Battery, kind: Literal["load", "charge"]
) -> tuple[float, str]:
    """(largest current out of, or into, a battery's positive terminal; case) over the cases of a kind."""
    node = net.outputs[battery.id].pos
    worst, where = 0.0, ""
    for case in system.cases:
        if case.kind != kind:
            continue
        amperes = demand.case_a.get(case.id, {})
        out = 0.0
        for index in net.at[node]:
            edge = net.edges[index]
            if edge.kind == "conductor":
                flow = amperes.get(edge.id, 0.0)
                out += flow if system.conductors[edge.id].from_node == node else -flow
            elif edge.kind == "device":
                out += demand.device_a.get(edge.id, 0.0) * (1 if kind == "load" else -1)
        flowing = out if kind == "load" else -out
        if flowing > worst:
            worst, where = flowing, case.id
    return worst, where


def check_converters(system: System, net: Graph, demand: Demand) -> Iterator[Finding]:
    """What the loads behind each converter draw together in a load case, against its rated output. Where no rating is
    stated, an earlier stage told of it; what several sources hold together is not judged."""
    for converter in system.of(Converter):
        output, rated_a = net.outputs.get(converter.id), converter.current_a
        if output is None or not rated_a or not converter.holds_voltage:
            continue
        holding = [p for p, ends in net.outputs.items() if ends.zone == output.zone and system.parts[p].holds_voltage]
        if holding != [converter.id]:
            continue
        behind = [p for p, ends in net.consumers.items() if ends.zone == output.zone]
        worst, where = 0.0, ""
        for case in system.cases:
            if case.kind == "load":
                total_a = sum(demand.load_a.get(p, 0.0) * case.shares.get(p, 0.0) for p in behind)
                if total_a > worst:
                    worst, where = total_a, case.id
        if exceeds(worst, rated_a):
            span = converter.spans.get("current_a", converter.span)
            yield make("CP614", converter.id, span, worst=worst, rated=rated_a, case=where)
