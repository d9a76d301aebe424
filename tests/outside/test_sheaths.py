"""Least sizes in a sheath: 33 CFR 183.425(d) to (f) and ISO 10133:2012 7.7, on whole plates."""

from __future__ import annotations

import pytest

from copperplate.design import compile_plate
from copperplate.findings import Finding
from copperplate.model.results import Design
from copperplate.schema import to_json
from copperplate.text import Source

INCH = 0.0254
PLATE = """system "Small"
  nominal 12 V
  rules {rules}
  conductors {series}
battery bank "Bank" 12 V, 100 Ah, agm
  range 12..14.4 V
  fault-current 1 kA
bus minus "Bar" negative, 100 A
panel cabin "Block" blade, ways 4, return minus
load lamp "Lamp" 0.5 A
bank.pos -- 0.1 m -- [main: fuse class-t] -- 0.1 m -- cabin
bank.neg -- 0.3 m -- minus
cabin.1 -//- {way} -- lamp
"""


def compiled(way: str, rules: str = "cfr-183", series: str = "awg") -> tuple[Design, tuple[Finding, ...]]:
    design, findings = compile_plate(
        Source("boat.plate", PLATE.format(way=way, rules=rules, series=series)), lambda name: None
    )
    assert design is not None
    return design, findings


@pytest.mark.parametrize(
    ("inches", "least"), [(0, "18 AWG"), (12, "18 AWG"), (30, "18 AWG"), (31, "16 AWG"), (60, "16 AWG")]
)
def test_an_18_awg_conductor_leaves_its_sheath_by_thirty_inches_at_most(inches: int, least: str) -> None:
    """33 CFR 183.425(f): 30 in; beyond it the conductor runs separately and 16 AWG is the least (e)."""
    for way in (f"{inches} in -- 1 m, sheath", f"1 m, sheath -- {inches} in", f"{inches} in -- 1 m, sheath -- 10 in"):
        way = way.replace("0 in -- 1 m, sheath", "1 m, sheath") if inches == 0 else way
        way = way.replace(" -- 0 in", "")
        design, findings = compiled(way)
        size = design.runs["lamp.run"].size
        assert size is not None and size.label == least
        assert design.rechecked and not [f for f in findings if f.severity == "error"]
        told = [a for a in design.assumptions if a.subject == "lamp.run" and "unsheathed" in a.text]
        assert bool(told) == (inches > 30)


def test_a_stated_18_awg_conductor_beyond_thirty_inches_is_refused() -> None:
    assert "CP304" in {f.code for f in compiled("31 in, 18 AWG -- 1 m, 18 AWG, sheath")[1]}
    assert "CP304" not in {f.code for f in compiled("29 in, 18 AWG -- 1 m, 18 AWG, sheath")[1]}


@pytest.mark.parametrize(("metres", "least"), [(0.8, "0.75 mm²"), (0.85, "1 mm²")])
def test_a_core_of_a_sheathed_cable_leaves_it_by_eight_hundred_millimetres(metres: float, least: str) -> None:
    """ISO 10133:2012 7.7."""
    design, _ = compiled(f"{metres} m -- 0.5 m, sheath", "iso-13297", "mm2")
    size = design.runs["lamp.run"].size
    assert size is not None and size.label == least


def test_a_gap_on_the_way_counts_with_both_ends() -> None:
    """Read for the larger conductor: lengths outside the sheath add up where it is left on the way."""
    assert compiled("0.5 m -- 1 m, sheath -- 0.2 m -- 1 m, sheath")[0].runs["lamp.run"].size.label == "18 AWG"  # type: ignore[union-attr]
    assert compiled("0.5 m -- 1 m, sheath -- 0.3 m -- 1 m, sheath")[0].runs["lamp.run"].size.label == "16 AWG"  # type: ignore[union-attr]


def test_the_design_tells_which_conductors_are_sheathed() -> None:
    value = to_json(compiled("10 in -- 1 m, sheath")[0])
    run = next(r for r in value["runs"] if r["id"] == "lamp.run")
    assert run["sheath"] is False and run["outside_sheath_m"] == pytest.approx(10 * INCH)
    whole = to_json(compiled("1 m, sheath")[0])
    assert {c["sheath"] for c in whole["conductors"] if c["run"] == "lamp.run"} == {True}
