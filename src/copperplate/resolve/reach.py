"""Whether everything is connected both ways: terminals that no run reaches, consumers without a source."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from copperplate import units
from copperplate.model import Alternator, Bus, Charger, Controller, Earth, Inverter, Load, Panel, Part
from copperplate.resolve.addresses import node_id, part_of
from copperplate.resolve.circuits import Circuits, Output
from copperplate.resolve.run_names import STOPS
from copperplate.resolve.wires import Wiring
from copperplate.text import Span


@dataclass(frozen=True)
class Supply:
    """Who is fed, and by which sources: by consumer the ids of the sources on its circuit, batteries first.
    `paths` has the live node of the same consumers, the node back, and the terminals of those sources."""

    by: dict[str, tuple[str, ...]]
    paths: dict[str, tuple[str, str, tuple[Output, ...]]]


def check_reach(circuits: Circuits) -> Supply:
    """Every terminal reached, every consumer fed and with a way back. One finding for one cause: where a whole
    panel or bar hangs in the air, there is one at it for all that hang on it."""
    for part in _understood(circuits):
        if part.id in circuits.powered_parts:
            _check_terminals(part, circuits)
    supply = _check_supply(circuits)
    _report_unused(circuits)
    return supply


def _understood(circuits: Circuits) -> list[Part]:
    """The parts whose connections are all understood."""
    return [part for part in circuits.parts.values() if part.id not in circuits.reading.names.touched]


def _check_terminals(part: Part, circuits: Circuits) -> None:
    """Both poles of every group of DC terminals, on a part that is in use."""
    if isinstance(part, STOPS):
        return
    reached = circuits.reached
    if isinstance(part, Charger) and not any(node_id(part.id, f"ac-in.{pole}") in reached for pole in ("l", "l1", "n")):
        circuits.reading.report("CP233", part.id, part.span, inlet=f"{part.id}.ac-in")
    for group, current in part.groups:
        nodes = [node_id(part.id, group, pole) for pole in ("pos", "neg")]
        missing = [node for node in nodes if node not in reached]
        if current == "ac" or not missing:
            continue
        if len(missing) == 2:
            base = node_id(part.id, group)
            circuits.reading.report("CP232", base, part.span, pair=base, part=part.id if group else None)
            continue
        node, other = missing[0], nodes[1 - nodes.index(missing[0])]
        wires = circuits.wiring.at_node.get(other, ())
        about = _missing_run(node, other, wires[0].leg.length_m if wires else 0.0, circuits)
        at = {"run": wires[0].leg.span if wires else None}
        circuits.reading.report("CP232", node, part.span, other=other, **about, at=at)


def _missing_run(node: str, other: str, length_m: float, circuits: Circuits) -> dict[str, Any]:
    """The run that would reach `node`: as long as that of the other pole, to the bar of its own."""
    wanted = "negative" if node.endswith(".neg") else "positive"
    zone = circuits.zone_of(other)
    bars = circuits.bars[wanted]
    bar = next((name for name in bars if circuits.zone_of(name) == zone), bars[0] if bars else None)
    length = units.show(length_m, circuits.settings.length_unit) if length_m else "LENGTH"
    return {"positive": wanted == "positive", "polarity": wanted, "bar": bar, "length": length}


def _check_supply(circuits: Circuits) -> Supply:
    root, reached = circuits.root, circuits.reached
    feeding: dict[str, list[Output]] = {}
    for source in circuits.connected:
        feeding.setdefault(root(source.live), []).append(source)
    bars = _bars(circuits)
    ends = (end for wire in circuits.wiring.wires for end in wire.landings if end.control)
    signalled = {root(node) for end in ends for node in end.nodes.values()}
    unfed: dict[str, list[str]] = {}
    stranded: dict[str, list[str]] = {}
    by: dict[str, tuple[str, ...]] = {}
    paths: dict[str, tuple[str, str, tuple[Output, ...]]] = {}
    led = {*circuits.reached_parts, *circuits.led_parts}
    for part in _understood(circuits):
        if isinstance(part, Load | Inverter) and part.id not in led:
            circuits.reading.report("CP233", part.id, part.span)
        for name, live, back in _consumers(part, circuits.wiring):
            if live not in reached:
                continue
            sources = [s for s in feeding.get(root(live), ()) if s.part.id != part.id]
            other_line = {s.part.id for s in feeding.get(root(back), ())}
            returning = [s for s in sources if root(s.back) == root(back) or s.part.id in other_line]
            if not sources and root(live) in signalled:
                continue  # It lives on a signal, from inside what gives it.
            if not sources:
                unfed.setdefault(bars.get(root(live), part.id), []).append(name)
            elif not returning and back in reached and not any(_is_explained(source, circuits) for source in sources):
                place = _earth_at(back, circuits) or bars.get(root(back), part.id)
                stranded.setdefault(place, []).append(name)
            by[name] = tuple(dict.fromkeys(s.part.id for s in returning))
            paths[name] = (live, back, tuple(returning))
    for place, consumers in unfed.items():
        if place not in circuits.reading.names.touched:
            _report_unfed(place, consumers, circuits)
    for place, consumers in stranded.items():
        if place not in circuits.reading.names.touched:
            _report_stranded(place, consumers, circuits)
    return Supply(by, paths)


def _is_explained(source: Output, circuits: Circuits) -> bool:
    """True where a finding at the source explains why nothing returns to it."""
    return source.part.id in circuits.reading.names.touched or source.back not in circuits.reached


def _earth_at(node: str, circuits: Circuits) -> str | None:
    """The earth that a node is run to and that does not conduct."""
    for wire in circuits.wiring.at_node.get(node, ()):
        for landing in wire.landings:
            part = circuits.parts[landing.part]
            if isinstance(part, Earth) and not part.conducts:
                return part.id
    return None


def _consumers(part: Part, wiring: Wiring) -> list[tuple[str, str, str]]:
    """What a part consumes by: (address, live node, node back). An inverter that an AC supply passes through or
    charges by has two."""
    split = wiring.ends.lines.get((part.id, "ac-in")) == 4
    neutral = f"{part.id}.ac-in.n"
    between = split and neutral not in wiring.at_node  # Two lines and no neutral: each is the other's way back.
    mains = f"{part.id}.ac-in.{'l1' if split else 'l'}", f"{part.id}.ac-in.l2" if between else neutral
    consumers = []
    for group, current in () if isinstance(part, Controller) else part.groups:
        if group in part.roles.draws_at:
            base = node_id(part.id, group)
            consumers.append((part.id, *(mains if current == "ac" else (f"{base}.pos", f"{base}.neg"))))
        elif part.roles.transfers and group == "ac-in":
            consumers.append((f"{part.id}.ac-in", *mains))
    return consumers


def _bars(circuits: Circuits) -> dict[str, str]:
    """By group of nodes: the first panel, bar, splice or earth in it, at which one finding stands for all."""
    bars: dict[str, str] = {}
    ports = ("feed", "neg", "ac-in.l", "ac-in.l1", "ac-in.n", "", "pos", "l", "l1", "n")
    for kind in (Panel, *STOPS):
        for part in circuits.parts.values():
            if isinstance(part, kind):
                for node in (node_id(part.id, port) for port in ports):
                    if node in circuits.reached:
                        bars.setdefault(circuits.root(node), part.id)
    return bars


def _report_unfed(place: str, consumers: list[str], circuits: Circuits) -> None:
    bar = next((name for name in circuits.bars["positive"] if name != place and circuits.zone_of(name)), "...")
    about = {"alone": _alone(place, consumers), "bar": bar, **_counted(consumers)}
    at = {"consumers": _some(consumers, place, circuits)}
    circuits.reading.report("CP233", place, circuits.parts[place].span, **about, at=at)


def _report_stranded(place: str, consumers: list[str], circuits: Circuits) -> None:
    part = circuits.parts[place]
    about = _counted(consumers)
    if isinstance(part, Panel):
        bars = circuits.bars["negative"]
        about |= {"panel": place, "negative": bars[0] if bars else None}
    elif isinstance(part, Earth):
        about["earth"] = place
    else:
        about["alone"] = _alone(place, consumers)
    circuits.reading.report("CP232", place, part.span, **about, at={"consumers": _some(consumers, place, circuits)})


def _alone(place: str, consumers: list[str]) -> str | None:
    """The consumer whose own terminals the place is."""
    return consumers[0] if [part_of(name) for name in consumers] == [place] else None


def _counted(consumers: list[str]) -> dict[str, Any]:
    """Consumers, by their number where they are a crowd."""
    count = len(consumers)
    return {"consumers": consumers, "several": count > 1, "crowd": count if count > 3 else None}


def _some(consumers: list[str], place: str, circuits: Circuits) -> list[Span]:
    """Where the first consumers are declared that hang on the place."""
    return [circuits.parts[part_of(name)].span for name in consumers[:2] if name != place]


def _report_unused(circuits: Circuits) -> None:
    """Components that are declared and that no run reaches."""
    returns = {part.return_bar for part in circuits.parts.values() if isinstance(part, Panel | Bus)}
    turning = {part.engine for part in circuits.parts.values() if isinstance(part, Alternator)}
    reached = {*circuits.reached_parts, *circuits.led_parts, *turning}
    for part in _understood(circuits):
        if not isinstance(part, Load | Inverter) and part.id not in returns and part.id not in reached:
            circuits.reading.report("CP245", part.id, part.span)
