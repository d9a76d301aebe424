"""The problem of least copper in numbers, made of runs, gauges and supply paths, and its answer in gauges again."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from copperplate.model import System
from copperplate.sizing.branch_and_bound import SideConstraint, branch_and_bound
from copperplate.sizing.drops import OhmPerMetre, judged_ohm_per_m, warm_ohm_per_m
from copperplate.sizing.instance import BudgetedPath, Option
from copperplate.sizing.laying import Gauge
from copperplate.sizing.rules import Rules
from copperplate.sizing.sizing_units import SizingUnit
from copperplate.sizing.supply_paths import SupplyPath

COPPER = 1e9
"""Copper is counted in whole units of 1e-9 mm²m."""


@dataclass(frozen=True)
class OpenUnit:
    """A unit with the sizes that its rules allow, by rising area."""

    unit: SizingUnit
    options: tuple[Gauge, ...]


@dataclass(frozen=True)
class SizingAnswer:
    """The gauge of every run (None where no size serves), the loads whose budget no size holds, the motors whose start
    the sizes were held to, and whether it is proven the least copper."""

    gauges: dict[str, Gauge | None]
    beyond: tuple[str, ...]
    started: frozenset[str]
    exact: bool


@dataclass(frozen=True)
class SizingProblem:
    """The units to size among the runs of a system."""

    system: System
    rules: Mapping[str, Rules]
    units: tuple[OpenUnit, ...]

    def with_units(self, changed: Mapping[int, OpenUnit]) -> SizingProblem:
        """With other sizes for some units."""
        return replace(self, units=tuple(changed.get(n, unit) for n, unit in enumerate(self.units)))

    @cached_property
    def number(self) -> Mapping[str, int]:
        """By run, the number of its unit; a run of a stated size has none."""
        return {run: n for n, unit in enumerate(self.units) for run in unit.unit.runs}

    def solve(self, paths: Sequence[SupplyPath], alone: Sequence[SupplyPath] = ()) -> SizingAnswer:
        """The least copper for the budgets of these paths, and what the paths `alone` allow where any size helps."""
        starts = self._starts(paths)
        numbered = [self._numbered(path) for path in paths]
        least = branch_and_bound(self._options, numbered, (*starts.values(), *self._alone(alone)))
        gauges: dict[str, Gauge | None] = {}
        for run, r in self.rules.items():
            n = self.number.get(run)
            taken = least.taken[n] if n is not None else None
            if n is None:
                gauges[run] = r.fixed
            else:
                gauges[run] = None if taken is None else r.here(self.units[n].options[taken])
        beyond = tuple(paths[number].load for number in least.beyond)
        return SizingAnswer(gauges, beyond, frozenset(starts), least.exact)

    @cached_property
    def _options(self) -> list[list[Option]]:
        """By unit, its sizes in numbers."""
        system, links_m = self.system, self._links_m
        options = []
        for open_unit in self.units:
            metres = sum(
                system.conductors[c].length_m * system.runs[run].parallel
                for run in open_unit.unit.runs
                for c in system.runs[run].conductor_ids
            ) + sum(links_m.get(run, 0.0) for run in open_unit.unit.runs)
            options.append(
                [Option(g.judged.value, g.area_mm2, round(g.area_mm2 * metres * COPPER)) for g in open_unit.options]
            )
        return options

    @cached_property
    def _links_m(self) -> dict[str, float]:
        """By lead of a bank, the metres of conductor between its batteries, which are laid in the size of that lead.
        Of several leads the one with most current stands for the largest."""
        leads: dict[str, list[str]] = {}
        for run in self.system.runs.values():
            if run.id in self.rules:
                for part in dict.fromkeys(self.system.end_parts(run)):
                    leads.setdefault(part, []).append(run.id)
        metres: dict[str, float] = {}
        for run in self.system.runs.values():
            own = leads.get(run.from_end.split(".")[0], []) if run.role == "link" else []
            if own:
                lead = max(own, key=lambda run_id: self.rules[run_id].requirement.carries_a)
                metres[lead] = metres.get(lead, 0.0) + run.length_m * run.count * self.system.runs[lead].parallel
        return metres

    def _numbered(self, path: SupplyPath) -> BudgetedPath:
        """A path with the numbers of its units, and what the runs of stated sizes leave of its budget."""
        left_v = path.budget_v - path.fixed_v
        weights: dict[int, float] = {}
        for run, ampere_metres in path.runs:
            n = self.number.get(run)
            if n is not None and self.units[n].options:
                weights[n] = weights.get(n, 0.0) + ampere_metres
            elif run in self.rules:
                left_v -= ampere_metres * self.rules[run].fixed.judged.value
        return BudgetedPath(left_v, tuple(weights.items()))

    def _starts(self, paths: Sequence[SupplyPath]) -> dict[str, SideConstraint]:
        """By motor, what its start may lose and what it loses in each size of each unit; without those whose start no
        size can help, which judging tells of."""
        starts = {
            path.load: self._constraint(path.start.allowed_v - path.start.fixed_v, path.start.runs, warm_ohm_per_m)
            for path in paths
            if path.start is not None
        }
        return {load: constraint for load, constraint in starts.items() if constraint is not None}

    def _alone(self, paths: Sequence[SupplyPath]) -> list[SideConstraint]:
        """The budget, and the window in warm copper, of every path from a source that is left to carry all."""
        constraints: list[SideConstraint | None] = []
        for path in paths:
            rate = warm_ohm_per_m if self.system.settings.judge == "warm" else judged_ohm_per_m
            constraints.append(self._constraint(path.budget_v - path.fixed_v, path.runs, rate))
            works = self.system.parts[path.load].works
            if works is not None and path.low_v > works.low:
                left_v = path.low_v - works.low - path.fixed_v
                constraints.append(self._constraint(left_v, path.runs, warm_ohm_per_m))
        return [constraint for constraint in constraints if constraint is not None]

    def _constraint(
        self, left_v: float, runs: Sequence[tuple[str, float]], ohm_per_m: OhmPerMetre
    ) -> SideConstraint | None:
        """What a path may lose and loses in each size of each unit on it; None where no size can help."""
        lost: dict[int, list[float]] = {}
        for run, ampere_metres in runs:
            r, n = self.rules.get(run), self.number.get(run)
            if r is None:
                continue
            if n is None or not self.units[n].options:
                left_v -= ampere_metres * ohm_per_m(r, r.fixed)
                continue
            volts = [ampere_metres * ohm_per_m(r, r.here(g)) for g in self.units[n].options]
            lost[n] = [a + b for a, b in zip(lost[n], volts, strict=True)] if n in lost else volts
        for volts in lost.values():
            # Series mixed on one shelf: where a larger area has more resistance, the smaller is held to lose as much.
            for at in range(len(volts) - 2, -1, -1):
                volts[at] = max(volts[at], volts[at + 1])
        constraint = SideConstraint(left_v, {n: tuple(volts) for n, volts in lost.items()})
        return constraint if lost and constraint.can_hold() else None
