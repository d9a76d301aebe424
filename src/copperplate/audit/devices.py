"""Every ungrounded conductor behind a device that it carries; every device large enough, near enough, small enough."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from copperplate.audit.ratings import rating_a
from copperplate.audit.reach import LINES, SourceTree, Way, feeding, pushing, reach, supplying, ungrounded, ways
from copperplate.audit.returns import check_returns
from copperplate.audit.wires import ampacity_a, loaded_together
from copperplate.findings import Finding, make
from copperplate.model import Battery, Panel
from copperplate.model.results import Design
from copperplate.standards import profile

SLACK = 1.0001


def check_devices(design: Design) -> list[Finding]:
    """Fuse above its conductor, fuse below its current, fuse too far, fuse above what makers and panels allow."""
    found = [*_ratings(design)]
    at = ways(design.system, ungrounded(design.system))
    trees = [reach(design.system, at, source, node) for source, node in feeding(design.system)]
    together = loaded_together(design)
    carried = {run.id: ampacity_a(design, run, together[run.id]) for run in design.system.runs.values()}
    entering: dict[str, dict[str, dict[str, None]]] = {}
    for tree in trees:
        for conductor, node in tree.entered.items():
            entering.setdefault(conductor, {}).setdefault(node, {})[tree.device[conductor]] = None
            if not tree.device[conductor]:
                found += _bare(design, at, tree, conductor, carried)
    for conductor, sides in entering.items():
        run = design.system.conductors[conductor].run
        limit = carried[run]
        for devices in sides.values():
            passed = _sum(design, devices)
            if limit is None or passed <= limit * SLACK or short(design, at, trees, conductor, limit):
                continue
            found.append(make("CP595", run, carries=limit, before=list(filter(None, devices)), passed=passed))
            break
    passes = {c: max(_sum(design, devices) for devices in sides.values()) for c, sides in entering.items()}
    ends = {c: [onward(design, at, c, node) for node in sides] for c, sides in entering.items() if not passes[c]}
    passes |= {c: max(_sum(design, devices) for _, devices, _ in behind) for c, behind in ends.items()}
    found += check_returns(design, passes, carried)
    found += _lines(design, carried)
    found += _pushed(design, at, carried, {node for tree in trees for node in tree.behind})
    found += _small(design, trees)
    return list(dict.fromkeys(found))


def _lines(design: Design, carried: dict[str, float | None]) -> list[Finding]:
    """AC lines: each carries the device before it, or all that its supply gives where none stands there."""
    found: list[Finding] = []
    at = ways(design.system, LINES)
    for source, node, amperes in supplying(design.system):
        tree = reach(design.system, at, source, node)
        for conductor, device in tree.device.items():
            run = design.system.conductors[conductor].run
            limit = carried[run]
            passed = (rating_a(design, device) or 0.0) if device else amperes
            if limit is not None and passed > limit * SLACK:
                found.append(make("CP595", run, carries=limit, before=[device or source], passed=passed))
    return found


def _pushed(design: Design, at: dict[str, list[Way]], carried: dict[str, float | None], fed: set[str]) -> list[Finding]:
    """Conductors that only sources of limited current reach: each carries the device before it, or all that its source
    gives. `fed`: nodes that a source of large fault current reaches, and with them all that hangs together there."""
    found: list[Finding] = []
    for source, node, amperes in pushing(design.system):
        if node in fed:
            continue
        for conductor, device in reach(design.system, at, source, node).device.items():
            run = design.system.conductors[conductor].run
            limit, passed = carried[run], (rating_a(design, device) or 0.0) if device else amperes
            if limit is not None and passed > limit * SLACK:
                found.append(make("CP595", run, carries=limit, before=[device or source], passed=passed))
    return found


def _small(design: Design, trees: list[SourceTree]) -> list[Finding]:
    """The largest device before a small conductor, where the rules set one whatever its ampacity (NEC 240.4(D))."""
    rules, system, found = profile(design.profile), design.system, []
    lines = ways(system, LINES)
    for tree in (*trees, *(reach(system, lines, source, node) for source, node, _ in supplying(system))):
        for conductor, device in tree.device.items():
            run = system.runs[system.conductors[conductor].run]
            result, rating = design.runs.get(run.id), rating_a(design, device) if device else None
            if result is None or result.size is None or rating is None or result.parallel > 1:
                continue
            cap = rules.device_cap(result.size, run.current)
            own = min((r for d in run.device_ids if (r := rating_a(design, d)) is not None), default=rating)
            if cap is not None and min(own, rating) > cap.value * SLACK:
                found.append(make("CP595", device, run=run.id, size=result.size.label, cap=cap.value, rating=rating))
    return found


def _sum(design: Design, devices: Iterable[str]) -> float:
    return sum(rating_a(design, device) or 0.0 for device in devices if device)


def _ratings(design: Design) -> Iterator[Finding]:
    """Each device against its current, the ways of panels against the largest that they take."""
    for name, device in design.system.devices.items():
        result = design.devices.get(name)
        if result is None:
            continue
        rating = result.rating.rating_a
        needed = max([result.rating.needs_a.value, *map(abs, result.current_a.values())])
        if device.roles.protects and rating is None:
            yield make("CP595", name, no_rating=True)
        elif rating is not None and rating < needed / SLACK:
            yield make("CP595", name, needed=needed, rating=rating)
        panel = design.system.parts.get(device.panel)
        takes_a = panel.way_max_a if isinstance(panel, Panel) else None
        if takes_a is not None and rating is not None and rating > takes_a * SLACK:
            yield make("CP595", name, rating=rating, way_takes=takes_a)


def onward(design: Design, at: dict[str, list[Way]], conductor: str, start: str) -> tuple[float, list[str], bool]:
    """(longest wire from `start` through a conductor to the next devices, those devices, whether an end without one
    is reached), never through the place it came from."""
    first = design.system.conductors[conductor]
    far = first.to_node if first.from_node == start else first.from_node
    seen, longest, open_end = {start, far}, first.length_m, False
    devices: dict[str, None] = {}
    front = [(far, first.length_m)]
    for node, metres in front:
        longest = max(longest, metres)
        ways_on = 0
        for way in at[node]:
            if way.conductor == conductor:
                continue
            ways_on += 1
            if way.device and design.system.devices[way.device].roles.protects:
                devices[way.device] = None
            elif way.to not in seen:
                seen.add(way.to)
                front.append((way.to, metres + way.metres))
        part = design.system.parts.get(design.system.nodes[node].part)
        if not ways_on or (part is not None and not part.roles.splits):
            open_end = True
    return longest, list(devices), open_end


def _bare(
    design: Design, at: dict[str, list[Way]], tree: SourceTree, conductor: str, carried: dict[str, float | None]
) -> list[Finding]:
    """A conductor that a source reaches without a device: one must follow within the profile's distance, and where
    several do, it carries what they let pass together."""
    system = design.system
    start = tree.entered[conductor]
    metres, devices, open_end = onward(design, at, conductor, start)
    run = system.runs[system.conductors[conductor].run]
    origin = "battery" if isinstance(system.parts[tree.source], Battery) else "bar"
    sheath = system.conductors[conductor].sheath
    limit = profile(design.profile).placement(origin, sheath).value  # type: ignore[arg-type]
    if open_end:
        return [make("CP595", run.id, conductor=conductor, source=tree.source)]
    before = tree.since_m[start]
    if before + metres > limit * SLACK + 1e-9:
        metres += before
        return [make("CP595", run.id, conductor=conductor, source=tree.source, metres=metres, limit=limit)]
    passed, limit_a = sum(rating_a(design, device) or 0.0 for device in devices), carried[run.id]
    if limit_a is not None and passed > limit_a * SLACK:
        return [make("CP595", run.id, carries=limit_a, behind=devices, passed=passed)]
    return []


def short(design: Design, at: dict[str, list[Way]], trees: list[SourceTree], conductor: str, limit: float) -> bool:
    """Whether a conductor may rely on the device at its far end: it begins at a bar and reaches that device within
    the profile's distance without branching, and carries that device's rating."""
    system = design.system
    allowed = profile(design.profile).placement("bar", system.conductors[conductor].sheath).value
    for tree in trees:
        if conductor not in tree.entered:
            continue
        start = tree.entered[conductor]
        node, metres = start, tree.bar_m[start] if len(at[start]) < 3 and not system.nodes[start].part else 0.0
        longest, devices, open_end = onward(design, at, conductor, node)
        if open_end or len(devices) != 1 or metres + longest > allowed * SLACK + 1e-9:
            return False
        rating = rating_a(design, devices[0])
        if rating is None or rating > limit * SLACK:
            return False
    return True
