"""Currents into and out of each bank against its limits, and of converters against their rating."""

from __future__ import annotations

from copperplate.energy.bank import Bank
from copperplate.energy.recharge import Charging
from copperplate.findings import Finding, Measure, finding
from copperplate.model import Part, System
from copperplate.model.graph import Graph, holds
from copperplate.model.results import Demand
from copperplate.units import number


def check_limits(
    system: System, net: Graph, demand: Demand, bank: Bank, sources: tuple[Charging, ...]
) -> list[Finding]:
    """The largest discharge over the load cases and the largest charge over the charging ones, against the limits of
    each battery statement. One source above the limit is an error; several that only together exceed it are a
    warning, for they need not run at once."""
    found: list[Finding] = []
    for part in bank.parts:
        limit, strings = part.get("max_discharge_a"), part.get("parallel", 1)
        worst, case = _largest(system, net, demand, part, "load")
        if limit is not None and worst > limit * strings * 1.0001:
            found.append(_over("CP601", part, "max_discharge_a", worst, case, "gives", "a smaller load in that case"))
        limit = part.get("max_charge_a")
        worst, case = _largest(system, net, demand, part, "charge")
        if limit is None or worst <= limit * strings * 1.0001:
            continue
        alone = [one for one in sources if one.rated_a > (bank.limit_a("max_charge_a") or limit * strings) * 1.0001]
        if alone or len(sources) < 2:
            who = f", by `{alone[0].part.id}` alone," if alone else ""
            found.append(
                _over("CP602", part, "max_charge_a", worst, case, f"is charged{who} with", "a source set to less")
            )
        else:
            others = "a charging limit set over all, or sources that do not run together"
            found.append(_over("CP615", part, "max_charge_a", worst, case, "is charged, all at once, with", others))
    return found


def _over(code: str, part: Part, key: str, worst: float, case: str, verb: str, instead: str) -> Finding:
    limit, strings = part.get(key), part.get("parallel", 1)
    return finding(
        code,
        part.id,
        f"`{part.id}` {verb} {number(worst)} A and takes {number(limit * strings)} A",
        part.spans.get(key, part.span),
        label=f"{number(limit)} A each, {strings} in parallel" if strings > 1 else f"{number(limit)} A",
        notes=(f"in case `{case}`",),
        help=f"{-(-worst // limit):.0f} strings in parallel, or {instead}",
        measure=Measure(worst, limit * strings, "A"),
        rule="the maker's limit",
    )


def check_alternators(system: System, net: Graph, demand: Demand) -> list[Finding]:
    """What converters draw from an alternator's own zone while it charges: more than it gives empties its battery."""
    found: list[Finding] = []
    for part in system.of_kind("alternator"):
        output, gives = net.outputs.get(part.id), part.get("current_a")
        if output is None or not gives:
            continue
        for case in system.cases:
            if case.kind != "charge" or not case.shares.get(part.id):
                continue
            drawn = {
                name: demand.load_a.get(name, 0.0) * case.shares.get(name, 0.0)
                for name, ends in net.consumers.items()
                if ends.zone == output.zone and system.parts[name].kind == "converter"
            }
            total = sum(drawn.values())
            if total > gives * case.shares[part.id] * 1.0001:
                names = " and ".join(f"`{name}`" for name, amperes in drawn.items() if amperes > 0.0)
                found.append(
                    finding(
                        "CP616",
                        part.id,
                        f"{names} draw {number(total)} A where `{part.id}` gives {number(gives)} A",
                        part.spans.get("current_a", part.span),
                        label=f"{number(gives)} A",
                        notes=(f"in case `{case.id}`; the rest comes from the battery",),
                        help=f"converters of {number(gives)} A at their input, or a larger alternator",
                        measure=Measure(total, gives, "A"),
                    )
                )
                break
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
        if output is None or not rated or not holds(part):
            continue  # Where no rating is stated, that has been told already.
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
