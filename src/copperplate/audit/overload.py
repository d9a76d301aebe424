"""Lasting overload by its definitions: a maximum flow for each end of each conductor, and the length of each short tap.

The flow is found by augmenting paths over the whole circuit (L. R. Ford and D. R. Fulkerson, 1956), one after the
other; nothing is known of blocks or messages. A returns' loop is not derived here.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from functools import cached_property
from typing import Literal

from copperplate.audit.reach import LINES, feeding, handed_through, pushing, supplying, ungrounded
from copperplate.audit.reported import reported
from copperplate.audit.wires import ampacity_a, loaded_together
from copperplate.findings import Finding, make
from copperplate.model import Alternator, Battery, Conductor, Solar
from copperplate.model.graph import graph
from copperplate.model.groups import Groups
from copperplate.model.results import Design
from copperplate.standards import profile
from copperplate.units import exceeds

NEVER = "\0"
"""A line that no line of a plate is."""


@dataclass(frozen=True, slots=True)
class Line:
    """One way out of a node: to where, by which conductor or device, amperes that pass for ever, and its length."""

    to: str
    id: str
    amperes: float
    protects: bool = False
    conductor: Conductor | None = None


@dataclass
class Grid:
    """Nodes with the lines at each, and what sources give at them, amperes (infinite without a limit)."""

    at: dict[str, list[Line]] = field(default_factory=dict)
    gives: dict[str, float] = field(default_factory=dict)

    @cached_property
    def near(self) -> dict[str, int]:
        """Lines from each node to the nearest source."""
        found = dict.fromkeys((node for node, amperes in self.gives.items() if amperes > 0.0), 0)
        for node in (front := list(found)):
            for line in self.at[node]:
                if line.to not in found:
                    found[line.to] = found[node] + 1
                    front.append(line.to)
        return found

    @cached_property
    def onward(self) -> dict[str, list[Line]]:
        """The lines at each node that lead towards a source at all, those nearest to one last."""
        near = self.near
        return {
            node: sorted((line for line in lines if line.to in near), key=lambda line: -near[line.to])
            for node, lines in self.at.items()
        }

    def flow(self, targets: Iterable[str], without: str = NEVER, gives: dict[str, float] | None = None) -> float:
        """The largest flow from the sources to some nodes together, without a line."""
        gives = dict(self.gives if gives is None else gives)
        used: dict[tuple[str, str, str], float] = {}
        total = 0.0
        for target in targets:
            while (path := self._path(target, without, gives, used)) is not None:
                source, steps, amperes = path
                if amperes == math.inf:
                    return math.inf
                gives[source] -= amperes
                for here, name, there in steps:
                    used[(here, name, there)] = used.get((here, name, there), 0.0) + amperes
                    used[(there, name, here)] = used.get((there, name, here), 0.0) - amperes
                total += amperes
        return total


    def _path(
        self,
        target: str,
        without: str,
        gives: dict[str, float],
        used: dict[tuple[str, str, str], float],
    ) -> tuple[str, list[tuple[str, str, str]], float] | None:
        """A path against the current from a node to a source with something left: the source, the steps as (node,
        line, node), and how much more may flow; None where there is none. Nodes near sources are tried first."""
        came: dict[str, tuple[str, str, float]] = {target: ("", "", math.inf)}
        stack = [target]
        while stack:
            node = stack.pop()
            if gives.get(node, 0.0) > 0.0:
                amperes, here = gives[node], node
                steps: list[tuple[str, str, str]] = []
                while came[here][0]:
                    before, name, room = came[here]
                    steps.append((before, name, here))
                    amperes, here = min(amperes, room), before
                return node, steps, amperes
            for line in self.onward.get(node, ()):
                if line.to in came or line.id == without:
                    continue
                room = line.amperes - used.get((node, line.id, line.to), 0.0)
                if room > 1e-9 * max(1.0, min(line.amperes, 1e9)):
                    came[line.to] = (node, line.id, room)
                    stack.append(line.to)
        return None


def check_overload(design: Design) -> Iterator[Finding]:
    """Each conductor carries what can come into it for ever, or lies on a short tap and carries what the devices ahead
    of it let pass; and no run is stated to be protected by what does not protect it."""
    together = loaded_together(design)
    carried = {run.id: ampacity_a(design, run, together[run.id]) for run in design.system.runs.values()}
    named: dict[str, set[str]] = {}
    before: dict[str, dict[str, None]] = {}
    told: set[str] = set()
    for finding in (*_live(design, carried, named, before), *_back(design, carried, named)):
        if finding.subject not in told:
            told.add(finding.subject)
            yield finding
    for run in design.system.runs.values():
        result = design.runs.get(run.id)
        if result is None or result.size is None or run.role == "link" or run.earth or run.id in told:
            continue
        wrong = [device for device in result.protected_by if device not in named.get(run.id, set())]
        if wrong:
            yield make("CP599", run.id, not_protecting=wrong[0])
        elif not result.protected_by and (by := next(iter(before.get(run.id, {})), None)) is not None:
            yield make("CP599", run.id, protecting=by)


def grids(design: Design) -> list[Grid]:
    """The ungrounded side of the direct current, and the lines of the alternating current by each supply alone."""
    rules, system = profile(design.profile), design.system
    direct = _grid(design, ungrounded(system), [])
    for source, node in feeding(system):
        part = system.parts[source]
        runaway = rules.figures["generator-fault"].value if isinstance(part, Alternator) else math.inf
        amperes = (part.current_a or 0.0) * runaway if isinstance(part, Alternator) else math.inf
        direct.gives[node] = direct.gives.get(node, 0.0) + amperes
    limited = {part for part, _ in feeding(system)}
    for source, node, amperes in pushing(system):
        if source not in limited and node in direct.at:
            bright = rules.figures["source-solar"].value if isinstance(system.parts[source], Solar) else 1.0
            direct.gives[node] = direct.gives.get(node, 0.0) + amperes * bright
    found = [direct]
    by_source: dict[str, list[tuple[str, float]]] = {}
    for source, node, amperes in supplying(system):
        by_source.setdefault(source, []).append((node, amperes))
    for nodes in by_source.values():
        grid = _grid(design, LINES, handed_through(system))
        grid.gives |= dict(nodes)
        found.append(grid)
    return found


def _grid(design: Design, poles: frozenset[str], joins: Iterable[tuple[str, str]]) -> Grid:
    system = design.system
    at: dict[str, list[Line]] = {node.id: [] for node in system.nodes.values() if node.pole in poles}

    def join(a: str, b: str, line: Line) -> None:
        if a in at and b in at:
            at[a].append(line)
            at[b].append(Line(a, line.id, line.amperes, line.protects, line.conductor))

    for wire in system.conductors.values():
        if system.runs[wire.run].role == "run":
            join(wire.from_node, wire.to_node, Line(wire.to_node, wire.id, math.inf, False, wire))
    for device in system.devices.values():
        result = design.devices.get(device.id)
        rating = result.rating.rating_a if result is not None and device.roles.protects else None
        for a, b in device.legs:
            join(a, b, Line(b, device.id, math.inf if rating is None else rating, device.roles.protects))
    for number, (a, b) in enumerate(system.ties):
        join(a, b, Line(b, f"{NEVER}{number}", math.inf))
    for number, (inlet, outlet) in enumerate(joins):
        # A path is sought against the current: from the outlet to the inlet, and never back.
        if inlet in at:
            at[outlet].append(Line(inlet, f"{NEVER}in{number}", math.inf))
            at[inlet].append(Line(outlet, f"{NEVER}in{number}", 0.0))
    return Grid(at)


def _live(
    design: Design, carried: dict[str, float | None], named: dict[str, set[str]], before: dict[str, dict[str, None]]
) -> Iterator[Finding]:
    system, rules = design.system, profile(design.profile)
    for grid in grids(design):
        for wire in system.conductors.values():
            run = system.runs[wire.run]
            limit = carried.get(run.id)
            if wire.from_node not in grid.at or run.role != "run" or limit is None:
                continue
            limit *= rules.device_share(system.nodes[wire.from_node].nominal_v).value
            for start, end in ((wire.from_node, wire.to_node), (wire.to_node, wire.from_node)):
                amperes = grid.flow([start], wire.id)
                if amperes <= 0.0:
                    continue
                first, _, _ = _first(design, grid, start, wire.id)
                ahead, _, bare = _first(design, grid, end, wire.id)
                coming = [d for d in first if _comes_by(grid, start, d, wire.id)]
                own = max((_rating(design, d) for d in coming if system.devices[d].run == run.id), default=0.0)
                named.setdefault(run.id, set()).update(coming, ahead)
                before.setdefault(run.id, {}).update(dict.fromkeys(coming))
                if not exceeds(max(amperes, own), limit):
                    continue
                let = sum(_rating(design, device) or math.inf for device in ahead)
                if ahead and not bare and not exceeds(let, limit) and _near(design, grid, carried, wire, start, end):
                    continue
                if amperes == math.inf:
                    free = next(system.nodes[node].part for node, given in grid.gives.items() if given == math.inf)
                    yield make("CP595", run.id, conductor=wire.id, source=free)
                    continue
                sources = [system.nodes[node].part for node in grid.gives]
                yield make("CP595", run.id, carries=limit, before=coming or sources, passed=max(amperes, own))


def _rating(design: Design, device: str) -> float:
    result = design.devices.get(device)
    return (result.rating.rating_a if result is not None else None) or 0.0


def _comes_by(grid: Grid, node: str, device: str, without: str) -> bool:
    """Whether something comes to a node through a device."""
    seen = {node}
    for here in (front := [node]):
        for line in grid.at[here]:
            if line.id == device and grid.flow([line.to], device) > 0.0:
                return True
            if line.id != without and not line.protects and line.to not in seen:
                seen.add(line.to)
                front.append(line.to)
    return False


def _first(design: Design, grid: Grid, start: str, without: str) -> tuple[list[str], float, bool]:
    """The first protective devices from a node on, the longest way to them or to an end, metres, and whether there is
    an end without one."""
    system, seen, longest, bare = design.system, {start: 0.0}, 0.0, False
    found: dict[str, None] = {}
    ways = {b for device in system.devices.values() if device.panel for _, b in device.legs}
    for node in (front := [start]):
        longest = max(longest, seen[node])
        part = system.parts.get(system.nodes[node].part)
        onward = [line for line in grid.at[node] if line.id != without]
        if part is not None and not part.roles.splits and node not in ways:
            bare = True
            if not any(line.id.startswith(NEVER) for line in onward):
                continue  # Nothing is handed through it.
        bare |= not onward
        for line in onward:
            if line.protects:
                found[line.id] = None
            elif line.to not in seen:
                seen[line.to] = seen[node] + (line.conductor.length_m if line.conductor else 0.0)
                front.append(line.to)
    return list(found), longest, bare


def _near(
    design: Design, grid: Grid, carried: dict[str, float | None], wire: Conductor, start: str, end: str
) -> bool:
    """Whether every way through a conductor, from where it begins without a device to the last device ahead, is within
    the distance of the rules."""
    system, rules = design.system, profile(design.profile)
    ways = {b for device in system.devices.values() if device.panel for _, b in device.legs}
    _, ahead_m, _ = _first(design, grid, end, wire.id)
    sheath = wire.sheath and all(
        line.conductor is None or line.conductor.sheath
        for node in _spread(grid, end, wire.id)
        for line in grid.at[node]
        if not line.protects and line.id != wire.id
    )
    waiting = [(start, wire.id, wire.length_m + ahead_m, sheath)]
    seen = {start}
    while waiting:
        node, came_by, metres, sheathed = waiting.pop()
        part = system.parts.get(system.nodes[node].part)
        if part is not None and node not in ways and (part.roles.bar or not part.roles.splits):
            origin: Literal["battery", "bar"] = "battery" if isinstance(part, Battery) else "bar"
            if exceeds(metres, rules.placement(origin, sheathed).value):
                return False
            continue
        for line in grid.at[node]:
            if line.id == came_by or line.to in seen or grid.flow([line.to], line.id) <= 0.0:
                continue
            if line.protects:
                return False
            longer = line.conductor.length_m if line.conductor else 0.0
            limit = carried.get(line.conductor.run) if line.conductor else None
            if line.conductor and limit is not None and not exceeds(grid.flow([line.to], line.id), limit):
                if exceeds(metres, rules.placement("bar", sheathed).value):
                    return False
                continue
            seen.add(line.to)
            whole = sheathed and (line.conductor is None or line.conductor.sheath)
            waiting.append((line.to, line.id, metres + longer, whole))
    return True


def _spread(grid: Grid, start: str, without: str) -> list[str]:
    """The nodes that hang together from a node on without protective devices."""
    seen = {start}
    for node in (front := [start]):
        for line in grid.at[node]:
            if line.id != without and not line.protects and line.to not in seen:
                seen.add(line.to)
                front.append(line.to)
    return front


def _back(design: Design, carried: dict[str, float | None], named: dict[str, set[str]]) -> Iterator[Finding]:
    """Returns of an earthed system: from the sources whose negatives lie on one side to the consumers whose negatives
    lie on the other, over the live side."""
    system, net = design.system, graph(design.system)
    if system.settings.negative != "earthed":
        return
    live = grids(design)[0]
    back = _grid(design, frozenset({"neg"}), [])
    wired = {end for wire in system.conductors.values() for end in (wire.from_node, wire.to_node)}
    for node, lines in back.at.items():
        twin = system.nodes[node].part
        back.at[node] = [
            line
            for line in lines
            if not (line.id.startswith(NEVER) and {node, line.to} <= wired and twin == system.nodes[line.to].part)
        ]
    gives = {part: ends.neg for part, ends in (*net.consumers.items(), *net.outputs.items()) if ends.current == "dc"}
    sources = {node: gives.get(system.nodes[node].part, "") for node in live.gives}
    bodies = {node for node in back.at if (part := system.parts.get(system.nodes[node].part)) and part.roles.grounds}
    warned = reported(design, "CP435")
    sinks: dict[str, list[str]] = {}
    charged = [e for part, e in net.outputs.items() if isinstance(system.parts[part], Battery)]
    for ends in (*(e for e in net.consumers.values() if e.current == "dc"), *charged):
        if ends.neg in back.at:
            sinks.setdefault(ends.neg, []).append(ends.pos)
    whole = Groups[str]()
    for node, lines in back.at.items():
        for line in lines:
            whole.join(node, line.to)
    back_of = {node: whole.root(node) for node in back.at}
    for wire in system.conductors.values():
        run = system.runs[wire.run]
        limit = carried.get(run.id)
        if wire.from_node not in back.at or run.role != "run" or run.earth or limit is None:
            continue
        small = _parted(back, wire)
        if small is None:
            continue
        apart = {back_of[node] for node in (wire.from_node, wire.to_node)}
        within = {node for node in sources.values() if node in small}
        beyond = {n for n in sources.values() if n in back.at and n not in small and back_of[n] in apart}
        for inside, giving_at in ((True, beyond), (False, within)):
            if not giving_at:
                continue
            negatives = small if inside else [n for n in sinks if n not in small and back_of[n] in apart]
            taking = [pos for node in negatives for pos in sinks.get(node, ())]
            giving = {node: amperes for node, amperes in live.gives.items() if sources[node] in giving_at}
            amperes = live.flow(taking, gives=giving)
            stated = [d for d in design.runs[run.id].protected_by if d not in named.get(run.id, ())]
            for device in stated if amperes > 0.0 else ():
                shut = Grid({n: [_shut(line, device) for line in at] for n, at in live.at.items()}, live.gives)
                if shut.flow(taking, gives=giving) < amperes:
                    named.setdefault(run.id, set()).add(device)
            here = [body for body in bodies if (body in small) == inside and back_of[body] in apart]
            if here:
                # Every short to the body comes back here, wherever it is.
                shorts = (live.flow([node], gives=giving) for node in live.at)
                worst = max((short for short in shorts if short < math.inf), default=0.0)
                amperes = max(amperes, 0.0 if run.id in warned else worst)
                named.setdefault(run.id, set()).update(d.id for d in system.devices.values() if d.roles.protects)
            if amperes < math.inf and exceeds(amperes, limit):
                yield make("CP595", run.id, carries=limit, come_back=amperes)


def _shut(line: Line, device: str) -> Line:
    return Line(line.to, line.id, 0.0, line.protects, line.conductor) if line.id == device else line


def _parted(back: Grid, wire: Conductor) -> set[str] | None:
    """The returns that hang together with one end of a conductor without it, those of the smaller side; None where both
    ends hang together all the same. The sides are spread by turns until one ends."""
    sides = ({wire.from_node}, {wire.to_node})
    fronts = ([wire.from_node], [wire.to_node])
    done = [0, 0]
    while True:
        for seen, front, other, turn in ((sides[0], fronts[0], sides[1], 0), (sides[1], fronts[1], sides[0], 1)):
            if done[turn] == len(front):
                return seen
            for line in back.at[front[done[turn]]]:
                if line.id == wire.id or line.to in seen:
                    continue
                if line.to in other:
                    return None
                seen.add(line.to)
                front.append(line.to)
            done[turn] += 1
