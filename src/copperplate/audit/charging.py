"""Banks and what charges them: limits of current, volts of sources against the chemistry, arrays in the cold."""

from __future__ import annotations

from collections.abc import Iterator

from copperplate.audit.banks import batteries_by_zone, chemistry_of, full_v
from copperplate.audit.incidence import incidence
from copperplate.audit.reported import reported
from copperplate.findings import Finding, make
from copperplate.model import Alternator, Battery, Charger, Controller, Converter, Part, Solar, State
from copperplate.model.graph import Graph, graph
from copperplate.model.results import Design
from copperplate.standards import OutsideTable, profile
from copperplate.standards.solar import cold_voc_factor
from copperplate.units import exceeds, suffices

ROUNDING_A = 1e-6


def check_charging(design: Design) -> Iterator[Finding]:
    """A bank's current against its limits; arrays in the cold; charging voltages against the chemistry; strings."""
    net = graph(design.system)
    yield from _limits(design, net)
    yield from _cold(design, net)
    yield from _voltages(design, net)
    yield from _strings(design)


def _limits(design: Design, net: Graph) -> Iterator[Finding]:
    incident, warned = incidence(design.system), reported(design, "CP615")
    for bank in design.system.of(Battery):
        if bank.id not in net.outputs:
            continue
        for case in (*design.system.cases, *design.states):
            if isinstance(case, State) and case.out:
                continue
            charging = case.kind == "charge"
            each = bank.max_charge_a if charging else bank.max_discharge_a
            given = incident.leaving_a(design, case, net.outputs[bank.id].pos) if each is not None else None
            if each is None or given is None or (charging and bank.id in warned):
                continue
            flows = -given if charging else given
            if charging:  # What alternators give for long is less than what conductors are made for.
                running = (a for a in design.system.of(Alternator) if a.id in case.shares)
                flows -= sum((a.current_a or 0.0) - (a.lasting_a or 0.0) for a in running)
            if exceeds(flows - ROUNDING_A, each * bank.parallel):
                yield make("CP598", bank.id, case=case.id, limit=each * bank.parallel, flows=flows)


def cold_v(design: Design, array: Solar) -> float | None:
    """Open-circuit volts of an array's strings at their coldest: n Voc (1 + b (T - 25 °C)), b the module's own, else
    by the table of the rules."""
    if not array.voc_v:
        return None
    rules = profile(design.profile)
    taken_c, name = rules.figures["coldest"].value, rules.sheet["solar"]["table"]
    coldest_c = array.coldest_c if array.coldest_c is not None else taken_c
    if array.temp_coefficient_per_k is not None:
        rise = max(1.0, 1.0 + array.temp_coefficient_per_k * (coldest_c - 25.0))
    else:
        try:
            rise = cold_voc_factor(coldest_c, name).value
        except OutsideTable:
            rise = cold_voc_factor(taken_c, name).value
    return array.voc_v * array.series * rise


def _arrays(design: Design, net: Graph, part: Part) -> list[Solar]:
    """The arrays that are wired to a part's input."""
    inlet = net.consumers.get(part.id)
    arrays = design.system.of(Solar) if inlet is not None else ()
    return [a for a in arrays if inlet and a.id in net.outputs and net.outputs[a.id].zone == inlet.zone]


def _cold(design: Design, net: Graph) -> Iterator[Finding]:
    for controller in design.system.of(Controller):
        for array in _arrays(design, net, controller) if controller.max_input_v is not None else ():
            volts = cold_v(design, array)
            if volts is not None and controller.max_input_v is not None and exceeds(volts, controller.max_input_v):
                limit = controller.max_input_v
                yield make("CP598", array.id, cold=volts, controller=controller.id, limit=limit)


def charging_v(part: Part) -> float | None:
    """The voltage at which a charging source ends, where the plate states one; None for what charges nothing."""
    if isinstance(part, Alternator):
        return part.voltage_v
    charges = isinstance(part, Charger | Controller) or (isinstance(part, Converter) and part.charges)
    return part.out_v if charges else None


def _voltages(design: Design, net: Graph) -> Iterator[Finding]:
    """What a charging source gives at most, against the bank on its bars: above what the chemistry takes is refused,
    above the bank's full voltage or below that of a full bank at rest is only warned of."""
    above, never = reported(design, "CP607"), reported(design, "CP608")
    zones = batteries_by_zone(design.system, net)
    for part in design.system.parts.values():
        volts, output = charging_v(part), net.outputs.get(part.id)
        banks = zones.get(output.zone, []) if output is not None else []
        if volts is None or not banks or not (part.current_a or isinstance(part, Controller)):
            continue
        weakest = min(banks, key=lambda bank: chemistry_of(bank).high_v.value * bank.series)
        full = min(map(full_v, banks))
        most = max(full, chemistry_of(weakest).high_v.value * weakest.series)
        rest = chemistry_of(weakest).emf_full_v.value * weakest.series
        volts -= _in_splitters_v(design, net, output.pos if output is not None else "")
        if exceeds(volts, most):
            yield make("CP598", part.id, volts=volts, weakest=weakest.id, most=most)
        elif exceeds(volts, full) and part.id not in above:
            yield make("CP598", part.id, volts=volts, full=full)
        elif not suffices(volts, rest) and part.id not in never and _pushes(design, net, part):
            yield make("CP598", part.id, volts=volts, rest=rest)


def _in_splitters_v(design: Design, net: Graph, start: str) -> float:
    """The least that splitters take of what leaves a node for a bank."""
    system = design.system
    banks = {net.outputs[bank.id].pos for bank in system.of(Battery) if bank.id in net.outputs}
    lost = {start: 0.0}
    for node in (front := [start]):
        for edge in (net.edges[number] for number in net.at[node]):
            onward = edge.b if edge.a == node else edge.a
            device = system.devices.get(edge.id) if edge.kind == "device" else None
            passes = device is None or not device.roles.one_way or edge.a == node
            if passes and onward not in lost:
                lost[onward] = lost[node] + (device.loses_v if device is not None else 0.0)
                front.append(onward)
    return min((volts for node, volts in lost.items() if node in banks), default=0.0)


def _pushes(design: Design, net: Graph, part: Part) -> bool:
    """Whether a source brings any current at its rating: an array without a figure brings none."""
    return bool(part.current_a) or any(array.power_w for array in _arrays(design, net, part))


def _strings(design: Design) -> Iterator[Finding]:
    """So many strings in parallel want a device each."""
    warned, figures = reported(design, "CP426"), profile(design.profile).figures
    for part in design.system.of(Battery, Solar):
        back_a = (part.parallel - 1) * part.pushes_a / part.parallel * figures["source-solar"].value
        borne = bool(back_a and part.max_fuse_a and suffices(part.max_fuse_a, back_a))
        if part.parallel >= figures[f"strings-{part.kind}"].value and part.id not in warned and not borne:
            yield make("CP598", part.id, strings=part.parallel)
