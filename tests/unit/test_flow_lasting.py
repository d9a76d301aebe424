"""Lasting overload against its definition: a plain maximum flow by SciPy for each conductor and direction."""

from __future__ import annotations

import doctest
import random
from math import fsum, inf

import pytest
from random_grids import Outside, random_grid, turned

from copperplate.flow import lasting
from copperplate.flow.lasting import Grid, cut, into, through

SEEDS = range(250)


def test_hand_worked_examples() -> None:
    assert doctest.testmod(lasting) == (0, 10)


def test_into_equals_the_flow_without_the_line() -> None:
    directions = unlimited = 0
    for seed in SEEDS:
        grid = random_grid(seed)
        answers = into(grid)
        assert len(answers) == len(grid.ends)
        for line, ends in enumerate(grid.ends):
            for end, node in enumerate(ends):
                expected = Outside(grid, [node], without=[line]).amperes
                assert answers[line][end] == expected, (seed, line, end)
                directions += expected > 0
                unlimited += expected == inf
    assert directions > 4000 and 500 < unlimited < directions - 2000


def test_through_equals_the_flows_without_the_other_node() -> None:
    limited = 0
    for seed in SEEDS:
        grid = random_grid(seed)
        other_way = turned(grid)
        for (a, b), (there, back) in zip(grid.ends, through(grid), strict=True):
            for amperes, first, second in ((there, a, b), (back, b, a)):
                brought = Outside(grid, [first], without_node=second).amperes if a != b else 0.0
                taken = Outside(other_way, [second], without_node=first).amperes if a != b else 0.0
                assert amperes == min(brought, taken), (seed, first, second)
                limited += 0 < amperes < inf
    assert limited > 1000


def test_the_cut_is_the_minimum_cut_nearest_to_the_line() -> None:
    """Its capacities add up to the flow; without it nothing flows; and it is the cut that leaves least on the side of
    the line, which is unique."""
    cuts = several = 0
    for seed in SEEDS:
        grid = random_grid(seed)
        answers = into(grid)
        for line, ends in enumerate(grid.ends):
            for end, node in enumerate(ends):
                outside = Outside(grid, [node], without=[line])
                answer = cut(grid, line, end)
                assert answer.amperes == answers[line][end]
                lines, supplies, capacities = outside.cut()
                assert (answer.lines, answer.supplies) == (lines, supplies), (seed, line, end)
                if answer.amperes < inf:
                    assert fsum(capacities) == answer.amperes
                    left = {n: 0.0 if n in answer.supplies else amperes for n, amperes in enumerate(grid.supplies)}
                    assert Outside(grid, [node], supplies=left, without=[line, *answer.lines]).amperes == 0
                else:
                    assert answer.supplies and not answer.lines
                cuts += answer.amperes > 0
                several += len(answer.lines) + len(answer.supplies) > 1
    assert cuts > 4000 and several > 1000


def test_a_ring_of_bars() -> None:
    """Four bars in a ring; a bank on bar 0 behind 250 A, a charger of 60 A on bar 2, loads behind 40 A on each. By
    hand: a fault in a piece of the ring is fed from either end by all that is on the ring."""
    ring = [(0, 1), (1, 2), (2, 3), (3, 0)]
    ends = [*ring, (4, 0), (5, 2), *((bar, 6 + bar) for bar in range(4))]
    capacities = [inf] * 4 + [250.0, inf] + [40.0] * 4
    supplies = [0.0] * 4 + [inf, 60.0] + [0.0] * 4
    draws = [0.0] * 4 + [inf, 0.0] + [inf] * 4
    grid = Grid(10, ends, capacities, capacities, supplies, draws)
    assert into(grid)[:4] == ((310.0, 310.0),) * 4
    assert cut(grid, 0, 1) == lasting.Cut(310.0, (4,), (5,))
    assert into(grid)[4] == (inf, 60.0)
    # From bar 0 to bar 1: the bank and the charger to the loads on bars 1, 2 and 3.
    assert through(grid)[0][0] == 120.0
    # From bar 1 to bar 0: the charger, to the bank and the loads on bars 0, 3 and 2.
    assert through(grid)[0][1] == 60.0


