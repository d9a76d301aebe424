"""AC supplies against what is drawn from them."""

from __future__ import annotations

from copperplate.findings import Finding, make
from copperplate.model import Case, Inverter, Load, Part
from copperplate.model.graph import Graph
from copperplate.model.transfer import handing
from copperplate.protection.study import ProtectionStudy
from copperplate.units import exceeds


def check_ac_sources(study: ProtectionStudy, net: Graph) -> list[Finding]:
    """Each AC supply against the sum of its consumers in each case; what lies behind an inverter that hands a supply
    through counts with it, and so does the inverter's own charging, each by itself. An inverter's surge against the
    largest start beside the rest."""
    found: list[Finding] = []
    for name, output in net.outputs.items():
        if output.current != "ac":
            continue
        part = study.system.parts[name]
        volts = part.gives_v or output.nominal_v * (2 if output.third else 1)
        gives = _gives_w(part, volts)
        if gives is None:
            continue
        cases = [(sum(w for _, w in drawn), case, drawn) for case, drawn in _drawn(study, net, part)]
        most, case, _ = max(cases, key=lambda drawing: drawing[0], default=(0.0, None, []))
        if case is not None and exceeds(most, gives):
            per_unit, unit, key = (1.0, "W", "power_w") if part.power_w else (volts, "A", "current_a")
            charging = _beside(study, net, part, case)
            found.append(
                make(
                    "CP708",
                    name,
                    part.spans.get(key, part.span),
                    asked=most / per_unit,
                    given=gives / per_unit,
                    unit=unit,
                    case=case.id,
                    charging=charging,
                    yielding=charging[0] if charging else None,
                )
            )
        if isinstance(part, Inverter):
            found += _surge(part, [drawing for drawing in cases if drawing[1].kind == "load"])
    return found


def _gives_w(part: Part, volts: float) -> float | None:
    """Continuous output of a supply in watts; None where the plate does not tell."""
    return part.power_w or (part.current_a * volts if part.current_a else None)


def _drawn(study: ProtectionStudy, net: Graph, source: Part) -> list[tuple[Case, list[tuple[Part, float]]]]:
    """By case: what each AC consumer of a supply takes, in watts (volt-amperes where it states a current). Behind an
    inverter that hands the supply through they count where it does so; the inverter then gives nothing itself,
    unless the case has it on too."""
    result: list[tuple[Case, list[tuple[Part, float]]]] = []
    own = net.outputs[source.id].zone
    through = handing(study.system, net)
    for case in study.system.cases:
        if source.id in through[case.id] and not case.shares.get(source.id, 0.0):
            continue
        handed = {net.outputs[name].zone for name in through[case.id] if net.inlets[name].zone == own}
        drawn: list[tuple[Part, float]] = [
            (part, _charging_w(study, net, part)) for part in _charging(study, net, case, own)
        ]
        for name, ends in net.consumers.items():
            part = study.system.parts[name]
            share = case.shares.get(name, 0.0)
            charging = isinstance(part, Load) or case.kind == "charge" or not case.implied
            if ends.current == "ac" and (ends.zone == own or ends.zone in handed) and share > 0.0 and charging:
                drawn.append((part, study.demand.load_a.get(name, 0.0) * share * ends.nominal_v))
        if drawn:
            result.append((case, drawn))
    return result


def _charging(study: ProtectionStudy, net: Graph, case: Case, own: str) -> list[Inverter]:
    """The inverters on a supply that charge from it in a case: in charging cases, and while they hand it through where
    that does not yield to the loads."""
    through = handing(study.system, net)[case.id]
    return [
        part
        for part in study.system.of(Inverter)
        if part.id in net.inlets
        and net.inlets[part.id].zone == own
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


def _beside(study: ProtectionStudy, net: Graph, part: Part, case: Case) -> list[str]:
    """The inverters whose charging is counted beside the loads of a case."""
    zone = net.outputs[part.id].zone
    return [inverter.id for inverter in _charging(study, net, case, zone)] if case.kind == "load" else []


def _surge(part: Inverter, cases: list[tuple[float, Case, list[tuple[Part, float]]]]) -> list[Finding]:
    """The largest motor's start while the rest of its case runs."""
    starts = [
        (total - watts + load.inrush_a * (part.ac_v or 0.0), load.id, case.id)
        for total, case, drawn in cases
        for load, watts in drawn
        if isinstance(load, Load) and load.inrush_a
    ]
    starting_w, starting, case_id = max(starts, key=lambda start: start[0], default=(0.0, "", ""))
    if part.surge_w is None or not exceeds(starting_w, part.surge_w):
        return []
    place = part.spans.get("surge_w", part.span)
    return [make("CP709", part.id, place, asked=starting_w, load=starting, surge=part.surge_w, case=case_id)]
