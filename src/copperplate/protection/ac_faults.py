"""AC faults: the largest current that each device can meet, and the smallest ones that should open it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from heapq import heappop, heappush

from copperplate.faults import conductor_ohm
from copperplate.model import Generator, Inverter, Part, Shore, System, Traced
from copperplate.model.graph import Graph
from copperplate.model.results import RunResult
from copperplate.protection.circuit import Circuit
from copperplate.standards import Profile
from copperplate.units import show

LINES = ("l", "l1", "l2")


@dataclass(frozen=True, slots=True)
class Supply:
    """An AC source in a short. `volts` from a line to neutral, `split` where it has two lines.

    `outside`: it comes from the shore. `most_a` is the largest current at its terminals; `stated` where the plate
    tells it. `limited` sources give it whatever the fault, the others behind an impedance. `lasting_a` is what a
    limited source gives for long, `loop_ohm` the impedance of a source that is not limited in its weakest state. `how`
    says where the figures come from."""

    part: str
    outside: bool
    volts: float
    split: bool
    most_a: float
    stated: bool
    limited: bool
    lasting_a: float
    loop_ohm: float
    how: str
    guessed: bool = False
    """Whether nothing in the plate tells of the loop outside a shore supply."""


@dataclass(frozen=True, slots=True)
class Place:
    """A point that the current of a supply reaches: ohms and metres of one conductor to it, the protective device
    last passed, the conductor it came by ("" behind a device), and the operating current of the most sensitive
    residual-current device on the way."""

    ohm: float
    metres: float
    device: str
    conductor: str
    residual_a: float | None


@dataclass(frozen=True, slots=True)
class End:
    """The far end of what a device protects, supplied by `supply`: the smallest short between live conductors, and
    the smallest to the protective earth; `residual_a` of the residual-current device before its worst-off end."""

    supply: str
    conductor: str
    node: str
    short: Traced
    earth: Traced
    residual_a: float | None


@dataclass(frozen=True, slots=True)
class Fault:
    """The largest current at a device and the supply that drives it."""

    current: Traced
    supply: Supply


def supplies(system: System, profile: Profile, net: Graph) -> dict[str, Supply]:
    """Every AC source with an output that is wired, and what is taken for it where the plate is silent."""
    found: dict[str, Supply] = {}
    for name, ends in net.outputs.items():
        if ends.current != "ac" or ends.nominal_v <= 0.0:
            continue
        between = system.nodes[ends.neg].pole == "l2"  # No neutral is wired: `nominal_v` is from line to line.
        volts = ends.nominal_v / 2 if between else ends.nominal_v
        supply = _supply(profile, system.parts[name], volts, between or bool(ends.third))
        if supply is not None:
            found[name] = supply
    return found


def _supply(profile: Profile, part: Part, volts: float, split: bool) -> Supply | None:
    figures, stated = profile.figures, part.fault_current_a
    highest = figures["fault-voltage-highest"].value
    if isinstance(part, Shore):
        loop = part.earth_loop_ohm or (highest * volts / stated if stated else figures["shore-loop"].value)
        how = "as stated" if stated else "taken, for it states none"
        guessed = not stated and not part.earth_loop_ohm
        most = stated or figures["shore-fault"].value
        return Supply(part.id, True, volts, split, most, bool(stated), False, 0.0, loop, how, guessed)
    rated = _rated(part, volts, split) or ((stated, stated) if stated else None)
    if rated is None:
        return None
    least, largest = rated
    if stated:
        most, how = stated, "as stated"
    elif isinstance(part, Inverter):
        times = figures["inverter-fault"].value
        most = max(times * largest, (part.surge_w or 0.0) / volts)
        how = f"the larger of {times:g} times its output and its surge, taken"
    elif part.self_limiting:
        most, how = largest, "its rating, which it cannot exceed"
    else:
        reactance = part.subtransient if isinstance(part, Generator) else None
        share = reactance or figures["subtransient"].value
        most = highest * largest / share
        taken = "" if reactance else ", which is taken"
        how = f"its rating over a sub-transient reactance of {100 * share:g} %{taken}"
    limited = part.roles.limited or part.self_limiting
    return Supply(part.id, False, volts, split, most, bool(stated), limited, min(least, most), 0.0, how)


def _rated(part: Part, volts: float, split: bool) -> tuple[float, float] | None:
    """(smallest, largest) reading of the rated current: all of the power on one line, or shared by two."""
    readings = [part.current_a] if part.current_a else []
    if part.power_w:
        readings += [part.power_w / volts, part.power_w / volts / (2 if split else 1)]
    return (min(readings), max(readings)) if readings else None


def reach(
    system: System,
    circuit: Circuit,
    runs: Mapping[str, RunResult],
    supply: Supply,
    temperature_c: float | None,
) -> dict[int, Place]:
    """Every node of the lines that a supply reaches, along the way of least resistance. Never backwards through a
    switch, relay or selector, nor from the outlet of an inverter to its inlet: those part it from other supplies."""
    starts = [
        node
        for node, part, _, direct in circuit.limited
        if part == supply.part and not direct and system.nodes[circuit.names[node]].pole in LINES
    ]
    found: dict[int, Place] = {}
    waiting: list[tuple[float, int, int, Place]] = [
        (0.0, order, node, Place(0.0, 0.0, "", "", None)) for order, node in enumerate(starts)
    ]
    order = len(waiting)
    while waiting:
        _, _, node, place = heappop(waiting)
        if node in found:
            continue
        found[node] = place
        for index in circuit.at[node]:
            link = circuit.links[index]
            other = circuit.other(index, node)
            one_way = not link.conductor and not link.protective
            if other in found or (one_way and node == link.b):
                continue
            ohm, metres, device, residual = place.ohm, place.metres, place.device, place.residual_a
            if link.conductor:
                ohm += conductor_ohm(system, runs, link.conductor, temperature_c)
                metres += link.length_m
            elif link.device:
                here = system.devices[link.device]
                ohm += here.resistance_ohm
                device = link.device if link.protective else device
                known = [a for a in (residual, here.residual_a) if a is not None]
                residual = min(known, default=None)
            order += 1
            onward = Place(ohm, metres, device, link.conductor, residual)
            heappush(waiting, (ohm, order, other, onward))
    return found


def largest_ac(
    system: System, profile: Profile, circuit: Circuit, runs: Mapping[str, RunResult], sources: Mapping[str, Supply]
) -> dict[str, Fault]:
    """Prospective current of each AC device: the largest that any supply drives into a short at it, between its line
    and the neutral, or both lines where they are there. Supplies take turns, so that none are added.

    IEC 60909-0: c U / |Z|. Copper at 20 °C, out and back; cable reactance left out, and the source's impedance at
    right angles to the copper: of two readings the larger current."""
    number = {name: index for index, name in enumerate(circuit.names)}
    cold_c = profile.figures["fault-copper"].value
    result: dict[str, Fault] = {}
    for supply in sources.values():
        places = reach(system, circuit, runs, supply, cold_c)
        for device in system.devices.values():
            at = [places[number[n]] for leg in device.legs for n in leg if n in number and number[n] in places]
            if not at:
                continue
            current = _largest(profile, supply, min(place.ohm for place in at), _both_lines(system, device.id, supply))
            if device.id not in result or current.value > result[device.id].current.value:
                result[device.id] = Fault(current, supply)
    return result


def _both_lines(system: System, device: str, supply: Supply) -> bool:
    """Whether both lines of a split supply are at a device: in its run, or on the bars of its panel."""
    here = system.devices[device]
    if not supply.split:
        return False
    if here.panel:
        return all(f"{here.panel}.ac-in.{line}" in system.nodes for line in ("l1", "l2"))
    poles = {system.conductors[c].pole for c in system.runs[here.run].conductor_ids}
    return {"l1", "l2"} <= poles


def _largest(profile: Profile, supply: Supply, ohm: float, both: bool) -> Traced:
    volts = supply.volts * (2 if both else 1)
    c, cold = profile.figures["fault-voltage-highest"], show(profile.figures["fault-copper"].value, "degC")
    source = c.value * volts / supply.most_a
    across = "line to line" if both else "line to neutral"
    inputs: list[tuple[str, float | str, str]] = [
        (across, volts, "V"),
        ("c", c.value, ""),
        (f"{supply.part}, {supply.how}", supply.most_a, "A"),
        (f"out and back, {cold}", 2 * ohm * 1000, "mohm"),
    ]
    if supply.limited:
        amperes = min(supply.most_a, c.value * volts / (2 * ohm)) if ohm > 0.0 else supply.most_a
        formula = "what the source gives at most, or c U / copper out and back"
    else:
        amperes = c.value * volts / math.hypot(source, 2 * ohm)
        formula = "c U / sqrt(source² + copper²), source = c U / its current"
    return Traced(
        amperes, "A", f"largest fault current, {across}", formula, tuple(inputs), c.source, c.status
    )


def ends_ac(
    system: System, profile: Profile, circuit: Circuit, runs: Mapping[str, RunResult], sources: Mapping[str, Supply]
) -> dict[tuple[str, str], End]:
    """By (device, supply): the far end with the smallest currents among the conductors that rely on the device.

    IEC 60364-4-41 411.4.4: U0 / Zs of the loop, hot copper out and back and the reactance of both conductors, added
    to the source's impedance as numbers: of two readings the smaller current."""
    result: dict[tuple[str, str], End] = {}
    for supply in sources.values():
        for node, place in reach(system, circuit, runs, supply, None).items():
            if not place.device or not place.conductor:
                continue
            run = system.runs[system.conductors[place.conductor].run]
            poles = {system.conductors[c].pole for c in run.conductor_ids}
            across = 2 if {"l1", "l2"} <= poles and "n" not in poles and supply.split else 1
            short = _smallest(profile, supply, place, across, "smallest short circuit")
            earth = _smallest(profile, supply, place, 1, "smallest earth fault")
            key = (place.device, supply.part)
            residual = place.residual_a
            if key in result:
                # An end that no residual-current device stands before relies on the current alone.
                known = (residual, result[key].residual_a)
                residual = None if None in known else max(a for a in known if a is not None)
                result[key] = replace(result[key], residual_a=residual)
            if key not in result or (earth.value, short.value) < (result[key].earth.value, result[key].short.value):
                end = circuit.names[node]
                result[key] = End(supply.part, place.conductor, end, short, earth, residual)
    return result


def _smallest(profile: Profile, supply: Supply, place: Place, across: int, quantity: str) -> Traced:
    volts = supply.volts * across
    c = profile.figures["fault-voltage-lowest"]
    copper = math.hypot(2 * place.ohm, 2 * place.metres * profile.figures["cable-reactance"].value)
    inputs: list[tuple[str, float | str, str]] = [("U", volts, "V"), ("c", c.value, "")]
    inputs.append(("out and back, hot", copper * 1000, "mohm"))
    if not supply.outside:
        amperes = min(supply.lasting_a, c.value * volts / copper) if copper > 0.0 else supply.lasting_a
        inputs.append((f"{supply.part} gives for long", supply.lasting_a, "A"))
        formula = "what the source gives for long, or c U / copper out and back"
    else:
        source = supply.loop_ohm * across
        amperes = c.value * volts / (source + copper)
        inputs.append((f"loop outside {supply.part}", source * 1000, "mohm"))
        formula = "c U / (loop outside + hot copper out and back)"
    return Traced(amperes, "A", quantity, formula, tuple(inputs), profile.clauses["fault-loop"], c.status)
