"""Nodes, conductors, devices and runs from the wires of a plate."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from copperplate.findings import Finding, Related, finding
from copperplate.model import Assumption, Conductor, Device, Node, Part, Pole, Run, Settings
from copperplate.model.kinds import DEVICE_KINDS
from copperplate.resolve.circuits import Circuits, is_earthing, way_legs
from copperplate.resolve.ends import groups, node_id
from copperplate.resolve.facts import Facts
from copperplate.resolve.legs import InLine, Place_, Stretch
from copperplate.resolve.wires import Wire, Wiring
from copperplate.resolve.words import an, listed


@dataclass
class Built:
    """The physical side of a system."""

    nodes: dict[str, Node] = field(default_factory=dict)
    conductors: dict[str, Conductor] = field(default_factory=dict)
    devices: dict[str, Device] = field(default_factory=dict)
    runs: dict[str, Run] = field(default_factory=dict)
    assumptions: list[Assumption] = field(default_factory=list)


@dataclass(frozen=True)
class Plan:
    """What building needs to know."""

    wiring: Wiring
    circuits: Circuits
    poles: Mapping[str, Pole]
    settings: Settings
    routes: Mapping[str, Place_]
    findings: list[Finding]


def build(plan: Plan) -> Built:
    """Everything of the plate that is sound; what could not be read is left out, its finding is made."""
    built = Built()
    for part in plan.wiring.parts.values():
        for port, pole in _ports(part, plan):
            _add_node(built, plan, node_id(part.id, port), part.id, port, pole)
    for wire in plan.wiring.wires:
        for landing in (wire.near, wire.far):
            for key, node in landing.nodes.items():
                owner, _, port = node.partition(".")
                _add_node(built, plan, node, owner, port, plan.poles.get(node, key or "pos"))  # type: ignore[arg-type]
        if wire.leg.sound and _has_length(wire, plan):
            _build_run(wire, plan, built)
    return built


def _ports(part: Part, plan: Plan) -> list[tuple[str, Pole]]:
    """The DC terminals of a part and the pole of each; those of AC are made where a run reaches them."""
    if part.kind == "junction":
        return []
    if part.kind == "earth":
        return [("", "neg" if part.values.get("conducts") else "pe")]
    if part.kind == "bus":
        if part.values.get("ac"):
            return []
        polarity = part.values.get("polarity")
        return [("pos", "pos"), ("neg", "neg")] if polarity == "both" else [("", "neg" if polarity == "negative" else "pos")]
    if part.kind == "panel":
        if part.values.get("ac"):
            return []
        return [("feed", "pos")] if "return" in part.values else [("feed", "pos"), ("neg", "neg")]
    dc = [group for group, current in groups(part) if current == "dc"]
    poles: tuple[Pole, ...] = ("pos", "neg")
    return [(f"{group}.{pole}" if group else pole, pole) for group in dc for pole in poles]


def _add_node(built: Built, plan: Plan, node: str, part: str, port: str, pole: Pole, like: str = "") -> None:
    """A node of the zone that its circuit belongs to; `like` names a node of the same circuit."""
    if node not in built.nodes:
        known = like or node
        zone = plan.circuits.zone_of(known)
        nominal = plan.circuits.nominal_of(known, plan.settings.nominal_v)
        built.nodes[node] = Node(node, part, port, pole, zone, nominal)


def _has_length(wire: Wire, plan: Plan) -> bool:
    """True where the run has a length, or is mounted on its neighbour: beside a bracket, or at an earth."""
    leg = wire.leg
    if leg.line:
        return True
    if any(plan.wiring.parts[landing.part].kind == "earth" for landing in (wire.near, wire.far)):
        return True
    sample = "15 ft" if plan.settings.units == "us" else "4.5 m"
    message = f"no length between `{leg.near.text}` and `{leg.far.text}`"
    help_ = f"`{leg.near.text} {leg.stroke.text} {sample} -- {leg.far.text}`, say: the length one way"
    plan.findings.append(finding("CP220", wire.id, message, leg.stroke, help=help_))
    return False


def _build_run(wire: Wire, plan: Plan, built: Built) -> None:
    leg = wire.leg
    way_device = _way_devices(wire, plan, built)
    line = tuple(thing for thing in leg.line if thing not in way_device)
    devices = _name_devices(wire, line, plan, built)
    legs_of: dict[str, list[tuple[str, str]]] = {name: [] for name in devices}
    conductors: list[Conductor] = []
    poles_of = {name: _poles_of(wire, thing, name, plan, built) for name, thing in devices.items()}
    for rank, key in enumerate(wire.keys):
        names = {id(thing): name for name, thing in devices.items() if rank in poles_of[name]}
        conductors += _lay(wire, key, rank, line, names, legs_of, plan, built)
    for name, thing in devices.items():
        built.devices[name] = _device(name, thing, wire, legs_of[name], len(poles_of[name]), plan)
    for conductor in conductors:
        built.conductors[conductor.id] = conductor
    built.runs[wire.id] = _run(wire, line, conductors, tuple(devices), plan, built)


def _way_devices(wire: Wire, plan: Plan, built: Built) -> tuple[InLine, ...]:
    """The brackets that are the own device of a way, `[10 A]` beside the panel; makes the devices of its ways."""
    merged: list[InLine] = []
    line = wire.leg.line
    for landing, beside in ((wire.near, line[:1]), (wire.far, line[-1:])):
        if landing.way is None:
            continue
        own = beside[0] if beside and isinstance(beside[0], InLine) and beside[0].kind is None else None
        if own is not None:
            merged.append(own)
        _way_device(wire, landing.part, landing.way, landing.nodes, own, plan, built)
    return tuple(merged)


def _way_device(
    wire: Wire, panel: str, way: int, nodes: Mapping[str, str], own: InLine | None, plan: Plan, built: Built
) -> None:
    part = plan.wiring.parts[panel]
    name = f"{panel}.{way}"
    facts = own.facts if own is not None else Facts()
    legs = tuple((before, behind) for behind, before in way_legs(plan.wiring, panel, way, nodes, wire))
    for before, _ in legs:
        _add_node(built, plan, before, panel, before.partition(".")[2], "l" if part.values.get("ac") else "pos")
    if own is not None and own.name is not None:
        message = f"the device of a way is called by its way, `{name}`, and takes no name of its own"
        written = own.span.text.partition(":")[2].strip().rstrip("]")
        help_ = f"`[{written}]`, or `[{own.name.text}: fuse ...]` for one more device in the line"
        plan.findings.append(finding("CP226", name, message, own.name.span, help=help_))
    before_ = built.devices.get(name)
    if before_ is not None:
        if own is not None and facts.values:
            message = f"`{name}` has its device already, and this says it again"
            related = (Related(before_.span, "the first circuit"),)
            plan.findings.append(finding("CP205", name, message, own.span, related=related, help="say it once"))
        return
    family = facts.values.get("family") or part.values.get("family")
    kind = "breaker" if family == "breaker" or (family is None and part.values.get("ac")) else "fuse"
    word = wire.leg.near if wire.near.way == way and wire.near.part == panel else wire.leg.far
    values = facts.values
    built.devices[name] = Device(
        id=name,
        kind=kind,  # type: ignore[arg-type]
        title="",
        run=wire.id,
        pole=plan.poles.get(legs[0][1], "pos") if legs else "pos",
        legs=legs,
        span=own.span if own is not None else word.span,
        family=family,
        rating_a=values.get("rating_a"),
        breaks_a=values.get("breaks_a"),
        voltage_v=values.get("voltage_v"),
        resistance_ohm=values.get("resistance_ohm", 0.0),
        backed_by=_backed_by(facts, name, plan),
        poles=values.get("poles", max(len(legs), 1)),
        residual_a=values.get("residual_a"),
        panel=panel,
        way=way,
    )


def _backed_by(facts: Facts, subject: str, plan: Plan) -> str | None:
    word = facts.values.get("backed_by")
    if word is None:
        return None
    names = plan.wiring.ends.names
    if names.kinds.get(word.text) == "device" or "." in word.text:
        return str(word.text)
    meant = names.nearest(word.text, "device")
    message = f"no device is called `{word.text}`"
    help_ = f"`backed-by {meant}`" if meant else "name the device that stands before it: `[main: fuse 100 A]`"
    plan.findings.append(finding("CP202", subject, message, word.span, help=help_))
    return None


def _name_devices(wire: Wire, line: tuple[Stretch | InLine, ...], plan: Plan, built: Built) -> dict[str, InLine]:
    """The devices in the line by id, in order."""
    named: dict[str, InLine] = {}
    for thing in line:
        if not isinstance(thing, InLine):
            continue
        kind = thing.kind
        if kind is None:
            kind = _ask_kind(wire, thing, plan)
        if thing.name is not None and id(thing.name) not in plan.wiring.ends.names.twice:
            named[thing.name.text] = thing
            continue
        name = f"{wire.base}.{kind}"
        first = named.get(name)
        if first is not None:
            message = f"two {kind}{'es' if kind.endswith('ch') else 's'} of this run would be called `{name}`"
            help_ = f"name them, as in `[{wire.base.replace('.', '-')}-{kind}: {kind} ...]`"
            related = (Related(first.span, "the first"),)
            plan.findings.append(finding("CP227", name, message, thing.span, related=related, help=help_))
        elif name in built.devices:
            message = f"two devices would be called `{name}`"
            related = (Related(built.devices[name].span, "the first"),)
            help_ = f"name one of them, as in `[{wire.base.replace('.', '-')}-{kind}: {kind} ...]`"
            plan.findings.append(finding("CP207", name, message, thing.span, related=related, help=help_))
        number = 2
        while name in named or name in built.devices:
            name = f"{wire.base}.{kind}-{number}"
            number += 1
        named[name] = thing
    return named


def _ask_kind(wire: Wire, thing: InLine, plan: Plan) -> str:
    """A bracket that names no device, and stands at no way. A fuse is assumed to go on."""
    inside = thing.span.text.strip("[]").strip()
    text = f"`{thing.span.text}` does not say what it is"
    near = plan.wiring.parts[wire.near.part]
    related = ()
    if near.kind == "panel" and wire.near.way is not None:
        text = f"`{thing.span.text}` does not say what it is; the own device of way {wire.near.way} stands right at the panel"
    help_ = f"`[fuse {inside}]`, or another of {listed(DEVICE_KINDS)}"
    plan.findings.append(finding("CP226", wire.id, text, thing.span, help=help_, related=related))
    return "fuse"


def _poles_of(wire: Wire, thing: InLine, name: str, plan: Plan, built: Built) -> tuple[int, ...]:
    """Which conductors of the run a device opens, by their place among its keys. Earth is never opened."""
    live = [rank for rank, key in enumerate(wire.keys) if key != "pe"]
    said = thing.facts.values.get("poles")
    poles = said or 1
    if said is None and wire.keys[:2] == ("l1", "l2"):
        poles = 2
        built.assumptions.append(Assumption(name, "opens both lines of the split supply"))
    if poles > len(live):
        message = f"`{name}` opens {poles} poles, and the run has {an_count(len(live))} to open"
        span = thing.facts.spans.get("poles", thing.span)
        help_ = f"`poles {len(live)}`" if len(live) > 1 else "leave `poles` out; a pair `-//-` has two"
        plan.findings.append(finding("CP236", name, message, span, help=help_))
        poles = len(live)
    return tuple(live[:poles])


def an_count(number: int) -> str:
    return {1: "one conductor", 2: "two conductors", 3: "three conductors"}.get(number, f"{number} conductors")


def _lay(
    wire: Wire,
    key: str,
    rank: int,
    line: tuple[Stretch | InLine, ...],
    names: Mapping[int, str],
    legs_of: dict[str, list[tuple[str, str]]],
    plan: Plan,
    built: Built,
) -> list[Conductor]:
    """The pieces of one conductor of a run between the devices that open it, and the legs of those devices."""
    start, end = wire.near.nodes[key], wire.far.nodes[key]
    pole: Pole = plan.poles.get(start, "pos") if not key else key  # type: ignore[assignment]
    if not key and is_earthing(wire, plan.poles):
        pole = "pe"
    pieces: list[tuple[str, str, float, tuple[tuple[str, float], ...]]] = []
    at, count = start, 0
    length_m, routes, pending = 0.0, list[tuple[str, float]](), False
    last = max((i for i, thing in enumerate(line) if isinstance(thing, InLine) and id(thing) in names), default=-1)

    def point() -> str:
        nonlocal count
        count += 1
        node = f"{wire.id}:{_POINT.get((rank, key), key + ':')}{count}"
        _add_node(built, plan, node, "", "", pole, like=start)
        return node

    for index, thing in enumerate(line):
        if isinstance(thing, Stretch):
            length_m += thing.length_m
            routes += thing.routes
            pending = True
        elif id(thing) in names:
            if pending:
                node = point()
                pieces.append((at, node, length_m, tuple(routes)))
                at, length_m, routes, pending = node, 0.0, [], False
            more = index < last or any(isinstance(later, Stretch) for later in line[index + 1 :])
            node = point() if more else end
            legs_of[names[id(thing)]].append((at, node))
            at = node
    if pending:
        pieces.append((at, end, length_m, tuple(routes)))
    suffix = "" if not key else {"pos": "+", "neg": "-"}.get(key, f".{key}")
    marker = wire.base + suffix
    conductors = []
    for number, (near, far, metres, through) in enumerate(pieces, start=1):
        part = f"/{number}" if len(pieces) > 1 else ""
        conductors.append(
            Conductor(
                id=f"{wire.id}{suffix}{part}",
                run=wire.id,
                pole=pole,
                from_node=near,
                to_node=far,
                length_m=_round(metres),
                marker=f"{marker}{part}",
                routes=through,
                span=wire.leg.span,
            )
        )
    return conductors


_POINT: Mapping[tuple[int, str], str] = {
    (0, ""): "", (0, "pos"): "", (1, "neg"): "-", (0, "l"): "", (1, "n"): "-", (0, "l1"): "",
}  # fmt: skip


def _round(metres: float) -> float:
    """A sum of lengths without the noise of binary fractions."""
    return float(f"{metres:.12g}")


def _device(
    name: str, thing: InLine, wire: Wire, legs: list[tuple[str, str]], poles: int, plan: Plan
) -> Device:
    values = thing.facts.values
    kind = thing.kind or "fuse"
    family = values.get("family")
    if kind == "breaker" and family is None:
        family = "breaker"
    first = wire.keys[0]
    pole: Pole = plan.poles.get(wire.near.nodes[""], "pos") if first == "" else first  # type: ignore[assignment]
    return Device(
        id=name,
        kind=kind,  # type: ignore[arg-type]
        title="",
        run=wire.id,
        pole=pole,
        legs=tuple(legs),
        span=thing.span,
        family=family,
        rating_a=values.get("rating_a"),
        breaks_a=values.get("breaks_a"),
        voltage_v=values.get("voltage_v"),
        resistance_ohm=values.get("resistance_ohm", 0.0),
        backed_by=_backed_by(thing.facts, name, plan),
        poles=poles,
        residual_a=values.get("residual_a"),
    )


def _run(
    wire: Wire,
    line: tuple[Stretch | InLine, ...],
    conductors: list[Conductor],
    devices: tuple[str, ...],
    plan: Plan,
    built: Built,
) -> Run:
    leg = wire.leg
    stretches = [thing for thing in line if isinstance(thing, Stretch)]
    routes = tuple(dict.fromkeys(route for thing in stretches for route, _ in thing.routes))
    earth = is_earthing(wire, plan.poles)
    through = [plan.routes[route] for route in routes]
    laid = next((way for way in ("conduit", "bundle", "free-air") if any(r.laid == way for r in through)), "")
    sheathed = [thing.sheath for thing in stretches if thing.length_m > 0]
    if any(sheathed) and not all(sheathed):
        built.assumptions.append(Assumption(wire.id, "counts as unsheathed, for only a part of it is in a sheath"))
    return Run(
        id=wire.id,
        span=leg.span,
        from_end=wire.near.address,
        to_end=wire.far.address,
        conductors=leg.conductors,
        current=_current(wire, plan),
        conductor_ids=tuple(c.id for c in conductors),
        device_ids=devices,
        length_m=_round(leg.length_m),
        circuit_length_m=0.0 if earth else _round(sum(c.length_m for c in conductors if c.pole != "pe")),
        routes=routes,
        ambient_c=max([plan.settings.ambient_c, *(r.ambient_c for r in through if r.ambient_c is not None)]),
        engine_space=any(r.engine_space for r in through),
        sheath=bool(sheathed) and all(sheathed),
        laid=laid,  # type: ignore[arg-type]
        size=leg.size,
        size_span=leg.size_span,
        parallel=leg.parallel,
        insulation_c=leg.insulation_c,
        earth=earth,
    )


def _current(wire: Wire, plan: Plan) -> str:  # type: ignore[return]
    """AC where a line or a neutral is in the run, or where it earths an AC terminal."""
    if wire.current == "ac":
        return "ac"
    if wire.keys == ("",):
        nodes = (wire.near.nodes[""], wire.far.nodes[""])
        if any(plan.poles.get(node) in ("l", "l1", "l2", "n") for node in nodes):
            return "ac"
        if any(node.endswith(".pe") for node in nodes):
            return "ac"
    return "dc"
