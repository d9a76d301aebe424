"""What returns carry, against its definition with plain maximum flows by SciPy for every choice."""

from __future__ import annotations

import doctest
import random
from itertools import product
from math import fsum, inf

import numpy as np
from random_grids import Outside, random_grid
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from copperplate.flow import returns as module
from copperplate.flow.lasting import Grid
from copperplate.flow.returns import Returns, returning


def test_hand_worked_examples() -> None:
    assert doctest.testmod(module) == (0, 5)


def random_returns(seed: int, grid: Grid) -> Returns:
    """Often like the live pole, sometimes joined otherwise; sources where the grid has supplies, banks twice."""
    choose = random.Random(seed)
    nodes = grid.nodes if choose.random() < 0.7 else choose.randint(1, 10)
    ends = [(choose.randrange(max(0, node - 3), node), node) for node in range(1, nodes) if choose.random() < 0.95]
    ends = list(grid.ends) if nodes == grid.nodes and choose.random() < 0.5 else ends
    ends += [(choose.randrange(nodes), choose.randrange(nodes)) for _ in range(choose.choice((0, 0, 1, 3)))]
    own = (lambda node: node) if nodes == grid.nodes else lambda node: choose.randrange(nodes)
    sources = [(node, own(node)) for node, amperes in enumerate(grid.supplies) if amperes and choose.random() < 0.9]
    consumers = [(node, own(node)) for node in range(grid.nodes) if choose.random() < 0.4]
    return Returns(nodes, ends, sources, consumers + [source for source in sources if choose.random() < 0.6])


def _parts(returns: Returns, without: set[int]) -> list[int]:
    left = [ends for line, ends in enumerate(returns.ends) if line not in without] or [(0, 0)]
    rows, columns = zip(*left, strict=True)
    graph = coo_matrix((np.ones(len(left)), (rows, columns)), shape=(returns.nodes, returns.nodes))
    return list(connected_components(graph, directed=False)[1])


def _beside(returns: Returns, kept: int, lost: int) -> set[int]:
    """The nodes that are joined to one node where another is taken out."""
    parts = _parts(returns, {line for line, ends in enumerate(returns.ends) if lost in ends})
    return {node for node in range(returns.nodes) if parts[node] == parts[kept] and node != lost}


def _between(returns: Returns, a: int, b: int) -> list[set[int]]:
    """What lies in the loops of a conductor from a to b besides what hangs on a and b, by the node it hangs on: each
    of the largest sets that one node parts from both."""
    between = _beside(returns, a, b) & _beside(returns, b, a)
    hung = [between - _beside(returns, a, node) for node in sorted(between)]
    return [nodes for nodes in hung if not any(nodes < others for others in hung)]


def _expected(grid: Grid, returns: Returns, a: int, b: int) -> Outside | None:
    hung = _between(returns, a, b)
    loop = set().union(*hung)
    best = None
    for gives in product((True, False), repeat=len(hung)):
        giving = _beside(returns, b, a) - loop | set().union(*(n for n, give in zip(hung, gives, strict=True) if give))
        taking = _beside(returns, a, b) - loop | set().union(
            *(n for n, give in zip(hung, gives, strict=True) if not give)
        )
        sources = {live for live, node in returns.sources if node in giving}
        supplies = {node: amperes for node, amperes in enumerate(grid.supplies) if node in sources}
        flow = Outside(grid, sorted({live for live, node in returns.consumers if node in taking}), supplies=supplies)
        best = flow if best is None or flow.amperes > best.amperes else best
    return best


def test_returns_carry_the_largest_flow_on_both_poles() -> None:
    directions = shared = loops = 0
    for seed in range(160):
        grid = random_grid(seed)
        returns = random_returns(seed, grid)
        answers = returning(grid, returns)
        for (a, b), answer in zip(returns.ends, answers, strict=True):
            for first, second, cut in ((a, b, answer[0]), (b, a, answer[1])):
                if a == b:
                    assert cut.amperes == 0
                    continue
                hung = _between(returns, first, second)
                if len(hung) > 4:
                    continue
                outside = _expected(grid, returns, first, second)
                assert outside is not None and cut.amperes == outside.amperes, (seed, first, second)
                if not hung and cut.amperes:
                    assert (cut.lines, cut.supplies) == outside.cut()[:2], (seed, first, second)
                    shared += len(outside.to) > 1
                    assert cut.amperes == inf or fsum(outside.cut()[2]) == cut.amperes
                directions += cut.amperes > 0
                loops += bool(hung) and 0 < cut.amperes < inf
    assert directions > 500 and shared > 100 and loops > 50


