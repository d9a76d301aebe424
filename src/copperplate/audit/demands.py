"""Currents that runs and devices must be made for, taken again from the statements of the plate."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from copperplate.audit.banks import batteries_by_zone
from copperplate.audit.bridges import Behind, bridges, consumer_alone
from copperplate.audit.consumers import full_a
from copperplate.audit.incidence import Incidence, incidence
from copperplate.audit.reach import LINES
from copperplate.audit.wires import brief_a, unfactored_a
from copperplate.findings import Finding, make
from copperplate.model import Battery, Case, Part, Solar
from copperplate.model.graph import Graph, graph
from copperplate.model.groups import Groups
from copperplate.model.results import Design
from copperplate.standards import profile
from copperplate.units import suffices

ROUNDING_A = 1e-9
LIVE = LINES | {"pos", "mid"}
RETURNING = frozenset({"neg", "n"})


def check_demands(design: Design) -> Iterator[Finding]:
    """Each branch against the whole current of its consumer, each device against the currents behind it with the
    factors of continuous use and of sources."""
    net = graph(design.system)
    findings: dict[Finding, None] = {}
    for poles in (LIVE, RETURNING):
        for edge, behind in bridges(design, net, poles).items():
            if behind.unknown:
                continue
            if edge in design.system.conductors:
                findings |= dict.fromkeys(_branch(design, net, edge, behind))
            elif poles is LIVE and edge in design.system.devices:
                findings |= dict.fromkeys(_device(design, net, edge, behind))
    yield from findings
    yield from _flows(design)
    yield from _signals(design)
    incident = incidence(design.system)
    yield from _one_out(design, net, incident)
    yield from _terminals(design, net, incident)


def _signals(design: Design) -> Iterator[Finding]:
    """Each signal as stated in its conductors, and the sum of those that leave a way in the way's device."""
    system = design.system
    behind: dict[str, float] = {}
    for name, run in system.runs.items():
        result = design.runs.get(name)
        if run.signal_a is None or result is None:
            continue
        carried = result.ampacity.value if result.ampacity is not None else 0.0
        if not _carries(min(carried, result.design_current.value), run.signal_a):
            yield make("CP592", name, whole=run.signal_a, sized_for=min(carried, result.design_current.value))
        for conductor in run.conductor_ids:
            start = system.conductors[conductor].from_node
            behind[start] = behind.get(start, 0.0) + run.signal_a
    for name, built in design.devices.items():
        device, rating = system.devices[name], built.rating.rating_a
        needed = sum(behind.get(end, 0.0) for _, end in device.legs) if device.panel else 0.0
        if rating is not None and not _carries(rating, needed):
            yield make("CP595", name, needed=needed, rating=rating)


def _carries(figure: float, needed: float) -> bool:
    return suffices(figure + ROUNDING_A, needed)


def _source_factor(design: Design, part: Part) -> float:
    factor = 1.0
    for traced in profile(design.profile).source_factor(part.kind):
        factor *= traced.value
    return factor


def _continuous(design: Design) -> float:
    """The factor of continuous use: what the plate states, else the profile's, 1.25."""
    stated = design.system.settings.continuous_factor
    return stated if stated is not None else profile(design.profile).figures["device-factor"].value


def _conductor_factor(design: Design) -> float:
    """The factor for conductors, never more than the one that the plate states for continuous current."""
    factor = profile(design.profile).figures["conductor-factor"].value
    return 1.0 if factor <= 1.0 else min(factor, _continuous(design))


def _needed_a(design: Design, behind: Behind, solved: Mapping[str, float], factor: float, by_plate: bool) -> float:
    """The most that a bridge must carry in a load case: what flows as solved, and where `by_plate` the sizing currents
    of all that is behind it, with the factor on what runs continuously."""
    most = 0.0
    for number, case in enumerate(design.system.cases):
        flows = abs(solved.get(case.id, 0.0)) if case.kind == "load" else 0.0
        brief = min(behind.brief_a[number], flows) if behind.brief_a else 0.0
        most = max(most, (factor if behind.continuous else 1.0) * (flows - brief) + brief)
        if behind.drawn_a and by_plate:
            steady = behind.steady_a[number] if behind.steady_a else 0.0
            most = max(most, behind.drawn_a[number] + (factor - 1.0) * steady)
    return most