def test_three_units() -> None:
    """Three units with a fuse of 100 A each on a bar, a solar controller of 30 A, loads behind a switch. By hand: a
    fault in a unit's lead is fed from the bar by two fuses and the controller, but without a fault its own fuse limits
    what charges it; the main conductor is fed by all three and the controller."""
    ends = [(0, 3), (1, 4), (2, 5), (3, 6), (4, 6), (5, 6), (7, 6), (6, 8)]
    capacities = [100.0, 100.0, 100.0, inf, inf, inf, inf, inf]
    supplies = [inf, inf, inf, 0.0, 0.0, 0.0, 0.0, 30.0, 0.0]
    draws = [inf, inf, inf, 0.0, 0.0, 0.0, 0.0, 0.0, inf]
    grid = Grid(9, ends, capacities, capacities, supplies, draws)
    answers = into(grid)
    assert answers[3] == (100.0, 230.0)
    assert cut(grid, 3, 1) == lasting.Cut(230.0, (1, 2), (7,))
    assert answers[7] == (330.0, 0.0)
    assert through(grid)[3] == (100.0, 100.0)


def test_figures_are_exact_and_do_not_depend_on_order() -> None:
    """Ratings that no binary fraction holds: a single rating comes back to the last digit, a sum is the correctly
    rounded one (`math.fsum`), and renamed and shuffled grids give the very same figures."""
    ratings = [0.1, 0.2, 0.7, 33.3, 1e-3, 100 / 3, 1e6]
    star = Grid(
        9, [(0, leaf) for leaf in range(1, 9)], [1e9] * 8, [*ratings, inf], [0.0] + [inf] * 7 + [0.0], [0.0] * 9
    )
    assert into(star)[7][0] == fsum(ratings)
    choose = random.Random(7)
    for seed in range(60):
        grid = random_grid(seed)
        odd = {amperes: amperes / 3 for amperes in {*grid.forward, *grid.back, *grid.supplies, *grid.draws}}
        name = choose.sample(range(grid.nodes), grid.nodes)
        order = choose.sample(range(len(grid.ends)), len(grid.ends))
        old = [name.index(node) for node in range(grid.nodes)]
        capacities = (grid.forward, grid.back, grid.supplies, grid.draws)
        first = Grid(grid.nodes, grid.ends, *([odd[amperes] for amperes in each] for each in capacities))
        second = Grid(
            grid.nodes,
            [(name[first.ends[n][0]], name[first.ends[n][1]]) for n in order],
            [first.forward[n] for n in order],
            [first.back[n] for n in order],
            [first.supplies[n] for n in old],
            [first.draws[n] for n in old],
        )
        assert into(second) == tuple(into(first)[n] for n in order)
        assert through(second) == tuple(through(first)[n] for n in order)


def test_a_hundred_thousand_nodes_in_a_row() -> None:
    """A bank at one end behind 250 A and loads of 5 A everywhere: no recursion, nothing that grows with the square."""
    nodes = 100_000
    capacities = [250.0] + [inf] * (nodes - 2)
    ends = [(node - 1, node) for node in range(1, nodes)]
    grid = Grid(nodes, ends, capacities, capacities, [inf] + [0.0] * (nodes - 1), [0.0] + [5.0] * (nodes - 1))
    assert set(into(grid)[1:]) == {(250.0, 0.0)}
    assert [through(grid)[line][0] for line in (1, nodes - 60, nodes - 3)] == [250.0, 250.0, 10.0]
    assert cut(grid, nodes - 2, 0) == lasting.Cut(250.0, (0,), ())


def test_a_bar_of_ten_thousand_lines() -> None:
    """Half of the lines are units behind 100 A each: each is fed by all the others'."""
    lines = 10_000
    ends = [(0, leaf) for leaf in range(1, lines + 1)]
    supplies = [0.0] + [inf, 0.0] * (lines // 2)
    grid = Grid(lines + 1, ends, [100.0] * lines, [100.0] * lines, supplies, [0.0] + [inf] * lines)
    assert set(into(grid)) == {(499_900.0, inf), (500_000.0, 0.0)}


def test_capacities_are_amperes() -> None:
    for wrong in (-1.0, float("nan")):
        with pytest.raises(ValueError, match="amperes"):
            into(Grid(2, [(0, 1)], [wrong], [1.0], [0.0, 0.0], [0.0, 0.0]))
