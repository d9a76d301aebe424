"""Budgets along each load's path, and the voltages that devices work at."""

from __future__ import annotations

from copperplate.audit.wires import nodes_by_part
from copperplate.findings import Finding, finding
from copperplate.model import Node, Part
from copperplate.model.groups import Groups
from copperplate.model.results import Design, LoadResult
from copperplate.standards import profile

SLACK = 1.0001


def check_voltage(design: Design) -> list[Finding]:
    """Each load's path by the profile's figure against its budget; its solved voltage against its window."""
    radial, terminals = _radial(design), nodes_by_part(design.system)
    return [
        *(f for load in design.loads.values() for f in _budget(design, load, radial)),
        *(f for part in design.system.parts.values() for f in _window(design, part, terminals.get(part.id, []))),
        *(
            f
            for part in design.system.of_kind("load")
            for f in _start(design, part, terminals.get(part.id, []), radial)
        ),
    ]


def _say(subject: str, message: str) -> Finding:
    return finding("CP594", subject, message, help="a defect of this program, not of the plate: please report it")


def _radial(design: Design) -> bool:
    """Whether no two ways lead to any node: one source a system, and no ring. Only then is the current that a
    conductor was judged with known to the last digit; elsewhere sources and ways share it."""
    system = design.system
    joined = Groups()
    zones = [node.zone for node in system.nodes.values() if node.pole == "pos" and _holds(system.parts.get(node.part))]
    links = [(c.from_node, c.to_node) for c in system.conductors.values()]
    links += [leg for device in system.devices.values() for leg in device.legs]
    return all(joined.join(a, b) for a, b in links) and len(zones) == len(set(zones))


def _holds(part: Part | None) -> bool:
    return part is not None and part.kind == "battery"


def _budget(design: Design, load: LoadResult, radial: bool) -> list[Finding]:
    """The sum over the path of current times the judged ohms of each conductor. The current is the largest solved
    one while devices discharge the bank, so that a path cannot be judged with less than flows in it."""
    system, rules = design.system, profile(design.profile)
    part = system.parts[load.load]
    total = 0.0
    for step in load.path:
        conductor = system.conductors.get(step.through)
        result = design.runs.get(conductor.run) if conductor is not None else None
        if conductor is None or result is None or result.size is None:
            continue
        ohm = rules.judged_ohm_per_m(result.size, system.settings.tinned).value * conductor.length_m / result.parallel
        solved = [
            abs(amperes)
            for case in system.cases
            if case.kind == "load" and conductor.id in design.conductors
            for amperes in [design.conductors[conductor.id].current_a.get(case.id, 0.0)]
        ]
        lost = max(solved if radial else [abs(step.current_a)], default=0.0) * ohm
        if radial and abs(step.judged_v) < lost / SLACK - 1e-9:
            return [
                _say(load.load, f"`{step.through}` loses {lost:.4g} V on the way to `{load.load}`, judged by the rule")
            ]
        total += lost
    if radial and total > load.drop_v * SLACK + 1e-9:
        return [_say(load.load, f"the path of `{load.load}` loses {total:.4g} V, and {load.drop_v:.4g} V was judged")]
    steps_v = sum(step.judged_v for step in load.path)
    if steps_v > load.drop_v * SLACK + 1e-9:
        return [_say(load.load, f"the steps to `{load.load}` lose {steps_v:.4g} V, and {load.drop_v:.4g} V was judged")]
    budget = budget_v(design, part, load.nominal_v)
    if total > budget * SLACK + 1e-9 or load.drop_v > budget * (1 + 1e-7) + 1e-9:
        total = max(total, load.drop_v)
        return [_say(load.load, f"the path of `{load.load}` loses {total:.4g} V of {budget:.4g} V")]
    return []


def budget_v(design: Design, part: Part, nominal_v: float) -> float:
    """What the plate and the profile allow: the load's own, the system's, the profile's; critical ones 3 % at most."""
    settings, rules = design.system.settings, profile(design.profile)
    if part.get("drop") is not None:
        allowed = part.get("drop").volts_of(nominal_v)
    elif "drop" in settings.stated:
        allowed = settings.drop.volts_of(nominal_v)
    else:
        allowed = rules.drop_default.value * nominal_v
    if part.get("critical", False):
        allowed = min(allowed, rules.drop_critical.value * nominal_v)
    return float(allowed)


def _window(design: Design, part: Part, nodes: list[Node]) -> list[Finding]:
    works = part.get("works")
    result = design.loads.get(part.id)
    if works is None or result is None:
        return []
    for pos in nodes:
        stem = pos.id.removesuffix(".pos")
        neg = f"{stem}.neg"
        if not pos.id.endswith(".pos") or neg not in design.node_v or stem.endswith(".out"):
            continue
        for case in design.system.cases:
            high, low = design.node_v.get(pos.id, {}).get(case.id), design.node_v[neg].get(case.id)
            if high is None or low is None or not _on(part, case.shares, case.kind):
                continue
            volts = high - low
            if volts < works.low - 1e-6 or volts > works.high + 1e-6:
                return [
                    _say(
                        part.id,
                        f"`{part.id}` gets {volts:.4g} V in case `{case.id}` and works from {works.low:.4g} to "
                        f"{works.high:.4g} V",
                    )
                ]
    return []


def _start(design: Design, part: Part, nodes: list[Node], radial: bool) -> list[Finding]:
    """The volts left while a motor starts: those of the case less what the added current loses on its own way."""
    works, start_a, load = part.get("works"), part.get("inrush_a"), design.loads.get(part.id)
    pos = next((node.id for node in nodes if node.pole == "pos"), "")
    neg = next((node.id for node in nodes if node.pole == "neg"), "")
    if works is None or not start_a or load is None or not radial or neg not in design.node_v:
        return []
    through = [step.through for step in load.path]
    ohm = sum(design.conductors[c].hottest_ohm for c in through if c in design.conductors)
    ohm += sum(design.system.devices[d].resistance_ohm for d in through if d in design.system.devices)
    for case in design.system.cases:
        high, low = design.node_v[pos].get(case.id), design.node_v[neg].get(case.id)
        if case.kind != "load" or not case.shares.get(part.id) or high is None or low is None:
            continue
        running = _running(part, high - low) * case.shares[part.id]
        left = high - low - max(0.0, start_a - running) * ohm
        if left < works.low - 1e-3:
            return [_say(part.id, f"`{part.id}` starts at {left:.4g} V and works from {works.low:.4g} V")]
    return []


def _running(part: Part, volts: float) -> float:
    count = part.get("count", 1)
    if part.get("current_a") is not None:
        return float(part.get("current_a") * count)
    if part.get("power_w") is not None:
        return float(part.get("power_w") * count / volts) if volts > 0.0 else 0.0
    return float(volts / part.get("resistance_ohm") * count) if part.get("resistance_ohm") else 0.0


def _on(part: Part, shares: object, kind: str) -> bool:
    """A device that is off, or whose supply is dead, is held to no window; while batteries are charged it may be on."""
    return kind == "charge" or (isinstance(shares, dict) and bool(shares.get(part.id)))
