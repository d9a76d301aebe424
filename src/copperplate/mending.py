"""Findings that belong together: what only follows from an error is left out, and what is offered for one run holds
for all that is wrong with it.

Each finding offers what would mend it alone. Where several errors concern one run with a stated size, the plate is
designed again without those sizes (and without the ratings that are too small), and once more with what that came to
stated: only what then leaves no error of the run is offered.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from copperplate.findings import Finding
from copperplate.findings.entry import render
from copperplate.model.results import Design, LoadResult
from copperplate.model.system import System
from copperplate.model.values import Size

ALIKE = frozenset((
    "CP301", "CP303", "CP304", "CP306", "CP310", "CP311", "CP402", "CP403", "CP404", "CP405", "CP414", "CP427", "CP433",
    "CP506",
))  # fmt: skip
"""Errors that another size of the run can mend."""
TOO_SMALL = ("CP405",)
"""Errors of a stated rating that a larger one mends."""
BY_CURRENT = frozenset(("CP313", "CP412", "CP417", "CP418", "CP419"))
"""What is said of currents and shorts: not while a part of the plate cannot be read or leads nowhere."""
OF_ITSELF = frozenset(("CP302", "CP304", "CP305", "CP306", "CP310", "CP311", "CP402", "CP404"))
"""Errors of a run by what the plate states of it and of the way to it. Others rest on all that is connected: they are
told once the whole plate can be read and leads somewhere."""
_RATING = "{rating} A for `{device}`"
_TOGETHER = (
    "{size} on `{run}`< and {ratings:list}>: that mends all {count} errors of this run",
    "{size} on `{run}`< and {ratings:list}>: that mends both errors of this run",
)
"""What is offered for all errors of a run, see `findings/entry.py`."""
ROUNDS = 3
"""Offers that do not hold together are left out, so often."""
LARGEST = 2000
"""Runs of the largest plate that is designed again for this."""


def without_followers(findings: tuple[Finding, ...], misread: bool) -> tuple[Finding, ...]:
    """The findings without those that follow from an error: a budget overdrawn where the supply breaks down
    altogether; and, where the plate is `misread`, warnings and advice that rest on all of its currents."""
    broken = {f.subject for f in findings if f.code == "CP301"}
    return tuple(
        f
        for f in findings
        if not (f.code == "CP310" and f.subject in broken) and not (misread and f.code in BY_CURRENT)
    )


def of_itself(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """What can be said of a plate of which a part cannot be read or leads nowhere."""
    return tuple(f for f in findings if f.severity != "error" or f.code in OF_ITSELF)


def agreeing(
    system: System,
    findings: tuple[Finding, ...],
    loads: Mapping[str, LoadResult],
    again: Callable[[System], Design],
) -> tuple[Finding, ...]:
    """The findings, those that share a run with one offer that mends them together."""
    groups = _groups(system, findings, loads)
    if not groups or len(system.runs) > LARGEST:
        return findings
    too_small = {f.subject for group in groups.values() for f in group if f.code in TOO_SMALL}
    small = [device for device in system.devices if device in too_small]
    free = again(_with(system, dict.fromkeys(groups), dict.fromkeys(small)))
    offers = {run: size for run in groups if (result := free.runs.get(run)) and (size := result.size) is not None}
    ratings = {d: rating for d in small if d in free.devices and (rating := free.devices[d].rating.rating_a)}
    for _ in range(ROUNDS):
        mended = again(_with(system, offers, {d: a for d, a in ratings.items() if system.devices[d].run in offers}))
        left = {f.subject for f in mended.errors}
        failing = [run for run in offers if left & {f.subject for f in groups[run]}]
        if not failing:
            break
        for run in failing:
            del offers[run]
    else:
        return findings
    helps: dict[int, str] = {}
    for run, size in offers.items():
        own = [render(_RATING, {"device": d, "rating": a}) for d, a in ratings.items() if system.devices[d].run == run]
        count = len(groups[run])
        figures = {"run": run, "size": size.label, "ratings": own, "count": count if count > 2 else None}
        helps |= dict.fromkeys(map(id, groups[run]), render(_TOGETHER, figures))
    return tuple(replace(f, help=helps[id(f)]) if id(f) in helps else f for f in findings)


def _with(system: System, sizes: Mapping[str, Size | None], ratings: Mapping[str, float | None]) -> System:
    """The system with other sizes and ratings stated; None leaves one out."""
    return replace(
        system,
        runs={
            i: replace(run, size=sizes[i], size_span=run.size_span if sizes[i] else None) if i in sizes else run
            for i, run in system.runs.items()
        },
        devices={
            i: replace(device, rating_a=ratings[i]) if i in ratings else device for i, device in system.devices.items()
        },
    )


def _groups(system: System, findings: tuple[Finding, ...], loads: Mapping[str, LoadResult]) -> dict[str, list[Finding]]:
    """Errors by the run with a stated size that they concern, where there are several."""
    groups: dict[str, list[Finding]] = {}
    for f in findings:
        if f.code not in ALIKE:
            continue
        run = f.subject
        if run in system.devices:
            run = system.devices[run].run
        elif run in loads:
            run = _on_way(system, loads[run], f)
        if run in system.runs and system.runs[run].size is not None:
            groups.setdefault(run, []).append(f)
    return {run: group for run, group in groups.items() if len(group) > 1}


def _on_way(system: System, load: LoadResult, f: Finding) -> str:
    """The run that a finding on a load marks, else the one that brings its current."""
    for step in load.path:
        conductor = system.conductors.get(step.through)
        run = system.runs[conductor.run] if conductor is not None else None
        if run is not None and f.span is not None and f.span in (run.size_span, run.span):
            return run.id
    return load.run
