"""The solved voltages of every example against ngspice, a general-purpose circuit simulator, to 1e-6 relative."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from netlist import solve_case

from copperplate import schema
from copperplate.design import compile_plate
from copperplate.model.results import Design
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
    agrees(design, tmp_path)


TRANSFER = """system "Transfer"
  nominal 12 V
  rules cfr-183
  ac 120 V
battery house "Bank" 12.8 V, 280 Ah, lifepo4
  range 12.0..14.4 V
  fault-current 5 kA
bus plus "Positive bus" positive, 400 A
bus minus "Negative bus" negative, 400 A
inverter inv "Inverter" 2000 W, 120 V, efficiency 90 %, idle 20 W
shore inlet "Shore inlet" 30 A, 120 V, bonds-neutral
panel mains "AC panel" breaker, ac, ways 6
load kettle "Kettle" 1500 W, ac
load heater "Heater" 15 ohm, ac
load fan "Fan" 3 A
house.pos -- 0.4 m -- [main: fuse class-t] -- 0.9 m -- plus
house.neg -- 0.5 m -- minus
plus -- [fuse class-t] -- 1 m -- inv.pos
inv.neg -- 1 m -- minus
plus -- [fuse class-t] -- 2 m -- fan.pos
fan.neg -- 2 m -- minus
inlet -///- 2 m -- [shore-main: breaker, poles 2, residual 30 mA] -- 9 m -- inv.ac-in
inv.ac-out -///- [out: breaker, residual 30 mA] -- 3 m -- mains
mains.1 -///- 4 m -- kettle
mains.2 -///- 6 m -- heater
case shore "On shore" on inlet, kettle, heater, fan
case sea "At sea" on inv, kettle, fan
"""


@pytest.mark.skipif(shutil.which("ngspice") is None, reason="needs the Debian package ngspice")
def test_a_supply_handed_through_against_ngspice(tmp_path: Path) -> None:
    """An inverter whose transfer stands on the shore in one case and on its own output in the other."""
    design, findings = compile_plate(Source("transfer.plate", TRANSFER), lambda name: None)
    assert design is not None and not design.errors, [f.message for f in findings]
    agrees(design, tmp_path)


BETWEEN = """system "Between the lines"
  nominal 12 V
  rules nec
  conductors awg
  ac 120/240 V split
shore grid "Service" 60 A, 240 V, bonds-neutral, fault-current 10 kA
panel mains "AC panel" breaker, ac, ways 8, breaks 10 kA, curve d
load oven "Oven" 4800 W, ac
load heater "Water heater" 14 ohm, 240 V, ac
load lamp "Lamps" 24 ohm, ac, leg 2
load pump "Pump" 12 ohm, 120 V, ac
grid -////- 2 m -- [main: breaker, poles 2, residual 30 mA, breaks 10 kA, curve d] -- 9 m -- mains
mains.1 -////- 4 m -- oven
mains.3 -///- 18 m -- heater
mains.5 -///- 4 m -- lamp
mains.6 -///- 4 m -- pump
"""


@pytest.mark.skipif(shutil.which("ngspice") is None, reason="needs the Debian package ngspice")
def test_loads_between_the_lines_of_a_split_supply_against_ngspice(tmp_path: Path) -> None:
    """With and without a neutral, beside loads of one line that leave the neutral a current of its own."""
    design, findings = compile_plate(Source("between.plate", BETWEEN), lambda name: None)
    assert design is not None and not design.errors, [f.message for f in findings]
    assert {c.pole for c in design.system.conductors.values() if c.run == "heater.run"} == {"l1", "l2", "pe"}
    agrees(design, tmp_path)


def agrees(design: Design, tmp_path: Path) -> None:
    """Every node of every case, by the public document."""
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
            if s["terminal_v"].get(case["id"]) and (node := f"{s['id']}.{port}") in solved
        }
        for node, by_case in document["nodes"].items():
            if case["id"] in by_case and node in solved and zone[node] in zero:
                expected = solved[node] - zero[zone[node]]
                assert by_case[case["id"]] == pytest.approx(expected, rel=RELATIVE, abs=2e-6), (case["id"], node)
                compared += 1
    assert compared > 10 * len(document["cases"])
