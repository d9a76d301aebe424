"""What is bought and cut: against counts by hand, and blade colours against ISO 8820-3 (from memory)."""

from __future__ import annotations

from collections import Counter

import pytest

from copperplate.design import compile_plate
from copperplate.model.results import Design, Material
from copperplate.text import Source

PLATE = """system "Yard"
  nominal 12 V
  rules iec-60364
  ac 230 V
  conductors mm2
  units metric
battery house 12.8 V, 300 Ah, lifepo4, fault-current 3 kA
  terminal stud M8
bus plus positive, terminal stud M10
bus minus negative, terminal stud M10
panel block blade, ways 6, return minus
  terminal clamp 0.75..6 mm2
shore inlet 16 A, 230 V
panel mains ac, 16 A, ways 4
  terminal clamp 1..16 mm2
load lamp 20 W
load pump 60 W
load kettle 1000 W, ac
house.pos -- 0.3 m -- [main: fuse class-t] -- 0.5 m -- plus
house.neg -- 0.5 m -- minus
plus -- [feed: fuse class-t] -- 1 m -- block
block.1 -//- [3 A] -- 3 m -- lamp
block.2 -//- [10 A] -- 4 m -- pump
inlet -///- 2 m -- [guard: breaker 16 A, poles 2, residual 30 mA] -- 3 m -- mains
mains.1 -///- [10 A] -- 6 m -- kettle
"""


@pytest.fixture(scope="module")
def made() -> Design:
    design, findings = compile_plate(Source("yard.plate", PLATE), lambda name: None)
    assert design is not None and not design.errors, [f.message for f in findings]
    assert design.rechecked
    return design


def bought(made: Design, group: str) -> dict[str, Material]:
    return {line.item: line for line in made.materials if line.group == group}


def test_an_ac_run_is_bought_and_cut_as_cable(made: Design) -> None:
    """Two stretches of three cores between inlet, breaker and panel, and one to the kettle; brown, blue and
    green-yellow (IEC 60445). The earth runs on past the breaker, so that it has two ends in all and the others four."""
    cables = [cut for cut in made.cuts if cut.cores > 1]
    assert [(cut.conductor, cut.length_m, cut.colour) for cut in cables] == [
        ("mains/1", 2.0, "BN BU GNYE"),
        ("mains/2", 3.0, "BN BU GNYE"),
        ("kettle", 6.0, "BN BU GNYE"),
    ]
    assert sum(line.quantity for line in bought(made, "cable").values()) == pytest.approx(
        sum(cut.cut_m for cut in cables)
    )
    assert not any("BN" in item or "BU" in item for item in bought(made, "conductor"))
    ends = [(fit.conductor, fit.node) for fit in made.fits if made.system.runs["mains.run"].id in fit.conductor]
    assert Counter(name.split(".run.")[1][0] for name, _ in ends) == {"l": 4, "n": 4, "p": 2}


def test_every_end_has_its_fitting_and_no_more(made: Design) -> None:
    pieces = sum(line.quantity for group in ("lug", "ferrule", "splice") for line in bought(made, group).values())
    assert pieces == 2 * len(made.system.conductors)
    assert "ring lug" in " ".join(bought(made, "lug"))


def test_blades_have_their_colours_and_fuses_a_spare(made: Design) -> None:
    """ISO 8820-3: 3 A violet, 10 A red."""
    fuses = bought(made, "fuse")
    assert fuses["fuse blade, 3 A, violet"].quantity == 2
    assert fuses["fuse blade, 10 A, red"].quantity == 2
    for line in fuses.values():
        assert line.quantity == len(line.where) + 1


def test_fuses_in_the_line_have_holders_and_those_of_a_panel_none(made: Design) -> None:
    held = [name for line in bought(made, "holder").values() for name in line.where]
    assert sorted(held) == ["feed", "main"]


def test_a_breaker_is_named_with_what_it_must_be(made: Design) -> None:
    assert set(bought(made, "breaker")) == {
        "breaker, 16 A, 2 poles, AC 230 V, residual 30 mA",
        "breaker, 10 A, AC 230 V",
    }
