"""The figures of many designs as they stand: examples, the atlas and 300 random plates, each by a mark of its design.

A change that means to move no figure moves none of these marks; the marks of one that does are written again and its
message says which moved and why: `pytest tests/goldens/test_designs.py --snapshot-update`. A mark is a hash of the
design in twelve digits, so it says that something moved and not what: compile the plate before and after to see.
"""

from __future__ import annotations

import hashlib
import sys
from pathlib import Path

import pytest
from syrupy.assertion import SnapshotAssertion

from copperplate import schema
from copperplate.design import compile_plate
from copperplate.text import Source

TESTS = Path(__file__).parents[1]
sys.path.insert(0, str(TESTS))

import random_plates  # noqa: E402

SEEDS = 300
TOGETHER = 25
"""Random plates in one test, so that many cores share them."""


def mark(name: str, text: str, folder: Path | None = None) -> str:
    """A hash of a plate's design and of the words of its findings; "none" where it makes no design."""

    def read(file: str) -> Source | None:
        path = folder / file if folder is not None else None
        return Source(file, path.read_text(encoding="utf-8")) if path is not None and path.is_file() else None

    design, _ = compile_plate(Source(name, text), read)
    return "none" if design is None else hashlib.sha256(schema.to_text(design).encode()).hexdigest()[:16]


@pytest.mark.parametrize("folder", ["../examples", "atlas"])
def test_the_designs_of_whole_plates_stand(folder: str, snapshot: SnapshotAssertion) -> None:
    plates = sorted((TESTS / folder).resolve().rglob("*.plate"))
    assert plates
    assert {path.name: mark(path.name, path.read_text("utf-8"), path.parent) for path in plates} == snapshot


@pytest.mark.parametrize("first", range(0, SEEDS, TOGETHER))
def test_the_designs_of_random_plates_stand(first: int, snapshot: SnapshotAssertion) -> None:
    seeds = range(first, first + TOGETHER)
    assert {seed: mark("random.plate", random_plates.plate(seed).text()) for seed in seeds} == snapshot
