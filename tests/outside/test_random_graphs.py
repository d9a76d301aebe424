"""Random plates that are graphs: each is read, compiles and re-checks, and agrees with the oracles.

300 plates are compiled here; `tests/random_graphs_sweep.py` compiles more. `data/random_graphs.toml` lists by check the
seeds that fail it: what fails and is not listed is an error, so that the lists may only get shorter.
"""

from __future__ import annotations

import copy
import sys
import tomllib
from pathlib import Path
from typing import Any

import pytest
from whole_plate import CHECKS, Compiled, compiled

sys.path.append(str(Path(__file__).parents[1]))
from random_graphs import graph

RECORD = tomllib.loads((Path(__file__).parent / "data" / "random_graphs.toml").read_text(encoding="utf-8"))
SEEDS = range(300)
CHUNK = 15


@pytest.mark.parametrize("first", SEEDS[::CHUNK])
def test_random_graphs(first: int) -> None:
    failed: dict[str, list[str]] = {}
    for seed in range(first, first + CHUNK):
        plate = compiled(graph(seed))
        assert plate is not None, f"the plate of seed {seed} cannot be read"
        unread = [key for key, severity in plate.severities.items() if key[0] < "CP300" and severity == "error"]
        assert not unread, (seed, unread)
        for name, check in CHECKS.items():
            if seed not in RECORD[name]:
                failed |= {f"{seed} {name}": wrong for wrong in [check(plate)] if wrong}
    assert not failed


def test_the_same_seed_gives_the_same_plate() -> None:
    assert all(graph(seed) == graph(seed) for seed in SEEDS[::30])
    assert len({graph(seed) for seed in SEEDS}) == len(SEEDS)


@pytest.mark.parametrize(
    "habit", ["relay", "selector", "ring-", "earth body", "twin-", "sub-", "step-", "charge-", "string-", "generator-",
              "junction", "float-", "tap-", "feeder-", "common-negative", "charges"],
)  # fmt: skip
def test_every_habit_is_drawn(habit: str) -> None:
    assert sum(habit in graph(seed) for seed in SEEDS) >= 10


def changed(document: dict[str, Any], table: str, fact: str, factor: float) -> Compiled:
    """A document with one figure of every row of a table changed, and no finding told."""
    document = copy.deepcopy(document)
    for row in document[table]:
        if isinstance(row[fact], list):
            row[fact] = [amperes * factor for amperes in row[fact]]
        elif row[fact] is not None:
            row[fact] *= factor
    document["findings"] = []
    return Compiled(document, {})


@pytest.mark.parametrize(
    ("name", "table", "fact", "factor"),
    [
        ("sides", "devices", "fault_sides_a", 1.02),
        ("sides", "devices", "prospective_fault_a", 1.02),
        ("shorts", "devices", "end_fault_a", 0.98),
        ("currents", "runs", "design_current_a", 0.9),
        ("exposed", "runs", "ampacity_a", 0.3),
        ("returns", "runs", "ampacity_a", 0.3),
    ],
)
def test_a_check_sees_what_is_changed(name: str, table: str, fact: str, factor: float) -> None:
    seen = 0
    for seed in range(10):
        plate = compiled(graph(seed))
        assert plate is not None
        seen += bool(CHECKS[name](changed(plate.document, table, fact, factor)))
    assert seen == 10


def test_an_undue_error_is_seen() -> None:
    """In a plate where nothing is exposed."""
    plate = compiled(graph(next(seed for seed in SEEDS if (p := compiled(graph(seed))) and not p.exposed)))
    assert plate is not None and not plate.thin_returns and not CHECKS["undue"](plate)
    run = plate.document["runs"][0]["id"]
    plate.document["findings"].append({"code": "CP404", "severity": "error", "subject": run, "message": f"`{run}`"})
    assert CHECKS["undue"](plate) == [f"CP404 {run}"]
