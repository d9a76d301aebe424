"""What each consumer draws and each source pushes, for sizing: fixed before any size is known."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from copperplate.model import (
    Assumption,
    Battery,
    Case,
    Charger,
    Controller,
    Converter,
    Inverter,
    Load,
    Part,
    Solar,
    System,
    Traced,
)
from copperplate.model.graph import Graph
from copperplate.network.sources import battery_v, highest_v, zone_low_v
from copperplate.network.wiring import Element
from copperplate.standards import Profile

Inputs = tuple[tuple[str, float | str, str], ...]


@dataclass(frozen=True)
class Draw:
    """An element's current for sizing at full rating (amperes, negative where it pushes) and the factor that
    devices must carry it with. `watts_limit` is the rated output of a converter or inverter, whose current follows
    what lies behind it; `efficiency` its output over input. `supply_v` is the voltage the current was taken at."""

    element: Element
    full_a: float
    factor: float
    why: Traced
    supply_v: float
    watts_limit: float | None = None
    efficiency: float = 1.0
    idle_w: float = 0.0
    behind: bool = False


def budgets(system: System, net: Graph, profile: Profile) -> dict[str, Traced]:
    """Voltage-drop budget of each consumer's whole path in volts: its own, else the system's for its class, else the
    system's, else the profile's; a critical load has the profile's share at most."""
    settings = system.settings
    found: dict[str, Traced] = {}
    for part_id, ends in net.consumers.items():
        part = system.parts[part_id]
        if isinstance(part, Controller):
            continue
        of_class = part.thing.budget if isinstance(part, Load) and part.thing else ""
        if part.drop is not None:
            volts, source, status = part.drop.volts_of(ends.nominal_v), f"`{part_id}` states it", "stated"
        elif of_class in settings.drops:
            volts = settings.drops[of_class].volts_of(ends.nominal_v)
            source, status = f"the system states it for {of_class}", "stated"
        elif "drop" in settings.stated:
            volts, source, status = settings.drop.volts_of(ends.nominal_v), "the system states it", "stated"
        else:
            rule = profile.figures["drop-default"]
            volts, source, status = rule.value * ends.nominal_v, rule.source, rule.status
        formula = "budget x nominal voltage"
        if isinstance(part, Load) and part.critical:
            rule = profile.figures["drop-critical"]
            if rule.value * ends.nominal_v < volts:
                volts, source, status = rule.value * ends.nominal_v, rule.source, rule.status
                formula = "critical share x nominal voltage"
        volts = float(f"{volts:.12g}")
        inputs = (("budget", round(100 * volts / ends.nominal_v, 9), "%"), ("nominal", ends.nominal_v, "V"))
        found[part_id] = Traced(volts, "V", "voltage-drop budget", formula, inputs, source, status)
    return found


def draws(
    system: System,
    net: Graph,
    profile: Profile,
    found: tuple[Element, ...],
    budget_v: dict[str, Traced],
    at_least: Mapping[str, float],
) -> tuple[tuple[Draw, ...], tuple[Assumption, ...]]:
    """The draw of every element, in their order, with what was assumed for it. `at_least`: amperes by consumer id
    that a solve has shown it to draw."""
    low_v = zone_low_v(system, net)
    batteries: dict[str, Battery] = {}
    for battery in system.of(Battery):
        if battery.id in net.outputs:
            batteries.setdefault(net.outputs[battery.id].zone, battery)
    supplied = {ends.zone for p, ends in net.consumers.items() if not isinstance(system.parts[p], Controller)}
    assumed: list[Assumption] = []
    result: list[Draw] = []
    for element in found:
        part, zone = system.parts[element.part], element.ends.zone
        budget = budget_v[part.id].value if part.id in budget_v else 0.0
        held = element.ends.nominal_v if element.ends.current == "ac" else low_v.get(zone, element.ends.nominal_v)
        at_v = max(held - budget, held / 2)
        bank = batteries.get(zone)
        if element.role == "push":
            result.append(_push(system, net, profile, element, bank, assumed))
        elif isinstance(part, Load):
            result.append(_load(system, profile, part, element, held, at_v, bank))
        else:
            charging = batteries.get(net.outputs[part.id].zone) if part.id in net.outputs else None
            beside = isinstance(part, Inverter) and part.charges_beside
            if element.role == "inlet" and element.line == 0 and beside:
                text = "charges with all its current while it hands a supply through, beside what the loads take"
                assumed.append(Assumption(part.id, text))
            if element.role == "inlet":
                charging = batteries.get(net.consumers[part.id].zone) if part.id in net.consumers else None
            behind = net.holds(part.id) and net.outputs[part.id].zone in supplied
            holding = net.holds(part.id)
            result.append(_changer(system, net, profile, part, element, held, at_v, charging, holding, behind))
        if element.role == "supply" and at_least.get(part.id, 0.0) > result[-1].full_a:
            result[-1] = _warmed(result[-1], at_least[part.id])
    return tuple(result), tuple(assumed)


