"""How much longer each run could be, and how much more current it could take, and what would bind it then."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import accumulate

from copperplate.model.results import Binding, Rating
from copperplate.sizing.drops import VoltageDrops, warm_ohm_per_m
from copperplate.sizing.supply_paths import SupplyPath
from copperplate.standards import Profile
from copperplate.units import NOISE, exceeds


@dataclass(frozen=True)
class BudgetUse:
    """One load's path with the sizes as chosen: volts judged on it, and what is left of what it was allowed;
    `start_left_v` what is left of its window while it starts (None where it states no start, or none that can be held),
    and `warmer` the most by which warm copper on it exceeds the judged resistance."""

    path: SupplyPath
    judged_v: float
    left_v: float
    start_left_v: float | None = None
    warmer: float = 1.0

    @property
    def allowed_v(self) -> float:
        return self.judged_v + self.left_v

    @property
    def budget(self) -> Binding:
        return Binding("drop", self.path.load, self.allowed_v, "V")

    @property
    def start(self) -> Binding:
        return Binding("start", self.path.load, self.path.start.allowed_v if self.path.start else 0.0, "V")


@dataclass(frozen=True)
class BudgetUses:
    """The paths of all loads with the sizes as chosen; by run the paths through it, each with the run's
    ampere-metres."""

    paths: tuple[BudgetUse, ...]
    through: Mapping[str, list[tuple[int, float]]]
    ohm_to: Mapping[str, float]
    """By run: judged resistance from the source to its far end and back, of what all its paths share."""


def budget_uses(
    drops: VoltageDrops,
    paths: tuple[SupplyPath, ...],
    budget_v: Mapping[str, float],
    metres: Mapping[str, float],
) -> BudgetUses:
    """What every path uses of its budget. `metres` are of each run's live conductors over those in parallel."""
    uses: list[BudgetUse] = []
    through: dict[str, list[tuple[int, float]]] = {}
    rules = drops.rules
    for number, path in enumerate(paths):
        lost_v = drops.judged_v(path)
        left_v, start = budget_v[path.load] - lost_v, path.start
        start_left_v = start.allowed_v - drops.warm_v(start) if start is not None else -1.0
        if start_left_v >= 0.0:
            gauges = [(rules[run], drops.gauge(run)) for run, _ in path.runs if run in rules]
            warmer = max((warm_ohm_per_m(r, g) / g.judged.value for r, g in gauges), default=1.0)
            uses.append(BudgetUse(path, lost_v, left_v, start_left_v, warmer))
        else:
            uses.append(BudgetUse(path, lost_v, left_v))
        for run, ampere_metres in path.runs:
            through.setdefault(run, []).append((number, ampere_metres))
    ohm_to: dict[str, float] = {}
    first_of: dict[int, tuple[list[int], list[float]]] = {}
    for run, entries in through.items():
        first = entries[0][0]
        if first not in first_of:
            above = sorted([(-len(through[r]), r) for r, _ in uses[first].path.runs if r in rules])
            ohms = accumulate([metres[r] * drops.gauge(r).judged.value for _, r in above])
            first_of[first] = [count for count, _ in above], [0.0, *ohms]
        counts, sums = first_of[first]
        ohm_to[run] = sums[bisect_right(counts, -len(entries))]
    return BudgetUses(tuple(uses), through, ohm_to)


Margin = tuple[float, Binding]
"""How much more, and what is used up then."""


