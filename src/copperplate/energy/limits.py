"""Currents into and out of each bank against its limits, and of converters against their rating."""

from __future__ import annotations

from copperplate.energy.bank import Bank
from copperplate.findings import Finding, Measure, finding
from copperplate.model import Part, System
from copperplate.model.graph import Graph, holds
from copperplate.model.results import Demand
from copperplate.units import number


def check_limits(system: System, net: Graph, demand: Demand, bank: Bank) -> list[Finding]:
    """The largest discharge over the load cases and the largest charge over the charging ones. Each battery
    statement is held to its own limit by the current at its own terminals."""
    found: list[Finding] = []
    for part in bank.parts:
        for kind, key, code, verb in (
            ("load", "max_discharge_a", "CP601", "gives"),
            ("charge", "max_charge_a", "CP602", "is charged with"),
        ):
            limit = part.get(key)
            if limit is None:
                continue
            strings = part.get("parallel", 1)
            worst, case = _largest(system, net, demand, part, kind)
            if worst <= limit * strings * 1.0001:
                continue
            more = -(-worst // limit)
            say = "a smaller load in that case" if kind == "load" else "less charging at a time"
            found.append(
                finding(
                    code,
                    part.id,
                    f"`{part.id}` {verb} {number(worst)} A and takes {number(limit * strings)} A",
                    part.spans.get(key, part.span),
                    label=f"{number(limit)} A each, {strings} in parallel" if strings > 1 else f"{number(limit)} A",
                    notes=(f"in case `{case}`",),
                    help=f"{more:.0f} strings in parallel, or {say}",
                    measure=Measure(worst, limit * strings, "A"),
                    rule="the maker's limit",
                )
            )
    return found


def _largest(system: System, net: Graph, demand: Demand, part: Part, kind: str) -> tuple[float, str]:
    """(largest current out of, or into, a battery's positive terminal; case) over the cases of a kind."""
    node = net.outputs[part.id].pos
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


def check_converters(system: System, net: Graph, demand: Demand) -> list[Finding]:
    """What the loads behind each converter draw together in a load case, against its rated output."""
    found: list[Finding] = []
    for part in system.of_kind("converter"):
        output = net.outputs.get(part.id)
        rated = part.get("current_a")
        if output is None or rated is None or not holds(part):
            continue
        beside = [p for p in system.parts.values() if p.id in net.outputs and net.outputs[p.id].zone == output.zone]
        if any(p.id != part.id and holds(p) for p in beside):
            continue
        worst, where = 0.0, ""
        for case in system.cases:
            if case.kind != "load":
                continue
            total = sum(
                demand.load_a.get(p, 0.0) * case.shares.get(p, 0.0)
                for p, ends in net.consumers.items()
                if ends.zone == output.zone
            )
            if total > worst:
                worst, where = total, case.id
        if worst > rated * 1.0001:
            found.append(
                finding(
                    "CP614",
                    part.id,
                    f"{number(worst)} A is drawn from `{part.id}`, which gives {number(rated)} A",
                    part.spans.get("current_a", part.span),
                    label=f"{number(rated)} A",
                    notes=(f"in case `{where}`",),
                    help=f"a converter of {number(worst)} A or more, or a `case` of what really runs together",
                    measure=Measure(worst, rated, "A"),
                )
            )
    return found
