"""What makers advise against what is laid."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from copperplate.findings import Finding, make
from copperplate.model import Advice
from copperplate.sizing.chosen import CLOSE, ChosenSizes
from copperplate.sizing.makers import MakersSize
from copperplate.sizing.rules import Rules
from copperplate.standards import OutsideTable
from copperplate.units import exceeds, show, suffices


def makers_findings(chosen: ChosenSizes, r: Rules) -> Iterator[Finding]:
    """What makers advise against what is laid."""
    g, run = chosen.gauges[r.run.id], r.run
    if g is None:
        return
    area = g.area_mm2 * run.parallel
    for maker in r.makers:
        place = "advised" if maker.advice is not None else "comparable"
        fitting = next((o.size.label for o in r.gauges if suffices(o.area_mm2 * run.parallel, maker.area_mm2)), None)
        shared: dict[str, Any] = {
            "span": run.size_span or run.span,
            "at": {"maker": maker.part.spans.get(place, maker.part.span)},
            "part": maker.part.id,
            "advised": maker.size.label,
            "laid": g.size.laid(run.parallel),
        }
        smaller = run.size is not None and not suffices(area, maker.area_mm2)
        if maker.advice is None:
            if smaller:
                yield make("CP507", run.id, fitting=fitting, read_from=maker.leaflet or None, **shared)
        elif not maker.applies:
            yield make("CP504", run.id, **_reach(chosen, r, maker.advice), **shared)
        elif exceeds(area, maker.area_mm2) and (refusal := _refusal(chosen, r, maker)) is not None:
            yield make("CP502", run.id, **refusal, **shared)
        elif smaller:
            yield make("CP503", run.id, fitting=fitting, **shared)


def _reach(chosen: ChosenSizes, r: Rules, advice: Advice) -> dict[str, Any]:
    """The length to which a maker advises, and that of the run."""
    unit = chosen.system.settings.length_unit
    return {"reach": show(advice.to_length_m or 0.0, unit), "length": show(r.run.length_m, unit)}


def _refusal(chosen: ChosenSizes, r: Rules, maker: MakersSize) -> dict[str, Any] | None:
    """Why the advised size is not taken, as the row names it; None where a stated run could as well have it."""
    try:
        size = chosen.profile.at_least(maker.area_mm2, r.series)
    except OutsideTable:
        return {"outside": True}
    g = r.of(size)
    refused = next((rule for rule in r.refused_by(g) if rule not in ("advice", "comparable")), None)
    if refused in ("ampacity", "protection"):
        if refused == "protection":
            return {"good": g.ampacity_a * r.run.parallel, "protect": r.requirement.protect_a}
        before = r.too_little_before(g)
        carries_a = r.requirement.unfactored_a if before else r.requirement.carries_a
        return {"good": (g.unfactored_a if before else g.ampacity_a) * r.run.parallel, "carries": carries_a}
    if refused is not None:
        return {refused: True}
    trial = chosen.trial(r.run.id, g)
    over = next((p for p in chosen.paths(r.run.id) if not chosen.holds(p, trial)), None)
    if over is None:
        return None if r.run.size is not None else {}
    lost = 100 * chosen.drops.judged_v(over, trial) / over.ends.nominal_v
    allowed = 100 * chosen.sizes.budget_v[over.load] / over.ends.nominal_v
    return {"load": over.load, **({"lost": lost, "allowed": allowed} if exceeds(lost, allowed, CLOSE) else {})}
