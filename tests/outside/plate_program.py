"""The least copper of a whole plate as an integer program, made of `design.json` alone.

Which sizes a run may have comes from its ladder (a size that no rung but the voltage drop refuses), lengths, currents
and budgets from the document; the ways of the loads are searched in its conductors and devices, areas are those of
ASTM B258, and what a metre of conductor is judged by is the published figure of each rule profile.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

FORGIVEN = 1e-9
"""Share of a budget that rounding may overdraw."""


def area_mm2(size: str) -> float:
    """ASTM B258: diameter 0.005 in x 92^((36 - n) / 39); 1/0 is -0, 2/0 is -1 and so on."""
    number, system = size.split()
    if system.startswith("mm"):
        return float(number)
    gauge = 1 - int(number[0]) if "/0" in number else int(number)
    return float(np.pi / 4 * (0.127 * 92 ** ((36 - gauge) / 39)) ** 2)


def judged_ohm_per_m(size: str, rules: str) -> float:
    """Circular-mil constant of 10.75 ohm cmil/ft in US small-craft practice, from memory; ISO 13297:2020
    annex A, 0.0164 ohm mm²/m."""
    if rules == "iso-13297":
        return 0.0164 / area_mm2(size)
    circular_mils = area_mm2(size) / (np.pi / 4 * 0.0254**2)
    return float(10.75 / circular_mils / 0.3048)


@dataclass(frozen=True)
class Optimum:
    """Total copper of all runs in mm²m, and how many binary variables it took."""

    copper_mm2_m: float
    variables: int


def optimum(document: dict[str, Any]) -> Optimum:
    """The least total copper of a radial plate for its ladders and budgets."""
    rules = document["system"]["rules"]
    runs = {run["id"]: run for run in document["runs"] if run["role"] == "run" and not run["earth"]}
    conductors = {c["id"]: c for c in document["conductors"]}
    unit_of = _units(document, runs)
    members: dict[str, list[str]] = {}
    for run, unit in unit_of.items():
        members.setdefault(unit, []).append(run)
    metres = {
        r: sum(conductors[c]["length_m"] for c in run["conductor_ids"]) * run["parallel"] for r, run in runs.items()
    }
    fixed_copper = 0.0
    for run in document["runs"]:
        if run["id"] in runs:
            continue
        if run["role"] == "link":
            bank = run["from"].split(".")[0]
            leads = [r for r in runs if bank in (runs[r]["from"].split(".")[0], runs[r]["to"].split(".")[0])]
            assert len({unit_of[lead] for lead in leads}) == 1
            metres[leads[0]] += run["length_m"] * run["count"] * run["parallel"]
        else:
            fixed_copper += run["copper_mm2_m"]
    columns: list[tuple[str, str]] = []
    for unit, own in members.items():
        allowed = [_allowed(runs[run]) for run in own]
        columns += [(unit, size) for size in allowed[0] if all(size in other for other in allowed[1:])]
    number = {column: n for n, column in enumerate(columns)}
    cost = np.array([area_mm2(size) * sum(metres[run] for run in members[unit]) for unit, size in columns])
    rows, low, high = [], [], []
    for unit in members:
        rows.append([1.0 if column[0] == unit else 0.0 for column in columns])
        low.append(1.0)
        high.append(1.0)
    for load in document["loads"]:
        row = [0.0] * len(columns)
        for conductor in _way(document, load):
            run = runs[conductors[conductor]["run"]]
            weight = run["design_current_a"] * conductors[conductor]["length_m"] / run["parallel"]
            unit = unit_of[run["id"]]
            for column in columns:
                if column[0] == unit:
                    row[number[column]] += weight * judged_ohm_per_m(column[1], rules)
        rows.append(row)
        low.append(-np.inf)
        high.append(load["budget_v"] * (1 + FORGIVEN))
    found = milp(
        cost, constraints=LinearConstraint(np.array(rows), low, high), integrality=np.ones(len(columns)),
        bounds=Bounds(0, 1), options={"mip_rel_gap": 1e-9},
    )  # fmt: skip
    assert found.status == 0, found.message
    return Optimum(float(found.fun) + fixed_copper, len(columns))


def _allowed(run: dict[str, Any]) -> list[str]:
    """The sizes that no rung but the drop refuses; a stated size is the only one."""
    if run["stated"]:
        return [run["size"]]
    return [
        candidate["size"]
        for candidate in run["candidates"]
        if all(rung["verdict"] != "refused" or rung["rule"] == "drop" for rung in candidate["rungs"])
    ]


def _units(document: dict[str, Any], runs: dict[str, Any]) -> dict[str, str]:
    """By run, the first of the runs of its size: the two leads of a device whose terminals carry nothing else, or of a
    panel, where neither has a stated size."""
    at: dict[str, set[str]] = {}
    for c in document["conductors"]:
        if c["run"] in runs:
            at.setdefault(c["from_node"], set()).add(c["run"])
            at.setdefault(c["to_node"], set()).add(c["run"])
    unit = {run: run for run in runs}
    for node, here in at.items():
        other = at.get(f"{node.removesuffix('.pos')}.neg", set()) if node.endswith(".pos") else set()
        part = next((p for p in document["parts"] if node.startswith(f"{p['id']}.")), None)
        if part is None or part["kind"] in ("bus", "panel") or len(here) != 1 or len(other) != 1:
            continue
        first, second = next(iter(here)), next(iter(other))
        both = runs[first], runs[second]
        if first != second and all(r["conductors"] == 1 and not r["stated"] for r in both):
            unit[second] = unit[first]
    for part in document["parts"]:
        ends = at.get(f"{part['id']}.feed", set()), at.get(f"{part['id']}.neg", set())
        fed = tuple([run for run in sorted(end) if runs[run]["conductors"] == 1] for end in ends)
        if part["kind"] != "panel" or any(len(one) != 1 for one in fed):
            continue
        first, second = (one[0] for one in fed)
        both = runs[first], runs[second]
        same = both[0]["parallel"] == both[1]["parallel"]
        if first != second and same and not any(r["stated"] for r in both):
            unit[second] = unit[first]
    return unit


def _way(document: dict[str, Any], load: dict[str, Any]) -> list[str]:
    """The conductors between a load's terminals and those of its source, both poles."""
    joins: dict[str, list[tuple[str, str]]] = {}
    for c in document["conductors"]:
        joins.setdefault(c["from_node"], []).append((c["to_node"], c["id"]))
        joins.setdefault(c["to_node"], []).append((c["from_node"], c["id"]))
    for device in document["devices"]:
        for a, b in device["legs"]:
            joins.setdefault(a, []).append((b, ""))
            joins.setdefault(b, []).append((a, ""))
    found: list[str] = []
    source, ends = load["source"], {p["id"] for p in document["points"]}
    kind = {p["id"]: p["kind"] for p in document["parts"]}
    out = {"converter": "out.", "inverter": "ac-out."}.get(kind[source], "")
    into = {"converter": "in."}.get(kind[load["load"] if "load" in load else load["id"]], "")
    name = load["load"] if "load" in load else load["id"]
    poles = ("l", "n") if f"{source}.{out}l" in ends else ("pos", "neg")
    for pole in poles:
        goal = next(f"{name}.{port}{pole}" for port in (into, "ac-in.") if f"{name}.{port}{pole}" in ends)
        start = f"{source}.{out}{pole}"
        came: dict[str, tuple[str, str]] = {start: ("", "")}
        front = deque([start])
        while front and goal not in came:
            here = front.popleft()
            for there, conductor in joins.get(here, ()):
                if there not in came:
                    came[there] = (here, conductor)
                    front.append(there)
        here = goal
        while here != start:
            here, conductor = came[here]
            found += [conductor] if conductor else []
    return found
