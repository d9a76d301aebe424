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


@dataclass(frozen=True, slots=True)
class Need:
    """What one run needs: its chosen `size`, metres of conductor of that size, the largest size that its terminals
    take (None: any), and whether the plate states the size, which then does not move."""

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


def needs(system: System, runs: Mapping[str, RunResult]) -> tuple[Need, ...]:
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
            Need(run_id, run.size, run.copper_mm2_m / run.area_mm2, largest, system.runs[run_id].size is not None)
        )
    return tuple(result)


def fewest(wanted: Iterable[Need], at_most: int) -> Shelf | None:
    """The shelf of at most `at_most` sizes with the least extra copper; None where no shelf so small serves.

    Ties go to the smaller number of sizes, then to the smaller sizes. A size that the plate states, or whose run
    ends on a terminal that takes nothing larger, stays on the shelf."""
    wanted = tuple(wanted)
    by_area = {conductors.area_mm2(need.size): need.size for need in reversed(wanted)}
    areas = sorted(by_area)
    if not areas or at_most < 1:
        return None
    count = len(areas)
    metres = [0.0] * count
    ceiling = [math.inf] * count
    for need in wanted:
        place = areas.index(conductors.area_mm2(need.size))
        metres[place] += need.metres
        if need.fixed:
            ceiling[place] = areas[place]
        elif need.largest is not None:
            ceiling[place] = min(ceiling[place], conductors.area_mm2(need.largest))
    # best[n][i]: least extra copper of the sizes 0..i with n shelf sizes, the largest of them i.
    best = [[math.inf] * count for _ in range(at_most + 1)]
    came = [[-1] * count for _ in range(at_most + 1)]
    for number in range(1, at_most + 1):
        for top in range(count):
            extra = 0.0
            for low in range(top, -1, -1):
                if ceiling[low] < areas[top] * (1 - 1e-9):
                    break
                extra += metres[low] * (areas[top] - areas[low])
                below = 0.0 if low == 0 and number == 1 else best[number - 1][low - 1] if low else math.inf
                if below + extra < best[number][top] - 1e-9:
                    best[number][top], came[number][top] = below + extra, low - 1
    number = min(range(1, at_most + 1), key=lambda n: (best[n][-1], n))
    if math.isinf(best[number][-1]):
        return None
    cost, chosen, top = best[number][-1], [], count - 1
    while top >= 0:
        chosen.append(by_area[areas[top]])
        number, top = number - 1, came[number][top]
    return Shelf(tuple(reversed(chosen)), cost)


def trade(wanted: Iterable[Need]) -> tuple[Shelf, ...]:
    """The best shelf for each number of sizes that serves, from all sizes in use down to the fewest."""
    wanted = tuple(wanted)
    found: dict[int, Shelf] = {}
    for number in range(len({conductors.area_mm2(need.size) for need in wanted}), 0, -1):
        shelf = fewest(wanted, number)
        if shelf is None:
            break
        found[len(shelf.sizes)] = shelf
    return tuple(found.values())
