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
    """Every choice which lines of the bar bring in, and which other nodes of its loops, with what hangs there, give."""
    in_loops = limited = 0
    for seed in range(150):
        grid = random_grid(seed)
        bridges = [line for line, (a, b) in enumerate(grid.ends) if _parts(grid, [line])[a] != _parts(grid, [line])[b]]
        loops = _parts(grid, bridges)
        for bar in range(grid.nodes):
            own = [line for line, (a, b) in enumerate(grid.ends) if (a == bar) != (b == bar)]
            others = [node for node in range(grid.nodes) if node != bar and loops[node] == loops[bar]]
            within = [line for line, ends in enumerate(grid.ends) if line not in bridges and {*ends} <= {bar, *others}]
            apart = _parts(grid, within)
            hanging = [{n for n in range(grid.nodes) if apart[n] == apart[node]} for node in others]
            if len(own) + len(hanging) > 6:
                continue
            expected = _best_choice(grid, bar, own, hanging)
            assert crossing(grid, bar) == expected, (seed, bar)
            in_loops += bool(others) and 0 < expected < inf
            limited += 0 < expected < inf
    assert limited > 150 and in_loops > 50


def _best_choice(grid: Grid, bar: int, lines: list[int], hanging: list[set[int]]) -> float:
    other_way = turned(grid)
    best = 0.0
    for gives in product((True, False), repeat=len(lines) + len(hanging)):
        bringing = {line for line, brings in zip(lines, gives, strict=False) if brings}
        choices = list(zip(hanging, gives[len(lines) :], strict=True))
        takers = {node for nodes, give in choices if not give for node in nodes}
        givers = {node for nodes, give in choices if give for node in nodes}
        supplies = {node: 0.0 if node in takers else amperes for node, amperes in enumerate(grid.supplies)}
        draws = {node: 0.0 if node in givers else amperes for node, amperes in enumerate(grid.draws)}
        brought = Outside(grid, [bar], supplies=supplies, without=set(lines) - bringing).amperes
        if brought > best:
            best = max(best, min(brought, Outside(other_way, [bar], supplies=draws, without=bringing).amperes))
    return best


def test_a_ring_of_bars() -> None:
    """Four bars in a ring; a bank on bar 0 behind 250 A, a charger of 60 A on bar 2, loads behind 40 A on each. By
    hand, bar 1: bar 0 gives, and the loads of bars 1, 2 and 3 are served through bar 1, 120 A. With a second bank on
    bar 2 behind 200 A: bar 2 gives that and the charger's, 260 A, to the first bank and the loads; the other way only
    250 A come."""
    ends = [(0, 1), (1, 2), (2, 3), (3, 0), (4, 0), (5, 2), (0, 6), (1, 7), (2, 8), (3, 9)]
    capacities = [inf] * 4 + [250.0, inf] + [40.0] * 4
    supplies, draws = [0.0] * 4 + [inf, 60.0] + [0.0] * 4, [0.0] * 4 + [inf, 0.0] + [inf] * 4
    assert crossing(Grid(10, ends, capacities, capacities, supplies, draws), 1) == 120.0
    two = [*ends, (2, 10)], [*capacities, 200.0], [*capacities, 200.0], [*supplies, inf], [*draws, inf]
    assert crossing(Grid(11, *two), 1) == 260.0


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


def _parts(grid: Grid, without: list[int]) -> list[int]:
    left = [ends for line, ends in enumerate(grid.ends) if line not in without] or [(0, 0)]
    rows, columns = zip(*left, strict=True)
    graph = coo_matrix((np.ones(len(left)), (rows, columns)), shape=(grid.nodes, grid.nodes))
    return list(connected_components(graph, directed=False)[1])
