"""Why a run has its size: the candidates with their verdicts, the rule that binds, margins and offers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from math import inf

from copperplate.model import System, Traced
from copperplate.model.results import Binding, Candidate, GovernedBy, Rating, Rung, RunResult
from copperplate.sizing.drops import VoltageDrops
from copperplate.sizing.laying import Gauge
from copperplate.sizing.margins import BudgetUses, Margin, Margins
from copperplate.sizing.optimise import OptimisedSizes
from copperplate.sizing.remedies import CLOSE
from copperplate.sizing.rules import ALONE, NOT_JUDGED, Rule, Rules
from copperplate.sizing.sizing_units import SizingUnit
from copperplate.standards import Profile
from copperplate.units import NOISE, exceeds, number, show

ORDER: tuple[Rule, ...] = (
    "minimum", "ampacity", "protection", "drop", "start", "advice", "comparable", "terminal", "stock",
)  # fmt: skip
"""The rungs of the ladder in the order in which readers see them."""


@dataclass(frozen=True)
class Reasons:
    """What the reasons of a run are told from."""

    system: System
    profile: Profile
    unit_of: Mapping[str, SizingUnit]
    sizes: OptimisedSizes
    drops: VoltageDrops
    uses: BudgetUses
    ratings: Mapping[str, Rating]

    @property
    def rules(self) -> Mapping[str, Rules]:
        """The rules of every run."""
        return self.drops.rules

    def result(self, run_id: str) -> RunResult:
        """The result of one run, `drop_hot_v` left to judging."""
        r, g = self.rules[run_id], self.drops.gauges[run_id]
        run = r.run
        most = max((am for _, am in self.uses.through.get(run_id, ())), default=0.0) or r.requirement.ampere_metres
        metres = sum(self.system.conductors[c].length_m for c in run.conductor_ids) * run.parallel
        larger = (o for o in r.gauges if g is not None and o.area_mm2 > g.area_mm2 and r.allows(o, ALONE))
        following = next(larger, None)
        length, current = self.margins.length(run_id), self.margins.current(run_id)
        return RunResult(
            run=run_id,
            size=g.size if g else None,
            parallel=run.parallel,
            area_mm2=g.area_mm2 if g else 0.0,
            stated=run.size is not None,
            governed_by=self.governed_by(run_id),
            design_current=r.requirement.design,
            ampacity=g.ampacity(run.parallel) if g else None,
            table_ampacity_a=g.table.value if g and g.table else None,
            factors=g.factors if g else (),
            insulation_c=r.laying.insulation_c,
            ambient_c=r.laying.ambient_c,
            drop_v=most * g.judged.value if g else 0.0,
            drop_hot_v=0.0,
            candidates=self.candidates(run_id),
            protected_by=r.requirement.protected_by,
            spare_length_m=length[0] if length else None,
            spare_current_a=current[0] if current else None,
            spare_length_by=self._binding(length),
            spare_current_by=self._binding(current),
            next_size=following.size if following else None,
            copper_mm2_m=g.area_mm2 * metres if g else 0.0,
            offers=self.offers(run_id),
        )

    @cached_property
    def margins(self) -> Margins:
        """What the runs have left."""
        return Margins(self.profile, self.drops, self.uses, self.ratings)

    def _binding(self, margin: Margin | None) -> Binding | None:
        """What binds, a voltage window told from a budget."""
        if margin is None:
            return None
        window = margin[1].rule == "drop" and margin[1].subject in self.sizes.windowed
        return replace(margin[1], rule="window") if window else margin[1]

    def governed_by(self, run_id: str) -> GovernedBy:
        """The rule that refuses the next smaller size."""
        r, g = self.rules[run_id], self.drops.gauges[run_id]
        if r.run.size is not None:
            return "stated"
        if g is None:
            return "ampacity" if r.refuses("ampacity", r.gauges[-1]) else "protection"
        smaller = [o for o in r.gauges if o.area_mm2 < g.area_mm2]
        if not smaller:
            return "minimum"
        given_up = self.sizes.given_up.get(run_id, ())
        refused = [rule for rule in r.refused_by(smaller[-1]) if rule not in given_up]
        if refused:
            return refused[0]
        for other in self.unit_of[run_id].runs:
            elsewhere = self.rules[other]
            if other != run_id and elsewhere.refused_by(elsewhere.of(smaller[-1].size)):
                return "lead"
        entries = self.uses.through.get(run_id, ())
        if self._start(run_id, smaller[-1]).verdict == "refused":
            return "start"
        if len(entries) == 1:
            load = self.uses.paths[entries[0][0]].path.load
            return "window" if load in self.sizes.windowed else "drop"
        return "shared budget"

    # The ladder ------------------------------------------------------------------------------------------

    def candidates(self, run_id: str) -> tuple[Candidate, ...]:
        """The ladder as far as it tells something: to one size above the one taken, and to the first that a
        terminal refuses for being too large. A stated size that the ladder leaves out stands in its place."""
        r, g = self.rules[run_id], self.drops.gauges[run_id]
        gauges = list(r.gauges)
        if g is not None and all(o.size != g.size for o in gauges):
            gauges = sorted([*gauges, g], key=lambda o: o.area_mm2)
        last = len(gauges)
        if g is not None:
            last = next(n for n, o in enumerate(gauges) if o.size == g.size) + 2
            if any(high < inf for _, _, _, high in r.ends):
                too_large = [n for n, o in enumerate(gauges) if n >= last and r.refuses("terminal", o)]
                last = (too_large[0] if too_large else len(gauges)) + 1
        weights = self._weights(run_id)
        return tuple(self._candidate(run_id, o, o.size == (g.size if g else None), weights) for o in gauges[:last])

    def _members(self, run_id: str) -> tuple[str, ...]:
        unit = self.unit_of.get(run_id)
        return unit.runs if unit else (run_id,)

    def _weights(self, run_id: str) -> dict[int, float]:
        """By path: the ampere-metres of the unit that the run is part of."""
        weights: dict[int, float] = {}
        for run in self._members(run_id):
            for n, ampere_metres in self.uses.through.get(run, ()):
                weights[n] = weights.get(n, 0.0) + ampere_metres
        return weights

    def _candidate(self, run_id: str, g: Gauge, chosen: bool, weights: Mapping[int, float]) -> Candidate:
        r = self.rules[run_id]
        rungs: dict[Rule, Rung] = {rule: r.rung(rule, g) for rule in ALONE}
        rungs["drop"] = self._drop(run_id, g, weights)
        rungs["start"] = self._start(run_id, g)
        return Candidate(g.size, r.run.parallel, tuple(rungs[rule] for rule in ORDER), chosen)

    def _drop(self, run_id: str, g: Gauge, weights: Mapping[int, float]) -> Rung:
        """The load on this run that is nearest to its budget with this size, everything else as chosen."""
        now = self.drops.gauges[run_id]
        if not weights or now is None:
            return NOT_JUDGED["drop"]
        change = g.judged.value - now.judged.value
        nearest, share, lost = -1, -1.0, 0.0
        for n, ampere_metres in weights.items():
            use = self.uses.paths[n]
            volts = use.judged_v + ampere_metres * change
            if use.allowed_v > 0.0 and volts / use.allowed_v > share:
                nearest, share, lost = n, volts / use.allowed_v, volts
        if nearest < 0:
            return NOT_JUDGED["drop"]
        path, allowed = self.uses.paths[nearest].path, self.uses.paths[nearest].allowed_v
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

    def _start(self, run_id: str, g: Gauge) -> Rung:
        """The motor on the paths through this run that would start lowest in its window with this size, everything
        else as chosen. A start that no size can hold refuses none: a finding tells."""
        members = self._members(run_id)
        trial = {run: self.rules[run].of(g.size) for run in members}
        numbers = dict.fromkeys(n for run in members for n, _ in self.uses.through.get(run, ()))
        lowest: tuple[float, Rung] | None = None
        for n in numbers:
            path = self.uses.paths[n].path
            start = path.start
            if start is None or self.drops.gauges[run_id] is None:
                continue
            lost = self.drops.warm_v(start, trial)
            left, works = path.low_v - lost, path.low_v - start.allowed_v
            if lowest is not None and left - works >= lowest[0]:
                continue
            refused = path.load in self.sizes.started and exceeds(lost, start.allowed_v, CLOSE)
            trace = Traced(
                left, "V", "voltage at the start", "lowest voltage - starting current x warm resistance, out and back",
                (("load", path.load, ""), ("starting current", start.amperes, "A"), ("works from", works, "V")),
            )  # fmt: skip
            lowest = (left - works, Rung("start", "refused" if refused else "ok", f"{number(left)} V", trace))
        return lowest[1] if lowest is not None else NOT_JUDGED["start"]

    # Offers ----------------------------------------------------------------------------------------------

    def offers(self, run_id: str) -> tuple[str, ...]:
        """What else could be taken, computed: a smaller size by the device's own window, a larger one that fits."""
        r, g = self.rules[run_id], self.drops.gauges[run_id]
        if g is None:
            return ()
        return tuple(offer for offer in (self._by_window(r, g), self._by_clamp(r, g)) if offer)

    def _by_window(self, r: Rules, g: Gauge) -> str:
        """The size that would do if the window of a load, and not its budget, were the limit."""
        entries = self.uses.through.get(r.run.id, ())
        if len(entries) != 1 or self.governed_by(r.run.id) != "drop":
            return ""
        path = self.uses.paths[entries[0][0]].path
        works = self.system.parts[path.load].works
        if works is None:
            return ""
        for smaller in (o for o in r.gauges if o.area_mm2 < g.area_mm2 and r.allows(o, ALONE)):
            trial = {run: self.rules[run].of(smaller.size) for run in self._members(r.run.id)}
            left = path.low_v - self.drops.warm_v(path, trial)
            if left >= works.low:
                return (
                    f"{smaller.size.label} would do if the window of `{path.load}` (from {show(works.low, 'V')}) "
                    f"were the limit: it would get {show(left, 'V', 4)}"
                )
        return ""

    def _by_clamp(self, r: Rules, g: Gauge) -> str:
        """The largest size that the terminals take, where it is larger."""
        if r.advice_mm2 or r.run.size is not None or not any(high < inf for *_, high in r.ends):
            return ""
        fitting = [o for o in r.gauges if r.allows(o, ("terminal", "stock"))]
        if not fitting or fitting[-1].area_mm2 <= g.area_mm2:
            return ""
        largest = fitting[-1]
        rung = self._drop(r.run.id, largest, self._weights(r.run.id))
        drop = f": the drop would be {rung.shown}" if rung.verdict != "not judged" else ""
        return f"its terminals take up to {largest.size.label}{drop}"
