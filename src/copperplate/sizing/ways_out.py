"""Ways out of a design that does not hold: each is computed, and checked against every rule, before it is offered."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import floor

from copperplate.model import Load, System
from copperplate.sizing.bundles import counting
from copperplate.sizing.laying import Gauge
from copperplate.sizing.margins import Use, Uses
from copperplate.sizing.rules import ALONE, Rule, Rules
from copperplate.sizing.settling import Settled, judged_v, physical_v
from copperplate.sizing.units import Unit
from copperplate.sizing.ways import Passage
from copperplate.standards import Profile
from copperplate.units import from_si, number, show

MOST_PARALLEL = 4
"""So many conductors in parallel are offered at most."""
ELECTRIC: tuple[Rule, ...] = ("minimum", "ampacity", "protection", "advice", "comparable")
BOOSTED_TO = {12.0: 24.0, 24.0: 48.0}


@dataclass(frozen=True)
class WaysOut:
    """What the ways out are computed from."""

    system: System
    profile: Profile
    rules: Mapping[str, Rules]
    unit_of: Mapping[str, Unit]
    settled: Settled
    used: Uses

    def length(self, metres: float) -> str:
        """A length in the plate's unit, rounded down to what can be measured out."""
        unit = self.system.settings.length_unit
        return f"{number(floor(from_si(metres, unit) * 10 + 1e-9) / 10)} {unit}"

    def beyond(self, use: Use) -> bool:
        """Whether a way uses more than its load was allowed."""
        return use.judged_v > self.settled.budget_v[use.passage.load] * (1 + 2e-9)

    def members(self, run_id: str) -> tuple[str, ...]:
        """The runs that share this run's size."""
        return self.unit_of[run_id].runs if run_id in self.unit_of else (run_id,)

    def swap(self, run_id: str, g: Gauge) -> dict[str, Gauge]:
        """The gauges of a run and what is one unit with it, in another size."""
        return {run: self.rules[run].of(g.size) for run in self.members(run_id)}

    def holds(self, passages: list[Passage], swap: Mapping[str, Gauge]) -> bool:
        """Whether all these ways keep within what they are allowed, with some gauges swapped, their starts too."""
        allowed = self.settled.budget_v
        within = all(
            judged_v(self.rules, self.settled.gauges, p, swap) <= allowed[p.load] * (1 + 2e-9) for p in passages
        )
        return within and all(self.starts(p, swap) for p in passages)

    def starts(self, passage: Passage, swap: Mapping[str, Gauge]) -> bool:
        """Whether a motor still starts inside its window; True where no size can help its start."""
        start = passage.start
        if start is None or passage.load not in self.settled.started:
            return True
        return physical_v(self.rules, self.settled.gauges, start, swap) <= start.allowed_v * (1 + 2e-9)

    def passing(self, run_id: str) -> list[Passage]:
        """The ways through a run and what is one unit with it."""
        numbers = dict.fromkeys(n for run in self.members(run_id) for n, _ in self.used.through.get(run, ()))
        return [self.used.ways[n].passage for n in numbers]

    # A terminal that is too small -----------------------------------------------------------------------

    def for_terminal(self, run_id: str) -> tuple[str, ...]:
        """Ways out where the size that is needed does not fit a terminal."""
        r = self.rules[run_id]
        g = self.settled.gauges[run_id]
        fitting = [o for o in r.gauges if r.allows(o, ("minimum", "terminal", "stock"))]
        if g is None:
            return ()
        found: list[str] = []
        carrying = [o for o in fitting if r.allows(o, ELECTRIC)]
        passages = self.passing(run_id)
        if carrying and passages:
            found += self._by_budget_or_length(r, carrying[-1], passages)
        parallel = self.in_parallel(run_id, fitting)
        if parallel:
            found.append(f"{parallel}, if the terminal takes so many")
        found.append(f"a device or a terminal block that takes {g.size.label}")
        return tuple(found)

    def _by_budget_or_length(self, r: Rules, g: Gauge, passages: list[Passage]) -> list[str]:
        """The budget that the largest fitting size would need, and the length at which it holds the present one."""
        found: list[str] = []
        swap = self.swap(r.run.id, g)
        if not all(self.starts(p, swap) for p in passages):
            return []
        over = [p for p in passages if not self.holds([p], swap)]
        if len(over) == 1 and over[0].load not in self.settled.windowed:
            lost_v = judged_v(self.rules, self.settled.gauges, over[0], swap)
            found += self._by_budget(over[0], lost_v, swap, g.size.label)
        metres = self._shorter(r, over, swap)
        if metres > 0.0:
            found.append(f"with {g.size.label}, {self.length(metres)} or shorter")
        return found

    def _by_budget(self, passage: Passage, lost_v: float, swap: Mapping[str, Gauge], size: str) -> list[str]:
        part = self.system.parts[passage.load]
        works = part.works
        if isinstance(part, Load) and part.critical:
            return []
        if works is not None and passage.low_v - physical_v(self.rules, self.settled.gauges, passage, swap) < works.low:
            return []
        percent = floor(1000 * lost_v / passage.ends.nominal_v + 1) / 10
        if works is None and percent > 100 * self.profile.figures["drop-largest"].value:
            return []
        allowed = f", for it works from {show(works.low, 'V')}" if works is not None else ", if it works so low"
        with_ = f" with {size}" if size else ""
        return [f"`drop {number(percent)} %` on `{passage.load}`{with_}{allowed}"]

    def _shorter(self, r: Rules, over: list[Passage], swap: Mapping[str, Gauge]) -> float:
        """Metres one way at which every one of these ways holds its budget; 0.0 where no length does."""
        metres = r.run.length_m
        for passage in over:
            lost = judged_v(self.rules, self.settled.gauges, passage, swap)
            ampere_metres = sum(am for run, am in passage.runs if run in swap)
            mine = sum(am * swap[run].judged.value for run, am in passage.runs if run in swap)
            if not ampere_metres or not mine:
                return 0.0
            share = 1.0 - (lost - self.settled.budget_v[passage.load]) / mine
            metres = min(metres, r.run.length_m * share)
        return metres if over else 0.0

    # More conductors --------------------------------------------------------------------------------------

    def in_parallel(self, run_id: str, gauges: list[Gauge]) -> str:
        """The least copper of several conductors in parallel, of these sizes, that carries and holds what is asked."""
        r = self.rules[run_id]
        passages = self.passing(run_id)
        best: tuple[float, int, Gauge] | None = None
        for count in range(2, MOST_PARALLEL + 1):
            many = {run: self._parallel(run, count) for run in self.members(run_id)}
            for g in gauges:
                if not all(m.allows(m.of(g.size), ELECTRIC) for m in many.values()):
                    continue
                thinner = [self._thinned(p, many, r.run.parallel / count) for p in passages]
                if self.holds(thinner, {run: m.of(g.size) for run, m in many.items()}):
                    if best is None or count * g.area_mm2 < best[0] * 0.9999:
                        best = (count * g.area_mm2, count, g)
                    break
            if best is not None:
                break
        return f"`{best[2].size.label}, parallel {best[1]}`" if best else ""

    def _parallel(self, run_id: str, count: int) -> Rules:
        """The rules of a run with so many conductors in parallel: each of them is loaded, and counts."""
        r = self.rules[run_id]
        more = r.laying.loaded + (count - r.run.parallel) * len(counting(self.system, r.run))
        return replace(r, run=replace(r.run, parallel=count), laying=replace(r.laying, loaded=more))

    def _thinned(self, passage: Passage, runs: Mapping[str, object], share: float) -> Passage:
        def thinner(those: tuple[tuple[str, float], ...]) -> tuple[tuple[str, float], ...]:
            return tuple((run, am * share if run in runs else am) for run, am in those)

        start = replace(passage.start, runs=thinner(passage.start.runs)) if passage.start is not None else None
        return replace(passage, runs=thinner(passage.runs), start=start)

    # A budget that is overdrawn --------------------------------------------------------------------------

    def for_budget(self, passage: Passage) -> tuple[str, ...]:
        """Ways out where the drop on a load's way exceeds its budget."""
        found: list[str] = []
        gauges = self.settled.gauges
        lost = {run: am * g.judged.value for run, am in passage.runs if (g := gauges.get(run)) is not None}
        for run in sorted(lost, key=lambda one: -lost[one]):
            r, g = self.rules[run], gauges[run]
            assert g is not None
            larger = [o for o in r.gauges if o.area_mm2 > g.area_mm2 and r.allows(o, ALONE)]
            fitting = next((o for o in larger if self.holds([passage], self.swap(run, o))), None)
            if fitting is not None:
                lost_v = judged_v(self.rules, gauges, passage, self.swap(run, fitting))
                percent = number(100 * lost_v / passage.ends.nominal_v)
                found.append(f"{fitting.size.label} on `{run}`: {percent} %")
                break
        own = self.own_run(passage)
        if own is not None:
            if not found:
                r = self.rules[own]
                parallel = self.in_parallel(own, [o for o in r.gauges if r.allows(o, ("minimum", "terminal", "stock"))])
                found += [f"{parallel} on `{own}`"] if parallel else []
            present = gauges[own]
            assert present is not None
            metres = self._shorter(self.rules[own], [passage], self.swap(own, present))
            if metres > 0.0:
                found.append(f"`{own}` {self.length(metres)} or shorter")
        lost_v = judged_v(self.rules, gauges, passage)
        if passage.load not in self.settled.windowed:
            found += self._by_budget(passage, lost_v, {}, "")
        found += self._by_voltage(passage, lost_v)
        return tuple(found)

    def own_run(self, passage: Passage) -> str | None:
        """The run that serves this load alone and loses most."""
        sized = [(am, run) for run, am in passage.runs if self.settled.gauges.get(run) is not None]
        alone = [(am, run) for am, run in sized if len(self.used.through[run]) == 1]
        return max(alone)[1] if alone else None

    def _by_voltage(self, passage: Passage, lost_v: float) -> list[str]:
        """Twice the voltage: half the current for the same power, so a quarter of the drop in percent."""
        nominal = passage.ends.nominal_v
        part = self.system.parts[passage.load]
        if nominal not in BOOSTED_TO or passage.ends.current == "ac" or part.power_w is None:
            return []
        quarter = 100 * lost_v / nominal / 4
        if quarter / 100 * nominal > self.settled.budget_v[passage.load]:
            return []
        return [f"a {number(BOOSTED_TO[nominal])} V system: {number(quarter)} % with these sizes"]
