"""Why a run has its size: the candidates with their verdicts, the rule that binds, margins and offers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from copperplate.model import System, Traced
from copperplate.model.results import Binding, Candidate, GovernedBy, Rating, Rung, RunResult
from copperplate.sizing.laying import Gauge
from copperplate.sizing.margins import Margin, Margins, Uses
from copperplate.sizing.rules import ALONE, NOT_JUDGED, Rules
from copperplate.sizing.settling import Settled, physical_v
from copperplate.sizing.units import Unit
from copperplate.standards import Profile
from copperplate.units import number, show

ORDER = ("minimum", "ampacity", "protection", "drop", "start", "advice", "comparable", "terminal", "stock")


@dataclass(frozen=True)
class Reasons:
    """Everything that the reasons of a run are told from."""

    system: System
    profile: Profile
    rules: Mapping[str, Rules]
    unit_of: Mapping[str, Unit]
    settled: Settled
    used: Uses
    ratings: Mapping[str, Rating]

    def result(self, run_id: str) -> RunResult:
        """The result of one run, `drop_hot_v` left to judging."""
        r = self.rules[run_id]
        run, g = r.run, self.settled.gauges[run_id]
        lost = max((am for _, am in self.used.through.get(run_id, ())), default=0.0) or r.need.ampere_metres
        metres = sum(self.system.conductors[c].length_m for c in run.conductor_ids) * run.parallel
        larger = (o for o in r.gauges if g is not None and o.area_mm2 > g.area_mm2 and r.allows(o, ALONE))
        after = next(larger, None)
        length, current = self.margins.length(run_id), self.margins.current(run_id)
        return RunResult(
            run=run_id,
            size=g.size if g else None,
            parallel=run.parallel,
            area_mm2=g.area_mm2 if g else 0.0,
            stated=run.size is not None,
            governed_by=self.governed_by(run_id),
            design_current=r.need.design,
            ampacity=g.ampacity(run.parallel) if g else None,
            table_ampacity_a=g.table.value if g and g.table else None,
            factors=g.factors if g else (),
            insulation_c=r.laying.insulation_c,
            ambient_c=r.laying.ambient_c,
            drop_v=lost * g.judged.value if g else 0.0,
            drop_hot_v=0.0,
            candidates=self.candidates(run_id),
            protected_by=r.need.protected_by,
            spare_length_m=length[0] if length else None,
            spare_current_a=current[0] if current else None,
            spare_length_by=self._binding(length),
            spare_current_by=self._binding(current),
            next_size=after.size if after else None,
            copper_mm2_m=g.area_mm2 * metres if g else 0.0,
            offers=self.offers(run_id) if g else (),
        )

    @cached_property
    def margins(self) -> Margins:
        """What the runs have left."""
        return Margins(self.profile, self.rules, self.settled.gauges, self.used, self.ratings)

    def _binding(self, margin: Margin | None) -> Binding | None:
        """What binds, a voltage window told from a budget."""
        if margin is None:
            return None
        window = margin[1].rule == "drop" and margin[1].subject in self.settled.windowed
        return replace(margin[1], rule="window") if window else margin[1]

    def governed_by(self, run_id: str) -> GovernedBy:
        """The rule that refuses the next smaller size."""
        r, g = self.rules[run_id], self.settled.gauges[run_id]
        if r.run.size is not None:
            return "stated"
        if g is None:
            return "ampacity" if r.refuses("ampacity", r.gauges[-1]) else "protection"
        smaller = [o for o in r.gauges if o.area_mm2 < g.area_mm2]
        if not smaller:
            return "minimum"
        given_up = self.settled.given_up.get(run_id, ())
        refused = [rule for rule in r.refused_by(smaller[-1]) if rule not in given_up]
        if refused:
            return refused[0]
        for other in self.unit_of[run_id].runs:
            elsewhere = self.rules[other]
            if other != run_id and elsewhere.refused_by(elsewhere.of(smaller[-1].size)):
                return "lead"
        entries = self.used.through.get(run_id, ())
        if self._start(run_id, smaller[-1]).verdict == "refused":
            return "start"
        if len(entries) == 1:
            load = self.used.ways[entries[0][0]].passage.load
            return "window" if load in self.settled.windowed else "drop"
        return "shared budget"

    # The ladder ------------------------------------------------------------------------------------------

    def candidates(self, run_id: str) -> tuple[Candidate, ...]:
        """The ladder as far as it tells something: to one size above the one taken, and to the first that a
        terminal refuses for being too large. A stated size that the ladder leaves out stands in its place."""
        r, g = self.rules[run_id], self.settled.gauges[run_id]
        gauges = list(r.gauges)
        if g is not None and all(o.size != g.size for o in gauges):
            gauges = sorted([*gauges, g], key=lambda o: o.area_mm2)
        last = len(gauges)
        if g is not None:
            last = next(n for n, o in enumerate(gauges) if o.size == g.size) + 2
            if any(high < float("inf") for _, _, _, high in r.ends):
                too_large = [n for n, o in enumerate(gauges) if n >= last and r.refuses("terminal", o)]
                last = (too_large[0] if too_large else len(gauges)) + 1
        weights = self._weights(run_id)
        return tuple(self._candidate(run_id, o, o.size == (g.size if g else None), weights) for o in gauges[:last])

    def _weights(self, run_id: str) -> dict[int, float]:
        """By way: the ampere-metres of the unit that the run is part of."""
        found: dict[int, float] = {}
        unit = self.unit_of.get(run_id)
        for run in unit.runs if unit else (run_id,):
            for n, ampere_metres in self.used.through.get(run, ()):
                found[n] = found.get(n, 0.0) + ampere_metres
        return found

    def _candidate(self, run_id: str, g: Gauge, chosen: bool, weights: Mapping[int, float]) -> Candidate:
        r = self.rules[run_id]
        rungs = {rule: r.rung(rule, g) for rule in ALONE}
        rungs["drop"] = self._drop(run_id, g, weights)
        rungs["start"] = self._start(run_id, g)
        return Candidate(g.size, r.run.parallel, tuple(rungs[rule] for rule in ORDER), chosen)  # type: ignore[index]

    def _drop(self, run_id: str, g: Gauge, weights: Mapping[int, float]) -> Rung:
        """The load on this run that is nearest to its budget with this size, everything else as settled."""
        now = self.settled.gauges[run_id]
        if not weights or now is None:
            return NOT_JUDGED["drop"]
        change = g.judged.value - now.judged.value
        nearest, share, lost = -1, -1.0, 0.0
        for n, ampere_metres in weights.items():
            volts = self.used.ways[n].judged_v + ampere_metres * change
            budget = self.used.ways[n].judged_v + self.used.ways[n].left_v
            if budget > 0.0 and volts / budget > share:
                nearest, share, lost = n, volts / budget, volts
        if nearest < 0:
            return NOT_JUDGED["drop"]
        passage = self.used.ways[nearest].passage
        allowed = self.used.ways[nearest].judged_v + self.used.ways[nearest].left_v
        here = weights[nearest] * g.judged.value
        trace = Traced(
            lost, "V", "voltage drop, whole path", "sum of current x judged resistance, out and back",
            (("load", passage.load, ""), ("lost", lost, "V"), ("budget", allowed, "V"),
             ("of nominal", 100 * allowed / passage.ends.nominal_v, "%"),
             ("here", weights[nearest], "A m"), ("at", g.judged.value * 1000, "mohm/m"),
             *((("elsewhere", lost - here, "V"),) if lost - here > 1e-9 else ()), *g.judged.inputs),
            g.judged.source, g.judged.status,
        )  # fmt: skip
        verdict = "refused" if share > 1.0 + 2e-9 else "ok"
        return Rung("drop", verdict, f"{number(100 * lost / passage.ends.nominal_v)} %", trace)  # type: ignore[arg-type]

    def _start(self, run_id: str, g: Gauge) -> Rung:
        """The motor on the ways through this run that would start lowest in its window with this size, everything
        else as settled. A start that no size can hold refuses none: a finding tells."""
        unit = self.unit_of.get(run_id)
        members = unit.runs if unit else (run_id,)
        swap = {run: self.rules[run].of(g.size) for run in members}
        numbers = dict.fromkeys(n for run in members for n, _ in self.used.through.get(run, ()))
        lowest: tuple[float, Rung] | None = None
        for n in numbers:
            passage = self.used.ways[n].passage
            start = passage.start
            if start is None or self.settled.gauges[run_id] is None:
                continue
            lost = physical_v(self.rules, self.settled.gauges, start, swap)
            left, works = passage.low_v - lost, passage.low_v - start.allowed_v
            if lowest is not None and left - works >= lowest[0]:
                continue
            refused = passage.load in self.settled.started and lost > start.allowed_v * (1 + 2e-9)
            trace = Traced(
                left, "V", "voltage at the start", "lowest voltage - starting current x warm resistance, out and back",
                (("load", passage.load, ""), ("starting current", start.amperes, "A"), ("works from", works, "V")),
            )  # fmt: skip
            lowest = (left - works, Rung("start", "refused" if refused else "ok", f"{number(left)} V", trace))
        return lowest[1] if lowest is not None else NOT_JUDGED["start"]

    # Offers ----------------------------------------------------------------------------------------------

    def offers(self, run_id: str) -> tuple[str, ...]:
        """What else could be taken, computed: a smaller size by the device's own window, a larger one that fits."""
        r, g = self.rules[run_id], self.settled.gauges[run_id]
        if g is None:
            return ()
        return tuple(offer for offer in (self._by_window(r, g), self._by_clamp(r, g)) if offer)

    def _by_window(self, r: Rules, g: Gauge) -> str:
        entries = self.used.through.get(r.run.id, ())
        if len(entries) != 1 or self.governed_by(r.run.id) != "drop":
            return ""
        passage = self.used.ways[entries[0][0]].passage
        works = self.system.parts[passage.load].works
        if works is None:
            return ""
        for smaller in (o for o in r.gauges if o.area_mm2 < g.area_mm2 and r.allows(o, ALONE)):
            swap = {run: self.rules[run].of(smaller.size) for run in self.unit_of[r.run.id].runs}
            left = passage.low_v - physical_v(self.rules, self.settled.gauges, passage, swap)
            if left >= works.low:
                return (
                    f"{smaller.size.label} would do if the window of `{passage.load}` (from {show(works.low, 'V')}) "
                    f"were the limit: it would get {show(left, 'V', 4)}"
                )
        return ""

    def _by_clamp(self, r: Rules, g: Gauge) -> str:
        if r.advice_mm2 or r.run.size is not None or not any(high < float("inf") for *_, high in r.ends):
            return ""
        fitting = [o for o in r.gauges if r.allows(o, ("terminal", "stock"))]
        if not fitting or fitting[-1].area_mm2 <= g.area_mm2:
            return ""
        largest = fitting[-1]
        rung = self._drop(r.run.id, largest, self._weights(r.run.id))
        drop = f": the drop would be {rung.shown}" if rung.verdict != "not judged" else ""
        return f"its terminals take up to {largest.size.label}{drop}"
