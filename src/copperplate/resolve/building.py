"""Nodes, conductors and runs from the wires of a plate."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import pairwise

from copperplate.model import Bus, Conductor, Earth, Junction, Panel, Part, Pole, Run, Selector, Splitter
from copperplate.model.parts import Current
from copperplate.resolve.addresses import DC_PAIR, earth_pole, node_id, pole_named
from copperplate.resolve.bars import BAR_POLES
from copperplate.resolve.built import Built
from copperplate.resolve.circuits import Circuits, is_earthing
from copperplate.resolve.devices import (
    build_contacts,
    build_device,
    build_way,
    name_devices,
    poles_opened,
    way_brackets,
)
from copperplate.resolve.legs import Line, Stretch
from copperplate.resolve.wires import Wire, Wiring
from copperplate.resolve.words import SAMPLE_LENGTHS
from copperplate.syntax.tree import Stroke
from copperplate.units import clean


def build(circuits: Circuits) -> Built:
    """Everything of the plate that is sound; what could not be read is left out, its finding is made."""
    built, wiring = Built(circuits), circuits.wiring
    served = circuits.reached_parts - circuits.powered_parts
    for part in wiring.parts.values():
        for port, pole in _terminals(part) if not (part.id in served and part.roles.is_load) else ():
            built.add_node(node_id(part.id, port), pole)
    for wire in wiring.wires:
        for landing in wire.landings:
            for key, node in landing.nodes.items():
                pole = circuits.poles.get(node) or pole_named(key) or "pos"
                built.add_node(node, pole, control=landing.control)
        if wire.leg.sound and _has_length(wire, wiring):
            _build_run(wire, built)
    for part in wiring.parts.values():
        build_contacts(part, built)
    return built


def _terminals(part: Part) -> list[tuple[str, Pole]]:
    """The DC terminals of a part and the pole of each; those of AC are made where a run reaches them."""
    if isinstance(part, Junction) or part.ac:
        return []
    if isinstance(part, Earth):
        return [("", earth_pole(part))]
    if isinstance(part, Bus) and not part.groups:
        return [("", BAR_POLES.get(part.polarity or "", "pos"))]
    if isinstance(part, Panel):
        return [(port, "neg" if port == "neg" else "pos") for port in part.ports]
    if isinstance(part, Selector | Splitter):
        return [(port, "pos") for port in part.ports]
    dc = [group for group, current in part.groups if current == "dc"]
    ends: list[tuple[str, Pole]] = [(node_id(group, pole), pole) for group in dc for pole in DC_PAIR]
    return [*ends, *((port, "pos") for port in part.outputs)]


def _has_length(wire: Wire, wiring: Wiring) -> bool:
    """True where the run has a length, or is mounted on its neighbour: beside a bracket, at an earth, bar or splice."""
    leg, ends = wire.leg, [wiring.parts[landing.part] for landing in wire.landings]
    if leg.line or (leg.conductors == 1 and any(part.roles.grounds or part.roles.splits for part in ends)):
        return True
    if any(isinstance(a, Stroke) and isinstance(b, Stroke) for a, b in pairwise(leg.statement.elements)):
        return False  # Two strokes in a row have their finding.
    near, far, stroke = leg.near.text, leg.far.text, leg.stroke.text
    sample = SAMPLE_LENGTHS[wiring.reading.length_unit]["run"]
    wiring.reading.report("CP220", wire.id, leg.stroke, near=near, far=far, stroke=stroke, sample=sample)
    return False


def _build_run(wire: Wire, built: Built) -> None:
    ways = way_brackets(wire)
    for landing, own in ways:
        build_way(wire, landing, own, built)
    own_devices = [id(own) for _, own in ways]
    line = tuple(thing for thing in wire.leg.line if id(thing) not in own_devices)
    devices = name_devices(wire, line, built)
    opened = {name: poles_opened(wire, thing, name, built.reading) for name, thing in devices.items()}
    legs: dict[str, list[tuple[str, str]]] = {name: [] for name in devices}
    conductors: list[Conductor] = []
    for rank, key in enumerate(wire.keys):
        opening = {id(thing): name for name, thing in devices.items() if rank in opened[name]}
        conductors += _lay(wire, key, line, opening, legs, built)
    for name, thing in devices.items():
        built.devices[name] = build_device(name, thing, wire, legs[name], len(opened[name]), built)
    built.conductors.update((conductor.id, conductor) for conductor in conductors)
    built.runs[wire.id] = _run(wire, line, conductors, tuple(devices), built)


@dataclass
class _Pieces:
    """One conductor of a run while it is laid from its near end: the pieces so far, and the one in hand."""

    at: str
    done: list[tuple[str, str, float, tuple[tuple[str, float], ...], bool]] = field(default_factory=list)
    length_m: float = 0.0
    routes: tuple[tuple[str, float], ...] = ()
    sheath: bool = True
    pending: bool = False

    def lengthen(self, stretch: Stretch) -> None:
        self.length_m += stretch.length_m
        self.routes += stretch.routes
        self.sheath = self.sheath and (stretch.sheath or stretch.length_m <= 0.0)
        self.pending = True

    def cut(self, node: str) -> None:
        """Ends the piece in hand at `node`."""
        self.done.append((self.at, node, self.length_m, self.routes, self.sheath))
        self.at, self.length_m, self.routes, self.sheath, self.pending = node, 0.0, (), True, False


_POINTS: Mapping[str, str] = {"": "", "pos": "", "l": "", "l1": "", "neg": "-", "n": "-", "l2": "l2-", "pe": "pe-"}
"""What stands before the number of a point inside a run, by the pole that it is on."""
_SUFFIXES: Mapping[str, str] = {"": "", "pos": "+", "neg": "-"}


def _lay(
    wire: Wire,
    key: str,
    line: Line,
    opening: Mapping[int, str],
    legs: dict[str, list[tuple[str, str]]],
    built: Built,
) -> list[Conductor]:
    """The pieces of one conductor of a run between the devices that open it (`opening`: their ids by `id()` of
    the bracket); adds to `legs` the current path of each device."""
    start, end = wire.near.nodes[key], wire.far.nodes[key]
    pole = pole_named(key) or built.circuits.poles.get(start, "pos")
    if is_earthing(wire, built.circuits.poles):
        pole = "pe"
    pieces = _Pieces(start)
    points = 0

    def point() -> str:
        nonlocal points
        points += 1
        node = f"{wire.id}:{_POINTS.get(key, '')}{points}"
        built.add_node(node, pole, circuit=start)
        return node

    line = tuple(thing for thing in line if isinstance(thing, Stretch) or id(thing) in opening)
    for index, thing in enumerate(line):
        if isinstance(thing, Stretch):
            pieces.lengthen(thing)
        else:
            if pieces.pending:
                pieces.cut(point())
            behind = point() if index < len(line) - 1 else end
            legs[opening[id(thing)]].append((pieces.at, behind))
            pieces.at = behind
    if pieces.pending:
        pieces.cut(end)
    suffix = _SUFFIXES.get(key, f".{key}")
    several = len(pieces.done) > 1
    return [
        Conductor(
            id=f"{wire.id}{suffix}/{number}" if several else f"{wire.id}{suffix}",
            run=wire.id,
            pole=pole,
            from_node=near,
            to_node=far,
            length_m=clean(metres),
            marker=f"{wire.base}{suffix}/{number}" if several else f"{wire.base}{suffix}",
            routes=through,
            span=wire.leg.span,
            sheath=sheath and metres > 0.0,
        )
        for number, (near, far, metres, through, sheath) in enumerate(pieces.done, start=1)
    ]


def _outside_m(stretches: list[Stretch]) -> float | None:
    """What lies outside the sheath at the longer of a run's ends; see `Run.outside_m`."""
    inside = [n for n, thing in enumerate(stretches) if thing.sheath and thing.length_m > 0.0]
    if not inside:
        return None
    first, last = inside[0], inside[-1]
    parts = [[thing.length_m for thing in end] for end in (stretches[:first], stretches[last + 1 :])]
    if any(not thing.sheath for thing in stretches[first:last] if thing.length_m > 0.0):
        return clean(sum(thing.length_m for thing in stretches if not thing.sheath))
    return clean(max(map(sum, parts)))


