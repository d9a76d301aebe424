"""Every device large enough for its current and small enough for its panel and its conductor."""

from __future__ import annotations

from collections.abc import Iterator

from copperplate.audit.ratings import rating_a
from copperplate.findings import Finding, make
from copperplate.model import Panel
from copperplate.model.results import Design
from copperplate.standards import profile

SLACK = 1.0001


def check_devices(design: Design) -> list[Finding]:
    """Fuse below its current, fuse above what panels allow, and above what the rules allow on a small conductor."""
    return list(dict.fromkeys([*_ratings(design), *_small(design)]))


def _small(design: Design) -> Iterator[Finding]:
    """The largest device before a small conductor, where the rules set one whatever its ampacity (NEC 240.4(D))."""
    rules, system = profile(design.profile), design.system
    for run in system.runs.values():
        result = design.runs.get(run.id)
        if result is None or result.size is None or result.parallel > 1:
            continue
        cap = rules.device_cap(result.size, run.current)
        own = [(a, d) for d in run.device_ids or result.protected_by if (a := rating_a(design, d)) is not None]
        rating, device = min(own, default=(0.0, ""))
        if cap is not None and rating > cap.value * SLACK:
            yield make("CP595", device, run=run.id, size=result.size.label, cap=cap.value, rating=rating)


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
