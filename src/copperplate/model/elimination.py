"""Symmetric elimination of a net, its order chosen once.

The unknowns are the islands of ties, the matrix a Laplacian grounded at the reference of each net: every wire adds
its conductance. Unknowns go in the order of least degree, so a radial net is a sweep from its leaves to the source
in linear time; a pair of poles with loads between them is series-parallel and stays linear; each further loop costs
only its own small fill-in.

The arithmetic is kept in the form of the star-mesh transformation (each unknown keeps its leak to the reference and
its links, never their sum), so that passive nets are solved without a subtraction and small drops keep all digits
beside large conductances. A pivot that is not positive means that a constant-power load asks for more than its
supply can bring.
"""

from __future__ import annotations

import heapq
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar


@dataclass(frozen=True)
class Order:
    """The elimination, decided by the pattern alone.

    `steps` are (unknown, ((neighbour, link), ...), ((link, link, link), ...)): the neighbours still standing, with
    the links to them, and for each pair of them (first's link, second's link, their own link). `links` counts the
    links with the fill-in."""

    unknowns: int
    links: int
    steps: list[tuple[int, tuple[tuple[int, int], ...], tuple[tuple[int, int, int], ...]]]
    branches: list[tuple[int, int]]
    """By branch: (link, -1), or (-1, unknown that it leaks from), or (-1, -1) where both ends are one point."""


def order(unknowns: int, held: Sequence[bool], branches: Sequence[tuple[int, int]]) -> Order:
    """The order of least degree for unknowns joined by `branches`; those `held` are references."""
    standing: list[dict[int, int]] = [{} for _ in range(unknowns)]
    places: list[tuple[int, int]] = []
    links = 0
    for a, b in branches:
        if a == b or (held[a] and held[b]):
            places.append((-1, -1))
        elif held[a] or held[b]:
            places.append((-1, b if held[a] else a))
        else:
            link = standing[a].get(b, -1)
            if link < 0:
                link, links = links, links + 1
                standing[a][b] = standing[b][a] = link
            places.append((link, -1))
    steps: list[tuple[int, tuple[tuple[int, int], ...], tuple[tuple[int, int, int], ...]]] = []
    done = list(held)
    thin = [u for u in range(unknowns - 1, -1, -1) if not held[u] and len(standing[u]) <= 1]
    queue = [(len(standing[u]), u) for u in range(unknowns) if not held[u] and len(standing[u]) > 1]
    heapq.heapify(queue)
    while thin or queue:
        if thin:
            unknown = thin.pop()
        else:
            degree, unknown = heapq.heappop(queue)
            if not done[unknown] and degree != len(standing[unknown]):
                continue
        if done[unknown]:
            continue
        done[unknown] = True
        around = tuple(standing[unknown].items())
        for neighbour, _ in around:
            del standing[neighbour][unknown]
        pairs: list[tuple[int, int, int]] = []
        for i, (first, link_first) in enumerate(around):
            row = standing[first]
            for second, link_second in around[i + 1 :]:
                link = row.get(second, -1)
                if link < 0:
                    link, links = links, links + 1
                    row[second] = standing[second][first] = link
                pairs.append((link_first, link_second, link))
        steps.append((unknown, around, tuple(pairs)))
        for neighbour, _ in around:
            degree = len(standing[neighbour])
            if degree <= 1:
                thin.append(neighbour)
            else:
                heapq.heappush(queue, (degree, neighbour))
    return Order(unknowns, links, steps, places)


Number = TypeVar("Number", float, complex)


@dataclass(frozen=True)
class Factors(Generic[Number]):
    """The eliminated matrix. None stands in its place where a pivot was not positive."""

    link: list[Number]
    pivot: list[Number]


def factor(plan: Order, conductance: Sequence[Number]) -> Factors[Number] | int:
    """Eliminates the matrix of `conductance` (siemens, by branch; negative ones for constant power).

    Returns the unknown at which it broke down where a pivot is not positive; of alternating current its real part."""
    link: list[Number] = [0.0] * plan.links
    leak: list[Number] = [0.0] * plan.unknowns
    for (at_link, at_unknown), siemens in zip(plan.branches, conductance, strict=True):
        if at_link >= 0:
            link[at_link] += siemens
        elif at_unknown >= 0:
            leak[at_unknown] += siemens
    pivot: list[Number] = [1.0] * plan.unknowns
    for unknown, around, pairs in plan.steps:
        own = leak[unknown]
        total = own
        for _, at in around:
            total += link[at]
        if not total.real > 0.0:
            return unknown
        pivot[unknown] = total
        if own:
            share = own / total
            for neighbour, at in around:
                leak[neighbour] += link[at] * share
        for first, second, between in pairs:
            link[between] += link[first] * link[second] / total
    return Factors(link, pivot)


def back_solve(plan: Order, factors: Factors[Number], into: list[Number]) -> list[Number]:
    """Potentials for the currents `into` each unknown (amperes; the list is used up). References stay at 0."""
    link, pivot = factors.link, factors.pivot
    for unknown, around, _ in plan.steps:
        amperes = into[unknown]
        if amperes:
            total = pivot[unknown]
            for neighbour, at in around:
                into[neighbour] += amperes * (link[at] / total)
    volts: list[Number] = [0.0] * plan.unknowns
    for unknown, around, _ in reversed(plan.steps):
        total = into[unknown]
        for neighbour, at in around:
            total += link[at] * volts[neighbour]
        volts[unknown] = total / pivot[unknown]
    return volts