def _branch(design: Design, net: Graph, edge: str, behind: Behind) -> Iterator[Finding]:
    """A conductor with one consumer behind it, or none but one source, against the whole current of that; every one
    against what flows in it with the profile's factor for conductors."""
    conductor = design.system.conductors[edge]
    result, solved = design.runs.get(conductor.run), design.conductors.get(edge)
    if result is None or result.ampacity is None or solved is None:
        return
    whole, made_for = 0.0, 0.0
    factor, parts = _conductor_factor(design), design.system.parts
    if behind.consumers == 1 and not behind.pushing:
        whole = full_a(design, net, parts[behind.consumer])
        made_for = whole * (factor if behind.continuous else 1.0)
    elif behind.pushing == 1 and not behind.consumers:
        whole = parts[behind.pusher].pushes_a
        # NEC 690.8: between an array and its controller the factors of the source hold for conductors as well.
        wires = profile(design.profile).figures["conductor-factor"].value
        by_source = isinstance(parts[behind.pusher], Solar) or wires > 1.0
        made_for = whole * (_source_factor(design, parts[behind.pusher]) if by_source else 1.0)
    if not behind.pushing:
        poles = {design.system.conductors[c].pole for c in design.system.runs[conductor.run].conductor_ids}
        # The neutral of two lines carries their difference, as solved.
        by_plate = conductor.pole != "n" or not {"l1", "l2"} <= poles
        # So does a return that a common negative shares with another system, whose loads go back into the converter.
        by_plate &= not (conductor.pole == "neg" and _shared(design))
        made_for = max(made_for, _needed_a(design, behind, solved.current_a, factor, by_plate))
        whole = max(whole, *behind.drawn_a) if behind.drawn_a and by_plate else whole
    if not _carries(result.design_current.value, whole):
        yield make("CP592", conductor.run, whole=whole, sized_for=result.design_current.value)
    else:
        array = behind.pushing == 1 and not behind.consumers and isinstance(parts[behind.pusher], Solar)
        bright = profile(design.profile).figures["source-solar"].value if array else 1.0
        for needed, carried in _missing(design, conductor.run, made_for, whole * bright):
            yield make("CP592", conductor.run, made_for=needed, carries=carried)


def _missing(design: Design, run: str, made_for: float, bare_a: float) -> Iterator[tuple[float, float]]:
    """(amperes to carry, amperes carried) of each check that a run fails: its ampacity after factors against the
    current with the factor of continuous use; or, where the rules say so, that before any factor, while the current
    without it, `bare_a`, is held against the one after them."""
    result = design.runs[run]
    carries = max(result.ampacity.value if result.ampacity is not None else 0.0, brief_a(design, run))
    checks = [(made_for, carries)]
    if profile(design.profile).before_factors:
        checks = [(bare_a, carries), (made_for, unfactored_a(design, run))]
    yield from ((needed, carried) for needed, carried in checks if not _carries(carried, needed))


def _shared(design: Design) -> bool:
    """Whether a converter joins the returns of two systems."""
    nodes = design.system.nodes
    return any(nodes[a].zone != nodes[b].zone or nodes[a].part == nodes[b].part for a, b in design.system.ties)


def _device(design: Design, net: Graph, name: str, behind: Behind) -> Iterator[Finding]:
    result, parts = design.devices.get(name), design.system.parts
    if result is None:
        return
    factor, needed = _continuous(design), 0.0
    if behind.consumers == 1:
        part = parts[behind.consumer]
        needed = full_a(design, net, part) * (factor if part.continuous else 1.0)
    if not behind.pushing:
        needed = max(needed, _needed_a(design, behind, result.current_a, factor, by_plate=True))
    elif behind.pushing == 1 and not behind.consumers:
        source = parts[behind.pusher]
        needed = max(needed, source.pushes_a * _source_factor(design, source))
    rating = result.rating.rating_a
    if not _carries(result.rating.needs_a.value, needed):
        yield make("CP595", name, needed=needed, needs_taken=result.rating.needs_a.value)
    elif design.system.devices[name].roles.protects and rating is not None and not suffices(rating, needed):
        yield make("CP595", name, needed=needed, rating=rating)


def _flows(design: Design) -> Iterator[Finding]:
    """What flows as solved, in any case, against the current that a run was sized for and a device was rated by."""
    for name, built in design.conductors.items():
        result = design.runs.get(design.system.conductors[name].run)
        flows = max(map(abs, built.current_a.values()), default=0.0)
        if result is not None and not _carries(result.design_current.value, flows):
            yield make("CP592", result.run, whole=flows, sized_for=result.design_current.value)
    for name, device in design.devices.items():
        flows = max(map(abs, device.current_a.values()), default=0.0)
        if not _carries(device.rating.needs_a.value, flows):
            yield make("CP595", name, needed=flows, needs_taken=device.rating.needs_a.value)


