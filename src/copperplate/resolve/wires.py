"""Legs with both their ends landed: which nodes they join, and what they are called."""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from copperplate import units
from copperplate.model import DEVICE_ROLES, Bus, Earth, Junction, Load, Panel, Part, Settings
from copperplate.model.parts import Current
from copperplate.resolve.addresses import DC_PAIR, Ends, Target, bars_by_polarity, part_of
from copperplate.resolve.approaches import Approach, cores
from copperplate.resolve.brackets import InLine
from copperplate.resolve.landings import Landing, land
from copperplate.resolve.legs import Leg
from copperplate.resolve.reading import Reading
from copperplate.resolve.ways import Targets, assign_ways, counted_ways, leaves_by_way
from copperplate.text import Span

STOPS = (Bus, Junction, Earth)
"""Types of parts that many runs end at: a run to one of them is called by its other end."""


@dataclass(frozen=True)
class Wire:
    """A leg between two landings. `base` is its address without `.run`; `keys` its conductors by pole ("" for the
    only one of a single run, whose pole follows from what it joins)."""

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
    parts = _shape_bars(legs, parts)
    ends = Ends(parts, settings, reading)
    targets: list[tuple[Leg, Targets]] = []
    for leg in legs:
        near, far = ends.target(leg.near), ends.target(leg.far)
        if near is None or far is None:
            reading.names.touched.update(part_of(word.text) for word in (leg.near, leg.far))
        targets.append((leg, (near, far)))
    ends.report_unknown()
    _shape_points(targets, ends)
    ways = assign_ways(targets, reading)
    _count_ways(parts, counted_ways(ways, targets), reading)
    taken: dict[str, Span] = {}
    wires: list[Wire] = []
    for index, (leg, (near, far)) in enumerate(targets):
        if near is None or far is None:
            continue
        numbers = (ways.get((index, 0)), ways.get((index, 1)))
        wire = _wire(leg, near, far, numbers, ends, taken)
        if wire is None:
            reading.names.touched.update((near.part.id, far.part.id))
        else:
            wires.append(wire)
    return Wiring(wires, parts, ends)


def _shape_bars(legs: list[Leg], parts: dict[str, Part]) -> dict[str, Part]:
    """The parts, where bars without a polarity carry both poles if a pair lands on them."""
    paired = {w.text for leg in legs if leg.conductors == 2 for w in (leg.near, leg.far)}
    shaped: dict[str, Part] = {}
    for name, part in parts.items():
        if isinstance(part, Bus) and part.polarity is None and not part.ac and name in paired:
            part = replace(part, polarity="both")
        shaped[name] = part
    return shaped


def check_returns(parts: Mapping[str, Part], reading: Reading) -> dict[str, Part]:
    """The parts, with every `return` that is no negative bar reported and taken out. A bar of no stated polarity
    is negative where a panel returns to it."""
    checked = dict(parts)
    panels = [part for part in parts.values() if isinstance(part, Panel) and part.return_bar is not None]
    for panel in panels:
        bar = checked.get(panel.return_bar or "")
        if isinstance(bar, Bus) and not bar.ac and bar.polarity is None:
            checked[bar.id] = replace(bar, polarity="negative")
            reading.assume(bar.id, f"a negative bar, for `{panel.id}` returns to it")
    for panel in panels:
        if not _returns(panel, panel.return_bar or "", checked, reading):
            checked[panel.id] = replace(panel, return_bar=None)
            reading.names.touched.add(panel.id)
    return checked


