"""The fault study against its definition: dense nodal solves by NumPy that read the document alone."""

from __future__ import annotations

import json
import sys
from functools import cache
from math import isclose
from pathlib import Path
from typing import Any

import pytest
from design_network import network
from fault_sides import largest, sides
from smallest_shorts import Shorts

from copperplate import schema
from copperplate.design import compile_plate
from copperplate.text import Source

ROOT = Path(__file__).parents[2]
sys.path.append(str(ROOT / "tests"))
import random_plates  # noqa: E402

PLATES = {path.stem: path for path in sorted((ROOT / "examples").rglob("*.plate"))}
SEEDS = range(100)


@cache
def document_of(name: str) -> dict[str, Any] | None:
    """The document of an example, or of a random plate by its seed."""

    def read(file: str) -> Source | None:
        path = PLATES[name].parent / file
        return Source(file, path.read_text(encoding="utf-8")) if path.is_file() else None

    if name in PLATES:
        design, _ = compile_plate(Source(f"{name}.plate", PLATES[name].read_text(encoding="utf-8")), read)
    else:
        design, _ = compile_plate(Source("random.plate", random_plates.plate(int(name)).text()), lambda _: None)
    return json.loads(schema.to_text(design)) if design is not None else None


@pytest.mark.parametrize("name", [*PLATES, *map(str, SEEDS)])
def test_every_side_is_that_of_the_dense_solve(name: str) -> None:
    document = document_of(name)
    if document is None:
        assert name in PLATES, "a random plate compiles"
        pytest.skip("a plate that others include")
    net = network(document)
    for device in document["devices"]:
        amperes = device["prospective_fault_a"]
        if device["pole"] == "pos" and amperes is not None:
            assert isclose(amperes, largest(net, device["id"]), rel_tol=0.005), device["id"]
            leg = next(branch for branch in net.lines("pos") if branch.name == device["id"])
            if len(device["legs"]) == 1:
                assert device["fault_sides_a"] == pytest.approx(sides(net, leg), rel=0.005, abs=1e-3), device["id"]


@pytest.mark.parametrize("name", [*PLATES, *map(str, SEEDS)])
def test_every_smallest_short_is_that_of_the_dense_solves(name: str) -> None:
    document = document_of(name)
    if document is None:
        assert name in PLATES, "a random plate compiles"
        pytest.skip("a plate that others include")
    shorts = Shorts(network(document), [case["open_devices"] for case in document["cases"]])
    for device in document["devices"]:
        cleared = shorts.smallest.get(device["id"])
        if device["pole"] == "pos" and device["kind"] in ("fuse", "breaker") and cleared is not None:
            amperes = device["end_fault_a"]
            assert amperes is not None, device["id"]
            assert isclose(amperes, cleared.amperes, rel_tol=0.005), (device["id"], cleared)
            clearing = device["clearing"]
            if clearing["turn"] == 1 and len(clearing["sources"]) == 1 and clearing["out_ohm"]:
                (bank,) = (s for s in document["sources"] if s["id"] == clearing["sources"][0])
                ohm = (bank["resistance_low_ohm"] or 0.0) + clearing["out_ohm"] + clearing["back_ohm"]
                assert amperes <= max(bank["terminal_v"].values()) / ohm * 1.005, device["id"]
