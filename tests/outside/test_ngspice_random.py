"""The solved voltages of random plates with rings, several banks and converters against ngspice, to 1e-6 relative."""

from __future__ import annotations

import json
import shutil
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from netlist import solve_case

sys.path.append(str(Path(__file__).parents[1]))
from copperplate import schema
from copperplate.design import compile_plate
from copperplate.text import Source
from random_plates import plate

RELATIVE = 1e-6


@pytest.mark.skipif(shutil.which("ngspice") is None, reason="needs the Debian package ngspice")
@pytest.mark.parametrize("seed", range(12))
def test_a_plate_with_loops_against_ngspice(seed: int, tmp_path: Path) -> None:
    """The loss of every conductor and the voltage at every load. Left out are a conducting hull, whose resistance the
    document does not list, and a converter with nothing behind it, which is taken to give all it can."""
    drawn = replace(plate(5000 + seed, "looped", 3, 9), chassis=False, extra=())
    drawn = replace(drawn, loads=tuple(replace(load, back="") for load in drawn.loads))
    if not any(load.at == "conv-panel" for load in drawn.loads):
        drawn = replace(drawn, converters=())
    design, _ = compile_plate(Source("random.plate", drawn.text()), lambda name: None)
    assert design is not None
    document = json.loads(schema.to_text(design))
    compared = 0
    for case in document["cases"]:
        solved = solve_case(document, case, tmp_path)
        for first, second in ((c["from_node"], c["to_node"]) for c in document["conductors"]):
            both = [document["nodes"][n].get(case["id"]) for n in (first, second)]
            if None not in both and first in solved and second in solved:
                lost = solved[first] - solved[second]
                assert both[0] - both[1] == pytest.approx(lost, rel=RELATIVE, abs=2e-6), (case["id"], first, second)
                compared += 1
        for load in document["loads"]:
            pos, neg = f"{load['id']}.pos", f"{load['id']}.neg"
            if pos in solved and case["id"] in document["nodes"].get(pos, {}):
                volts = document["nodes"][pos][case["id"]] - document["nodes"][neg][case["id"]]
                assert volts == pytest.approx(solved[pos] - solved[neg], rel=RELATIVE), (case["id"], load["id"])
    assert compared > 10 * len(document["cases"])