def test_two_devices_feed_one_load() -> None:
    """A bank feeds a load through two fuses of 30 A and 20 A; by hand its return carries 50 A."""
    grid = Grid(2, [(0, 1), (0, 1)], [30.0, 20.0], [30.0, 20.0], [inf, 0.0], [inf, inf])
    ((there, back),) = returning(grid, Returns(2, [(1, 0)], sources=[(0, 0)], consumers=[(0, 0), (1, 1)]))
    assert (there.amperes, there.lines, back.amperes) == (50.0, (0, 1), 0.0)


def test_a_shared_return_is_limited_by_the_main_device() -> None:
    """A main fuse of 50 A and three circuits of 30 A: each circuit's return 30 A, of two 50 A by the main."""
    grid = Grid(
        5, [(0, 1), (1, 2), (1, 3), (1, 4)], [50.0] + [30.0] * 3, [50.0] + [30.0] * 3, [inf] + [0.0] * 4, [inf] * 5
    )
    returns = Returns(6, [(2, 1), (3, 1), (1, 5), (4, 5), (5, 0)], [(0, 0)], [(0, 0), (2, 2), (3, 3), (4, 4)])
    assert [there.amperes for there, _ in returning(grid, returns)] == [30.0, 30.0, 50.0, 30.0, 50.0]


def test_two_banks_give_each_to_its_own_side() -> None:
    """Two banks behind 100 A and 80 A on one live bar, their returns on two bars, a load behind 150 A on each. By hand
    the conductor between the bars carries what one bank gives to the load and the bank on the other bar."""
    ends = [(0, 2), (1, 2), (2, 3), (2, 4)]
    capacities = [100.0, 80.0, 150.0, 150.0]
    grid = Grid(5, ends, capacities, capacities, [inf, inf, 0.0, 0.0, 0.0], [inf, inf, 0.0, inf, inf])
    returns = Returns(6, [(0, 4), (1, 5), (2, 4), (3, 5), (4, 5)], [(0, 0), (1, 1)], [(0, 0), (1, 1), (3, 2), (4, 3)])
    answers = returning(grid, returns)
    assert [cut.amperes for cut in answers[4]] == [80.0, 100.0]
    assert [cut.amperes for cut in answers[0]] == [80.0, 100.0]
    assert [cut.amperes for cut in answers[2]] == [150.0, 0.0]


def test_a_ring_of_return_bars() -> None:
    """A bank on bar 0 of three, a load behind 40 A on each: by hand the piece from bar 1 to bar 2 may carry the return
    of bar 1, not what the bank would give itself; the piece from bar 1 to bar 0 those of bars 1 and 2."""
    ends = [(0, 1), (1, 2), (1, 3), (1, 4)]
    capacities = [250.0, 40.0, 40.0, 40.0]
    grid = Grid(5, ends, capacities, capacities, [inf, 0.0, 0.0, 0.0, 0.0], [inf, 0.0, inf, inf, inf])
    returns = Returns(3, [(1, 2), (1, 0), (2, 0)], [(0, 0)], [(0, 0), (2, 0), (3, 1), (4, 2)])
    answers = returning(grid, returns)
    assert [[cut.amperes for cut in answer] for answer in answers] == [[40.0, 40.0], [80.0, 0.0], [80.0, 0.0]]


def test_more_banks_in_a_ring_than_are_tried_either_way() -> None:
    """Ten banks behind 100 A each on as many bars in a ring: the answer may only be too much."""
    bars = 10
    ends = [(bar, bars) for bar in range(bars)]
    grid = Grid(bars + 1, ends, [100.0] * bars, [100.0] * bars, [inf] * bars + [0.0], [inf] * bars + [0.0])
    banks = [(bar, bar) for bar in range(bars)]
    for there, back in returning(grid, Returns(bars, [(bar, (bar + 1) % bars) for bar in range(bars)], banks, banks)):
        assert there.amperes >= 500.0 and back.amperes >= 500.0


def test_a_panel_of_ten_thousand_loads() -> None:
    loads = 10_000
    ends = [(0, 1), *((1, load) for load in range(2, loads + 2))]
    capacities = [250.0] + [10.0] * loads
    supplies, draws = [inf] + [0.0] * (loads + 1), [inf, 0.0] + [inf] * loads
    returns = [(load, 1) for load in range(2, loads + 2)] + [(1, 0)]
    consumers = [(load, load) for load in range(2, loads + 2)]
    grid = Grid(loads + 2, ends, capacities, capacities, supplies, draws)
    answers = returning(grid, Returns(loads + 2, returns, [(0, 0)], consumers))
    assert {there.amperes for there, _ in answers[:-1]} == {10.0} and answers[-1][0].amperes == 250.0
