"""The sizes of a system as chosen: what remedies, ladders and reasons are computed from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from copperplate.model import System
from copperplate.sizing.drops import VoltageDrops
from copperplate.sizing.laying import Gauge
from copperplate.sizing.margins import BudgetUse, BudgetUses
from copperplate.sizing.optimise import OptimisedSizes
from copperplate.sizing.rules import Rules
from copperplate.sizing.sizing_units import SizingUnit
from copperplate.sizing.supply_paths import SupplyPath
from copperplate.standards import Profile
from copperplate.units import NOISE, exceeds

CLOSE = 2 * NOISE
"""Budgets count as held within this share: sizes are optimised to `NOISE` of them, and the sum is made again here."""


@dataclass(frozen=True)
class ChosenSizes:
    """The sizes as chosen, what the supply paths lose with them, and what that uses of their budgets."""

    system: System
    profile: Profile
    unit_of: Mapping[str, SizingUnit]
    sizes: OptimisedSizes
    drops: VoltageDrops
    uses: BudgetUses

    @property
    def rules(self) -> Mapping[str, Rules]:
        """The rules of every run."""
        return self.drops.rules

    @property
    def gauges(self) -> Mapping[str, Gauge | None]:
        """The gauge of every run; None where no size serves."""
        return self.drops.gauges

    def members(self, run_id: str) -> tuple[str, ...]:
        """The runs that share this run's size."""
        return self.unit_of[run_id].runs if run_id in self.unit_of else (run_id,)

    def trial(self, run_id: str, g: Gauge) -> dict[str, Gauge]:
        """The gauges of a run and what is one unit with it, in another size."""
        return {run: self.rules[run].of(g.size) for run in self.members(run_id)}

    def paths(self, run_id: str) -> list[SupplyPath]:
        """The supply paths through a run and what is one unit with it."""
        numbers = dict.fromkeys(n for run in self.members(run_id) for n, _ in self.uses.through.get(run, ()))
        return [self.uses.paths[n].path for n in numbers]

    def overdrawn(self, use: BudgetUse) -> bool:
        """Whether a path uses more than its load was allowed."""
        return exceeds(use.judged_v, self.sizes.budget_v[use.path.load], CLOSE)

    def holds(self, path: SupplyPath, trial: Mapping[str, Gauge]) -> bool:
        """Whether a path keeps within what it is allowed, with some gauges on trial, its start too."""
        within = not exceeds(self.drops.judged_v(path, trial), self.sizes.budget_v[path.load], CLOSE)
        return within and self.starts(path, trial)

    def starts(self, path: SupplyPath, trial: Mapping[str, Gauge]) -> bool:
        """Whether a motor still starts inside its window; True where no size can help its start."""
        if path.start is None or path.load not in self.sizes.started:
            return True
        return not exceeds(self.drops.warm_v(path.start, trial), path.start.allowed_v, CLOSE)
