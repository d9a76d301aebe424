"""Every voltage of one case from `design.json` alone, by a plain dense solve.

Nothing but the JSON and NumPy enters: nodal analysis as textbooks have it (the matrix of conductances, inverted whole),
with nodes that hang together without resistance as one. Where such ties close a loop their currents are those of least
squares. What depends on the answer, constant power and what converters and inlets take for what lies behind them, is
put in and solved again until the voltages stand.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

STANDS_V = 1e-12
"""Rounds end when no voltage moves by more than this share of the nominal one."""
Edges = list[tuple[int, int, float]]


def solved(document: dict[str, Any], case: str) -> tuple[dict[str, float], list[float]]:
    """Volts of each node in a case, and the amperes that each row of `circuit.draws` takes."""
    circuit, opened = document["circuit"], next(c for c in document["cases"] if c["id"] == case)["open_devices"]
    number = {node: n for n, node in enumerate(document["nodes"])}
    holds = [(n, hold) for n, hold in enumerate(circuit["holds"]) if case in hold["volts"]]
    inner = {n: len(number) + k for k, (n, hold) in enumerate(holds) if hold["inside_ohm"]}
    ohms: Edges = []
    ties: Edges = []
    for conductor in document["conductors"]:
        a, b = number[conductor["from_node"]], number[conductor["to_node"]]
        if conductor["resistance_ohm"]:
            ohms.append((a, b, conductor["resistance_ohm"][case]))
        else:
            ties.append((a, b, 0.0))
    lost_v = {part["id"]: part["values"].get("loses_v") or 0.0 for part in document["parts"]}
    for device in document["devices"]:
        for start, end in device["legs"] if device["id"] not in opened else ():
            if device["resistance_ohm"]:
                ohms.append((number[start], number[end], device["resistance_ohm"]))
            else:
                ties.append((number[start], number[end], lost_v.get(device["id"].partition(".")[0], 0.0)))
    ties += [(number[a], number[b], 0.0) for a, b in circuit["ties"]]
    held: dict[str, tuple[int, float]] = {}
    for n, hold in holds:
        first, last = number[hold["from_node"]], number[hold["to_node"]]
        if n in inner:
            ohms.append((inner[n], last, hold["inside_ohm"]))
            last = inner[n]
        held[hold["to_node"]] = (len(ties), hold["volts"][case])
        ties.append((first, last, -hold["volts"][case]))
    points = len(number) + len(inner)
    solve = factored(points, ohms, ties, grounds(document, case, number, points, ohms + ties))
    rows = [(row, number[row["from_node"]], number[row["to_node"]], row["share"][case]) for row in circuit["draws"]]
    nominal = {point["id"]: point["nominal_v"] for point in document["points"]}
    at_v = [nominal[row["from_node"]] for row, *_ in rows]
    given = dict.fromkeys([*held, *(row["from_node"] for row, *_ in rows if row["role"] == "push")], 0.0)
    last_v = np.zeros(points)
    for _ in range(400):
        drawn = []
        for (row, _, _, share), volts in zip(rows, at_v, strict=True):
            watts, besides = row["watts"] * share, 0.0
            if row["conversion"] is not None and share:
                c = row["conversion"]
                out = sum(given.get(node, 0.0) for node in c["outputs"])
                out = out if c["limit_w"] is None else min(out, share * c["limit_w"])
                watts = max(out / c["efficiency"], c["idle_w"]) / c["lines"]
            if row["transfer"] is not None and case in row["transfer"]["cases"]:
                besides = sum(given.get(node, 0.0) for node in row["transfer"]["outputs"]) / row["transfer"]["volts"]
            by_power = watts / volts if watts else 0.0
            drawn.append(share * (row["amperes"] + row["siemens"] * volts) + by_power + besides)
        into = np.zeros(points)
        for (_, a, b, _), amperes in zip(rows, drawn, strict=True):
            into[a] -= amperes
            into[b] += amperes
        volts_now, tie_a = solve(into)
        at_v = [volts_now[a] - volts_now[b] for _, a, b, _ in rows]
        for node, (tie, volts) in held.items():
            given[node] = abs(volts * tie_a[tie])
        for (row, *_), volts, amperes in zip(rows, at_v, drawn, strict=True):
            if row["role"] == "push":
                given[row["from_node"]] = -amperes * max(volts, 0.0)
        moved = np.max(np.abs(volts_now - last_v)) / document["system"]["nominal_v"]
        last_v = volts_now
        if moved < STANDS_V:
            break
    return {node: float(last_v[n]) for node, n in number.items()}, drawn


def factored(points: int, ohms: Edges, ties: Edges, at_zero: list[int]) -> Callable[[np.ndarray], Any]:
    """Volts of each point and amperes of each tie for any amperes into the points. Points that ties join are one
    unknown, each with its volts above the first of them."""
    group, above = contracted(points, ties)
    siemens = np.zeros((group.max() + 1, group.max() + 1))
    driven = np.zeros(len(siemens))
    for a, b, ohm in ohms:
        i, j = group[a], group[b]
        siemens[[i, j], [i, j]] += 1 / ohm
        siemens[[i, j], [j, i]] -= 1 / ohm
        driven[[i, j]] -= np.array([1, -1]) * (above[a] - above[b]) / ohm
    fixed = group[at_zero]
    free = np.setdiff1d(np.arange(len(siemens)), fixed)
    inverse = np.linalg.inv(siemens[np.ix_(free, free)])
    incidence = np.zeros((points, len(ties)))
    for n, (a, b, _) in enumerate(ties):
        incidence[[a, b], n] = 1.0, -1.0
    shared = np.linalg.pinv(incidence)

    def solve(into: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        shift = np.zeros(len(siemens))
        shift[fixed] = -above[at_zero]
        right = np.bincount(group, into, len(siemens)) + driven
        shift[free] = inverse @ (right - siemens @ shift)[free]
        shift[free] += inverse @ (right - siemens @ shift)[free]
        volts, left = shift[group] + above, into.copy()
        for a, b, ohm in ohms:
            left[a] -= (volts[a] - volts[b]) / ohm
            left[b] += (volts[a] - volts[b]) / ohm
        return volts, shared @ left

    return solve


def contracted(points: int, ties: Edges) -> tuple[np.ndarray, np.ndarray]:
    """By point the number of its group, and its volts above the first point of it."""
    around: list[list[tuple[int, float]]] = [[] for _ in range(points)]
    for a, b, volts in ties:
        around[a].append((b, -volts))
        around[b].append((a, volts))
    group, above, count = np.full(points, -1), np.zeros(points), 0
    for start in range(points):
        if group[start] >= 0:
            continue
        group[start] = count
        for here in (front := [start]):
            for other, volts in around[here]:
                if group[other] < 0:
                    group[other], above[other] = count, above[here] + volts
                    front.append(other)
        count += 1
    return group, above


def grounds(document: dict[str, Any], case: str, number: dict[str, int], points: int, joined: Edges) -> list[int]:
    """A node at 0 V in each part of the circuit that hangs together."""
    group, _ = contracted(points, [(a, b, 0.0) for a, b, _ in joined])
    zero: dict[int, int] = {}
    for node, volts in document["nodes"].items():
        if volts[case] == 0.0:
            zero.setdefault(group[number[node]], number[node])
    assert set(zero) == set(group), "no node at 0 V"
    return list(zero.values())
