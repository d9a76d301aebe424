"""Legs with both their ends landed: which nodes they join, and what they are called."""

from __future__ import annotations

from collections import Counter, deque
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

from copperplate.model import Junction, Lead, Panel, Part, Selector, Settings
from copperplate.model.parts import Current
from copperplate.resolve.addresses import DC_PAIR, Ends, Target, part_of
from copperplate.resolve.approaches import Approach, cores
from copperplate.resolve.bars import with_pairs
from copperplate.resolve.brackets import InLine
from copperplate.resolve.controls import controlled
from copperplate.resolve.implied import earth_bar, earthed_where_they_stand
from copperplate.resolve.landings import Landing, land
from copperplate.resolve.legs import Leg, Stretch
from copperplate.resolve.reading import Reading
from copperplate.resolve.run_names import asks_for_a_name, by_both_ends, run_base, run_id
from copperplate.resolve.ways import Targets, assign_ways, counted_ways, leaves_by_way
from copperplate.syntax.tree import End
from copperplate.text import Span
from copperplate.units import clean


@dataclass(frozen=True)
class Wire:
    """A leg between two landings. `base` is its address without `.run`, the `id` with it; `keys` its conductors by
    pole ("" for the only one of a single run, whose pole follows from what it joins)."""

    leg: Leg
    id: str
    base: str
    current: Current
    near: Landing
    far: Landing
    keys: tuple[str, ...]

    @property
    def landings(self) -> tuple[Landing, Landing]:
        """Where it lands: its near end and its far one."""
        return self.near, self.far

    def joined(self) -> list[tuple[str, str]]:
        """The nodes that its conductors join, pole by pole."""
        return [(self.near.nodes[key], self.far.nodes[key]) for key in self.keys]


@dataclass
class Wiring:
    """All wires of a plate, and the parts with what their runs tell about them."""

    wires: list[Wire]
    parts: dict[str, Part]
    ends: Ends
    leads: dict[str, Lead] = field(default_factory=dict)

    @property
    def settings(self) -> Settings:
        """The settings of the plate."""
        return self.ends.settings

    @property
    def reading(self) -> Reading:
        """The plate while it is read."""
        return self.ends.reading

    def panel(self, name: str) -> Panel:
        """The panel of that name."""
        part = self.parts[name]
        assert isinstance(part, Panel), name
        return part

    @cached_property
    def at_node(self) -> dict[str, list[Wire]]:
        """The wires that reach each node."""
        found: dict[str, list[Wire]] = {}
        for wire in self.wires:
            for pair in wire.joined():
                for node in pair:
                    found.setdefault(node, []).append(wire)
        return found


def lay_wires(legs: list[Leg], parts: dict[str, Part], settings: Settings, reading: Reading) -> Wiring:
    """Lands every leg. A leg whose end is unknown is left out, with a finding at its end."""
    parts = with_pairs(legs, parts)
    parts |= controlled(legs, parts, reading)
    ends = Ends(parts, settings, reading)
    targets: list[tuple[Leg, Targets]] = []
    leads: list[Leg] = []
    lost: set[int] = set()
    for leg in legs:
        near, far = (ends.target(word, leg.serves, leg.conductors == 1) for word in (leg.near, leg.far))
        if leg.data and near is not None and far is not None:
            leads.append(leg)
            continue
        if near is None or far is None:
            if id(leg.statement) not in lost:
                ends_of = (element.address for element in leg.statement.elements if isinstance(element, End))
                reading.names.touched.update(part_of(word.text) for word in ends_of)
            lost.add(id(leg.statement))
        elif leg.conductors == 1:
            near, far = earth_bar(near, far), earth_bar(far, near)
        targets.append((leg, (near, far)))
    targets += earthed_where_they_stand(targets, ends)
    ends.report_unknown()
    _shape_points(targets, ends)
    ways = assign_ways(targets, reading)
    _count_ways(parts, counted_ways(ways, targets), reading)
    wires: list[Wire] = []
    for index, (leg, (near, far)) in enumerate(targets):
        if near is None or far is None:
            continue
        numbers = (ways.get((index, 0)), ways.get((index, 1)))
        wire = _wire(leg, near, far, numbers, ends)
        if wire is None:
            reading.names.touched.update((near.part.id, far.part.id))
        else:
            wires.append(wire)
    taken: dict[str, Span] = {}
    wires = _named(wires, ends, taken)
    return Wiring(wires, parts, ends, dict(_lead(leg, ends, taken) for leg in leads))


