"""The best shelf against every shelf: brute force over all subsets of the sizes in use."""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from small_plates import compiled

from copperplate.design import compile_plate
from copperplate.model import Size
from copperplate.standards import conductors
from copperplate.stock import SizedRun, fewest, trade
from copperplate.text import Source

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


SHELVED = """system "Small boat"
  nominal 12 V
  rules cfr-183
battery house 12.8 V, 60 Ah, agm, range 12.0..14.4 V, full 14.4 V, fault-current {fault} A
{shelf}
load lamp {amperes} A
house -//- 0.1 m -- [main: {device}] -- 2 m -- lamp
"""


@pytest.mark.parametrize(
    ("shelf", "device", "amperes", "fault", "chosen"),
    [
        ("", "fuse", 4, 900, ("blade", 5)),
        # Only what is there: 5 A by the factor of 1.25, and the next on the shelf is 10 A.
        ("stock fuse blade 3 A, 10 A", "fuse", 4, 900, ("blade", 10)),
        ("stock fuse mini-blade, fuse blade", "fuse", 4, 900, ("mini-blade", 5)),
        # Blades break 1 kA (ISO 8820-3), class T 20 kA (UL 248-15): the second family of the shelf serves.
        ("stock fuse blade, fuse class-t 6 A, 10 A", "fuse", 4, 3000, ("class-t", 6)),
        # Nothing on the shelf is large enough: families that it does not name stay free, and gG is found in 10 A.
        ("stock fuse blade 5 A", "fuse", 8, 900, ("gg", 10)),
        ("stock breaker 15 A", "breaker, voltage 32 V, breaks 5 kA", 8, 900, ("breaker", 15)),
    ],
)
def test_devices_come_from_the_shelf(shelf: str, device: str, amperes: int, fault: int, chosen: tuple[str, int]):
    design, _ = compiled("", SHELVED.format(shelf=shelf, device=device, amperes=amperes, fault=fault))
    rating = design.devices["main"].rating
    assert (rating.family, rating.rating_a) == chosen


def test_a_rating_on_the_shelf_has_its_family():
    source = Source("a.plate", SHELVED.format(shelf="stock 5 A", device="fuse", amperes=4, fault=900))
    _, findings = compile_plate(source, lambda name: None)
    assert [f.code for f in findings if f.severity == "error"] == ["CP120"]