def _run(wire: Wire, line: Line, conductors: list[Conductor], devices: tuple[str, ...], built: Built) -> Run:
    leg = wire.leg
    stretches = [thing for thing in line if isinstance(thing, Stretch)]
    routes = tuple(dict.fromkeys(route for thing in stretches for route, _ in thing.routes))
    through = [built.reading.routes[route] for route in routes]
    hottest_c = max((r.ambient_c for r in through if r.ambient_c is not None), default=built.wiring.settings.ambient_c)
    earth = is_earthing(wire, built.circuits.poles)
    sheathed = [thing.sheath for thing in stretches if thing.length_m > 0]
    laid = {route.laid for route in through}
    return Run(
        id=wire.id,
        span=leg.span,
        from_end=wire.near.address,
        to_end=wire.far.address,
        conductors=leg.conductors,
        current=_current(wire, built),
        conductor_ids=tuple(conductor.id for conductor in conductors),
        device_ids=devices,
        length_m=clean(leg.length_m),
        circuit_length_m=0.0 if earth else clean(sum(c.length_m for c in conductors if c.pole != "pe")),
        routes=routes,
        ambient_c=max(built.wiring.settings.ambient_c, hottest_c),
        engine_space=any(route.engine_space for route in through),
        sheath=bool(sheathed) and all(sheathed),
        outside_m=_outside_m(stretches),
        laid="conduit" if "conduit" in laid else "bundle" if "bundle" in laid else "free-air" if laid - {""} else "",
        colour=leg.colour,
        remark=leg.remark,
        size=leg.size,
        size_span=leg.size_span,
        parallel=leg.parallel,
        insulation_c=leg.insulation_c,
        insulation_v=leg.insulation_v,
        length_open=leg.length_open,
        earth=earth,
        signal_a=leg.signal_a,
        lead=leg.lead,
    )


def _current(wire: Wire, built: Built) -> Current:
    """AC where a line or a neutral is in the run, or where it earths an AC terminal."""
    if wire.current == "ac" or wire.keys != ("",):
        return wire.current
    nodes = [node for pair in wire.joined() for node in pair]
    if any(built.circuits.poles.get(node) in ("l", "l1", "l2", "n") or node.endswith(".pe") for node in nodes):
        return "ac"
    return "dc"
