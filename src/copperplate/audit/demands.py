"""Currents that runs and devices must be made for, taken again from the statements of the plate.

A device or conductor whose removal parts some consumers from every source carries what they draw: such bridges, and
what lies behind each, come from one depth-first search (R. Tarjan, A note on finding the bridges of a graph, 1974).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from copperplate.audit.reach import LINES
from copperplate.audit.saying import defect
from copperplate.audit.supply import low_v
from copperplate.audit.voltage import budget_v
from copperplate.audit.wires import Joined, joined
from copperplate.findings import Finding
from copperplate.model import PROTECTIVE, Case, Part
from copperplate.model.graph import Graph, Terminals, graph
from copperplate.model.results import Design
from copperplate.standards import profile

NEAR = 1.0001
PUSHING = ("solar", "controller", "charger", "alternator")
LIVE = LINES | {"pos", "mid"}
RETURNING = frozenset({"neg", "n"})


@dataclass
class Behind:
    """What only one conductor or device joins to the sources: how many consumers and pushing sources, the last of
    each, whether any runs continuously, and by case what those draw that do not. `drawn_a` and `steady_a` by case: the
    sizing currents of all, and of those that run continuously."""

    consumers: int = 0
    consumer: str = ""
    pushing: int = 0
    pusher: str = ""
    holding: int = 0
    continuous: bool = False
    brief_a: list[float] = field(default_factory=list)
    drawn_a: list[float] = field(default_factory=list)
    steady_a: list[float] = field(default_factory=list)

    def add(self, other: Behind) -> None:
        self.consumers += other.consumers
        self.consumer = other.consumer or self.consumer
        self.pushing += other.pushing
        self.pusher = other.pusher or self.pusher
        self.holding += other.holding
        self.continuous |= other.continuous
        self.brief_a = _sum(self.brief_a, other.brief_a)
        self.drawn_a = _sum(self.drawn_a, other.drawn_a)
        self.steady_a = _sum(self.steady_a, other.steady_a)


def _sum(first: list[float], second: list[float]) -> list[float]:
    if not first or not second:
        return first or second
    return [a + b for a, b in zip(first, second, strict=True)]


def check_demands(design: Design) -> list[Finding]:
    """Each branch against the whole current of its consumer, each device against the currents behind it with the
    factors of continuous use and of sources."""
    net = graph(design.system)
    found: list[Finding] = []
    for poles in (LIVE, RETURNING):
        for edge, behind in _bridges(design, net, poles).items():
            if behind.holding:
                continue
            if edge in design.system.conductors:
                found += _branch(design, net, edge, behind)
            elif poles is LIVE and edge in design.system.devices:
                found += _device(design, net, edge, behind)
    return [*dict.fromkeys(found), *_one_out(design, net), *_terminals(design, net)]


def full_a(design: Design, net: Graph, part: Part) -> float:
    """What a consumer draws for sizing: a stated current as it is; power at the low voltage of its source less its
    own budget; a resistance at the highest; inverters and converters at their rated output."""
    ends = net.consumers[part.id]
    count = part.get("count", 1)
    held = _held(design, net, ends)
    at_v = held if ends.current == "ac" else max(held - budget_v(design, part, ends.nominal_v), held / 2)
    if part.kind == "load":
        if part.get("current_a") is not None:
            return float(part.get("current_a") * count)
        if part.get("power_w") is not None:
            factor = part.get("power_factor", 1.0) if ends.current == "ac" else 1.0
            return float(part.get("power_w") * count / (at_v * factor))
        return held * count / part.get("resistance_ohm") if part.get("resistance_ohm") else 0.0
    if part.kind == "inverter":
        return float(part.get("power_w", 0.0) / part.get("efficiency", 0.9) / at_v)
    if part.kind == "converter":
        return float(part.get("current_a", 0.0) * part.get("out_v", held) / part.get("efficiency", 0.9) / at_v)
    return 0.0


def _held(design: Design, net: Graph, ends: Terminals) -> float:
    if ends.current == "ac":
        return ends.nominal_v
    parts = [design.system.parts[p] for p, other in net.outputs.items() if other.zone == ends.zone and net.holds(p)]
    volts = [low_v(p) if p.kind == "battery" else p.get("out_v", ends.nominal_v) for p in parts]
    return float(min(volts, default=ends.nominal_v))


def pushed_a(part: Part) -> float:
    """What a source pushes at its rating: an array its short-circuit current by string."""
    if part.kind == "solar":
        return float((part.get("isc_a") or part.get("imp_a") or 0.0) * part.get("parallel", 1))
    return float(part.get("current_a") or 0.0)


def _factor(design: Design, part: Part) -> float:
    """1.0 for what runs for a short time, else the factor of continuous use."""
    return 1.0 if part.get("intermittent", False) else _continuous(design)


def _continuous(design: Design) -> float:
    """What the plate states, else the profile's: 1.25."""
    stated = design.system.settings.continuous_factor
    return stated if stated is not None else profile(design.profile).device_factor.value


