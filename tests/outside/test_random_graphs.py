"""Random plates that are graphs: each is read, compiles and re-checks, and agrees with the oracles.

300 plates are compiled here; `tests/random_graphs_sweep.py` compiles more. `data/random_graphs.toml` lists by check the
seeds that fail it: what fails and is not listed is an error, so that the lists may only get shorter.
"""

from __future__ import annotations

import sys
import tomllib
from pathlib import Path

import pytest
from whole_plate import CHECKS, compiled

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
