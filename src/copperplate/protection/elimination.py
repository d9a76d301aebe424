"""Sparse elimination for short-circuit studies: the voltage and the own impedance of every node at once."""

from __future__ import annotations

from heapq import heapify, heappop, heappush


def seen_from_every_node(
    count: int,
    links: list[tuple[int, int, float]],
    sources: list[tuple[int, float, float]],
) -> list[tuple[float, float] | None]:
    """(open-circuit volts, ohms looking in) of every node; None where no source reaches.

    `links` are (node, node, ohms above zero), `sources` (node, volts, ohms above zero) against one common return.
    Gaussian elimination in order of least degree, which on a tree makes no fill and so is linear; the diagonal of
    the inverse by the recursion of K. Takahashi, J. Fagan and M. S. Chin, Formation of a sparse bus impedance
    matrix and its application to short circuit study, 1973."""
    at: list[dict[int, float]] = [{} for _ in range(count)]
    diagonal = [0.0] * count
    inflow = [0.0] * count
    for a, b, ohm in links:
        if a == b:
            continue
        at[a][b] = at[a].get(b, 0.0) + 1.0 / ohm
        at[b][a] = at[b].get(a, 0.0) + 1.0 / ohm
        diagonal[a] += 1.0 / ohm
        diagonal[b] += 1.0 / ohm
    for node, volts, ohm in sources:
        diagonal[node] += 1.0 / ohm
        inflow[node] += volts / ohm
    fed = _fed(at, [node for node, _, _ in sources])
    waiting = [(len(at[node]), node) for node in range(count) if fed[node]]
    heapify(waiting)
    done = [not one for one in fed]
    order: list[int] = []
    columns: list[list[tuple[int, float]]] = [[] for _ in range(count)]
    while waiting:
        degree, node = heappop(waiting)
        if done[node] or degree != len(at[node]):
            continue
        done[node] = True
        order.append(node)
        near = list(at[node].items())
        pivot = diagonal[node]
        columns[node] = [(other, conductance / pivot) for other, conductance in near]
        for other, share in columns[node]:
            del at[other][node]
            inflow[other] += share * inflow[node]
            diagonal[other] -= share * at[node][other]
        for index, (a, share) in enumerate(columns[node]):
            for b, conductance in near[index + 1 :]:
                added = share * conductance
                at[a][b] = at[a].get(b, 0.0) + added
                at[b][a] = at[b].get(a, 0.0) + added
        for other, _ in near:
            heappush(waiting, (len(at[other]), other))
    return _back(order, columns, diagonal, inflow)


def _fed(at: list[dict[int, float]], starts: list[int]) -> list[bool]:
    fed = [False] * len(at)
    found = list(starts)
    for node in found:
        fed[node] = True
    for node in found:
        for other in at[node]:
            if not fed[other]:
                fed[other] = True
                found.append(other)
    return fed


def _back(
    order: list[int], columns: list[list[tuple[int, float]]], diagonal: list[float], inflow: list[float]
) -> list[tuple[float, float] | None]:
    """Back substitution, and the inverse on the pattern of the factor, last eliminated node first."""
    result: list[tuple[float, float] | None] = [None] * len(diagonal)
    volts = [0.0] * len(diagonal)
    inverse: list[dict[int, float]] = [{} for _ in diagonal]
    for node in reversed(order):
        column = columns[node]
        volts[node] = inflow[node] / diagonal[node] + sum(share * volts[other] for other, share in column)
        for j, _ in column:
            value = sum(share * (inverse[i][j] if i != j else inverse[j][j]) for i, share in column)
            inverse[node][j] = value
            inverse[j][node] = value
        own = 1.0 / diagonal[node] + sum(share * inverse[node][i] for i, share in column)
        inverse[node][node] = own
        result[node] = (volts[node], own)
    return result
