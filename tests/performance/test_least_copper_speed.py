"""How fast the least copper is found: against an integer program, and for ten thousand circuits."""

from __future__ import annotations

import random
import sys
from pathlib import Path
from time import process_time

sys.path.append(str(Path(__file__).parents[1] / "outside"))
from least_copper_instances import SIZES, by_program, options, plate

from copperplate.sizing.instance import Way
from copperplate.sizing.least_copper import least

TIMES = 50
SECONDS = 3.0


def test_fifty_times_faster_than_an_integer_program() -> None:
    rng = random.Random(2026)
    instances = [plate(rng, rng.randint(5, 40)) for _ in range(200)]
    start = process_time()
    plans = [least(units, ways) for units, ways in instances]
    mine = process_time() - start
    start = process_time()
    for (units, ways), plan in zip(instances, plans, strict=True):
        by_program(units, [way for number, way in enumerate(ways) if number not in plan.beyond])
    program = process_time() - start
    print(f"\n200 plates {mine:.2f} s, the integer program {program:.2f} s: {program / mine:.0f} times")
    assert program / mine >= TIMES


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
    ways = []
    for run in range(501, len(parent)):
        feeder = parent[run]
        path = ((0, 200.0 * metres[0]), (feeder, amperes[feeder] * metres[feeder]), (run, amperes[run] * metres[run]))
        ways.append(Way(1.44, path))
    start = process_time()
    plan = least(units, ways)
    assert process_time() - start < SECONDS and plan.exact and not plan.beyond
