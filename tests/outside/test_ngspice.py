"""The solved voltages of every example against ngspice, a general-purpose circuit simulator, to 1e-6 relative."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from netlist import solve_case

from copperplate import schema
from copperplate.design import compile_plate
from copperplate.text import Source

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
    zone = {point["id"]: point["zone"] for point in document["points"]}
    compared = 0
    for case in document["cases"]:
        solved = solve_case(document, case, tmp_path)
        # Volts of the document count from the negative (or neutral) terminal of the source that holds a zone. What lies
        # between an array and its controller is held by the controller, which the document says nothing more of.
        zero = {
            zone[node]: solved[node]
            for s in reversed(document["sources"])
            for port in ("neg", "out.neg", "ac-out.n")
            if case["id"] in s["terminal_v"] and (node := f"{s['id']}.{port}") in solved
        }
        for node, by_case in document["nodes"].items():
            if case["id"] in by_case and node in solved and zone[node] in zero:
                expected = solved[node] - zero[zone[node]]
                assert by_case[case["id"]] == pytest.approx(expected, rel=RELATIVE, abs=2e-6), (case["id"], node)
                compared += 1
    assert compared > 10 * len(document["cases"])
