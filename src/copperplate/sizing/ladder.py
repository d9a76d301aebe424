"""The decision ladder of each run: every candidate size with its verdict by each rule."""

from __future__ import annotations

from collections.abc import Mapping
from math import inf

from copperplate.model import Traced
from copperplate.model.results import Candidate, Rung
from copperplate.sizing.chosen import CLOSE, ChosenSizes
from copperplate.sizing.laying import Gauge
from copperplate.sizing.rules import ALONE, Rule
from copperplate.sizing.rungs import NOT_JUDGED, rung
from copperplate.units import NOISE, exceeds, number

ORDER: tuple[Rule, ...] = (
    "minimum", "ampacity", "protection", "drop", "start", "advice", "comparable", "terminal", "stock",
)  # fmt: skip
"""The rungs of the ladder in the order in which readers see them."""


def candidates(chosen: ChosenSizes, run_id: str) -> tuple[Candidate, ...]:
    """The ladder as far as it tells something: to one size above the one taken, and to the first that a
    terminal refuses for being too large. A stated size that the ladder leaves out stands in its place."""
    r, g = chosen.rules[run_id], chosen.gauges[run_id]
    gauges = list(r.gauges)
    if g is not None and all(o.size != g.size for o in gauges):
        gauges = sorted([*gauges, g], key=lambda o: o.area_mm2)
    last = len(gauges)
    if g is not None:
        last = next(n for n, o in enumerate(gauges) if o.size == g.size) + 2
        if any(high < inf for _, _, _, high in r.ends):
            too_large = [n for n, o in enumerate(gauges) if n >= last and r.refuses("terminal", o)]
            last = (too_large[0] if too_large else len(gauges)) + 1
    weights = ampere_metres_of(chosen, run_id)
    return tuple(_candidate(chosen, run_id, o, weights) for o in gauges[:last])


def ampere_metres_of(chosen: ChosenSizes, run_id: str) -> dict[int, float]:
    """By path: the ampere-metres of the unit that the run is part of."""
    weights: dict[int, float] = {}
    for run in chosen.members(run_id):
        for n, ampere_metres in chosen.uses.through.get(run, ()):
            weights[n] = weights.get(n, 0.0) + ampere_metres
    return weights


def _candidate(chosen: ChosenSizes, run_id: str, g: Gauge, weights: Mapping[int, float]) -> Candidate:
    r, now = chosen.rules[run_id], chosen.gauges[run_id]
    taken = now is not None and g.size == now.size
    rungs: dict[Rule, Rung] = {rule: rung(r, rule, g) for rule in ALONE}
    rungs["drop"] = drop_rung(chosen, run_id, g, weights)
    rungs["start"] = start_rung(chosen, run_id, g)
    return Candidate(g.size, r.run.parallel, tuple(rungs[rule] for rule in ORDER), taken)


def drop_rung(chosen: ChosenSizes, run_id: str, g: Gauge, weights: Mapping[int, float]) -> Rung:
    """The load on this run that is nearest to its budget with this size, everything else as chosen."""
    now = chosen.gauges[run_id]
    if not weights or now is None:
        return NOT_JUDGED["drop"]
    change = g.judged.value - now.judged.value
    nearest, share, lost = -1, -1.0, 0.0
    for n, ampere_metres in weights.items():
        use = chosen.uses.paths[n]
        volts = use.judged_v + ampere_metres * change
        if use.allowed_v > 0.0 and volts / use.allowed_v > share:
            nearest, share, lost = n, volts / use.allowed_v, volts
    if nearest < 0:
        return NOT_JUDGED["drop"]
    path, allowed = chosen.uses.paths[nearest].path, chosen.uses.paths[nearest].allowed_v
    here = weights[nearest] * g.judged.value
    trace = Traced(
        lost, "V", "voltage drop, whole path", "sum of current x judged resistance, out and back",
        (("load", path.load, ""), ("lost", lost, "V"), ("budget", allowed, "V"),
         ("of nominal", 100 * allowed / path.ends.nominal_v, "%"),
         ("here", weights[nearest], "A m"), ("at", g.judged.value * 1000, "mohm/m"),
         *((("elsewhere", lost - here, "V"),) if lost - here > NOISE else ()), *g.judged.inputs),
        g.judged.source, g.judged.status,
    )  # fmt: skip
    shown = f"{number(100 * lost / path.ends.nominal_v)} %"
    return Rung("drop", "refused" if exceeds(share, 1.0, CLOSE) else "ok", shown, trace)


def start_rung(chosen: ChosenSizes, run_id: str, g: Gauge) -> Rung:
    """The motor on the paths through this run that would start lowest in its window with this size, everything
    else as chosen. A start that no size can hold refuses none: a finding tells."""
    trial = chosen.trial(run_id, g)
    lowest: tuple[float, Rung] | None = None
    for path in chosen.paths(run_id):
        start = path.start
        if start is None or chosen.gauges[run_id] is None:
            continue
        lost = chosen.drops.warm_v(start, trial)
        left, works = path.low_v - lost, path.low_v - start.allowed_v
        if lowest is not None and left - works >= lowest[0]:
            continue
        refused = path.load in chosen.sizes.started and exceeds(lost, start.allowed_v, CLOSE)
        trace = Traced(
            left, "V", "voltage at the start", "lowest voltage - starting current x warm resistance, out and back",
            (("load", path.load, ""), ("starting current", start.amperes, "A"), ("works from", works, "V")),
        )  # fmt: skip
        lowest = (left - works, Rung("start", "refused" if refused else "ok", f"{number(left)} V", trace))
    return lowest[1] if lowest is not None else NOT_JUDGED["start"]
