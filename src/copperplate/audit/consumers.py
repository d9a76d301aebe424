"""What consumers draw and what may be lost on their way, from their statements alone."""

from __future__ import annotations

from copperplate.audit.banks import low_v
from copperplate.model import Battery, Case, Converter, Inverter, Load, Part
from copperplate.model.graph import Graph, Terminals
from copperplate.model.results import Design
from copperplate.standards import profile


def budget_v(design: Design, part: Part, nominal_v: float) -> float:
    """What the plate and the profile allow: the load's own, the system's for what it is,
    the system's, the profile's; critical ones 3 % at most."""
    settings, rules = design.system.settings, profile(design.profile)
    if part.drop is not None:
        allowed = part.drop.volts_of(nominal_v)
    elif isinstance(part, Load) and part.thing is not None and part.thing.budget in settings.drops:
        allowed = settings.drops[part.thing.budget].volts_of(nominal_v)
    elif "drop" in settings.stated:
        allowed = settings.drop.volts_of(nominal_v)
    else:
        allowed = rules.figures["drop-default"].value * nominal_v
    if isinstance(part, Load) and part.critical:
        allowed = min(allowed, rules.figures["drop-critical"].value * nominal_v)
    return allowed


def drawn_a(load: Load, volts: float, ac_v: float | None = None) -> float:
    """Amperes of all units of a load at the volts between its terminals. `ac_v`: the nominal voltage of an AC load,
    which draws its power at that, for its power factor is of it."""
    if load.current_a is not None:
        return load.current_a * load.count
    if load.power_w is not None:
        at_v = volts if ac_v is None else ac_v * load.power_factor
        return load.power_w * load.count / at_v if at_v > 0.0 else 0.0
    return abs(volts) * load.count / load.resistance_ohm if load.resistance_ohm else 0.0


def full_a(design: Design, net: Graph, part: Part) -> float:
    """What a consumer draws for sizing: a stated current as it is; power at the low voltage of its source less its
    own budget; a resistance at the highest; inverters and converters at their rated output."""
    ends = net.consumers[part.id]
    held_v, lowest_v = _volts_at(design, net, part, ends)
    if isinstance(part, Load):
        return drawn_a(part, held_v if part.power_w is None else lowest_v, held_v if ends.current == "ac" else None)
    return (rated_w(part, held_v) or 0.0) / part.efficiency / lowest_v


def rated_w(part: Part, output_v: float = 0.0) -> float | None:
    """The output that a plate states for an inverter or converter (at `output_v` where that states no voltage); None
    for other parts."""
    if isinstance(part, Inverter):
        return part.power_w or 0.0
    if isinstance(part, Converter):
        return (part.current_a or 0.0) * (part.out_v or output_v)
    return None


def case_a(design: Design, net: Graph, part: Part, case: Case) -> float:
    """The sizing current of a consumer in a case. An inverter or converter draws what the loads behind it take, or its
    rating where nothing is behind it; what changers behind it take is left out, which only makes the figure less."""
    share = case.shares.get(part.id, 0.0)
    if isinstance(part, Load) or not share:
        return full_a(design, net, part) * share
    output = net.outputs.get(part.id)
    if rated_w(part) is None or output is None or not net.holds(part.id) or part.id in net.inlets:
        return 0.0
    if sum(net.holds(p) and ends.zone == output.zone for p, ends in net.outputs.items()) > 1:
        return 0.0
    behind = [p for p, ends in net.consumers.items() if ends.zone == output.zone]
    if not behind:
        return full_a(design, net, part) * share
    watts = 0.0
    for consumer in (design.system.parts[p] for p in behind):
        if isinstance(consumer, Load):
            share = case.shares.get(consumer.id, 0.0)
            watts += full_a(design, net, consumer) * share * net.consumers[consumer.id].nominal_v
    _, lowest_v = _volts_at(design, net, part, net.consumers[part.id])
    return min(watts / part.efficiency / lowest_v, full_a(design, net, part))


def _volts_at(design: Design, net: Graph, part: Part, ends: Terminals) -> tuple[float, float]:
    """The lowest voltage that its sources hold, and on DC what is left of it once the budget is used up."""
    if ends.current == "ac":
        return ends.nominal_v, ends.nominal_v
    sources = [design.system.parts[p] for p, other in net.outputs.items() if other.zone == ends.zone and net.holds(p)]
    volts = [low_v(s) if isinstance(s, Battery) else s.out_v or ends.nominal_v for s in sources]
    held_v = min(volts, default=ends.nominal_v)
    return held_v, max(held_v - budget_v(design, part, ends.nominal_v), held_v / 2)
