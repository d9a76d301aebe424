"""Selectivity of devices: ratings of our own choice raised clear of those below them, where that costs no copper.

`protection.rate` takes the smallest rating that carries its current, which may equal that of a branch. A fault behind
the branch may then open both. Where the conductors as sized carry the next rating that stands clear of it, and nothing
else in the plate gets worse, that one is taken.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import accumulate

from copperplate import protection, sizing
from copperplate.findings import Finding
from copperplate.model.results import Demand, Rating, RunResult, Solution
from copperplate.model.system import System
from copperplate.model.trace import Assumption
from copperplate.standards import Profile
from copperplate.units import number, suffices

TOO_CLOSE = "CP419"
MOST_TRIALS = 8
"""Ratings are raised all together; where that does not serve, those that do harm are left as they are, so often."""


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

    def sized(levels: Selectivity) -> Selectivity:
        """The same with the ladders of these ratings. Each size still carries what it must; loops sized step by step
        may come out otherwise even so."""
        runs, findings, assumptions = sizing.choose(system, profile, demand, levels.ratings)
        runs = {r: replace(run, governed_by=now.runs[r].governed_by) for r, run in runs.items()}
        return replace(levels, runs=runs, sizing_findings=findings, sizing_assumptions=assumptions)

    def attempt(at_least: Mapping[str, float], rounds: int) -> _Trial | None:
        """The plate with these ratings, without those that do harm: where a size no longer carries what it must, or
        anything is said that was not said before; `blamed` are those that it is said of. A device above that now
        stands too close is raised with it."""
        wanted, best, barred = dict(at_least), None, set[str]()
        for _ in range(rounds if wanted else 0):
            ratings, rating_findings = protection.rate(system, profile, demand, wanted)
            harmful = {device for device, a in wanted.items() if not suffices(ratings[device].rating_a or 0.0, a)}
            if not harmful:
                thinner = sizing.unprotected(system, profile, demand, ratings, now.runs).items()
                for run, by in thinner:
                    harmful |= _too_much(now, wanted, run, by) if run not in thin else set()
            if not harmful:
                levels = sized(replace(now, ratings=ratings, rating_findings=rating_findings))
                if any(run.size != now.runs[r].size for r, run in levels.runs.items()):
                    break
                trial = check(levels)
                best = trial if trial.wrong < start.wrong else best
                above = {d: a for d, a in _close(profile, trial).items() if a > wanted.get(d, 0.0) and d not in barred}
                if above:
                    wanted |= above
                    continue
                subjects = {subject for _, subject in trial.wrong - start.wrong}
                own = subjects & wanted.keys()
                blamed.update(own)
                harmful = own | _harmful(wanted, [_near(system, trial, subject) for subject in subjects - own])
            barred |= harmful
            wanted = {device: a for device, a in wanted.items() if device not in harmful}
            if not harmful or not wanted:
                break
        return best

    start = check(now)
    carried = {name: device.smallest_ampacity_a or 0.0 for name, device in start.checked.devices.items()}
    close = {device: a for device, a in _close(profile, start).items() if suffices(carried[device], a)}
    if not close:
        return now, start.checked
    thin = sizing.unprotected(system, profile, demand, now.ratings, now.runs)
    blamed = set[str]()
    best = attempt(close, MOST_TRIALS)
    ratings = best.levels.ratings if best is not None else {}
    kept = {d: rated for d, a in close.items() if d in ratings and suffices(rated := ratings[d].rating_a or 0.0, a)}
    left = sorted(set(close) - set(kept) - blamed, key=lambda device: (close[device], device))
    for device in left if len(left) <= MOST_TRIALS else ():
        trial = attempt({**kept, device: close[device]}, 2)
        if trial is not None and (best is None or trial.wrong < best.wrong):
            best, kept[device] = trial, close[device]
    if best is None:
        return now, start.checked
    return _told(profile, best.levels, now), best.checked


def _too_much(now: Selectivity, wanted: Mapping[str, float], run: str, by: tuple[str, ...]) -> set[str]:
    """Of the raised devices that a run relies on, where none of them is raised of all, those that let more pass than
    it has to spare: the smaller ones come first."""
    result, ampacity = now.runs[run], now.runs[run].ampacity
    spare_a = (ampacity.value if ampacity is not None else 0.0) - sum(_rating_a(now, d) for d in result.protected_by)
    together = sorted({*by, *result.protected_by} & set(wanted) or wanted, key=lambda d: (wanted[d], d))
    more_a = list(accumulate(wanted[device] - _rating_a(now, device) for device in together))
    return {device for device, more in zip(together, more_a, strict=True) if more > spare_a} or set(together)


def _rating_a(levels: Selectivity, device: str) -> float:
    rating = levels.ratings.get(device)
    return (rating.rating_a if rating is not None else None) or 0.0


def _harmful(wanted: Mapping[str, float], at_fault: list[set[str]]) -> set[str]:
    """The raised devices among those at fault for each new harm, where none of them is raised among all; of several
    the larger half."""
    harmful: set[str] = set()
    for devices in at_fault:
        together = sorted(devices & set(wanted) or wanted, key=lambda device: (wanted[device], device))
        harmful.update(together[len(together) // 2 :])
    return harmful


def _near(system: System, trial: _Trial, subject: str) -> set[str]:
    """The devices that may be at fault for a finding: its subject, those that protect it or stand in a run at it, and
    below a device those that are as large."""
    runs, rated = trial.levels.runs, trial.levels.ratings.get(subject)
    found = {subject, *(runs[subject].protected_by if subject in runs else ())}
    for device in system.devices.values():
        rating, conductors = trial.levels.ratings.get(device.id), system.runs[device.run].conductor_ids
        nodes = [end for leg in device.legs for end in leg]
        nodes += [end for c in conductors for end in (system.conductors[c].from_node, system.conductors[c].to_node)]
        too_large = rated is not None and rating is not None and (rating.rating_a or 0.0) >= (rated.rating_a or 0.0)
        if too_large or subject in (device.run, device.panel, *(system.nodes[node].part for node in nodes)):
            found.add(device.id)
    return found


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