def _named(wires: list[Wire], ends: Ends, taken: dict[str, Span]) -> list[Wire]:
    """The wires with their addresses. Those without a name that would share one go by both their ends, all of them."""
    shared = Counter(wire.base for wire in wires if wire.leg.statement.name is None)
    rather_named = {wire.base for wire in wires if asks_for_a_name(wire.near, wire.far, ends)}
    found: list[Wire] = []
    for wire in wires:
        base, leg = wire.base, wire.leg
        serves = leg.signal_a is not None or leg.bonding
        if leg.statement.name is None and (serves or (shared[base] > 1 and base not in rather_named)):
            base = by_both_ends(wire.near, wire.far)
        found.append(replace(wire, base=base, id=run_id(leg, base, taken, ends)))
    return found


def _lead(leg: Leg, ends: Ends, taken: dict[str, Span]) -> tuple[str, Lead]:
    """A made-up lead by its address."""
    device = next((thing for thing in leg.line if isinstance(thing, InLine)), None)
    if leg.conductors > 1:
        ends.reading.report("CP238", leg.far.text, leg.stroke, stroke=leg.stroke.text)
    if device is not None:
        ends.reading.report("CP238", leg.far.text, device.span, device=device.span.text)
    base = leg.statement.name.text if leg.statement.name else f"{leg.near.text}-{leg.far.text}"
    name = run_id(leg, base, taken, ends)
    routes = tuple(route for thing in leg.line if isinstance(thing, Stretch) for route, _ in thing.routes)
    return name, Lead(
        name, leg.near.text, leg.far.text, clean(leg.length_m), tuple(dict.fromkeys(routes)), leg.lead, leg.span
    )


def _shape_points(targets: list[tuple[Leg, Targets]], ends: Ends) -> None:
    """How many conductors meet at each junction and AC group, and which junctions carry AC."""
    linked: dict[str, list[str]] = {}
    queue: deque[str] = deque()
    for leg, pair in targets:
        for side, target in enumerate(pair):
            if target is None:
                continue
            part, other = target.part, pair[1 - side]
            if isinstance(part, Junction) and target.form == "whole":
                ends.poled[part.id] = max(ends.poled.get(part.id, 1), leg.conductors)
                if other is not None and isinstance(other.part, Junction) and leg.conductors == 2:
                    linked.setdefault(part.id, []).append(other.part.id)
                elif leg.conductors > 2 or (leg.conductors == 2 and other is not None and ends.is_ac(other)):
                    queue.append(part.id)
            elif leg.conductors > 1 and not (leaves_by_way(leg, side, target) or target.form == "way"):
                for group, current in part.groups:
                    if current == "ac" and (len(part.groups) == 1 or _reaches(target, group, side)):
                        key = (part.id, group)
                        both = other is not None and "l2" in cores(leg, target, other, ends)
                        ends.lines[key] = max(ends.lines.get(key, 2), 4 if both else leg.conductors)
    while queue:
        name = queue.popleft()
        if name not in ends.ac_points:
            ends.ac_points.add(name)
            queue.extend(linked.get(name, ()))


def _reaches(target: Target, group: str, side: int) -> bool:
    """True where a leg with this end lands on this AC group of a part that has two."""
    if target.form == "group":
        return target.port == group
    if isinstance(target.part, Selector):
        return group == ""
    return group == ("ac-in" if side or not target.part.roles.mains else "ac-out")


def _count_ways(parts: dict[str, Part], highest: dict[str, int], reading: Reading) -> None:
    for name, part in parts.items():
        if isinstance(part, Panel) and part.ways is None:
            parts[name] = replace(part, ways=highest.get(name, 0))
            reading.assume(name, f"{highest.get(name, 0)} ways, as many as the plate uses")


def _wire(
    leg: Leg, near: Target, far: Target, ways: tuple[int | None, int | None], ends: Ends
) -> Wire | None:
    current: Current = "dc"
    if leg.conductors > 2 or (leg.conductors == 2 and (ends.is_ac(near) or ends.is_ac(far))):
        current = "ac"
    landings: list[Landing] = []
    for side, (target, other) in enumerate(((near, far), (far, near))):
        needs_way = target.form == "way" or leaves_by_way(leg, side, target)
        if needs_way and ways[side] is None:
            return None
        landing = land(Approach(leg, side, target, other, ways[side], ends), current)
        if landing is None:
            return None
        landings.append(landing)
    keys: tuple[Any, ...] = (
        ("",) if leg.conductors == 1 else DC_PAIR if current == "dc" else cores(leg, near, far, ends)
    )
    first, last = landings
    same = [key for key in keys if first.nodes[key] == last.nodes[key]]
    if same:
        bar = first.nodes[same[0]] if first.part != last.part else None
        ends.reading.report("CP235", last.address, leg.span, near=first.address, bar=bar, part=last.part)
        return None
    return Wire(leg, "", run_base(leg, first, last, near, far), current, first, last, keys)
