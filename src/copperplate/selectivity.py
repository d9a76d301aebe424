"""Selectivity of devices: ratings of our own choice raised clear of those below them, where that costs no copper.

`protection.rate` takes the smallest rating that carries its current, which may equal that of a branch. A fault behind
the branch may then open both. Where the conductors as sized carry the next rating that stands clear of it, and nothing
else in the plate gets worse, that one is taken.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from copperplate import protection, sizing
from copperplate.findings import Finding
from copperplate.model.results import Demand, Rating, RunResult, Solution
from copperplate.model.system import System
from copperplate.model.trace import Assumption
from copperplate.standards import Profile
from copperplate.units import number, suffices

TOO_CLOSE = "CP419"
MOST_TRIALS = 8
"""Ratings are raised all together; where that does not serve, one after the other, so many of them."""
LARGE = 2000
"""Runs from which ratings are raised all together or not at all, for every trial checks the whole plate."""


@dataclass(frozen=True)
class Selectivity:
    """Ratings and runs as they stand in the end, with the findings and assumptions of rating and sizing."""

    ratings: dict[str, Rating]
    runs: dict[str, RunResult]
    rating_findings: tuple[Finding, ...]
    sizing_findings: tuple[Finding, ...]
    sizing_assumptions: tuple[Assumption, ...]


@dataclass(frozen=True)
class _Trial:
    levels: Selectivity
    checked: protection.Checked

    @property
    def findings(self) -> tuple[Finding, ...]:
        return (*self.levels.rating_findings, *self.levels.sizing_findings, *self.checked.findings)

    @property
    def wrong(self) -> frozenset[tuple[str, str]]:
        return frozenset((f.code, f.subject) for f in self.findings)


def raised(
    system: System,
    profile: Profile,
    demand: Demand,
    now: Selectivity,
    solution: Solution,
) -> tuple[Selectivity, protection.Checked]:
    """The ratings that stand clear of those below them where that costs nothing, else as they are; with what the
    checks of protection say of them."""

    def check(levels: Selectivity) -> _Trial:
        return _Trial(levels, protection.check(system, profile, demand, levels.ratings, levels.runs, solution))

    def attempt(at_least: Mapping[str, float]) -> _Trial | None:
        """The plate with these ratings; None where a size changes or anything is said that was not said before. A
        device above that now stands too close is raised with it."""
        wanted, best = dict(at_least), None
        for _ in range(trials):
            trial = built(wanted)
            if trial is not None and trial.wrong < start.wrong:
                best = trial
            above = {d: a for d, a in _close(profile, trial).items() if a > wanted.get(d, 0.0)} if trial else {}
            if not above:
                break
            wanted |= above
        return best

    def built(wanted: Mapping[str, float]) -> _Trial | None:
        ratings, rating_findings = protection.rate(system, profile, demand, wanted)
        if any(not suffices(ratings[d].rating_a or 0.0, a) for d, a in wanted.items()):
            return None
        if not sizing.unprotected(system, profile, demand, ratings, now.runs) <= unprotected:
            return None
        return check(replace(now, ratings=ratings, rating_findings=rating_findings))

    def sized(levels: Selectivity) -> Selectivity:
        """The same with the ladders of these ratings; the sizes are the same, for each still carries what it must."""
        runs, findings, assumptions = sizing.choose(system, profile, demand, levels.ratings)
        runs = {r: replace(run, governed_by=now.runs[r].governed_by) for r, run in runs.items()}
        return replace(levels, runs=runs, sizing_findings=findings, sizing_assumptions=assumptions)

    trials = MOST_TRIALS if len(system.runs) < LARGE else 1
    start = check(now)
    close = _close(profile, start)
    if not close:
        return now, start.checked
    unprotected = sizing.unprotected(system, profile, demand, now.ratings, now.runs)
    together = attempt(close)
    if together is None:
        kept: dict[str, float] = {}
        for device in sorted(close, key=lambda d: (close[d], d))[: trials if trials > 1 else 0]:
            trial = attempt({**kept, device: close[device]})
            if trial is not None:
                kept[device] = close[device]
                together = start = trial
    if together is None:
        return now, start.checked
    final = check(sized(together.levels))
    return _told(profile, final.levels, now), final.checked


def _close(profile: Profile, trial: _Trial) -> dict[str, float]:
    """Devices of our own choice that stand too close above others, with the rating that would stand clear."""
    found: dict[str, float] = {}
    for f in trial.checked.findings:
        rating = trial.levels.ratings.get(f.subject)
        if f.code != TOO_CLOSE or f.measure is None or rating is None or rating.stated or rating.rating_a is None:
            continue
        clear = rating.rating_a * float(f.measure.limit) / float(f.measure.found)
        made = [a for a in profile.family(rating.family).ratings_a if suffices(a, clear)]
        if made:
            found[f.subject] = made[0]
    return found


def _told(profile: Profile, levels: Selectivity, before: Selectivity) -> Selectivity:
    """The ratings raised, each listed as a choice."""
    clear = profile.figures["selectivity"]
    assumed = [
        Assumption(
            device,
            f"{number(rating.rating_a or 0.0)} A is taken, for its conductors carry it and it stands clear of the "
            f"devices below; {number(before.ratings[device].rating_a or 0.0)} A would carry its current",
            f"{number(clear.value)} times: {clear.cited}",
        )
        for device, rating in levels.ratings.items()
        if rating.rating_a != before.ratings[device].rating_a
    ]
    return replace(levels, sizing_assumptions=(*levels.sizing_assumptions, *assumed))
