"""A circuit of numbers: points, wires, ties and loads, and what its wiring alone decides.

Points are whole numbers. A *wire* is a resistance between two points. A *tie* holds two points at a fixed
difference of voltage without resistance: a fuse (0 V) or the terminals of a held source (12 V). A *load* draws a
current from its first point to its second; a source that pushes a fixed current is a load with a negative one.

Points joined by ties share one unknown: they form an *island of ties*, found with a union-find that carries the
voltage of each point above the island's root. Wires join islands into *nets*; each net has one island whose root
is held at 0 V, its reference.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from copperplate.units import NOISE

Tie = tuple[int, int, float]
"""(first point, second point, volts of the first above the second)."""


@dataclass(frozen=True)
class Circuit:
    """What is joined to what; resistances and currents come with the question, so that they may change.

    `coupled` marks the loads whose current depends on their voltage (resistive and constant-power ones).
    `references` are the points to hold at 0 V, one a net; a net without one holds its first island."""

    points: int
    wires: Sequence[tuple[int, int]]
    ties: Sequence[Tie] = ()
    loads: Sequence[tuple[int, int]] = ()
    coupled: Sequence[bool] = ()
    references: Sequence[int] = ()


@dataclass(frozen=True)
class Islands:
    """The islands of ties. By point: `island`, and `above`, its volts above the island's root. `closing` are
    the ties that close a loop of ties, `conflicts` those of them that contradict the voltages already held."""

    count: int
    island: list[int]
    above: list[float]
    walk: list[tuple[int, int, int, int]]
    """(tie, child point, parent point, sign), leaf first: the tie brings the child what leaves it, from its first
    to its second point where sign is +1."""
    closing: tuple[int, ...]
    conflicts: tuple[int, ...]


def join(circuit: Circuit) -> Islands:
    """The islands of ties of a circuit, in the order of their lowest point."""
    parent = list(range(circuit.points))
    above = [0.0] * circuit.points
    rank = [0] * circuit.points

    def root_of(point: int) -> int:
        path = []
        while parent[point] != point:
            path.append(point)
            point = parent[point]
        total = 0.0
        for below in reversed(path):
            total += above[below]
            above[below], parent[below] = total, point
        return point

    kept: list[int] = []
    closing: list[int] = []
    conflicts: list[int] = []
    for number, (a, b, volts) in enumerate(circuit.ties):
        root_a, root_b = root_of(a), root_of(b)
        offset_a = above[a] if a != root_a else 0.0
        offset_b = above[b] if b != root_b else 0.0
        if root_a == root_b:
            closing.append(number)
            if abs(offset_a - offset_b - volts) > NOISE * max(1.0, abs(volts)):
                conflicts.append(number)
            continue
        kept.append(number)
        if rank[root_a] > rank[root_b]:
            parent[root_b], above[root_b] = root_a, offset_a - offset_b - volts
        else:
            parent[root_a], above[root_a] = root_b, offset_b - offset_a + volts
            rank[root_b] += rank[root_a] == rank[root_b]
    number_of: dict[int, int] = {}
    island = [number_of.setdefault(root_of(point), len(number_of)) for point in range(circuit.points)]
    offsets = [above[point] if parent[point] != point else 0.0 for point in range(circuit.points)]
    return Islands(len(number_of), island, offsets, _leaf_first(circuit, kept), tuple(closing), tuple(conflicts))


def _leaf_first(circuit: Circuit, kept: list[int]) -> list[tuple[int, int, int, int]]:
    """The forest of the ties in `kept`, each tree walked from its leaves to its first point."""
    neighbours: dict[int, list[int]] = {}
    for number in kept:
        a, b, _ = circuit.ties[number]
        neighbours.setdefault(a, []).append(number)
        neighbours.setdefault(b, []).append(number)
    order: list[tuple[int, int, int, int]] = []
    seen: set[int] = set()
    for start in neighbours:
        if start in seen:
            continue
        seen.add(start)
        front = [start]
        for point in front:
            for number in neighbours[point]:
                a, b, _ = circuit.ties[number]
                child, sign = (b, 1) if a == point else (a, -1)
                if child not in seen:
                    seen.add(child)
                    front.append(child)
                    order.append((number, child, point, sign))
    order.reverse()
    return order
