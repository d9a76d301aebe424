"""How fast the least copper is found: against an integer program, and for ten thousand circuits."""

from __future__ import annotations

import random
import sys
from pathlib import Path
from time import process_time

import pytest

sys.path.append(str(Path(__file__).parents[1] / "outside"))
from least_copper_instances import SIZES, Instance, by_program, chained, options, plate
from test_least_copper_plates import judged_by_budget

from copperplate.design import compile_plate
from copperplate.sizing import branch_and_bound
from copperplate.sizing.instance import BudgetedPath, Option
from copperplate.sizing.least_copper import Assignment, least_copper
from copperplate.text import Source

TIMES = 50
"""About 110 on random instances and 80 on whole plates, whose programs are easier, on a quiet machine. Of what the
program takes, 95 hundredths are spent in `milp` itself, presolving included; the rest makes its matrix."""
SECONDS = 3.0
CHAINED = 25.0


def held_against(instances: list[Instance], what: str) -> float:
    """How many times longer the integer program takes than `least_copper` for the same options, paths and budgets;
    its matrix is made and solved, as fronts are."""
    start = process_time()
    choices = [least_copper(units, paths) for units, paths in instances]
    mine = process_time() - start
    start = process_time()
    for (units, paths), choice in zip(instances, choices, strict=True):
        by_program(units, [path for number, path in enumerate(paths) if number not in choice.beyond])
    program = process_time() - start
    print(f"\n{len(instances)} {what} {mine:.2f} s, the integer program {program:.2f} s: {program / mine:.0f} times")
    return program / mine


def test_fifty_times_faster_than_an_integer_program() -> None:
    rng = random.Random(2026)
    assert held_against([plate(rng, rng.randint(5, 40)) for _ in range(200)], "random instances") >= TIMES


def test_many_times_faster_on_whole_plates(monkeypatch: pytest.MonkeyPatch) -> None:
    """What the compiler asks in the end of 200 plates from their text."""
    of_plate: list[Instance] = []

    def recorded(units: list[list[Option]], paths: list[BudgetedPath]) -> Assignment:
        of_plate.append((units, paths))
        return least_copper(units, paths)

    monkeypatch.setattr(branch_and_bound, "least_copper", recorded)
    instances = []
    for seed in range(300):
        of_plate.clear()
        design, _ = compile_plate(Source("random.plate", judged_by_budget(seed).text()), lambda name: None)
        if design is not None and not design.errors and 5 <= len(design.runs) <= 40 and len(instances) < 200:
            instances.append(of_plate[-1])
    assert len(instances) == 200
    assert held_against(instances, "plates") >= TIMES


@pytest.mark.parametrize("taps", (5, 20, 100))
def test_ten_thousand_circuits_on_chains_against_ten_thousand_of_their_own(taps: int) -> None:
    """A tap at every joint, against each circuit on a run of its own: fronts must not grow along a chain."""
    taken = {}
    for length in (1, taps):
        units, paths = chained(random.Random(3), 10_000 // length, length)
        start = process_time()
        choice = least_copper(units, paths)
        taken[length] = process_time() - start
        assert not choice.beyond and (choice.exact or length > 20)
    print(f"\nruns {taken[1]:.2f} s, chains of {taps} {taken[taps]:.2f} s: {taken[taps] / taken[1]:.1f} of {CHAINED}")
    assert taken[taps] <= CHAINED * taken[1]


def test_ten_thousand_circuits_in_under_three_seconds() -> None:
    """A battery lead, 500 feeders, 20 branches on each."""
    rng = random.Random(19)
    parent = [-1] + [0] * 500 + [1 + run // 20 for run in range(10_000)]
    metres = [1.0] + [2 * rng.uniform(0.5, 3) for _ in range(500)] + [2 * rng.uniform(1, 9) for _ in range(10_000)]
    amperes = [0.0] * 501 + [rng.uniform(0.5, 6) for _ in range(10_000)]
    for run in range(len(parent) - 1, 0, -1):
        amperes[parent[run]] += amperes[run] if run > 500 else 0.0
    amperes[0] = 200.0
    units = [options(m, 0, len(SIZES)) for m in metres]
    paths = []
    for run in range(501, len(parent)):
        feeder = parent[run]
        legs = ((0, 200.0 * metres[0]), (feeder, amperes[feeder] * metres[feeder]), (run, amperes[run] * metres[run]))
        paths.append(BudgetedPath(1.44, legs))
    start = process_time()
    choice = least_copper(units, paths)
    assert process_time() - start < SECONDS and choice.exact and not choice.beyond
