"""How much longer each run could be, and how much more current it could take, before the next size is needed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from copperplate.model.results import Rating
from copperplate.sizing.laying import Gauge
from copperplate.sizing.rules import Rules
from copperplate.sizing.settling import hot_ohm_per_m, judged_v, stand_in, start_v
from copperplate.sizing.ways import Passage
from copperplate.standards import Profile


@dataclass(frozen=True)
class Use:
    """One load's way as settled: volts judged on it, and what is left of what it was allowed; `start_left_v` what is
    left of its window while it starts (None where it states no start, or none that can be held), and `warmer` the
    most by which warm copper on it exceeds the judged resistance."""

    passage: Passage
    judged_v: float
    left_v: float
    start_left_v: float | None = None
    warmer: float = 1.0


@dataclass(frozen=True)
class Uses:
    """The ways of all loads as settled; by run the ways through it, each with the run's ampere-metres."""

    ways: tuple[Use, ...]
    through: Mapping[str, list[tuple[int, float]]]
    least_left: Mapping[str, float]
    """By run: the least volts left of the ways through it."""
    ohm_to: Mapping[str, float]
    """By run: judged resistance from the source to its far end and back, of what all its ways share."""


def uses(
    rules: Mapping[str, Rules],
    gauges: Mapping[str, Gauge | None],
    passages: tuple[Passage, ...],
    budget_v: Mapping[str, float],
    metres: Mapping[str, float],
) -> Uses:
    """What every way uses of its budget. `metres` are of each run's live conductors over those in parallel."""
    ways: list[Use] = []
    through: dict[str, list[tuple[int, float]]] = {}
    for number, passage in enumerate(passages):
        lost = judged_v(rules, gauges, passage)
        left, start = budget_v[passage.load] - lost, passage.start
        start_left = start.allowed_v - start_v(rules, gauges, start) if start is not None else -1.0
        if start_left >= 0.0:
            sized = [(rules[run], gauges[run] or stand_in(rules[run])) for run, _ in passage.runs if run in rules]
            warmer = max((hot_ohm_per_m(r, g) / g.judged.value for r, g in sized), default=1.0)
            ways.append(Use(passage, lost, left, start_left, warmer))
        else:
            ways.append(Use(passage, lost, left))
        for run, ampere_metres in passage.runs:
            through.setdefault(run, []).append((number, ampere_metres))
    least_left = {run: min(ways[n].left_v for n, _ in entries) for run, entries in through.items()}
    ohm_to: dict[str, float] = {}
    for run, entries in through.items():
        shared = [r for r, _ in ways[entries[0][0]].passage.runs if len(through[r]) >= len(entries) and r in rules]
        ohm_to[run] = sum(metres[r] * (gauges[r] or stand_in(rules[r])).judged.value for r in shared)
    return Uses(tuple(ways), through, least_left, ohm_to)


def spare_length_m(r: Rules, g: Gauge, used: Uses) -> float | None:
    """Metres that the run could be longer, one way, until a budget is used up; None where no budget binds it."""
    spare: float | None = None
    for number, ampere_metres in used.through.get(r.run.id, ()):
        per_metre = ampere_metres * g.judged.value / r.run.length_m if r.run.length_m else 0.0
        if per_metre > 0.0:
            more = max(used.ways[number].left_v, 0.0) / per_metre
            spare = more if spare is None else min(spare, more)
        start, start_left = used.ways[number].passage.start, used.ways[number].start_left_v
        if start is not None and start_left is not None and r.run.length_m:
            starting = dict(start.runs).get(r.run.id, 0.0) * hot_ohm_per_m(r, g) / r.run.length_m
            if starting > 0.0:
                spare = start_left / starting if spare is None else min(spare, start_left / starting)
    return spare


def spare_current_a(profile: Profile, r: Rules, g: Gauge, used: Uses, ratings: Mapping[str, Rating]) -> float | None:
    """Amperes that the run could carry more: until its ampacity, the largest device that it may have, or a budget
    on the way of its current is used up. None where its ampacity is not known."""
    if not g.ampacity_a:
        return None
    need, run = r.need, r.run
    ampacity = g.ampacity_a * run.parallel
    design = need.design.value
    factor = need.carries_a / design if design and need.carries_a else 1.0
    spare = (ampacity - need.carries_a) / factor
    share = profile.device_share(r.nominal_v).value
    for device in need.protected_by:
        rating = ratings.get(device)
        if rating is None or rating.rating_a is None:
            continue
        own = need.factored_a / design if design and need.factored_a else 1.0
        fitting = [a for a in profile.family(rating.family).ratings_a if a <= ampacity * share * (1 + 1e-9)]
        top = rating.rating_a if rating.stated else max(fitting, default=rating.rating_a)
        spare = min(spare, (top - rating.needs_a.value) / own)
    entries = used.through.get(run.id, ())
    if entries:
        for above, _ in used.ways[entries[0][0]].passage.runs:
            if above in used.ohm_to and len(used.through[above]) >= len(entries) and used.ohm_to[above] > 0.0:
                spare = min(spare, used.least_left[above] / used.ohm_to[above])
        ohm = used.ohm_to.get(run.id, 0.0)
        for number, _ in entries if len(entries) > 1 else ():
            way = used.ways[number]
            if way.start_left_v is not None and ohm > 0.0:
                spare = min(spare, way.start_left_v / (ohm * way.warmer))
    return max(spare, 0.0)
