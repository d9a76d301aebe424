"""Random plates as instances of the least-copper problem, and the integer program that they are held against:
`scipy.optimize.milp` (HiGHS), an oracle that is not used at run time."""

from __future__ import annotations

import random

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from copperplate.sizing.instance import BudgetedPath, Option
from copperplate.standards import conductors, profile
from copperplate.units import NOISE

SIZES = [size for size in profile("cfr-183").sizes("awg")]
JUDGED = [profile("cfr-183").judged_ohm_per_m(size).value for size in SIZES]
AREAS = [conductors.area_mm2(size) for size in SIZES]
Instance = tuple[list[list[Option]], list[BudgetedPath]]


def options(metres: float, first: int, last: int) -> list[Option]:
    return [Option(JUDGED[k], AREAS[k], round(AREAS[k] * metres * 1e9)) for k in range(first, last)]


def plate(rng: random.Random, runs: int) -> Instance:
    """A radial plate of 12 V: a battery lead, feeders, branches, and some taps behind branches."""
    parent, feeders = [-1], []
    for run in range(1, runs):
        if len(feeders) < max(1, runs // 9):
            parent.append(0 if not feeders or rng.random() < 0.7 else rng.choice(feeders))
            feeders.append(run)
        elif rng.random() < 0.15:
            parent.append(0)
        elif rng.random() < 0.15 and run - 1 not in feeders:
            parent.append(run - 1)
        else:
            parent.append(rng.choice(feeders))
    leaves = [run for run in range(runs) if run not in parent]
    metres = [2 * (rng.uniform(1, 9) if run in leaves else rng.uniform(0.4, 2.5)) for run in range(runs)]
    loaded = [run for run in range(runs) if run in leaves or (run > 0 and run not in feeders)]
    amperes = [rng.uniform(0.5, 8) if run in loaded else 0.0 for run in range(runs)]
    for run in range(runs - 1, 0, -1):
        amperes[parent[run]] += amperes[run]
    units = [options(metres[run], rng.randrange(0, 3), len(SIZES)) for run in range(runs)]
    paths = []
    for run in loaded:
        legs, here = [], run
        while here >= 0:
            legs.append((here, amperes[here] * metres[here]))
            here = parent[here]
        paths.append(BudgetedPath(rng.choice((0.36, 0.36, 0.72, 1.2)), tuple(reversed(legs))))
    return units, paths


def chained(rng: random.Random, chains: int, taps: int) -> Instance:
    """A battery lead and so many chains behind it, each with a tap at every joint; a long chain has short legs."""
    lead_m, lead_a = 2.0, 200.0
    units = [options(lead_m, 0, len(SIZES))]
    paths = []
    for _ in range(chains):
        amperes = [rng.uniform(0.1, 2) * 20 / taps for _ in range(taps)]
        metres = [2 * rng.uniform(0.3, 2) * 20 / taps for _ in range(taps)]
        legs, below = [(0, lead_a * lead_m)], sum(amperes)
        for leg in range(taps):
            legs.append((len(units), below * metres[leg]))
            units.append(options(metres[leg], 0, len(SIZES)))
            paths.append(BudgetedPath(rng.choice((1.44, 1.44, 2.88)), tuple(legs)))
            below -= amperes[leg]
    return units, paths


def by_program(units: list[list[Option]], paths: list[BudgetedPath]) -> float:
    """The optimum of the integer program: one binary variable for each option."""
    at: dict[tuple[int, int], int] = {}
    for unit, offered in enumerate(units):
        for k in range(len(offered)):
            at[unit, k] = len(at)
    matrix = np.zeros((len(units) + len(paths), len(at)))
    low, high = np.ones(len(matrix)), np.ones(len(matrix))
    for (unit, k), column in at.items():
        matrix[unit, column] = 1
        for row, path in enumerate(paths, len(units)):
            ampere_metres = dict(path.units).get(unit)
            if ampere_metres is not None:
                matrix[row, column] = ampere_metres * units[unit][k].ohm_per_m
    for row, path in enumerate(paths, len(units)):
        low[row], high[row] = -np.inf, path.budget_v * (1 + NOISE)
    for unit, offered in enumerate(units):
        low[unit] = high[unit] = float(bool(offered))
    cost = np.array([units[unit][k].copper / 1e9 for unit, k in at])
    optimum = milp(
        cost, constraints=LinearConstraint(matrix, low, high), integrality=np.ones(len(at)), bounds=Bounds(0, 1),
        options={"mip_rel_gap": 1e-9},
    )  # fmt: skip
    assert optimum.status == 0, optimum.message
    return float(optimum.fun)
