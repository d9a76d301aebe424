"""Which pole every node carries, from the terminals outwards, and where two poles are joined."""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from copperplate.model import Battery, Bus, Earth, Panel, Part, Pole, Selector, Solar, Splitter
from copperplate.resolve.addresses import earth_pole, node_id
from copperplate.resolve.bars import BAR_POLES
from copperplate.resolve.wires import Wire, Wiring

POLE_WORDS: Mapping[str, str] = {
    "pos": "positive", "neg": "negative", "pe": "earth", "l": "line", "l1": "line 1", "l2": "line 2",
    "n": "neutral", "mid": "midpoint",
}  # fmt: skip


def find_poles(wiring: Wiring) -> tuple[dict[str, Pole], set[str]]:
    """The pole of every node that a wire reaches, and the ids of wires that join two poles (their findings are
    made; they connect nothing)."""
    poles: dict[str, Pole] = {}
    origin: dict[str, Wire] = {}
    seeds = _seeds(wiring)
    waiting: dict[str, list[tuple[Wire, str]]] = {}
    for wire in wiring.wires:
        if wire.keys != ("",):
            continue
        near, far = wire.near.nodes[""], wire.far.nodes[""]
        waiting.setdefault(near, []).append((wire, far))
        waiting.setdefault(far, []).append((wire, near))
    queue = deque(seeds)
    poles.update(seeds)
    while queue:
        node = queue.popleft()
        for wire, other in waiting.get(node, ()):
            pole = poles[node]
            if other not in poles and pole != "pe":
                poles[other] = pole
                origin[other] = wire
                queue.append(other)
    crossed = {w.id for w in wiring.wires if w.keys == ("",) and _crosses(w, poles, origin, wiring)}
    _name_bars(wiring, poles)
    for node in waiting:
        poles.setdefault(node, "pos")
    return poles, crossed


def _seeds(wiring: Wiring) -> dict[str, Pole]:
    """Nodes whose pole follows from their own name."""
    seeds: dict[str, Pole] = {}
    for wire in wiring.wires:
        for landing in wire.landings:
            part = wiring.parts[landing.part]
            for key, node in landing.nodes.items():
                pole: str | None = None if landing.control else key or _own_pole(part, node, landing.way)
                if pole == "l" and node.endswith((".l1", ".l2")):
                    pole = node.rpartition(".")[2]
                if pole is not None:
                    seeds.setdefault(node, pole)  # type: ignore[arg-type]
    return seeds


def _own_pole(part: Part, node: str, way: int | None) -> str | None:
    if isinstance(part, Earth):
        return earth_pole(part)
    if isinstance(part, Panel) and (way is not None or node.endswith(".feed")):
        return "l" if part.ac else "pos"
    if isinstance(part, Bus) and "." not in node:
        return BAR_POLES.get(part.polarity or "")
    if isinstance(part, Splitter) or (isinstance(part, Selector) and not part.ac):
        return "pos"
    if node in (node_id(part.id, port) for port in part.outputs):
        return "pos"
    last = node.rpartition(".")[2]
    return last if "." in node and last in POLE_WORDS else None


def _joins_well(pole: str, other: str) -> bool:
    """True where a conductor may join these poles: equal ones, and earthing of a return or of earth itself."""
    if pole == other:
        return True
    lines = {"l", "l1", "l2"}
    if pole in lines and other in lines and "l" in (pole, other):
        return True
    return "pe" in (pole, other) and {pole, other} <= {"pe", "neg", "n", "mid"}


def _crosses(wire: Wire, poles: Mapping[str, Pole], origin: Mapping[str, Wire], wiring: Wiring) -> bool:
    near, far = wire.near.nodes[""], wire.far.nodes[""]
    if near not in poles or far not in poles or _joins_well(poles[near], poles[far]):
        return False
    units = [wiring.parts[landing.part] for landing in wire.landings]
    repair = _repair(wire, poles, wiring)
    if all(isinstance(unit, Battery | Solar) for unit in units) and {poles[near], poles[far]} == {"pos", "neg"}:
        repair = _in_series(wire, poles, wiring, min(units, key=lambda unit: unit.kind))
    runs = [origin[node].leg.span if node in origin else None for node in (near, far)]
    places = [None if node in origin else unit.span for node, unit in zip((near, far), units, strict=True)]
    at = dict(zip(("near_run", "far_run", "near_part", "far_part"), (*runs, *places), strict=True))
    about = {"near": near, "far": far, "near_pole": POLE_WORDS[poles[near]], "far_pole": POLE_WORDS[poles[far]]}
    wiring.reading.names.touched.update((wire.near.part, wire.far.part))
    wiring.reading.report("CP230", wire.id, wire.leg.span, **about, **repair, at=at)
    return True


