"""Which pole every node carries, from the terminals outwards, and where two poles are joined."""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping
from dataclasses import replace

from copperplate.findings import Finding, Related, finding
from copperplate.model import Assumption, Part, Pole
from copperplate.resolve.addresses import BAR_POLES
from copperplate.resolve.wires import Wire, Wiring

POLE_WORDS: Mapping[str, str] = {
    "pos": "positive", "neg": "negative", "pe": "earth", "l": "line", "l1": "line 1", "l2": "line 2",
    "n": "neutral", "mid": "midpoint",
}  # fmt: skip


def find_poles(wiring: Wiring, findings: list[Finding]) -> tuple[dict[str, Pole], set[str]]:
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
    crossed = {w.id for w in wiring.wires if w.keys == ("",) and _crosses(w, poles, origin, wiring, findings)}
    _name_bars(wiring, poles, findings)
    for node in waiting:
        poles.setdefault(node, "pos")
    return poles, crossed


def _seeds(wiring: Wiring) -> dict[str, Pole]:
    """Nodes whose pole their own name tells."""
    seeds: dict[str, Pole] = {}
    for wire in wiring.wires:
        for landing in (wire.near, wire.far):
            part = wiring.parts[landing.part]
            for key, node in landing.nodes.items():
                pole: str | None = key or _own_pole(part, node, landing.way)
                if pole == "l" and node.endswith((".l1", ".l2")):
                    pole = node.rpartition(".")[2]
                if pole is not None:
                    seeds.setdefault(node, pole)  # type: ignore[arg-type]
    return seeds


def _own_pole(part: Part, node: str, way: int | None) -> str | None:
    if part.kind == "earth":
        return "neg" if part.values.get("conducts") else "pe"
    if part.kind == "panel" and (way is not None or node.endswith(".feed")):
        return "l" if part.values.get("ac") else "pos"
    if part.kind == "bus" and "." not in node:
        return BAR_POLES.get(part.values.get("polarity", ""))
    last = node.rpartition(".")[2]
    return last if "." in node and last in POLE_WORDS else None


def _joins_well(one: str, other: str) -> bool:
    """True where a conductor may join these poles: equal ones, and earthing of a return or of earth itself."""
    if one == other:
        return True
    lines = {"l", "l1", "l2"}
    if one in lines and other in lines and "l" in (one, other):
        return True
    return "pe" in (one, other) and {one, other} <= {"pe", "neg", "n", "mid"}


def _crosses(
    wire: Wire, poles: Mapping[str, Pole], origin: Mapping[str, Wire], wiring: Wiring, findings: list[Finding]
) -> bool:
    near, far = wire.near.nodes[""], wire.far.nodes[""]
    if near not in poles or far not in poles or _joins_well(poles[near], poles[far]):
        return False
    first, last = POLE_WORDS[poles[near]], POLE_WORDS[poles[far]]
    kinds = {wiring.parts[landing.part].kind for landing in (wire.near, wire.far)}
    if kinds <= {"battery", "solar"} and {poles[near], poles[far]} == {"pos", "neg"}:
        kind = sorted(kinds)[0]
        message = f"this run joins `{near}`, {first}, to `{far}`, {last}"
        help_ = f"units in series are one {kind} here: `series 2` on one `{kind}`, with `link` for the length between"
        if kind == "solar":
            help_ = "modules in series are one array here: `series 2` on one `solar`"
    else:
        message = f"this run joins {first} and {last}: `{near}` and `{far}`"
        help_ = _repair(wire, poles, wiring)
    related = [
        Related(origin[node].leg.span, f"makes `{node}` {POLE_WORDS[poles[node]]}")
        for node in (near, far)
        if node in origin
    ]
    related += [
        Related(wiring.parts[landing.part].span, f"{POLE_WORDS[poles[node]]}")
        for landing, node in ((wire.near, near), (wire.far, far))
        if node not in origin
    ]
    wiring.ends.names.touched.update((wire.near.part, wire.far.part))
    findings.append(finding("CP230", wire.id, message, wire.leg.span, help=help_, related=tuple(related)))
    return True


def _repair(wire: Wire, poles: Mapping[str, Pole], wiring: Wiring) -> str:
    """The other terminal of a part, where it has no run yet; else a bar of the right pole."""
    near, far = wire.near.nodes[""], wire.far.nodes[""]
    swap = {"pos": "neg", "neg": "pos"}
    for node, other in ((far, near), (near, far)):
        part, _, port = node.rpartition(".")
        fitting = f"{part}.{swap.get(port, '')}"
        if port in swap and swap[port] == poles[other] and fitting not in wiring.at_node:
            return f"`{fitting}`"
    for node, other in ((near, far), (far, near)):
        if poles[other] == "pe" and poles[node] == "pos":
            part, _, port = node.rpartition(".")
            return f"earth the negative: `{part}.neg`" if port == "pos" else "earth a negative bar"
    wanted = {"pos": "positive", "neg": "negative"}.get(poles[near], "")
    bars = wiring.ends.bars.get(wanted)
    if not bars or bars[0] == near:
        return "end it at a terminal of the same pole"
    return f"end it at `{bars[0]}`, a {wanted} bar"


def _name_bars(wiring: Wiring, poles: Mapping[str, Pole], findings: list[Finding]) -> None:
    """Bars that say no polarity get that of what lands on them, which is recorded."""
    words = {"pos": "positive", "neg": "negative"}
    reached = {landing.part for wire in wiring.wires for landing in (wire.near, wire.far)}
    for name, part in wiring.parts.items():
        if part.kind != "bus" or part.values.get("ac"):
            continue
        if part.values.get("polarity") == "both" and "polarity" not in part.stated:
            wiring.assumptions.append(Assumption(name, "a bar of both poles, for a pair lands on it"))
        if "polarity" in part.values:
            continue
        pole = poles.get(name)
        if name not in reached:
            continue
        if pole in words and not (part.spans.get("polarity")):
            text = f"a {words[pole]} bar, by what lands on it"
            wiring.assumptions.append(Assumption(name, text))
            wiring.parts[name] = replace(part, values={**part.values, "polarity": words[pole]})
        else:
            message = f"`{name}` does not say which pole it carries, and nothing that lands on it tells"
            help_ = f"`bus {name} positive`, `negative` or `both`"
            findings.append(finding("CP234", name, message, part.span, help=help_))
            wiring.parts[name] = replace(part, values={**part.values, "polarity": "positive"})