def _returns(panel: Panel, name: str, parts: Mapping[str, Part], reading: Reading) -> bool:
    """Whether the negatives of a panel can return to the part of that name; a finding where they cannot."""
    bar, span = parts.get(name), panel.spans.get("return", panel.span)
    if bar is None:
        if name not in reading.names.unread:
            likely = reading.meant(name, [part.id for part in parts.values() if isinstance(part, Bus)])
            reading.report("CP202", panel.id, span, name=name, keyword="return", likely=likely)
        return False
    if isinstance(bar, Bus) and bar.polarity in ("negative", "both"):
        return True
    what = f"a {bar.polarity or 'bare'} bar" if isinstance(bar, Bus) else f"a {bar.kind}"
    others = bars_by_polarity(parts)["negative"]
    about = {"bar": name, "what": what, "other": others[0] if others else None}
    reading.report("CP221", panel.id, span, **about, at={"bar": bar.span})
    return False


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
    return group == ("ac-in" if side or not target.part.roles.mains else "ac-out")


def _count_ways(parts: dict[str, Part], highest: dict[str, int], reading: Reading) -> None:
    for name, part in parts.items():
        if isinstance(part, Panel) and part.ways is None:
            parts[name] = replace(part, ways=highest.get(name, 0))
            reading.assume(name, f"{highest.get(name, 0)} ways, as many as the plate uses")


def _wire(
    leg: Leg, near: Target, far: Target, ways: tuple[int | None, int | None], ends: Ends, taken: dict[str, Span]
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
    base = _base(leg, first, last, near, far)
    return Wire(leg, _unique(leg, base, taken, ends), base, current, first, last, keys)


def _base(leg: Leg, near: Landing, far: Landing, start: Target, stop: Target) -> str:
    """The address of a run without `.run`: its name, or that of the end that tells it from other runs.

    That is the far end, or the near one where the far end is a bar, splice or earth. A way does not tell: its
    number may be chosen by the compiler, and addresses must not depend on that. Nor does a component that the
    same statement has just reached: the leg before is called by it."""
    name = leg.statement.name
    if name is not None:
        return name.text if leg.of == 1 else f"{name.text}-{leg.number + 1}"
    just_reached = leg.number > 0 and not isinstance(start.part, STOPS)
    if isinstance(stop.part, STOPS) and near.way is None and not just_reached:
        return near.address
    return far.address


def _taking_turns(leg: Leg) -> dict[str, Any]:
    """The repair where a second AC source feeds what a first one feeds already: a name, and a selector in each."""
    devices = [thing for thing in leg.line if isinstance(thing, InLine)]
    opening = f"from-{part_of(leg.near.text)}: {leg.near.text} {leg.stroke.text}"
    if any(device.kind is not None and DEVICE_ROLES[device.kind].chooses for device in devices):
        return {"opening": opening}
    most_a = max((device.facts.values.get("rating_a") or 0.0 for device in devices), default=0.0)
    return {"opening": opening, "rating": units.show(most_a, "A") if most_a else "RATING", "far": leg.far.text}


def _unique(leg: Leg, base: str, taken: dict[str, Span], ends: Ends) -> str:
    """The id of the run; a second run of the same address is a finding and gets a number."""
    id_ = base if leg.statement.name is not None else f"{base}.run"
    first = taken.get(id_) or (ends.reading.names.spans.get(id_) if leg.of > 1 else None)
    if first is None:
        taken[id_] = leg.span
        return id_
    opening = "-".join(word.text.replace(".", "-") for word in (leg.near, leg.far))
    about: dict[str, Any] = {"opening": f"{opening}: {leg.near.text} {leg.stroke.text}"}
    start, stop = (ends.parts[part_of(word.text)] for word in (leg.near, leg.far))
    if start.roles.mains:
        about = _taking_turns(leg)
    elif isinstance(start, Load) and isinstance(stop, Panel):
        about |= {"panel": leg.far.text, "stroke": leg.stroke.text, "near": leg.near.text}
    if id(leg.statement.name) not in ends.reading.names.twice:
        ends.reading.report("CP207", id_, leg.span, **about, at={"first": first})
    number = 2
    while f"{id_}-{number}" in taken:
        number += 1
    taken[f"{id_}-{number}"] = leg.span
    return f"{id_}-{number}"
