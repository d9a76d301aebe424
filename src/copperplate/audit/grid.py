"""One pole as a flow sees it, and the largest flow by its definition.

The flow is found by augmenting paths over the whole pole (L. R. Ford and D. R. Fulkerson, 1956); nothing is known of
blocks or messages. Dead ends without a source are left aside, for nothing comes from them.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from copperplate.audit.lines import kept_off
from copperplate.audit.reach import LINES, feeding, handed_through, pushing, supplying, ungrounded
from copperplate.model import Alternator, Conductor, Solar
from copperplate.model.results import Design
from copperplate.standards import profile

NEVER = "\0"
"""A line that no line of a plate is."""


@dataclass(frozen=True, slots=True)
class Line:
    """One way out of a node: to where, by which conductor or device, amperes that pass for ever."""

    to: str
    id: str
    amperes: float
    protects: bool = False
    conductor: Conductor | None = None


class Used(dict[tuple[str, str, str], float]):
    """What flows already: by (node, line, node), amperes that come to the first from the second."""

    def room(self, here: str, line: Line) -> float:
        """How much more may come to a node by a line."""
        free = line.amperes - self.get((here, line.id, line.to), 0.0)
        return free if free > 1e-9 * max(1.0, min(line.amperes, 1e9)) else 0.0

    def add(self, here: str, line: Line, amperes: float) -> None:
        for ends, more in (((here, line.id, line.to), amperes), ((line.to, line.id, here), -amperes)):
            self[ends] = self.get(ends, 0.0) + more


@dataclass(eq=False)
class Grid:
    """Nodes with the lines at each. `turns` is what sources give at them, amperes (infinite without a limit): all
    sources of direct current together, supplies of alternating current one at a time; `shut` are the devices that keep
    the others off meanwhile."""

    at: dict[str, list[Line]]
    turns: list[dict[str, float]]
    shut: list[set[str]]
    _into: dict[tuple[str, str], float] = field(default_factory=dict)
    _brings: dict[tuple[str, str, str], bool] = field(default_factory=dict)

    @cached_property
    def sources(self) -> set[str]:
        return {node for gives in self.turns for node, amperes in gives.items() if amperes > 0.0}

    @cached_property
    def onward(self) -> dict[str, list[Line]]:
        """The lines at each node by which something may come, those from near a source first: ends without a source
        are taken away until none is left, and nothing comes from one that was taken away before."""
        lines = {node: len(here) for node, here in self.at.items()}
        ends = [node for node, count in lines.items() if count <= 1 and node not in self.sources]
        taken: dict[str, int] = {}
        for node in ends:
            taken[node] = len(taken)
            for line in self.at[node]:
                lines[line.to] -= 1
                if lines[line.to] == 1 and line.to not in taken and line.to not in self.sources:
                    ends.append(line.to)
        near = dict.fromkeys(self.sources, 0)
        for node in (front := list(near)):
            for line in self.at[node]:
                if line.to not in near:
                    near[line.to] = near[node] + 1
                    front.append(line.to)
        last, far = len(taken), len(near)
        found: dict[str, list[Line]] = {}
        for node, here in self.at.items():
            order = taken.get(node, last)
            found[node] = [line for line in here if line.to in near and taken.get(line.to, last) >= order]
            found[node].sort(key=lambda line: near.get(line.to, far))
        return found

    def into(self, node: str, without: str) -> float:
        """What comes to a node for ever without a line, of supplies that take turns the most."""
        if (node, without) not in self._into:
            turns = zip(self.turns, self.shut, strict=True)
            flows = (self.flow([node], gives, {without, *shut})[0] for gives, shut in turns)
            self._into[node, without] = max(flows, default=0.0)
        return self._into[node, without]

    def brings(self, node: str, line: Line) -> bool:
        """Whether something comes to a node by a line: a source is reached from its other end without the node."""
        key = (node, line.id, line.to)
        if key not in self._brings:
            seen, ahead = {node, line.to}, [line.to] if line.amperes > 0.0 and line in self.onward[node] else []
            while ahead and ahead[-1] not in self.sources:
                lines = reversed(self.onward[ahead.pop()])
                onward = [other.to for other in lines if other.to not in seen and other.amperes > 0.0]
                seen.update(onward)
                ahead += onward
            self._brings[key] = bool(ahead)
        return self._brings[key]

    def flow(
        self, targets: Iterable[str], gives: Mapping[str, float], without: Collection[str] = ()
    ) -> tuple[float, Used]:
        """The largest flow from sources to some nodes together, without some lines: amperes, infinite without a limit,
        and how it flows."""
        left, used, total = dict(gives), Used(), 0.0
        for target in dict.fromkeys(targets):
            more = math.inf
            while more > 0.0 and total < math.inf:
                more = self._more(target, left, used, without)
                total += more
        return total, used

    def cut(self, targets: Iterable[str], used: Used) -> frozenset[str]:
        """The devices of the minimum cut of a largest flow to some nodes, of several the nearest to them."""
        front = list(dict.fromkeys(targets))
        seen = set(front)
        for node in front:
            for line in self.at[node]:
                if line.to not in seen and used.room(node, line):
                    seen.add(line.to)
                    front.append(line.to)
        return frozenset(line.id for node in front for line in self.at[node] if line.protects and line.to not in seen)

    def _more(self, target: str, left: dict[str, float], used: Used, without: Collection[str]) -> float:
        """How much more comes to a node along paths against the current to sources that have something left. One path
        is followed after the other, back to where it is full, and no node is looked at twice."""
        total, steps, waiting, seen = 0.0, list[tuple[str, Line]](), [iter(self.onward[target])], {target}
        while waiting:
            node = steps[-1][1].to if steps else target
            if left.get(node, 0.0) > 0.0:
                amperes = min(left[node], min((used.room(*step) for step in steps), default=math.inf))
                if amperes == math.inf:
                    return math.inf
                left[node] -= amperes
                total += amperes
                for step in steps:
                    used.add(*step, amperes)
                free = next((number for number, step in enumerate(steps) if not used.room(*step)), len(steps))
                del steps[free:], waiting[free + 1 :]
                continue
            for line in waiting[-1]:
                if line.to not in seen and line.id not in without and used.room(node, line):
                    seen.add(line.to)
                    steps.append((node, line))
                    waiting.append(iter(self.onward[line.to]))
                    break
            else:
                waiting.pop()
                del steps[-1:]
        return total


def grids(design: Design) -> tuple[Grid, Grid]:
    """The ungrounded side of the direct current, and the lines of the alternating current."""
    rules, system = profile(design.profile), design.system
    at = lines_at(design, ungrounded(system))
    direct: dict[str, float] = {}
    for source, node in feeding(system):
        part = system.parts[source]
        runaway = rules.figures["generator-fault"].value if isinstance(part, Alternator) else math.inf
        amperes = (part.current_a or 0.0) * runaway if isinstance(part, Alternator) else math.inf
        direct[node] = direct.get(node, 0.0) + amperes
    unlimited = {part for part, _ in feeding(system)}
    for source, node, amperes in pushing(system):
        if source not in unlimited and node in at:
            bright = rules.figures["source-solar"].value if isinstance(system.parts[source], Solar) else 1.0
            direct[node] = direct.get(node, 0.0) + amperes * bright
    by_source: dict[str, dict[str, float]] = {}
    for source, node, amperes in supplying(system):
        by_source.setdefault(source, {})[node] = amperes
    shut = [kept_off(design, source, list(nodes)) for source, nodes in by_source.items()]
    lines = lines_at(design, LINES, handed_through(system))
    return Grid(at, [direct], [set()]), Grid(lines, list(by_source.values()), shut)


def lines_at(
    design: Design, poles: frozenset[str], joins: Iterable[tuple[str, str]] = ()
) -> dict[str, list[Line]]:
    """The lines at each node of some poles, all switches closed. `joins` lead from their first node to their second."""
    system = design.system
    at: dict[str, list[Line]] = {node.id: [] for node in system.nodes.values() if node.pole in poles}

    def join(
        a: str, b: str, name: str, amperes: float, protects: bool = False, wire: Conductor | None = None,
        one_way: bool = False,
    ) -> None:
        if a in at and b in at:
            # What comes to the first end of a diode does not come from its second.
            at[a].append(Line(b, name, 0.0 if one_way else amperes, protects, wire))
            at[b].append(Line(a, name, amperes, protects, wire))

    for wire in system.conductors.values():
        if system.runs[wire.run].role == "run":
            join(wire.from_node, wire.to_node, wire.id, math.inf, False, wire)
    for device in system.devices.values():
        result, protects = design.devices.get(device.id), device.roles.protects
        rating = result.rating.rating_a if result is not None and protects else None
        for a, b in device.legs:
            join(a, b, device.id, math.inf if rating is None else rating, protects, one_way=device.roles.one_way)
    for number, (a, b) in enumerate(system.ties):
        join(a, b, f"{NEVER}{number}", math.inf)
    for number, (inlet, outlet) in enumerate(joins):
        # A path is sought against the current: from the outlet to the inlet, and never back.
        if inlet in at:
            at[outlet].append(Line(inlet, f"{NEVER}in{number}", math.inf))
            at[inlet].append(Line(outlet, f"{NEVER}in{number}", 0.0))
    return at