def _branch(design: Design, net: Graph, edge: str, behind: Behind) -> list[Finding]:
    """A conductor with one consumer behind it, or none but one source, against the whole current of that; every one
    against what flows in it with the profile's factor for conductors."""
    run = design.system.conductors[edge].run
    result, solved = design.runs.get(run), design.conductors.get(edge)
    if result is None or result.ampacity is None or solved is None:
        return []
    rules, one, made_for = profile(design.profile), design.system.parts.get(behind.pusher), 0.0
    wires, whole = rules.conductor_factor.value, 0.0
    if behind.consumers == 1 and not behind.pushing:
        whole = full_a(design, net, design.system.parts[behind.consumer])
        made_for = whole * (_least(wires, design) if behind.continuous else 1.0)
    elif behind.pushing == 1 and not behind.consumers and one is not None:
        whole = pushed_a(one)
        factor = 1.0
        for traced in rules.source_factor(one.kind):
            factor *= traced.value
        # NEC 690.8: between an array and its controller the factors of the source hold for conductors as well.
        made_for = whole * (factor if one.kind == "solar" or wires > 1.0 else 1.0)
    for number, case in enumerate(design.system.cases if not behind.pushing else ()):
        flows = abs(solved.current_a.get(case.id, 0.0)) if case.kind == "load" else 0.0
        brief = min(behind.brief_a[number], flows) if behind.brief_a else 0.0
        made_for = max(made_for, (_least(wires, design) if behind.continuous else 1.0) * (flows - brief) + brief)
    poles = {design.system.conductors[c].pole for c in design.system.runs[run].conductor_ids}
    # The neutral of two lines carries their difference, which the solved currents have told above.
    shared = design.system.conductors[edge].pole == "n" and {"l1", "l2"} <= poles
    for number, drawn in enumerate(behind.drawn_a if not behind.pushing and not shared else ()):
        steady = behind.steady_a[number] if behind.steady_a else 0.0
        whole, made_for = max(whole, drawn), max(made_for, drawn + (_least(wires, design) - 1.0) * steady)
    if result.design_current.value * NEAR + 1e-9 < whole:
        return [defect("CP592", run, f"{whole:.4g} A flow in `{run}`, sized for {result.design_current.value:.4g} A")]
    if result.ampacity.value * NEAR + 1e-9 < made_for:
        message = f"`{run}` must carry {made_for:.4g} A with its factors, and carries {result.ampacity.value:.4g} A"
        return [defect("CP592", run, message)]
    return []


def _least(wires: float, design: Design) -> float:
    """The factor for conductors, never more than the one that the plate states for continuous current."""
    return 1.0 if wires <= 1.0 else min(wires, _continuous(design))


def _one_out(design: Design, net: Graph) -> list[Finding]:
    """Banks side by side: the leads of each carry, as far as nothing branches off, what all of them give together, for
    the others may be out."""
    wired, found = joined(design.system), []
    zones: dict[str, list[Part]] = {}
    for part in design.system.of_kind("battery"):
        if part.id in net.outputs:
            zones.setdefault(net.outputs[part.id].zone, []).append(part)
    wires = _least(profile(design.profile).conductor_factor.value, design)
    for zone, banks in zones.items():
        consumers = [design.system.parts[p] for p, ends in net.consumers.items() if ends.zone == zone]
        brief = [0.0] * len(design.system.cases)
        for one in (_consumer(design, net, part) for part in consumers if len(banks) > 1):
            brief = [a + b for a, b in zip(brief, one.brief_a or [0.0] * len(brief), strict=True)]
        made_for, design_a = 0.0, 0.0
        for number, case in enumerate(design.system.cases):
            given = [wired.leaving(design, case, net.outputs[bank.id].pos) for bank in banks]
            total = sum(amperes for amperes in given if amperes is not None) if case.kind == "load" else 0.0
            short = min(brief[number], max(total, 0.0))
            design_a, made_for = max(design_a, total), max(made_for, wires * (total - short) + short)
        for bank in banks if len(banks) > 1 else ():
            ends = net.outputs[bank.id]
            for run in dict.fromkeys((*_lead(design, wired, ends.pos), *_lead(design, wired, ends.neg))):
                result = design.runs.get(run)
                if result is None or result.ampacity is None:
                    continue
                if result.ampacity.value * NEAR < made_for or result.design_current.value * NEAR < design_a:
                    message = f"`{run}` must carry {made_for:.4g} A where `{bank.id}` stands alone"
                    found.append(defect("CP592", run, f"{message}, and carries {result.ampacity.value:.4g} A"))
    return found