@dataclass(frozen=True)
class Margins:
    """What the runs have left, everything else as it is."""

    profile: Profile
    drops: VoltageDrops
    uses: BudgetUses
    ratings: Mapping[str, Rating]
    _on_path: dict[int, tuple[list[int], list[Margin | None]]] = field(default_factory=dict)
    _at: dict[str, Margin | None] = field(default_factory=dict)

    def length(self, run_id: str) -> Margin | None:
        """Metres that the run could be longer, one way, until a budget is used up; None where no budget binds it."""
        r, g = self.drops.rules[run_id], self.drops.gauges[run_id]
        if g is None or not r.run.length_m:
            return None
        margins: list[Margin] = []
        for number, ampere_metres in self.uses.through.get(run_id, ()):
            use = self.uses.paths[number]
            per_metre_v = ampere_metres * g.judged.value / r.run.length_m
            if per_metre_v > 0.0:
                margins.append((max(use.left_v, 0.0) / per_metre_v, use.budget))
            start = use.path.start
            if start is not None and use.start_left_v is not None:
                per_metre_v = dict(start.runs).get(run_id, 0.0) * warm_ohm_per_m(r, g) / r.run.length_m
                if per_metre_v > 0.0:
                    margins.append((use.start_left_v / per_metre_v, use.start))
        return min(margins, key=_amount, default=None)

    def current(self, run_id: str) -> Margin | None:
        """Amperes that the run could carry more: until its ampacity, the largest device that it may have, or that of
        a run that brings its current, or a budget on its paths is used up. None where its ampacity is not known."""
        own = self._own(run_id)
        if own is None:
            return None
        margins = [own]
        entries = self.uses.through.get(run_id, ())
        if entries:
            first = entries[0][0]
            if first not in self._on_path:
                self._on_path[first] = self._along(first)
            counts, least = self._on_path[first]
            nearest = least[bisect_right(counts, -len(entries))]
            margins += [nearest] if nearest is not None else []
        ohm = self.uses.ohm_to.get(run_id, 0.0)
        for number, _ in entries if len(entries) > 1 else ():
            use = self.uses.paths[number]
            if use.start_left_v is not None and ohm > 0.0:
                margins.append((use.start_left_v / (ohm * use.warmer), use.start))
        amperes, binding = min(margins, key=_amount)
        return max(amperes, 0.0), binding

    def _along(self, number: int) -> tuple[list[int], list[Margin | None]]:
        """Of the runs of a path, by falling number of loads behind them (with a minus): the least margin up to each."""
        through = self.uses.through
        path = self.uses.paths[number].path
        runs = sorted((-len(through[run]), place, run) for place, (run, _) in enumerate(path.runs))
        least: list[Margin | None] = [None]
        for _, _, run in runs:
            if run not in self._at:
                self._at[run] = self._least_at(run)
            margins = [margin for margin in (least[-1], self._at[run]) if margin is not None]
            least.append(min(margins, key=_amount, default=None))
        return [count for count, _, _ in runs], least

    def _least_at(self, run_id: str) -> Margin | None:
        """Of what the run itself carries, and of the budgets of all that it feeds."""
        own, uses = self._own(run_id) if run_id in self.drops.rules else None, self.uses
        if uses.ohm_to.get(run_id, 0.0) <= 0.0:
            return own
        lowest = uses.paths[min([n for n, _ in uses.through[run_id]], key=lambda n: uses.paths[n].left_v)]
        budget = lowest.left_v / uses.ohm_to[run_id], lowest.budget
        return budget if own is None else min(own, budget, key=_amount)

    def _own(self, run_id: str) -> Margin | None:
        """Until the ampacity of the run, or the largest device that it may have, is used up."""
        r, g = self.drops.rules[run_id], self.drops.gauges[run_id]
        if g is None or not g.ampacity_a:
            return None
        need, ampacity = r.requirement, g.ampacity_a * r.run.parallel
        design = need.design.value
        factor = need.carries_a / design if design and need.carries_a else 1.0
        margins = [((ampacity - need.carries_a) / factor, Binding("ampacity", run_id, ampacity, "A"))]
        if need.unfactored_a and design:
            before = g.unfactored_a * r.run.parallel
            spare = (before - need.unfactored_a) / (need.unfactored_a / design)
            margins.append((spare, Binding("ampacity", run_id, before, "A")))
        share = self.profile.figures["device-share"].value
        for device in need.protected_by:
            rating = self.ratings.get(device)
            if rating is None or rating.rating_a is None:
                continue
            own = need.factored_a / design if design and need.factored_a else 1.0
            ratings_a = self.profile.family(rating.family).ratings_a
            fitting = [a for a in ratings_a if not exceeds(a, ampacity * share, NOISE)]
            top = rating.rating_a if rating.stated else max(fitting, default=rating.rating_a)
            carried = top * rating.air.value if rating.air else top
            margins.append((max(0.0, carried - rating.needs_a.value) / own, Binding("protection", device, top, "A")))
        return min(margins, key=_amount)


def _amount(margin: Margin) -> float:
    return margin[0]
