"""How much longer each run could be, and how much more current it could take, and what would bind it then."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import accumulate

from copperplate.model.results import Binding, Rating
from copperplate.sizing.laying import Gauge
from copperplate.sizing.rules import Rules
from copperplate.sizing.settling import hot_ohm_per_m, judged_v, physical_v, stand_in
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

    @property
    def budget(self) -> Binding:
        return Binding("drop", self.passage.load, self.judged_v + self.left_v, "V")

    @property
    def start(self) -> Binding:
        return Binding("start", self.passage.load, self.passage.start.allowed_v if self.passage.start else 0.0, "V")


@dataclass(frozen=True)
class Uses:
    """The ways of all loads as settled; by run the ways through it, each with the run's ampere-metres."""

    ways: tuple[Use, ...]
    through: Mapping[str, list[tuple[int, float]]]
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
        start_left = start.allowed_v - physical_v(rules, gauges, start) if start is not None else -1.0
        if start_left >= 0.0:
            sized = [(rules[run], gauges[run] or stand_in(rules[run])) for run, _ in passage.runs if run in rules]
            warmer = max((hot_ohm_per_m(r, g) / g.judged.value for r, g in sized), default=1.0)
            ways.append(Use(passage, lost, left, start_left, warmer))
        else:
            ways.append(Use(passage, lost, left))
        for run, ampere_metres in passage.runs:
            through.setdefault(run, []).append((number, ampere_metres))
    ohm_to: dict[str, float] = {}
    first_of: dict[int, tuple[list[int], list[float]]] = {}
    for run, entries in through.items():
        first = entries[0][0]
        if first not in first_of:
            above = sorted([(-len(through[r]), r) for r, _ in ways[first].passage.runs if r in rules])
            ohms = accumulate([metres[r] * (gauges[r] or stand_in(rules[r])).judged.value for _, r in above])
            first_of[first] = [count for count, _ in above], [0.0, *ohms]
        counts, sums = first_of[first]
        ohm_to[run] = sums[bisect_right(counts, -len(entries))]
    return Uses(tuple(ways), through, ohm_to)


Margin = tuple[float, Binding]
"""How much more, and what is used up then."""


@dataclass(frozen=True)
class Margins:
    """What the runs have left, as settled: everything else as it is."""

    profile: Profile
    rules: Mapping[str, Rules]
    gauges: Mapping[str, Gauge | None]
    used: Uses
    ratings: Mapping[str, Rating]
    _on_way: dict[int, tuple[list[int], list[Margin | None]]] = field(default_factory=dict)
    _at: dict[str, Margin | None] = field(default_factory=dict)

    def length(self, run_id: str) -> Margin | None:
        """Metres that the run could be longer, one way, until a budget is used up; None where no budget binds it."""
        r, g, used = self.rules[run_id], self.gauges[run_id], self.used
        if g is None or not r.run.length_m:
            return None
        found: list[Margin] = []
        for number, ampere_metres in used.through.get(run_id, ()):
            way = used.ways[number]
            per_metre = ampere_metres * g.judged.value / r.run.length_m
            if per_metre > 0.0:
                found.append((max(way.left_v, 0.0) / per_metre, way.budget))
            start = way.passage.start
            if start is not None and way.start_left_v is not None:
                starting = dict(start.runs).get(run_id, 0.0) * hot_ohm_per_m(r, g) / r.run.length_m
                if starting > 0.0:
                    found.append((way.start_left_v / starting, way.start))
        return min(found, key=_amount, default=None)

    def current(self, run_id: str) -> Margin | None:
        """Amperes that the run could carry more: until its ampacity, the largest device that it may have, or that of
        a run that brings its current, or a budget on the way is used up. None where its ampacity is not known."""
        own = self._own(run_id)
        if own is None:
            return None
        found = [own]
        entries, used = self.used.through.get(run_id, ()), self.used
        if entries:
            first = entries[0][0]
            if first not in self._on_way:
                self._on_way[first] = self._along(first)
            counts, least = self._on_way[first]
            nearest = least[bisect_right(counts, -len(entries))]
            found += [nearest] if nearest is not None else []
        ohm = used.ohm_to.get(run_id, 0.0)
        for number, _ in entries if len(entries) > 1 else ():
            way = used.ways[number]
            if way.start_left_v is not None and ohm > 0.0:
                found.append((way.start_left_v / (ohm * way.warmer), way.start))
        amperes, binding = min(found, key=_amount)
        return max(amperes, 0.0), binding

    def _along(self, way: int) -> tuple[list[int], list[Margin | None]]:
        """Of the runs of a way, by falling number of loads behind them (with a minus): the least margin up to each."""
        used = self.used
        runs = sorted(
            (-len(used.through[run]), place, run) for place, (run, _) in enumerate(used.ways[way].passage.runs)
        )
        least: list[Margin | None] = [None]
        for _, _, run in runs:
            if run not in self._at:
                self._at[run] = self._least_at(run)
            found = [one for one in (least[-1], self._at[run]) if one is not None]
            least.append(min(found, key=_amount, default=None))
        return [count for count, _, _ in runs], least

    def _least_at(self, run_id: str) -> Margin | None:
        """Of what the run itself carries, and of the budgets of all that it feeds."""
        own, used = self._own(run_id) if run_id in self.rules else None, self.used
        if used.ohm_to.get(run_id, 0.0) <= 0.0:
            return own
        lowest = used.ways[min([n for n, _ in used.through[run_id]], key=lambda n: used.ways[n].left_v)]
        budget = lowest.left_v / used.ohm_to[run_id], lowest.budget
        return budget if own is None else min(own, budget, key=_amount)

    def _own(self, run_id: str) -> Margin | None:
        """Until the ampacity of the run, or the largest device that it may have, is used up."""
        r, g = self.rules[run_id], self.gauges[run_id]
        if g is None or not g.ampacity_a:
            return None
        need, ampacity = r.need, g.ampacity_a * r.run.parallel
        design = need.design.value
        factor = need.carries_a / design if design and need.carries_a else 1.0
        found = [((ampacity - need.carries_a) / factor, Binding("ampacity", run_id, ampacity, "A"))]
        share = self.profile.device_share(r.nominal_v).value
        for device in need.protected_by:
            rating = self.ratings.get(device)
            if rating is None or rating.rating_a is None:
                continue
            own = need.factored_a / design if design and need.factored_a else 1.0
            fitting = [a for a in self.profile.family(rating.family).ratings_a if a <= ampacity * share * (1 + 1e-9)]
            top = rating.rating_a if rating.stated else max(fitting, default=rating.rating_a)
            found.append(((top - rating.needs_a.value) / own, Binding("protection", device, top, "A")))
        return min(found, key=_amount)


def _amount(margin: Margin) -> float:
    return margin[0]
