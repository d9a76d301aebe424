"""Zones: which source feeds a group of nodes, at what nominal voltage, and where two voltages meet."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from copperplate.model import Converter, Part, Settings, Solar
from copperplate.resolve.addresses import node_id, part_of
from copperplate.resolve.circuits import Circuits, Output, way_legs
from copperplate.resolve.wires import Wire, Wiring
from copperplate.standards.batteries import nominal_voltages


def find_zones(circuits: Circuits) -> None:
    """Names the source and the nominal voltage of every group of nodes; a group with two voltages is a finding."""
    first: dict[str, Output] = {}
    reported: dict[str, int] = {}
    for source in circuits.connected:
        root = circuits.root(source.live)
        if root not in first:
            first[root] = source
            circuits.zone[root] = source.part.id
            circuits.nominal[root] = _nominal(source, circuits.settings)
        elif _differs(source, circuits.nominal[root]) and reported.get(root, 0) < 5:
            reported[root] = reported.get(root, 0) + 1
            _two_voltages(first[root], source, circuits.nominal[root], circuits.wiring)
    for source in circuits.connected:
        root = circuits.root(source.live)
        for node in _companions(source):
            back = circuits.root(node)
            circuits.zone.setdefault(back, circuits.zone[root])
            circuits.nominal.setdefault(back, circuits.nominal[root])
    _check_nominal(circuits)
    _check_inputs(circuits)


def _companions(source: Output) -> Iterable[str]:
    """The other nodes of a source: its negative or neutral, and the earth of an AC source."""
    yield source.back
    if source.back.endswith(".n"):
        yield f"{source.part.id}.ac-out.pe"


def _nominal(source: Output, settings: Settings) -> float:
    """The nominal voltage of what a source feeds: a battery's class, a converter's output, and the system's own
    where the source is within its class."""
    volts = source.voltage_v
    if volts is None:
        return settings.nominal_v
    if source.part.roles.mains or isinstance(source.part, Solar | Converter):
        return volts
    for nominal in (settings.nominal_v, *nominal_voltages()):
        if 0.85 <= volts / nominal <= 1.25:
            return nominal
    return volts


def _differs(source: Output, nominal: float) -> bool:
    """True where a source cannot share a bar of that nominal voltage. The bounds cover charging voltages (15 V
    on a 12 V bank) and self-regulating modules; common practice, no source."""
    if source.voltage_v is None:
        return False
    low, high = (1.0, 1.85) if isinstance(source.part, Solar) else (0.85, 1.3)
    return not low <= source.voltage_v / nominal <= high


def _two_voltages(source: Output, other: Output, nominal: float, wiring: Wiring) -> None:
    """The finding where two sources meet, at the first bar, panel or splice between them."""
    place, wires = _meeting(_path(wiring, other.live, source.live), wiring)
    span = wires[0].leg.span if wires else other.span
    brought = wires[-1].leg.span if len(wires) > 1 and wires[-1].leg.span != span else None
    about: dict[str, Any] = {"array": isinstance(other.part, Solar), "mains": other.part.roles.mains}
    about |= {"first": source.voltage_v or nominal, "second": other.voltage_v or 0.0}
    about |= {"place": place or None, "source": source.part.id, "other": other.part.id}
    at = {"first_run": brought, "second": other.span, "first": source.span}
    wiring.reading.report("CP231", place or other.part.id, span, **about, at=at)


def _path(wiring: Wiring, start: str, goal: str) -> list[tuple[str, Wire | None]]:
    """The nodes from `start` to `goal` by the fewest wires, each with the wire that reaches it."""
    beside: dict[str, list[tuple[str, Wire | None]]] = {}
    for wire in wiring.wires:
        for near, far in wire.joined():
            beside.setdefault(near, []).append((far, wire))
            beside.setdefault(far, []).append((near, wire))
        for landing in wire.landings:
            for before, behind in way_legs(wiring, landing, wire):
                beside.setdefault(behind, []).append((before, None))
                beside.setdefault(before, []).append((behind, None))
    came: dict[str, tuple[str, Wire | None]] = {start: ("", None)}
    queue = [start]
    for node in queue:
        if node == goal:
            break
        for other, through in beside.get(node, ()):
            if other not in came:
                came[other] = (node, through)
                queue.append(other)
    steps: list[tuple[str, Wire | None]] = []
    node = goal
    while node and node in came:
        before, via = came[node]
        steps.append((node, via))
        node = before
    return steps[::-1]


def _meeting(path: list[tuple[str, Wire | None]], wiring: Wiring) -> tuple[str, list[Wire]]:
    """The first bar, panel or splice on a path, and the wires of the path."""
    wires = [wire for _, wire in path if wire is not None]
    for node, _ in path:
        name = part_of(node)
        if wiring.parts[name].roles.splits:
            return name, wires
    return "", wires


def _check_nominal(circuits: Circuits) -> None:
    """A finding where no battery gives the nominal voltage of the system."""
    settings = circuits.settings
    banks = [source for source in circuits.outputs if source.part.roles.stores]
    if not banks or any(_nominal(bank, settings) == settings.nominal_v for bank in banks):
        return
    bank = banks[0]
    class_v = _nominal(bank, settings)
    ratio = settings.nominal_v / class_v
    whole = ratio > 1.5 and abs(ratio - round(ratio)) < 0.01
    about: dict[str, Any] = {"nominal": settings.nominal_v, "given": bank.voltage_v or settings.nominal_v}
    series = round(ratio) * bank.part.series if whole else None
    at = {"system": settings.span}
    circuits.reading.report("CP210", bank.part.id, bank.span, **about, class_v=class_v, series=series, at=at)


def _live_inputs(part: Part) -> Iterable[str]:
    """The live terminals at which a part may take power."""
    for group, current in part.groups:
        if group in part.roles.draws_at:
            for pole in ("pos",) if current == "dc" else ("l", "l1"):
                yield node_id(part.id, group, pole)


def _check_inputs(circuits: Circuits) -> None:
    """A finding of what states its input voltage and is fed with another."""
    for part in circuits.parts.values():
        wants = part.takes_v
        if wants is None:
            continue
        for node in _live_inputs(part):
            root = circuits.root(node)
            nominal = circuits.nominal.get(root)
            if node not in circuits.reached or nominal is None:
                continue
            across = node_id(part.id, "ac-in.l2") in circuits.reached
            ratios = [wants / nominal / 2] if across else [wants / nominal]
            if across and node_id(part.id, "ac-in.n") in circuits.reached:
                ratios.append(wants / nominal)
            if not any(0.8 <= ratio <= 1.3 for ratio in ratios):
                feeder = circuits.parts[circuits.zone[root]]
                span = part.spans.get(part.input_key, part.span)
                load, at = part.roles.is_load, {"feeder": feeder.span}
                about = {"wants": wants, "given": nominal, "feeder": feeder.id, "load": load}
                circuits.reading.report("CP237", part.id, span, **about, at=at)
