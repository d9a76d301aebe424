"""The solved voltages of every example against ngspice, a general-purpose circuit simulator, to 1e-6 relative."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from copperplate import schema
from copperplate.design import compile_plate
from copperplate.text import Source
from tests.outside.netlist import netlist, solve

EXAMPLES = Path(__file__).parents[2] / "examples"
PLATES = ("launch/launch.plate", "camper/camper.plate", "cabin/cabin.plate", "rescue/mended.plate")
RELATIVE = 1e-6


@pytest.mark.skipif(shutil.which("ngspice") is None, reason="needs the Debian package ngspice")
@pytest.mark.parametrize("plate", PLATES)
def test_an_example_against_ngspice(plate: str, tmp_path: Path) -> None:
    path = EXAMPLES / plate

    def read(name: str) -> Source | None:
        beside = path.parent / name
        return Source(name, beside.read_text(encoding="utf-8")) if beside.exists() else None

    design, _ = compile_plate(Source(path.name, path.read_text(encoding="utf-8")), read)
    assert design is not None and not design.errors
    document = json.loads(schema.to_text(design))
    compared = 0
    for case in document["cases"]:
        text, name = netlist(document, case)
        solved = solve(text, tmp_path)
        for node, by_case in document["nodes"].items():
            if case["id"] in by_case and name[node] in solved:
                assert by_case[case["id"]] == pytest.approx(solved[name[node]], rel=RELATIVE, abs=2e-6), (case["id"], node)
                compared += 1
    assert compared > 10 * len(document["cases"])
