"""Fewer sizes on the shelf, for the least extra copper over the sizes already chosen.

Every run moves up to the next size that is on the shelf. The cost of a shelf is a sum over the intervals between
its neighbouring sizes, so that the best shelf of N sizes is found exactly by dynamic programming over the sizes in
ascending order of area: O(N m^2) for m sizes in use.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from copperplate.model import Size, System
from copperplate.model.results import RunResult
from copperplate.standards import conductors
from copperplate.units import NOISE, suffices


@dataclass(frozen=True, slots=True)
class SizedRun:
    """What one run needs of a shelf: its chosen `size`, metres of conductor of that size, the largest size that its
    terminals take (None: any), and whether the plate states the size, which then does not move."""

    run: str
    size: Size
    metres: float
    largest: Size | None
    fixed: bool


@dataclass(frozen=True, slots=True)
class Shelf:
    """Sizes in ascending area and the copper that they cost beyond the chosen sizes, in mm2 m."""

    sizes: tuple[Size, ...]
    extra_mm2_m: float


def sized_runs(system: System, runs: Mapping[str, RunResult]) -> tuple[SizedRun, ...]:
    """What each sized run needs, in declaration order."""
    result = []
    for run_id, run in runs.items():
        if run.size is None or run.area_mm2 <= 0.0:
            continue
        fitting = [
            c.size
            for c in run.candidates
            if not any(rung.rule == "terminal" and rung.verdict == "refused" for rung in c.rungs)
        ]
        refused = len(fitting) < len(run.candidates)
        largest = max(fitting, key=conductors.area_mm2) if refused and fitting else None
        result.append(
            SizedRun(run_id, run.size, run.copper_mm2_m / run.area_mm2, largest, system.runs[run_id].size is not None)
        )
    return tuple(result)


def fewest(runs: Iterable[SizedRun], at_most: int) -> Shelf | None:
    """The shelf of at most `at_most` sizes with the least extra copper; None where no shelf so small serves.

    Ties go to the smaller number of sizes, then to the smaller sizes. A size that the plate states, or whose run
    ends on a terminal that takes nothing larger, stays on the shelf."""
    runs = tuple(runs)
    by_area = {conductors.area_mm2(run.size): run.size for run in reversed(runs)}
    areas = sorted(by_area)
    if not areas or at_most < 1:
        return None
    count = len(areas)
    metres = [0.0] * count
    ceiling = [math.inf] * count
    for run in runs:
        place = areas.index(conductors.area_mm2(run.size))
        metres[place] += run.metres
        if run.fixed:
            ceiling[place] = areas[place]
        elif run.largest is not None:
            ceiling[place] = min(ceiling[place], conductors.area_mm2(run.largest))
    # best[n][i]: least extra copper of the sizes 0..i with n shelf sizes, the largest of them i.
    best = [[math.inf] * count for _ in range(at_most + 1)]
    came = [[-1] * count for _ in range(at_most + 1)]
    for number in range(1, at_most + 1):
        for top in range(count):
            extra = 0.0
            for low in range(top, -1, -1):
                if not suffices(ceiling[low], areas[top], NOISE):
                    break
                extra += metres[low] * (areas[top] - areas[low])
                below = 0.0 if low == 0 and number == 1 else best[number - 1][low - 1] if low else math.inf
                if not suffices(below + extra, best[number][top], NOISE):
                    best[number][top], came[number][top] = below + extra, low - 1
    number = min(range(1, at_most + 1), key=lambda n: (best[n][-1], n))
    if math.isinf(best[number][-1]):
        return None
    cost, chosen, top = best[number][-1], [], count - 1
    while top >= 0:
        chosen.append(by_area[areas[top]])
        number, top = number - 1, came[number][top]
    return Shelf(tuple(reversed(chosen)), cost)


def trade(runs: Iterable[SizedRun]) -> tuple[Shelf, ...]:
    """The best shelf for each number of sizes that serves, from all sizes in use down to the fewest."""
    runs = tuple(runs)
    shelves: dict[int, Shelf] = {}
    for number in range(len({conductors.area_mm2(run.size) for run in runs}), 0, -1):
        shelf = fewest(runs, number)
        if shelf is None:
            break
        shelves[len(shelf.sizes)] = shelf
    return tuple(shelves.values())