def _one_out(design: Design, net: Graph, incident: Incidence) -> Iterator[Finding]:
    """Banks side by side: the leads of each carry, as far as nothing branches off, what all of them give together, for
    the others may be out. Where three or more end on one pair of bars one may be out, whichever, and the fullest of
    the others carries an even share at least: so do the two that carry most; how all share stands in the states."""
    factor = _conductor_factor(design)
    for zone, banks in batteries_by_zone(design.system, net).items():
        if len(banks) < 2:
            continue
        brief = [0.0] * len(design.system.cases)
        for name in (name for name, ends in net.consumers.items() if ends.zone == zone):
            alone = consumer_alone(design, net, design.system.parts[name])
            brief = [a + b for a, b in zip(brief, alone.brief_a or [0.0] * len(brief), strict=True)]
        together = {bank.id: (0.0, 0.0) for bank in banks}
        for number, case in enumerate(design.system.cases):
            for joined in _joined(design, net, case, banks) if case.kind == "load" else ():
                given = [incident.leaving_a(design, case, net.outputs[bank.id].pos) for bank in joined]
                total = sum(amperes for amperes in given if amperes is not None)
                short = min(brief[number], max(total, 0.0))
                for bank in joined:
                    design_a, made_for = together[bank.id]
                    heavier = max(made_for, factor * (total - short) + short)
                    together[bank.id] = max(design_a, total), heavier
        bars: dict[tuple[str, str], list[Battery]] = {}
        for bank in banks:
            ends = net.outputs[bank.id]
            pair = _lead(design, incident, ends.pos)[1], _lead(design, incident, ends.neg)[1]
            bars.setdefault(pair if all(pair) else (bank.id, ""), []).append(bank)
        for group in bars.values():
            left = max(len(group) - 1, 1)
            fullest = sorted(group, key=lambda bank: -_made_a(design, incident, net.outputs[bank.id].pos))
            for bank in fullest[:2] if left > 1 else group:
                design_a, made_for = together[bank.id]
                yield from _leads(design, net, incident, bank, design_a / left, made_for / left)


def _joined(design: Design, net: Graph, case: Case, banks: Sequence[Battery]) -> list[list[Battery]]:
    """The banks that a case leaves joined, where there are several."""
    groups = Groups[str]()
    for edge in net.edges:
        if edge.id not in case.open_devices:
            groups.join(edge.a, edge.b)
    by_root: dict[str, list[Battery]] = {}
    for bank in banks:
        by_root.setdefault(groups.root(net.outputs[bank.id].pos), []).append(bank)
    return [joined for joined in by_root.values() if len(joined) > 1]


def _made_a(design: Design, incident: Incidence, node: str) -> float:
    """The least current that a run of a terminal's lead was sized for."""
    sized = (design.runs.get(run) for run in _lead(design, incident, node)[0])
    return min((result.design_current.value for result in sized if result is not None), default=0.0)


def _leads(
    design: Design, net: Graph, incident: Incidence, bank: Battery, design_a: float, made_for: float
) -> Iterator[Finding]:
    ends = net.outputs[bank.id]
    for run in dict.fromkeys((*_lead(design, incident, ends.pos)[0], *_lead(design, incident, ends.neg)[0])):
        result = design.runs.get(run)
        if result is None or result.ampacity is None:
            continue
        if not suffices(result.design_current.value, design_a):
            yield make("CP592", run, made_for=design_a, carries=result.design_current.value, alone=bank.id)
        for needed, carried in _missing(design, run, made_for, design_a):
            yield make("CP592", run, made_for=needed, carries=carried, alone=bank.id)


def _lead(design: Design, incident: Incidence, node: str) -> tuple[list[str], str]:
    """The runs from a terminal on, as long as one way leads on, and the node where that ends; no node where a case
    opens a device on the way."""
    runs: list[str] = []
    came, seen, parted = "", {node}, False
    while True:
        onward = [(c, _far(design, c, node)) for c, _ in incident.conductors.get(node, ()) if c != came]
        onward += [(d, other) for d, other in incident.legs.get(node, ()) if d != came]
        if len(onward) != 1 or onward[0][1] in seen or node in incident.tied:
            return runs, "" if parted else node
        parted = parted or any(onward[0][0] in case.open_devices for case in design.system.cases)
        came, node = onward[0]
        seen.add(node)
        if came in design.system.conductors:
            runs.append(design.system.conductors[came].run)


def _far(design: Design, conductor: str, node: str) -> str:
    ends = design.system.conductors[conductor]
    return ends.to_node if ends.from_node == node else ends.from_node


def _terminals(design: Design, net: Graph, incident: Incidence) -> Iterator[Finding]:
    """The one conductor on each supply terminal of a consumer, against its whole current."""
    for name, ends in net.consumers.items():
        part = design.system.parts[name]
        made_for = full_a(design, net, part) * (_conductor_factor(design) if part.continuous else 1.0)
        for node in (ends.pos, ends.neg):
            at = incident.conductors.get(node, ())
            result = design.runs.get(design.system.conductors[at[0][0]].run) if len(at) == 1 else None
            if result is None or result.ampacity is None or incident.legs.get(node):
                continue
            for needed, carried in _missing(design, result.run, made_for, full_a(design, net, part)):
                yield make("CP592", result.run, made_for=needed, carries=carried, consumer=name)
