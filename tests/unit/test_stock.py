"""The best shelf against every shelf: brute force over all subsets of the sizes in use."""

from __future__ import annotations

from itertools import combinations

from hypothesis import given
from hypothesis import strategies as st

from copperplate.model import Size
from copperplate.standards import conductors
from copperplate.stock import SizedRun, fewest, trade

SIZES = tuple(Size(number, "AWG") for number in ("16", "14", "12", "10", "8", "6", "4", "2", "1", "1/0"))


@st.composite
def wants(draw: st.DrawFn) -> tuple[SizedRun, ...]:
    result = []
    for number in range(draw(st.integers(1, 9))):
        place = draw(st.integers(0, len(SIZES) - 1))
        largest = draw(st.none() | st.integers(place, len(SIZES) - 1))
        metres = float(draw(st.integers(1, 40)))
        fixed = draw(st.integers(0, 5)) == 0
        result.append(SizedRun(f"r{number}", SIZES[place], metres, None if largest is None else SIZES[largest], fixed))
    return tuple(result)


def cost(runs: tuple[SizedRun, ...], shelf: tuple[Size, ...]) -> float | None:
    """Extra copper of a shelf by the definition; None where a run finds no size."""
    total = 0.0
    for run in runs:
        area = conductors.area_mm2(run.size)
        above = [a for a in map(conductors.area_mm2, shelf) if a >= area]
        if not above:
            return None
        taken = min(above)
        if run.fixed and taken > area:
            return None
        if run.largest is not None and taken > conductors.area_mm2(run.largest):
            return None
        total += run.metres * (taken - area)
    return total


@given(wants(), st.integers(1, 6))
def test_the_best_shelf_equals_brute_force(runs: tuple[SizedRun, ...], at_most: int) -> None:
    costs = [
        found
        for number in range(1, at_most + 1)
        for shelf in combinations(SIZES, number)
        if (found := cost(runs, shelf)) is not None
    ]
    best = fewest(runs, at_most)
    if not costs:
        assert best is None
        return
    assert best is not None and len(best.sizes) <= at_most
    assert abs(best.extra_mm2_m - min(costs)) < 1e-6
    assert abs((cost(runs, best.sizes) or 0.0) - best.extra_mm2_m) < 1e-6


@given(wants())
def test_fewer_sizes_never_cost_less(runs: tuple[SizedRun, ...]) -> None:
    shelves = trade(runs)
    assert shelves[0].extra_mm2_m < 1e-9
    extras = [shelf.extra_mm2_m for shelf in shelves]
    assert extras == sorted(extras)
    assert [len(s.sizes) for s in shelves] == sorted({len(s.sizes) for s in shelves}, reverse=True)