def _warmed(draw: Draw, amperes: float) -> Draw:
    """A draw of constant power that takes more than at its budgeted voltage: warm copper loses more than the rule
    judges by."""
    inputs = (("current at its budget", draw.full_a, "A"),)
    why = Traced(amperes, "A", "load current", "as solved: warm copper loses more than the budget", inputs)
    return replace(draw, full_a=amperes, why=why, supply_v=draw.supply_v * draw.full_a / amperes)


def _continuous(system: System, profile: Profile) -> float:
    stated = system.settings.continuous_factor
    return stated if stated is not None else profile.figures["device-factor"].value


def _load(
    system: System,
    profile: Profile,
    load: Load,
    element: Element,
    held: float,
    at_v: float,
    bank: Battery | None,
) -> Draw:
    count = float(load.count)
    factor = 1.0 if not load.continuous else _continuous(system, profile)
    ac = element.ends.current == "ac"
    stated, watts, ohms = load.current_a, load.power_w, load.resistance_ohm
    inputs: Inputs
    if stated is not None:
        inputs = (("current", stated, "A"), ("count", count, ""))
        why = Traced(stated * count, "A", "load current", "current x count", inputs, "the plate", "stated")
    elif watts is not None and ac:
        amperes = watts * count / (held * load.power_factor)
        inputs = (("power", watts * count, "W"), ("voltage", held, "V"), ("power factor", load.power_factor, ""))
        why = Traced(amperes, "A", "load current", "power / (voltage x power factor)", inputs)
    elif watts is not None:
        amperes = watts * count / at_v
        inputs = (("power", watts * count, "W"), ("low voltage", held, "V"), ("drop budget", held - at_v, "V"))
        why = Traced(amperes, "A", "load current", "power / (low voltage - drop budget)", inputs)
    elif ohms is not None:
        top = highest_v(bank) if bank is not None else held
        inputs = (("highest voltage", top, "V"), ("resistance", ohms / count, "ohm"))
        why = Traced(top * count / ohms, "A", "load current", "highest voltage / resistance", inputs)
    else:
        why = Traced(0.0, "A", "load current", "nothing stated")
    return Draw(element, why.value, factor, why, at_v if not ac else held)


