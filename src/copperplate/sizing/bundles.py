"""Loaded conductors that lie together: a route knows which runs share it, so bundling counts itself.

Every current-carrying conductor counts, returns and each conductor in parallel included. Earths do not, nor the
neutral of a split phase that carries only what the two lines differ by, nor loads that no case runs together: the
count of a route is the largest over the cases, and a run always counts itself.
"""

from __future__ import annotations

from copperplate.model import Run, System
from copperplate.model.results import Demand
from copperplate.units import NOISE


def counting(system: System, run: Run) -> tuple[str, ...]:
    """The conductors of a run that count as loaded."""
    if run.earth:
        return ()
    poles = {c: system.conductors[c].pole for c in run.conductor_ids}
    split = "l1" in poles.values() and "l2" in poles.values()
    routed = dict.fromkeys(poles.values())
    kept = [pole for pole in routed if pole != "pe" and not (pole == "n" and split)]
    return tuple(next(c for c, at in poles.items() if at == pole) for pole in kept)


def loaded(system: System, demand: Demand) -> dict[str, int]:
    """By run id: the loaded conductors laid together with it, its own included."""
    own = {run.id: len(counting(system, run)) * run.parallel for run in system.runs.values()}
    counts = dict(own)
    for route in system.routes.values():
        runs = [system.runs[r] for r in dict.fromkeys(route.runs) if r in system.runs]
        together: list[dict[str, int]] = []
        for amperes in demand.case_a.values():
            on = {
                run.id: run.parallel * sum(abs(amperes.get(c, 0.0)) > NOISE for c in counting(system, run))
                for run in runs
            }
            together.append(on)
        for run in runs:
            most = max((sum(on.values()) - on[run.id] for on in together), default=0)
            counts[run.id] = max(counts[run.id], most + own[run.id])
    return counts
