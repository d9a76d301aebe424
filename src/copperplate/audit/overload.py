"""Lasting overload by its definitions: what can come into each conductor for ever, the length of each short tap, what
comes back, and by which devices. Loops of returns are not derived here."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Literal

from copperplate.audit.grid import NEVER, Grid, Line, grids, lines_at
from copperplate.audit.reported import reported
from copperplate.audit.wires import ampacity_a, loaded_together
from copperplate.findings import Finding, make
from copperplate.model import Battery, Conductor, Run
from copperplate.model.cranking import cranking
from copperplate.model.graph import graph
from copperplate.model.groups import Groups
from copperplate.model.results import Design
from copperplate.standards import profile
from copperplate.units import exceeds

Duty = tuple[float, frozenset[str]]
"""What a conductor must carry from one side, amperes, and the devices that let so much pass."""


@dataclass(frozen=True)
class Stretch:
    """What lies ahead of a conductor: the first protective devices, the longest way to them or to an end, metres,
    whether there is an end without one, and whether all of it is in a sheath."""

    devices: frozenset[str]
    metres: float
    bare: bool
    sheath: bool


@dataclass
class Overload:
    """A design with its grids, what each run carries, and the nodes behind the devices of panels, which are points of
    a way's run. `duties` gathers, by run, each side with what may be taken for it: one duty, or two where a size of
    our own was taken for a short tap and turned out to carry all that comes; `looped` runs that are not derived."""

    design: Design
    carried: dict[str, float | None]
    ways: set[str]
    duties: dict[str, list[list[Duty]]] = field(default_factory=dict)
    looped: set[str] = field(default_factory=set)

    def rating_a(self, device: str) -> float:
        result = self.design.devices.get(device)
        return (result.rating.rating_a if result is not None else None) or 0.0


def check_overload(design: Design) -> Iterator[Finding]:
    """Each conductor carries what can come into it for ever, or lies on a short tap and carries what the devices ahead
    of it let pass; and each run is stated to be protected by the devices that let the most pass."""
    together, system = loaded_together(design), design.system
    carried = {run.id: ampacity_a(design, run, together[run.id]) for run in system.runs.values()}
    exempt = cranking(system) if profile(design.profile).exempts_cranking else frozenset[str]()
    starting = {run.id for run in system.runs.values() if run.conductor_ids and exempt.issuperset(run.conductor_ids)}
    carried |= dict.fromkeys(starting, math.inf)
    ways = {b for device in system.devices.values() if device.panel for _, b in device.legs}
    overload, told = Overload(design, carried, ways), set[str]()
    direct, alternating = grids(design)
    for finding in (*_live(overload, direct), *_live(overload, alternating), *_back(overload, direct)):
        if finding.subject not in told:
            told.add(finding.subject)
            yield finding
    for run in system.runs.values():
        result = design.runs.get(run.id)
        if result is None or result.size is None or run.role == "link" or run.earth:
            continue
        if run.id in told | overload.looped | starting:
            continue
        stated, allowed = frozenset(result.protected_by), _protecting(overload.duties.get(run.id, []))
        if stated not in allowed:
            others = sorted(stated - frozenset().union(*allowed))
            missing = sorted(frozenset().union(*allowed) - stated)
            if others or not missing:
                yield make("CP599", run.id, not_protecting=(others or sorted(stated))[0])
            else:
                yield make("CP599", run.id, protecting=missing[0])


def _protecting(sides: list[list[Duty]]) -> set[frozenset[str]]:
    """The sets of devices that may be stated: those of a side from which most comes. Where that passes no device,
    those of another; where a side has several choices, none may be stated if one of them passes none."""
    most = max((min(amperes for amperes, _ in side) for side in sides), default=0.0)
    largest = {by for side in sides for amperes, by in side if not exceeds(most, amperes) and (by or len(side) > 1)}
    return largest if any(largest) else {by for side in sides for _, by in side} or {frozenset()}


def _live(overload: Overload, grid: Grid) -> Iterator[Finding]:
    design, system, rules = overload.design, overload.design.system, profile(overload.design.profile)
    for wire in system.conductors.values():
        run, limit = system.runs[wire.run], overload.carried.get(wire.run)
        if wire.from_node not in grid.at or wire.to_node not in grid.at or run.role != "run" or limit is None:
            continue
        limit *= rules.figures["device-share"].value
        for start, end in ((wire.from_node, wire.to_node), (wire.to_node, wire.from_node)):
            amperes = grid.into(start, wire.id)
            if amperes <= 0.0:
                continue
            before = _before(grid, start, wire.id)
            most = max(amperes, *(overload.rating_a(d) for d in before if system.devices[d].run == run.id), 0.0)
            duties: list[Duty] = [(most, before)]
            sides = overload.duties.setdefault(run.id, [])
            sides.append(duties)
            exposed = exceeds(most, limit)
            if not exposed and (run.size is not None or frozenset(design.runs[run.id].protected_by) == before):
                continue
            ahead = _ahead(overload, grid, end, wire.id)
            let = sum(overload.rating_a(device) or math.inf for device in ahead.devices)
            if ahead.devices and not ahead.bare and let < amperes:
                duties.append((let, ahead.devices))
            if not exposed:
                continue
            if len(duties) > 1 and not exceeds(let, limit) and _near(overload, grid, wire, start, ahead):
                del duties[0]
                continue
            if amperes == math.inf:
                free = next(node for gives in grid.turns for node, given in gives.items() if given == math.inf)
                yield make("CP595", run.id, conductor=wire.id, source=system.nodes[free].part)
                continue
            if _warned(overload, run, wire.from_node, amperes, most):
                continue
            sources = sorted({system.nodes[node].part for node in grid.sources})
            yield make("CP595", run.id, carries=limit, before=sorted(before) or sources, passed=most)


def _warned(overload: Overload, run: Run, node: str, amperes: float, most: float) -> bool:
    """Whether it is told that a run carries less than comes: of a stated size for several devices together, or within
    what the rules allow of a rating above the ampacity."""
    design, limit = overload.design, overload.carried[run.id] or 0.0
    together = run.size is not None and run.id in reported(design, "CP438")
    share = profile(design.profile).device_share_limit(design.system.nodes[node].nominal_v).value
    by = [f.subject for f in design.findings if f.code == "CP437" and f"`{run.id}`" in f.message]
    single = any(math.isclose(overload.rating_a(device), amperes) for device in by)
    return (together and amperes < math.inf) or (single and not exceeds(most, limit * share))


def _before(grid: Grid, start: str, without: str) -> frozenset[str]:
    """The first protective devices back from a node on, along lines that bring something."""
    seen, found = {start}, set[str]()
    for node in (front := [start]):
        for line in grid.onward[node]:
            if line.id == without or line.to in seen or not grid.brings(node, line):
                continue
            if line.protects:
                found.add(line.id)
            else:
                seen.add(line.to)
                front.append(line.to)
    return frozenset(found)


def _ahead(overload: Overload, grid: Grid, start: str, without: str) -> Stretch:
    """What lies ahead of a node."""
    system, metres, devices = overload.design.system, {start: 0.0}, set[str]()
    bare, sheath = False, True
    for node in (front := [start]):
        part = system.parts.get(system.nodes[node].part)
        onward = [line for line in grid.at[node] if line.id != without]
        if part is not None and not part.roles.splits and node not in overload.ways:
            bare = True
            if not any(line.id.startswith(NEVER) for line in onward):
                continue  # Nothing is handed through it.
        bare |= not onward
        for line in onward:
            if line.protects:
                devices.add(line.id)
                continue
            sheath &= line.conductor is None or line.conductor.sheath
            if line.to not in metres:
                metres[line.to] = metres[node] + (line.conductor.length_m if line.conductor else 0.0)
                front.append(line.to)
    return Stretch(frozenset(devices), max(metres.values()), bare, sheath)


def _near(overload: Overload, grid: Grid, wire: Conductor, start: str, ahead: Stretch) -> bool:
    """Whether every way through a conductor, from where it begins without a device to the last device ahead, is within
    the distance of the rules."""
    system, rules = overload.design.system, profile(overload.design.profile)
    waiting = [(start, wire.id, wire.length_m + ahead.metres, wire.sheath and ahead.sheath)]
    seen = {start}
    while waiting:
        node, came_by, metres, sheathed = waiting.pop()
        part = system.parts.get(system.nodes[node].part)
        if part is not None and node not in overload.ways and (part.roles.bar or not part.roles.splits):
            origin: Literal["battery", "bar"] = "battery" if isinstance(part, Battery) else "bar"
            if exceeds(metres, rules.placement(origin, sheathed).value):
                return False
            continue
        for line in grid.onward[node]:
            if line.id == came_by or line.to in seen or not grid.brings(node, line):
                continue
            if line.protects:
                return False
            limit = overload.carried.get(line.conductor.run) if line.conductor else None
            if line.conductor and limit is not None and not exceeds(grid.into(line.to, line.id), limit):
                if exceeds(metres, rules.placement("bar", sheathed).value):
                    return False
                continue
            seen.add(line.to)
            longer = line.conductor.length_m if line.conductor else 0.0
            whole = sheathed and (line.conductor is None or line.conductor.sheath)
            waiting.append((line.to, line.id, metres + longer, whole))
    return True


def _back(overload: Overload, live: Grid) -> Iterator[Finding]:
    """Returns of an earthed system: from the sources whose negatives lie on one side to the consumers whose negatives
    lie on the other, over the live side."""
    design, system, net = overload.design, overload.design.system, graph(overload.design.system)
    if system.settings.negative != "earthed":
        return
    (given,) = live.turns
    warned = reported(design, "CP435")
    wired = {end for wire in system.conductors.values() for end in (wire.from_node, wire.to_node)}

    def joins(node: str, line: Line) -> bool:
        """Not the common negative inside a converter where both its negatives have conductors."""
        inside = system.nodes[node].part == system.nodes[line.to].part
        return not (line.id.startswith(NEVER) and inside and node in wired and line.to in wired)

    lines = lines_at(design, frozenset({"neg"}))
    back = {node: [line for line in here if joins(node, line)] for node, here in lines.items()}
    gives = {part: ends.neg for part, ends in (*net.consumers.items(), *net.outputs.items()) if ends.current == "dc"}
    sources = {node: gives.get(system.nodes[node].part, "") for node in given}
    sinks: dict[str, list[str]] = {}
    charged = [e for part, e in net.outputs.items() if isinstance(system.parts[part], Battery)]
    for ends in (*(e for e in net.consumers.values() if e.current == "dc"), *charged):
        if ends.neg in back:
            sinks.setdefault(ends.neg, []).append(ends.pos)
    bodies = [node for node in lines if (part := system.parts.get(system.nodes[node].part)) and part.roles.grounds]
    shorts: dict[frozenset[str], tuple[float, set[frozenset[str]]]] = {}
    circuits = [(at, _hanging_together(at)) for at in ((back, lines) if bodies else (back,))]
    for wire in system.conductors.values():
        run, limit = system.runs[wire.run], overload.carried.get(wire.run)
        if wire.from_node not in back or run.role != "run" or run.earth or limit is None:
            continue
        for at, whole in circuits:
            small = _parted(at, wire)
            if small is None:
                overload.looped.update([run.id] if at is back else ())
                continue
            apart = whole.root(wire.from_node)
            beyond = {n for n in sources.values() if n in at and n not in small and whole.root(n) == apart}
            for inside, giving_at in ((True, beyond), (False, {n for n in sources.values() if n in small})):
                giving = {node: amperes for node, amperes in given.items() if sources[node] in giving_at}
                if not giving:
                    continue
                duties: list[Duty] = []
                if at is back:
                    negatives = small if inside else [n for n in sinks if n not in small and whole.root(n) == apart]
                    taking = [pos for node in negatives for pos in sinks.get(node, ())]
                    amperes, used = live.flow(taking, giving)
                    duties = [(amperes, live.cut(taking, used))] if amperes < math.inf else []
                elif any((body in small) == inside and whole.root(body) == apart for body in bodies):
                    # Every short to the body comes back here, wherever it is; what a converter joins inside it too.
                    key = frozenset(giving_at)
                    if key not in shorts:
                        flows = {node: flow for node in live.at if (flow := live.flow([node], giving))[0] < math.inf}
                        worst = max((short for short, _ in flows.values()), default=0.0)
                        least = {node: used for node, (short, used) in flows.items() if not exceeds(worst, short)}
                        shorts[key] = worst, {live.cut([node], used) for node, used in least.items()}
                    worst, cuts = shorts[key]
                    duties = [(worst, cut) for cut in cuts] if worst > 0.0 else []
                amperes = max((each for each, _ in duties), default=0.0)
                if duties and (at is back or run.size is None):
                    overload.duties.setdefault(run.id, []).append(duties)
                told = (at is lines and run.id in warned) or _warned(overload, run, wire.from_node, amperes, amperes)
                if exceeds(amperes, limit) and not told:
                    yield make("CP595", run.id, carries=limit, come_back=amperes)


def _hanging_together(at: dict[str, list[Line]]) -> Groups[str]:
    whole = Groups[str]()
    for node, here in at.items():
        for line in here:
            whole.join(node, line.to)
    return whole


def _parted(back: dict[str, list[Line]], wire: Conductor) -> set[str] | None:
    """The returns that hang together with one end of a conductor without it, those of the smaller side; None where both
    ends hang together all the same. The sides are spread by turns until one ends."""
    sides = ({wire.from_node}, {wire.to_node})
    spread = [_spread(back, wire, side) for side in sides]
    while True:
        for seen, other, turn in ((sides[0], sides[1], spread[0]), (sides[1], sides[0], spread[1])):
            node = next(turn, None)
            if node is None:
                return seen
            if node in other:
                return None


def _spread(back: dict[str, list[Line]], wire: Conductor, seen: set[str]) -> Iterator[str]:
    """The far ends of the lines of a side, one by one; the side grows with them."""
    for node in (front := list(seen)):
        for line in back[node]:
            if line.id != wire.id and line.to not in seen:
                seen.add(line.to)
                front.append(line.to)
            if line.id != wire.id:
                yield line.to