def _terminals(design: Design, net: Graph) -> list[Finding]:
    """The one conductor on each supply terminal of a consumer, against its whole current."""
    wired, found = joined(design.system), []
    wires = _least(profile(design.profile).conductor_factor.value, design)
    for name, ends in net.consumers.items():
        part = design.system.parts[name]
        whole = full_a(design, net, part)
        made_for = whole if part.get("intermittent", False) else whole * wires
        for node in (ends.pos, ends.neg):
            at = wired.conductors.get(node, ())
            result = design.runs.get(design.system.conductors[at[0][0]].run) if len(at) == 1 else None
            if result is None or result.ampacity is None or wired.legs.get(node):
                continue
            if result.ampacity.value * NEAR < made_for:
                message = f"`{result.run}` must carry {made_for:.4g} A of `{name}`, and carries"
                found.append(defect("CP592", result.run, f"{message} {result.ampacity.value:.4g} A"))
    return found


def _lead(design: Design, wired: Joined, node: str) -> list[str]:
    """The runs from a terminal on, as long as one way leads on."""
    found: list[str] = []
    came, seen = "", {node}
    while True:
        onward = [(c, _far(design, c, node)) for c, _ in wired.conductors.get(node, ()) if c != came]
        onward += [(d, other) for d, other in wired.legs.get(node, ()) if d != came]
        if len(onward) != 1 or onward[0][1] in seen or node in wired.tied:
            return found
        came, node = onward[0]
        seen.add(node)
        if came in design.system.conductors:
            found.append(design.system.conductors[came].run)


def _far(design: Design, conductor: str, node: str) -> str:
    one = design.system.conductors[conductor]
    return one.to_node if one.from_node == node else one.from_node


def _device(design: Design, net: Graph, device: str, behind: Behind) -> list[Finding]:
    result, one = design.devices.get(device), design.system.devices[device]
    if result is None:
        return []
    parts = design.system.parts
    wanted = 0.0
    if behind.consumers == 1:
        part = parts[behind.consumer]
        wanted = full_a(design, net, part) * _factor(design, part)
    factor = _continuous(design) if behind.continuous else 1.0
    for number, case in enumerate(design.system.cases if not behind.pushing else ()):
        flows = abs(result.current_a.get(case.id, 0.0)) if case.kind == "load" else 0.0
        brief = min(behind.brief_a[number], flows) if behind.brief_a else 0.0
        wanted = max(wanted, factor * (flows - brief) + brief)
        steady = behind.steady_a[number] if behind.steady_a else 0.0
        if behind.drawn_a:
            wanted = max(wanted, behind.drawn_a[number] + (_continuous(design) - 1.0) * steady)
    if behind.pushing == 1 and not behind.consumers:
        share = 1.0
        for traced in profile(design.profile).source_factor(parts[behind.pusher].kind):
            share *= traced.value
        wanted = max(wanted, pushed_a(parts[behind.pusher]) * share)
    needs = result.rating.needs_a.value
    rating = result.rating.rating_a
    if needs * NEAR + 1e-9 < wanted:
        return [defect("CP595", device, f"`{device}` must carry {wanted:.4g} A, and {needs:.4g} A was taken")]
    if one.kind in PROTECTIVE and rating is not None and rating * NEAR < wanted:
        return [defect("CP595", device, f"`{device}` is {rating:.4g} A and must carry {wanted:.4g} A")]
    return []


def _bridges(design: Design, net: Graph, poles: frozenset[str]) -> dict[str, Behind]:
    """By conductor or device id: what hangs on it alone. The search begins at what holds a voltage."""
    system = design.system
    at: dict[str, list[tuple[str, str]]] = {}
    for edge, a, b in _edges(design, poles):
        at.setdefault(a, []).append((edge, b))
        at.setdefault(b, []).append((edge, a))
    own: dict[str, Behind] = {}
    for name, ends in net.consumers.items():
        for node in (ends.pos, ends.neg):
            if system.nodes[node].pole in poles and system.parts[name].kind != "controller":
                own.setdefault(node, Behind()).add(_consumer(design, net, system.parts[name]))
    roots: list[str] = []
    for name, ends in net.outputs.items():
        outer = [node for node in (ends.pos, ends.third, ends.neg) if node and system.nodes[node].pole in poles]
        if net.holds(name):
            roots += outer
            for node in outer:
                own.setdefault(node, Behind()).holding += 1
        elif system.parts[name].kind in PUSHING:
            for node in outer:
                own.setdefault(node, Behind()).add(Behind(pushing=1, pusher=name))
    for name, inlet in net.inlets.items():
        # An inverter that hands a supply through, or charges, is a consumer whose current is told nowhere here.
        _hold(own, inlet)
        if system.parts[name].get("charges_a") and name in net.consumers:
            _hold(own, net.consumers[name])
    for name, ends in net.consumers.items():
        part = system.parts[name]
        if part.kind == "converter" and not net.holds(name) and name in net.outputs:
            _hold(own, net.outputs[name])
        if part.kind == "charger":
            _hold(own, ends)
        if part.kind == "controller":
            roots += [node for node in (ends.pos, ends.neg) if system.nodes[node].pole in poles]
    return _search(at, own, roots)