def _is_crossed(wire: Wire, poles: Mapping[str, Pole]) -> bool:
    """Whether a single run joins two poles that must not meet."""
    if wire.keys != ("",):
        return False
    near, far = wire.near.nodes[""], wire.far.nodes[""]
    return near in poles and far in poles and not _joins_well(poles[near], poles[far])


def _in_series(wire: Wire, poles: Mapping[str, Pole], wiring: Wiring, unit: Part) -> dict[str, Any]:
    """The repair where units of one kind are joined in series one by one: one statement for all of them."""
    parts = [wire.near.part, wire.far.part]
    links = [
        w
        for w in wiring.wires
        if _is_crossed(w, poles) and all(type(wiring.parts[end.part]) is type(unit) for end in (w.near, w.far))
    ]
    for _ in links:
        for link in links:
            if link.near.part in parts or link.far.part in parts:
                parts += [part for part in (link.near.part, link.far.part) if part not in parts]
    parts.sort(key=list(wiring.parts).index)
    facts = [[getattr(wiring.parts[part], name, None) for name in _ALIKE] for part in parts]
    linked = isinstance(unit, Battery) and wire.leg.length_m
    return {
        "units": unit.kind,
        "unlike": any(own != facts[0] for own in facts),
        "series": len(parts),
        "length": wire.leg.length_m if linked else None,
        "first": parts[0],
        "others": parts[1:],
    }


_ALIKE = ("voltage_v", "capacity_ah", "chemistry", "power_w", "voc_v", "isc_a")
"""What units in series must have in common."""


def _repair(wire: Wire, poles: Mapping[str, Pole], wiring: Wiring) -> dict[str, Any]:
    """The other terminal of a part, where it has no run yet; else a bar of the right pole."""
    near, far = wire.near.nodes[""], wire.far.nodes[""]
    swap = {"pos": "neg", "neg": "pos"}
    for node, other in ((far, near), (near, far)):
        part, _, port = node.rpartition(".")
        fitting = f"{part}.{swap.get(port, '')}"
        there = wiring.at_node.get(fitting, [])
        if port in swap and swap[port] == poles[other] and all(_is_crossed(w, poles) for w in there):
            return {"terminal": fitting}
    for node, other in ((near, far), (far, near)):
        if poles[other] == "pe" and poles[node] == "pos":
            part, _, port = node.rpartition(".")
            return {"negative": f"{part}.neg" if port == "pos" else None, "earth": True}
    wanted = {"pos": "positive", "neg": "negative"}.get(poles[near], "")
    bars = wiring.ends.bars.get(wanted)
    return {"bar": bars[0], "polarity": wanted} if bars and bars[0] != near else {}


def _name_bars(wiring: Wiring, poles: Mapping[str, Pole]) -> None:
    """Bars that say no polarity get that of what lands on them, which is recorded."""
    words = {"pos": "positive", "neg": "negative"}
    reached = {landing.part for wire in wiring.wires for landing in wire.landings}
    for name, part in wiring.parts.items():
        if not isinstance(part, Bus) or part.ac:
            continue
        if part.polarity == "both" and "polarity" not in part.stated:
            wiring.reading.assume(name, "a bar of both poles, for a pair lands on it")
        if part.polarity is not None:
            continue
        pole = poles.get(name)
        if name not in reached:
            continue
        if pole in words and not (part.spans.get("polarity")):
            wiring.reading.assume(name, f"a {words[pole]} bar, by what lands on it")
            wiring.parts[name] = replace(part, polarity=words[pole])
        else:
            wiring.reading.report("CP234", name, part.span)
            wiring.parts[name] = replace(part, polarity="positive")
