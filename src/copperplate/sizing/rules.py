"""The rules of the decision ladder that one run judges alone: everything but the shared voltage-drop budgets."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from copperplate.model import Run, Size, System
from copperplate.sizing.ends import describe, limits, terminals
from copperplate.sizing.laying import Gauge, Laying, device_cap, gauge, ladder, nominal_v
from copperplate.sizing.makers import MakersSize, makers_sizes
from copperplate.sizing.requirements import RunRequirement
from copperplate.standards import Profile
from copperplate.standards.adiabatic import brief_a
from copperplate.units import NOISE, exceeds, suffices

Rule = Literal["minimum", "ampacity", "protection", "drop", "start", "advice", "comparable", "terminal", "stock"]
ALONE: tuple[Rule, ...] = ("minimum", "ampacity", "protection", "advice", "comparable", "terminal", "stock")


@dataclass(frozen=True, eq=False)
class Rules:
    """The rules of one run, with the gauges to choose from."""

    run: Run
    profile: Profile
    series: str
    laying: Laying
    requirement: RunRequirement
    nominal_v: float
    makers: tuple[MakersSize, ...]
    ends: tuple[tuple[str, str, float, float], ...]
    """(node, terminal in words, smallest, largest area) of every stated clamp or stud at its ends."""
    shelf: frozenset[Size]

    @cached_property
    def gauges(self) -> tuple[Gauge, ...]:
        """The ladder of the profile, and what else is on the shelf, in the way that this run lies."""
        known = ladder(self.profile, self.series, self.laying)
        others = [self.of(size) for size in self.shelf if all(g.size != size for g in known)]
        return tuple(sorted((*known, *others), key=lambda g: (g.area_mm2, g.size.key))) if others else known

    def of(self, size: Size) -> Gauge:
        """A size that need not be on the ladder, in the way that this run lies."""
        return gauge(self.profile, size, self.series, self.laying)

    def here(self, g: Gauge) -> Gauge:
        """The same size in the way that this run lies."""
        return g if g.laying is self.laying else self.of(g.size)

    @property
    def fixed(self) -> Gauge:
        """The gauge that the rest is judged with where the run has no choice: its stated size, or the largest where
        none serves."""
        return self.of(self.run.size) if self.run.size is not None else self.gauges[-1]

    @cached_property
    def advice_mm2(self) -> float:
        """The smallest area that the maker's advice allows; 0.0 without. Advice for a shorter length is the least for
        this one: no maker asks for less further away."""
        return max((m.area_mm2 for m in self.makers if m.advice), default=0.0)

    @cached_property
    def comparable_mm2(self) -> float:
        """The smallest area that comparable devices ask for; 0.0 where the maker himself advises."""
        if any(m.advice and m.applies for m in self.makers):
            return 0.0
        return max((m.area_mm2 for m in self.makers if not m.advice), default=0.0)

    def refuses(self, rule: Rule, g: Gauge) -> bool:
        """Whether a rule refuses a size for this run."""
        if rule == "minimum":
            return g.below_minimum
        if rule == "ampacity":
            carries = suffices(g.ampacity_a * self.run.parallel, self.requirement.carries_a, NOISE)
            return bool(g.outside) or not carries or self.too_little_before(g) or self._too_hot(g)
        if rule == "protection":
            return self._unprotected(g)
        if rule == "advice":
            return not suffices(g.area_mm2 * self.run.parallel, self.advice_mm2)
        if rule == "comparable":
            return not suffices(g.area_mm2 * self.run.parallel, self.comparable_mm2)
        if rule == "terminal":
            return any(not low <= g.area_mm2 <= high for _, _, low, high in self.ends)
        return bool(self.shelf) and g.size not in self.shelf

    def _too_hot(self, g: Gauge) -> bool:
        """Whether what flows but briefly heats a size more than it stands, and is more than it carries for ever."""
        seconds, whole_a = self.requirement.brief_s, self.requirement.design.value
        if seconds is None or suffices(g.ampacity_a * self.run.parallel, whole_a, NOISE):
            return False
        return not suffices(brief_a(self.laying.insulation_c, g.area_mm2, seconds) * self.run.parallel, whole_a, NOISE)

    def too_little_before(self, g: Gauge) -> bool:
        """Whether a size carries too little of continuous current before any factor, where the profile asks so."""
        return not suffices(g.unfactored_a * self.run.parallel, self.requirement.unfactored_a, NOISE)

    def _unprotected(self, g: Gauge) -> bool:
        """Whether the devices of the run let more pass than a size may carry for ever."""
        rating_a = self.requirement.protect_a
        if not rating_a:
            return False
        share = self.profile.figures["device-share"].value
        cap = device_cap(self.profile, g.size, self.run.current)
        capped = cap is not None and self.run.parallel == 1 and bool(self.requirement.protected_by)
        over = capped and cap is not None and exceeds(rating_a, cap.value, NOISE)
        return over or not suffices(g.ampacity_a * share * self.run.parallel, rating_a, NOISE)

    def allows(self, g: Gauge, rules: tuple[Rule, ...]) -> bool:
        """Whether none of these rules refuses a size."""
        for rule in rules:  # noqa: SIM110, an `all()` over a generator takes twice the time of this hot loop
            if self.refuses(rule, g):
                return False
        return True

    def refused_by(self, g: Gauge, rules: tuple[Rule, ...] = ALONE) -> tuple[Rule, ...]:
        """The rules that refuse a size, in the order of the ladder."""
        return tuple(rule for rule in rules if self.refuses(rule, g))


def rules(
    system: System, profile: Profile, layings: Mapping[str, Laying], required: Mapping[str, RunRequirement]
) -> dict[str, Rules]:
    """The rules of every run that lies somewhere, by run id."""
    settings = system.settings
    shelf = frozenset(system.stock.sizes) if system.stock else frozenset[Size]()
    by_run: dict[str, Rules] = {}
    for run_id, laying in layings.items():
        run = system.runs[run_id]
        by_run[run.id] = Rules(
            run=run,
            profile=profile,
            series=settings.conductors,
            laying=laying,
            requirement=required[run.id],
            nominal_v=nominal_v(system, run),
            makers=makers_sizes(system, profile, run),
            ends=_ends(system, run),
            shelf=shelf,
        )
    return by_run


def _ends(system: System, run: Run) -> tuple[tuple[str, str, float, float], ...]:
    """Every stated clamp or stud at the ends of a run, see `Rules.ends`."""
    return tuple(
        (node, describe(terminal), *limits(terminal))
        for conductor in (system.conductors[c] for c in run.conductor_ids)
        for node, terminal in terminals(system, conductor)
    )
