"""AC supplies against what is drawn from them."""

from __future__ import annotations

from copperplate.findings import Finding, Measure, finding
from copperplate.model import Case, Part
from copperplate.model.graph import Graph
from copperplate.model.transfer import handing
from copperplate.protection.situation import Situation
from copperplate.units import exceeds, number


def check_ac_sources(situation: Situation, net: Graph) -> list[Finding]:
    """Each AC supply against the sum of its consumers in each case; what lies behind an inverter that hands a supply
    through counts with it, and so does the inverter's own charging, each by itself. An inverter's surge against the
    largest start beside the rest."""
    found: list[Finding] = []
    for part in situation.system.of_kind("shore", "generator", "inverter"):
        output = net.outputs.get(part.id)
        if output is None or output.current != "ac":
            continue
        volts = part.get("voltage_v") or part.get("ac_v") or output.nominal_v * (2 if output.third else 1)
        gives = _gives_w(part, volts)
        if gives is None:
            continue
        asked = [(sum(w for _, w in drawn), case, drawn) for case, drawn in _drawn(situation, net, part)]
        most, case, _ = max(asked, key=lambda one: one[0], default=(0.0, None, []))
        if case is not None and exceeds(most, gives):
            found.append(_over(part, most, gives, volts, case, yielding=_yielding(situation, net, part, case)))
        if part.kind == "inverter":
            found += _surge(part, [one for one in asked if one[1].kind == "load"])
    return found


def _gives_w(part: Part, volts: float) -> float | None:
    """Continuous output of a supply in watts; None where the plate does not tell."""
    if part.get("power_w"):
        return float(part.get("power_w"))
    return float(part.get("current_a") * volts) if part.get("current_a") else None


def _drawn(situation: Situation, net: Graph, source: Part) -> list[tuple[Case, list[tuple[Part, float]]]]:
    """By case: what each AC consumer of a supply takes, in watts (volt-amperes where it states a current). Behind an
    inverter that hands the supply through they count where it does so; the inverter then gives nothing itself,
    unless the case has it on too."""
    result: list[tuple[Case, list[tuple[Part, float]]]] = []
    own = net.outputs[source.id].zone
    through = handing(situation.system, net)
    for case in situation.system.cases:
        if source.id in through[case.id] and not case.shares.get(source.id, 0.0):
            continue
        handed = {net.outputs[name].zone for name in through[case.id] if net.inlets[name].zone == own}
        drawn: list[tuple[Part, float]] = [
            (part, _charging_w(situation, net, part)) for part in _charging(situation, net, case, own, through[case.id])
        ]
        for name, ends in net.consumers.items():
            part = situation.system.parts[name]
            share = case.shares.get(name, 0.0)
            charging = part.kind != "charger" or case.kind == "charge" or not case.implied
            if ends.current == "ac" and (ends.zone == own or ends.zone in handed) and share > 0.0 and charging:
                drawn.append((part, situation.demand.load_a.get(name, 0.0) * share * ends.nominal_v))
        if drawn:
            result.append((case, drawn))
    return result


def _charging(situation: Situation, net: Graph, case: Case, own: str, through: frozenset[str]) -> list[Part]:
    """The inverters on a supply that charge from it in a case: in charging cases, and while they hand it through where
    that does not yield to the loads."""
    parts = situation.system.parts
    return [
        parts[name]
        for name, inlet in net.inlets.items()
        if inlet.zone == own
        and parts[name].get("charges_a")
        and (
            (case.kind == "charge" and case.shares.get(name, 0.0) > 0.0)
            or (case.kind == "load" and name in through and not parts[name].get("shares_supply", False))
        )
    ]


def _charging_w(situation: Situation, net: Graph, part: Part) -> float:
    """What an inverter draws from its AC supply to charge, watts."""
    drawn, inlet = situation.demand.why.get(f"{part.id}.ac-in"), net.inlets[part.id]
    return drawn.value * inlet.nominal_v * (2 if inlet.third else 1) if drawn is not None else 0.0


def _yielding(situation: Situation, net: Graph, part: Part, case: Case) -> tuple[str, ...]:
    """The inverters whose charging is counted beside the loads of a case."""
    if case.kind != "load":
        return ()
    through = handing(situation.system, net)[case.id]
    return tuple(p.id for p in _charging(situation, net, case, net.outputs[part.id].zone, through))


def _over(part: Part, most: float, gives: float, volts: float, case: Case, yielding: tuple[str, ...]) -> Finding:
    key = "power_w" if part.get("power_w") else "current_a"
    by_power = key == "power_w"
    shared = f"; or `shares-supply` on `{yielding[0]}`, if its charging yields to the loads" if yielding else ""
    asked, given, unit = (most, gives, "W") if by_power else (most / volts, gives / volts, "A")
    return finding(
        "CP708",
        part.id,
        f"{number(asked)} {unit} is asked of `{part.id}`, which gives {number(given)} {unit}",
        part.spans.get(key, part.span),
        label=f"{number(given)} {unit}",
        notes=(f"in case `{case.id}`", *(f"the charging of `{name}` is counted beside the loads" for name in yielding)),
        help=f"{number(asked)} {unit} or more, or a `case` of what really runs together{shared}",
        measure=Measure(asked, given, unit),
    )


def _surge(part: Part, asked: list[tuple[float, Case, list[tuple[Part, float]]]]) -> list[Finding]:
    """The largest motor's start while the rest of its case runs."""
    surge = part.get("surge_w")
    if surge is None:
        return []
    worst: tuple[float, str, str] | None = None
    for total, case, drawn in asked:
        for load, watts in drawn:
            if load.get("inrush_a"):
                start = total - watts + load.get("inrush_a") * part.get("ac_v", 0.0)
                if worst is None or start > worst[0]:
                    worst = (start, load.id, case.id)
    if worst is None or not exceeds(worst[0], surge):
        return []
    return [
        finding(
            "CP709",
            part.id,
            f"the start of `{worst[1]}` asks {number(worst[0])} W of `{part.id}`, whose surge is {number(surge)} W",
            part.spans.get("surge_w", part.span),
            label=f"{number(surge)} W",
            notes=(f"with the rest of case `{worst[2]}`",),
            help=f"a surge of {number(worst[0])} W or more",
            measure=Measure(worst[0], surge, "W"),
        )
    ]
