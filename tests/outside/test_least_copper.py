"""The least copper against an integer program: `scipy.optimize.milp` (HiGHS) on the same instance, as an oracle."""

from __future__ import annotations

import random
from itertools import product

import pytest
from least_copper_instances import SIZES, by_program, chained, options, plate

from copperplate.sizing import pareto
from copperplate.sizing.instance import BudgetedPath, Option
from copperplate.sizing.least_copper import least_copper


def copper(units: list[list[Option]], taken: tuple[int | None, ...]) -> float:
    return sum(unit[k].copper for unit, k in zip(units, taken, strict=True) if k is not None) / 1e9


def holds(units: list[list[Option]], paths: list[BudgetedPath], taken: tuple[int | None, ...]) -> bool:
    return all(
        sum(w * units[u][taken[u] or 0].ohm_per_m for u, w in path.units) <= path.budget_v * (1 + 2e-9)
        for path in paths
    )


def test_equal_to_an_integer_program_on_random_plates() -> None:
    rng = random.Random(2026)
    for _ in range(200):
        units, paths = plate(rng, rng.randint(5, 40))
        choice = least_copper(units, paths)
        held = [path for number, path in enumerate(paths) if number not in choice.beyond]
        assert choice.exact and holds(units, held, choice.taken)
        optimum = by_program(units, held)
        assert abs(copper(units, choice.taken) - optimum) <= 1e-7 * optimum


def test_deep_trees_equal_an_integer_program() -> None:
    """Chains of taps: every run feeds the next, so that fronts meet fronts."""
    rng = random.Random(5)
    for _ in range(25):
        runs = rng.randint(5, 16)
        parent = [-1] + [rng.randrange(max(0, run - 3), run) for run in range(1, runs)]
        amperes = [rng.uniform(0.5, 4) for _ in range(runs)]
        for run in range(runs - 1, 0, -1):
            amperes[parent[run]] += amperes[run]
        metres = [rng.uniform(1, 6) for _ in range(runs)]
        units = [options(m, rng.randrange(0, 3), len(SIZES)) for m in metres]
        paths = []
        for run in range(runs):
            legs, here = [], run
            while here >= 0:
                legs.append((here, amperes[here] * metres[here]))
                here = parent[here]
            paths.append(BudgetedPath(rng.choice((0.36, 0.72, 1.2)), tuple(reversed(legs))))
        choice = least_copper(units, paths)
        held = [path for number, path in enumerate(paths) if number not in choice.beyond]
        assert choice.exact and abs(copper(units, choice.taken) - by_program(units, held)) < 1e-6


def test_bounded_fronts_equal_an_integer_program(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same with every front held to be long, so that the bounds of the relaxation decide what is kept."""
    monkeypatch.setattr(pareto, "SHORT", 2)
    rng = random.Random(7)
    for _ in range(25):
        units, paths = chained(rng, rng.choice((1, 2, 3)), rng.randint(3, 7))
        choice = least_copper(units, paths)
        held = [path for number, path in enumerate(paths) if number not in choice.beyond]
        assert choice.exact and holds(units, held, choice.taken)
        assert copper(units, choice.taken) == pytest.approx(by_program(units, held), rel=1e-7)


def test_unlike_ampere_metres_on_a_ring_equal_an_integer_program() -> None:
    """A ring is one unit that each load behind it sees with ampere-metres of its own."""
    rng = random.Random(11)
    for _ in range(25):
        branches = rng.randint(2, 6)
        metres = [rng.uniform(6, 20)] + [rng.uniform(2, 9) for _ in range(branches)]
        units = [options(m, 0, len(SIZES)) for m in metres]
        paths = [BudgetedPath(0.5, ((0, rng.uniform(5, 60)), (1 + b, rng.uniform(2, 40)))) for b in range(branches)]
        choice = least_copper(units, paths)
        assert choice.exact and abs(copper(units, choice.taken) - by_program(units, paths)) < 1e-6


def test_ways_that_do_not_nest_hold_their_budgets() -> None:
    """Two sources' leads shared crosswise: the documented fallback, never below the optimum and never over a budget."""
    rng = random.Random(13)
    for _ in range(40):
        units = [options(rng.uniform(1, 9), 0, len(SIZES)) for _ in range(4)]
        paths = [
            BudgetedPath(0.36, ((0, 30.0), (1, 20.0))), BudgetedPath(0.36, ((1, 20.0), (2, rng.uniform(5, 40)))),
            BudgetedPath(0.5, ((0, 30.0), (2, 10.0), (3, rng.uniform(1, 30)))),
        ]  # fmt: skip
        choice = least_copper(units, paths)
        held = [path for number, path in enumerate(paths) if number not in choice.beyond]
        assert not choice.exact and holds(units, held, choice.taken)
        assert copper(units, choice.taken) >= by_program(units, held) * (1 - 1e-9)


def test_ties_go_to_the_smaller_largest_size() -> None:
    """Brute force over all choices: least copper, then the smaller largest size."""
    rng = random.Random(17)
    for _ in range(60):
        metres = [float(rng.choice((2, 4))) for _ in range(3)]
        areas = (1.0, 2.0, 3.0, 4.0)
        units = [[Option(0.02 / a, a, round(a * m * 1e9)) for a in areas] for m in metres]
        ampere_metres = [m * rng.choice((2.0, 4.0)) for m in metres]
        paths = [
            BudgetedPath(rng.uniform(0.1, 0.5), ((0, ampere_metres[0]), (1, ampere_metres[1]), (2, ampere_metres[2])))
        ]
        choice = least_copper(units, paths)
        if choice.beyond:
            continue
        fitting = [c for c in product(range(4), repeat=3) if holds(units, paths, c)]
        best = min(fitting, key=lambda c: (round(copper(units, c), 9), max(areas[k] for k in c)))
        taken = choice.taken
        assert round(copper(units, taken), 9) == round(copper(units, best), 9)
        assert max(areas[k or 0] for k in taken) == max(areas[k] for k in best)
