"""Which devices a run relies on: those before each of its conductors, those close behind it, those of its positives."""

from __future__ import annotations

import math
from collections.abc import Mapping

from copperplate.audit.devices import onward, short
from copperplate.audit.reach import LINES, feeding, pushing, reach, supplying, ungrounded, ways
from copperplate.audit.returns import by_source, pushed, serving
from copperplate.audit.rings import rings
from copperplate.findings import Finding, make
from copperplate.model.results import Design

NEAR = 1.0001
Relied = dict[str, dict[str, None]]
"""Devices by conductor; none for a conductor that nothing but what limits its own current feeds."""


def check_relied(design: Design) -> list[Finding]:
    """No run is said to be protected by a device that it does not rely on, nor by none where it relies on one."""
    system = design.system
    live, besides = _live(design)
    returning = [_least(design, live, marks) for marks in (serving(design), pushed(design))]
    alone = [_least(design, live, marks) for marks in by_source(design)]
    found: list[Finding] = []
    for run in system.runs.values():
        result = design.runs.get(run.id)
        if result is None or result.size is None or run.role == "link" or run.earth:
            continue
        said, relied = dict.fromkeys(result.protected_by), dict[str, None]()
        for conductor in run.conductor_ids:
            relied |= live.get(conductor, {})
        if not any(conductor in live for conductor in run.conductor_ids):
            for conductor in run.conductor_ids:
                relied |= next((least[conductor] for least, _ in returning if conductor in least), {})
        allowed = relied | {d: None for c in run.conductor_ids for d in besides.get(c, {})}
        # The neutral of two lines serves fewer consumers than they do.
        neutrals = [c for c in run.conductor_ids if system.conductors[c].pole == "n"]
        back = [c for c in run.conductor_ids if c in neutrals or not any(one in live for one in run.conductor_ids)]
        allowed |= {d: None for c in back for _, all_ in (*returning, *alone) for d in all_.get(c, {})}
        wrong = [device for device in said if device not in allowed]
        if wrong:
            found.append(make("CP599", run.id, not_protecting=wrong[0]))
        elif relied and not said:
            found.append(make("CP599", run.id, protecting=next(iter(relied))))
    return found


def _least(design: Design, live: Relied, marks: Mapping[str, int]) -> tuple[Relied, Relied]:
    """By return conductor: of the devices of the positives that serve the same consumers those that let least pass;
    and all of them that let no more pass one by one."""
    groups: dict[int, list[tuple[float, float, dict[str, None]]]] = {}
    for conductor, devices in live.items():
        ratings = [design.devices[d].rating.rating_a or math.inf for d in devices if d in design.devices]
        if conductor in marks and ratings:
            groups.setdefault(marks[conductor], []).append((sum(ratings), max(ratings), devices))
    least = {mark: min(group, key=lambda one: one[0]) for mark, group in groups.items()}
    any_: dict[int, dict[str, None]] = {
        mark: {d: None for _, most, devices in group if most <= least[mark][0] * NEAR for d in devices}
        for mark, group in groups.items()
    }
    returning = {c: mark for c, mark in marks.items() if c not in live and mark in groups}
    return {c: least[mark][2] for c, mark in returning.items()}, {c: any_[mark] for c, mark in returning.items()}


def _live(design: Design) -> tuple[Relied, Relied]:
    """By conductor that is not grounded: as seen from every source, the device before it, or those behind it where
    none stands before it, or where it is short enough to rely on them; in rings those of every side. Second: what it
    may rely on besides, those behind it where only what limits its own current feeds it."""
    system, found, besides = design.system, Relied(), Relied()
    at, lines = ways(system, ungrounded(system)), ways(system, LINES)
    trees = [reach(system, at, source, node) for source, node in feeding(system)]
    fed = {node for tree in trees for node in tree.behind}
    limited = [reach(system, at, source, node) for source, node, _ in pushing(system) if node not in fed]
    limited += [reach(system, lines, source, node) for source, node, _ in supplying(system)]
    around = rings(design)
    for tree in trees:
        for conductor, device in tree.device.items():
            devices = found.setdefault(conductor, {})
            if not device or short(design, at, trees, conductor, math.inf):
                devices |= dict.fromkeys(onward(design, at, conductor, tree.entered[conductor])[1])
                if device:  # it stands before the short piece all the same
                    besides.setdefault(conductor, {})[device] = None
            elif around is None:
                devices[device] = None
            else:
                part = around.parts.root(tree.entered[conductor])
                devices |= dict.fromkeys(around.feeders.get(part, ()) if part not in around.sources else [device])
    for tree in limited:
        for conductor, device in tree.device.items():
            devices = found.setdefault(conductor, {})
            if device:
                devices[device] = None
                continue
            here = at if tree.entered[conductor] in at else lines
            ends = onward(design, here, conductor, tree.entered[conductor])[1]
            if len(ends) == 1:
                besides.setdefault(conductor, {}).update(dict.fromkeys(ends))
    return found, besides