def _changer(
    system: System,
    net: Graph,
    profile: Profile,
    part: Part,
    element: Element,
    held: float,
    at_v: float,
    charging: Battery | None,
    holding: bool,
    behind: bool,
) -> Draw:
    """The supply side of an inverter, converter or charger: rated output over efficiency."""
    factor = 1.0 if part.intermittent else _continuous(system, profile)
    amperes = part.pushes_a
    rated: Inputs
    if element.role == "inlet" or isinstance(part, Charger):
        volts = highest_v(charging) if charging is not None else part.out_v or 0.0
        watts, at = amperes * volts, held
        rated = (("output", amperes, "A"), ("output voltage", volts, "V"))
    elif isinstance(part, Converter):
        volts = part.out_v or held
        if not holding and charging is not None:
            volts = max(volts, highest_v(charging))
        watts, at = amperes * volts, at_v
        rated = (("output", amperes, "A"), ("output voltage", volts, "V"))
    else:
        watts, at = part.power_w or 0.0, at_v
        rated = (("output", watts, "W"),)
    if element.role == "inlet" and net.inlets[part.id].third:
        watts /= 2
        rated = (*rated, ("lines", 2.0, ""))
    lost = (("low voltage", held, "V"), ("drop budget", held - at, "V"))
    inputs = (*rated, ("efficiency", 100 * part.efficiency, "%"), *lost)
    why = Traced(
        watts / part.efficiency / at,
        "A",
        "load current",
        "rated output / efficiency / (low voltage - drop budget)",
        inputs,
    )
    limit = watts if element.role == "supply" and holding else None
    return Draw(element, why.value, factor, why, at, limit, part.efficiency, part.idle_w or 0.0, behind)


def _push(
    system: System, net: Graph, profile: Profile, element: Element, bank: Battery | None, assumed: list[Assumption]
) -> Draw:
    """A source's current at its rating (negative), with the profile's factors for it."""
    part = system.parts[element.part]
    inputs: Inputs
    volts = battery_v(bank, "full")[0] if bank is not None else element.ends.nominal_v
    if isinstance(part, Solar):
        strings, each = float(part.parallel), part.isc_a or part.imp_a or 0.0
        if not each and part.power_w:
            each = part.power_w / (part.vmp_v or element.ends.nominal_v / part.series)
            assumed.append(Assumption(part.id, f"short-circuit current is taken as {each:.3g} A: power over voltage"))
        inputs = (("short-circuit current", each, "A"), ("strings", strings, ""))
        why = Traced(each * strings, "A", "source current", "short-circuit current x strings", inputs)
    elif isinstance(part, Controller) and not part.current_a:
        arrays = [system.parts[p] for p, ends in net.outputs.items() if ends.zone == net.consumers[part.id].zone]
        watts = sum((array.power_w or 0.0) * array.series * array.parallel for array in arrays)
        low = battery_v(bank, "low")[0] if bank is not None else volts
        why = Traced(watts / low, "A", "source current", "power of the array / low voltage", (("power", watts, "W"),))
        assumed.append(Assumption(part.id, f"its rating is not stated and taken as {why.value:.3g} A, all its array"))
    else:
        inputs = (("rated current", part.pushes_a, "A"),)
        why = Traced(part.pushes_a, "A", "source current", "rated current", inputs, "the plate", "stated")
    factor = 1.0
    told, status = [why.source] if why.source else [], why.status
    for each_factor in profile.source_factor(Charger.kind if isinstance(part, Inverter) else part.kind):
        factor *= each_factor.value
        if each_factor.value != 1.0:
            told, status = [*told, each_factor.source], status or each_factor.status
    why = replace(why, source="; ".join(told), status=status)
    return Draw(element, -why.value, factor, why, volts)


def share(case: Case, system: System, net: Graph, element: Element) -> float:
    """The share of its full current that an element has in a case.

    An inverter that charges does so, and does not invert, where the case charges. A converter that charges a bank
    pushes there only: in other cases its bank is taken to stand alone. A solar controller pushes as much as the case
    lets its arrays give."""
    part = system.parts[element.part]
    on = case.shares.get(part.id, 0.0)
    if isinstance(part, Inverter) and (element.role != "supply" or part.charges_a):
        return on if (case.kind == "charge") == (element.role != "supply") else 0.0
    if isinstance(part, Converter) and element.role == "push" and case.kind != "charge":
        return 0.0
    if isinstance(part, Controller):
        arrays = [p for p, ends in net.outputs.items() if ends.zone == net.consumers[part.id].zone]
        given = max((case.shares.get(p, 0.0) for p in arrays), default=on)
        return min(case.shares.get(part.id, given), given)
    return on