def _consumer(design: Design, net: Graph, part: Part) -> Behind:
    cases = design.system.cases
    drawn = [_case_a(design, net, part, case) if case.kind == "load" else 0.0 for case in cases]
    if not part.get("intermittent", False):
        return Behind(1, part.id, continuous=True, drawn_a=drawn, steady_a=drawn)
    amperes, ends = full_a(design, net, part), net.consumers[part.id]
    watts = part.get("power_w", 0.0) * part.get("count", 1) if part.kind == "load" and ends.current == "dc" else 0.0
    brief: list[float] = []
    for case in cases:
        volts = design.node_v.get(ends.pos, {}).get(case.id, 0.0) - design.node_v.get(ends.neg, {}).get(case.id, 0.0)
        brief.append(max(amperes, watts / volts if volts > 0.0 else 0.0) * case.shares.get(part.id, 0.0))
    return Behind(1, part.id, brief_a=brief, drawn_a=drawn)


def _case_a(design: Design, net: Graph, part: Part, case: Case) -> float:
    """The sizing current of a consumer in a case. An inverter or converter draws what the loads behind it take, or its
    rating where nothing is behind it; what changers behind it take is left out, which only makes the figure less."""
    share = case.shares.get(part.id, 0.0)
    if part.kind == "load" or not share:
        return full_a(design, net, part) * share
    output = net.outputs.get(part.id)
    behind = [p for p, ends in net.consumers.items() if output is not None and ends.zone == output.zone]
    if part.kind not in ("inverter", "converter") or output is None or not net.holds(part.id) or part.id in net.inlets:
        return 0.0
    if sum(net.holds(p) and ends.zone == output.zone for p, ends in net.outputs.items()) > 1:
        return 0.0
    if not behind:
        return full_a(design, net, part) * share
    watts = 0.0
    for one in (design.system.parts[p] for p in behind):
        if one.kind == "load":
            watts += full_a(design, net, one) * case.shares.get(one.id, 0.0) * net.consumers[one.id].nominal_v
    rated = full_a(design, net, part)
    ends = net.consumers[part.id]
    held = _held(design, net, ends)
    at_v = max(held - budget_v(design, part, ends.nominal_v), held / 2)
    return min(watts / part.get("efficiency", 0.9) / at_v, rated)


def _hold(own: dict[str, Behind], ends: Terminals) -> None:
    for node in (ends.pos, ends.neg):
        own.setdefault(node, Behind()).holding += 1


def _edges(design: Design, poles: frozenset[str]) -> Iterable[tuple[str, str, str]]:
    system = design.system
    for conductor in system.conductors.values():
        if system.nodes[conductor.from_node].pole in poles and system.nodes[conductor.to_node].pole in poles:
            yield conductor.id, conductor.from_node, conductor.to_node
    for device in system.devices.values():
        for a, b in device.legs:
            if system.nodes[a].pole in poles and system.nodes[b].pole in poles:
                yield device.id, a, b
    for number, (a, b) in enumerate(system.ties):
        inside = system.nodes[a].part == system.nodes[b].part
        if not inside and system.nodes[a].pole in poles and system.nodes[b].pole in poles:
            yield f"tie {number}", a, b


def _search(at: dict[str, list[tuple[str, str]]], own: dict[str, Behind], roots: list[str]) -> dict[str, Behind]:
    order: dict[str, int] = {}
    lowest: dict[str, int] = {}
    gathered: dict[str, Behind] = {}
    found: dict[str, Behind] = {}
    for root in roots:
        if root in order:
            continue
        stack: list[tuple[str, str, str, int]] = [(root, "", "", 0)]
        while stack:
            node, edge, parent, done = stack.pop()
            if done == 0:
                order[node] = lowest[node] = len(order)
                gathered[node] = Behind()
                gathered[node].add(own.get(node, Behind()))
            around = at.get(node, [])
            if done < len(around):
                stack.append((node, edge, parent, done + 1))
                through, other = around[done]
                if through == edge and other == parent:
                    continue
                if other in order:
                    lowest[node] = min(lowest[node], order[other])
                else:
                    stack.append((other, through, node, 0))
            elif parent:
                lowest[parent] = min(lowest[parent], lowest[node])
                # A device of two live poles is one device: the larger side counts.
                fuller = edge not in found or found[edge].consumers < gathered[node].consumers
                if lowest[node] > order[parent] and fuller:
                    found[edge] = gathered[node]
                gathered[parent].add(gathered[node])
    return found
