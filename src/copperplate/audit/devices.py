"""Every device large enough for its current and small enough for its panel and its conductor."""

from __future__ import annotations

from collections.abc import Iterator

from copperplate.audit.ratings import rating_a
from copperplate.audit.reach import LINES, SourceTree, feeding, reach, supplying, ungrounded, ways
from copperplate.findings import Finding, make
from copperplate.model import Panel
from copperplate.model.results import Design
from copperplate.standards import profile

SLACK = 1.0001


def check_devices(design: Design) -> list[Finding]:
    """Fuse below its current, fuse above what panels allow, and above what the rules allow on a small conductor."""
    at = ways(design.system, ungrounded(design.system))
    trees = [reach(design.system, at, source, node) for source, node in feeding(design.system)]
    return list(dict.fromkeys([*_ratings(design), *_small(design, trees)]))


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


def _ratings(design: Design) -> Iterator[Finding]:
    """Each device against its current, the ways of panels against the largest that they take."""
    for name, device in design.system.devices.items():
        result = design.devices.get(name)
        if result is None:
            continue
        rating = result.rating.rating_a
        flows = [*map(abs, result.current_a.values())]
        needed = max([result.rating.needs_a.value, *flows] if device.roles.protects else flows, default=0.0)
        if device.roles.protects and rating is None:
            yield make("CP595", name, no_rating=True)
        elif rating is not None and rating < needed / SLACK:
            yield make("CP595", name, needed=needed, rating=rating)
        panel = design.system.parts.get(device.panel)
        takes_a = panel.way_max_a if isinstance(panel, Panel) else None
        if takes_a is not None and rating is not None and rating > takes_a * SLACK:
            yield make("CP595", name, rating=rating, way_takes=takes_a)
