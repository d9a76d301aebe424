"""What can cross a bar, against its definition with plain maximum flows by SciPy for every choice."""

from __future__ import annotations

import doctest
from itertools import product
from math import inf

import numpy as np
from random_grids import Outside, random_grid, turned
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from copperplate.flow import bars
from copperplate.flow.bars import MOST_CHOICES, crossing
from copperplate.flow.lasting import Grid


def test_hand_worked_examples() -> None:
    assert doctest.testmod(bars) == (0, 3)


def test_crossing_is_the_best_choice() -> None:
    """All lines of the bar, all bridges at the loops it is in, and all nodes there are tried both ways."""
    in_loops = limited = 0
    for seed in range(150):
        grid = random_grid(seed)
        bridges = [line for line in range(len(grid.ends)) if _is_bridge(grid, line)]
        for bar in range(grid.nodes):
            cluster = {n for n, part in enumerate(_parts(grid, bridges)) if part == _parts(grid, bridges)[bar]}
            own = [line for line, (a, b) in enumerate(grid.ends) if (a == bar) != (b == bar)]
            hanging = [n for n in bridges if n not in own and set(grid.ends[n]) & cluster]
            banks = [node for node in cluster - {bar} if grid.supplies[node] and grid.draws[node]]
            if len(own) + len(hanging) + len(banks) > 5:
                continue
            expected = _best_choice(grid, bar, own + hanging, banks)
            assert crossing(grid, bar) == expected, (seed, bar)
            in_loops += len(cluster) > 1 and 0 < expected < inf
            limited += 0 < expected < inf
    assert limited > 150 and in_loops > 50


def test_a_ring_of_bars() -> None:
    """Four bars in a ring; a bank on bar 0 behind 250 A, a charger of 60 A on bar 2, loads behind 40 A on each. By
    hand, bar 1: the bank and the charger come in from one side, and all loads are served through it, 160 A; or the
    charger alone gives, 60 A. A second bank on bar 2 behind 200 A can be charged besides, all that comes, 310 A."""
    ends = [(0, 1), (1, 2), (2, 3), (3, 0), (4, 0), (5, 2), (0, 6), (1, 7), (2, 8), (3, 9)]
    capacities = [inf] * 4 + [250.0, inf] + [40.0] * 4
    supplies, draws = [0.0] * 4 + [inf, 60.0] + [0.0] * 4, [0.0] * 4 + [inf, 0.0] + [inf] * 4
    assert crossing(Grid(10, ends, capacities, capacities, supplies, draws), 1) == 160.0
    two = [*ends, (2, 10)], [*capacities, 200.0], [*capacities, 200.0], [*supplies, inf], [*draws, inf]
    assert crossing(Grid(11, *two), 1) == 310.0


def test_parallel_lines_to_one_bank() -> None:
    """A bank gives or takes: through two lines of 100 A from its post to a bar flows no more than the bar's loads take,
    50 A. With more lines than are tried either way the answer may only be too much."""
    for lines in (2, MOST_CHOICES + 2):
        capacities = [100.0] * lines + [50.0]
        grid = Grid(3, [(0, 1)] * lines + [(1, 2)], capacities, capacities, [inf, 0.0, 0.0], [inf, 0.0, inf])
        assert crossing(grid, 1) == 50.0 if lines == 2 else crossing(grid, 1) >= 50.0


def test_a_bar_of_ten_thousand_lines() -> None:
    """Loads of 10 A each, and three units behind 100 A."""
    lines = 10_000
    ends = [(0, leaf) for leaf in range(1, lines + 1)]
    capacities = [100.0] * 3 + [10.0] * (lines - 3)
    grid = Grid(lines + 1, ends, capacities, capacities, [0.0] + [inf] * 3 + [0.0] * (lines - 3), [0.0] + [inf] * lines)
    assert crossing(grid, 0) == 300.0


def _best_choice(grid: Grid, bar: int, lines: list[int], banks: list[int]) -> float:
    other_way = turned(grid)
    best = 0.0
    for gives in product((True, False), repeat=len(lines) + len(banks)):
        giving = {each for each, yes in zip(lines, gives, strict=False) if yes}
        drained = {each for each, yes in zip(banks, gives[len(lines) :], strict=True) if yes}
        supplies = {n: 0.0 if n in banks and n not in drained else grid.supplies[n] for n in range(grid.nodes)}
        draws = {n: 0.0 if n in drained else grid.draws[n] for n in range(grid.nodes)}
        brought = Outside(grid, [bar], supplies=supplies, without=set(lines) - giving).amperes
        if brought > best:
            best = max(best, min(brought, Outside(other_way, [bar], supplies=draws, without=giving).amperes))
    return best


def _parts(grid: Grid, without: list[int]) -> list[int]:
    left = [ends for line, ends in enumerate(grid.ends) if line not in without] or [(0, 0)]
    rows, columns = zip(*left, strict=True)
    graph = coo_matrix((np.ones(len(left)), (rows, columns)), shape=(grid.nodes, grid.nodes))
    return list(connected_components(graph, directed=False)[1])


def _is_bridge(grid: Grid, line: int) -> bool:
    a, b = grid.ends[line]
    parts = _parts(grid, [line])
    return bool(parts[a] != parts[b])
