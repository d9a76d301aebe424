"""The ways in which the code of the US and the international standard hold conductors and devices apart."""

from __future__ import annotations

import pytest

from copperplate.design import compile_plate
from copperplate.findings import Finding
from copperplate.model.results import Design
from copperplate.text import Source

BANK = """system "Cabin"
  nominal 24 V
  rules {rules}
battery bank 24 V, 400 Ah, agm, fault-current 3 kA, range 22..28.8 V
bus plus positive, 400 A
bus minus negative, 400 A
bank.pos -- [main: fuse class-t 300 A] -- plus
bank.neg -- 1 m -- minus
"""


def built(text: str, rules: str) -> tuple[Design, tuple[Finding, ...]]:
    design, findings = compile_plate(Source("codes.plate", BANK.format(rules=rules) + text), lambda name: None)
    assert design is not None
    return design, findings


def errors(found: tuple[Design, tuple[Finding, ...]]) -> list[str]:
    return [f.code for f in found[1] if f.severity == "error"]


@pytest.mark.parametrize(("size", "refused"), [("1 AWG", True), ("1/0 AWG", False)])
def test_conductors_in_parallel_begin_at_a_size(size: str, refused: bool) -> None:
    """NEC 310.10(G): 1/0 AWG and larger."""
    inverter = f"load big 150 A, drop 5 %\nplus -- [bf: fuse class-t] -- 2 m, {size}, parallel 2 -- big.pos\n"
    found = built(inverter + f"big.neg -- 2 m, {size}, parallel 2 -- minus\n", "nec")
    assert ("CP304" in errors(found)) is refused
    open_size = inverter.replace(f", {size}", "") + "big.neg -- 2 m, parallel 2 -- minus\n"
    assert built(open_size, "nec")[0].runs["big.pos.run"].size.label == "1/0 AWG"


ARRAY = """controller mppt 60 A, max-input 150 V, output 28.8 V
solar roof 300 W, voc 45 V, vmp 38 V, isc 10 A, imp 9.5 A, parallel 2
roof.pos -- 1 m{size}, insulation 90 degC -- mppt.pv.pos
roof.neg -- 1 m{size}, insulation 90 degC -- mppt.pv.neg
plus -- [cf: fuse class-t] -- 1 m -- mppt.pos
mppt.neg -- 1 m -- minus
"""


@pytest.mark.parametrize(
    ("air", "size"),
    [
        # 690.8(B)(1): 1.56 x 20 A = 31.25 A in the column of 60 °C, before any factor: 10 AWG has 30 A, 8 AWG 40 A.
        (30, "8 AWG"),
        # 690.8(B)(2): 25 A after the factor 0.41 of 76 to 80 °C: 8 AWG 55 x 0.41 = 22.6 A, 6 AWG 75 x 0.41 = 30.75 A.
        # Both factors at once would ask for 31.25 A of 30.75 A, and 4 AWG.
        (78, "6 AWG"),
    ],
)
def test_continuous_current_and_derating_are_held_apart(air: int, size: str) -> None:
    """NEC Tables 310.16 and 310.15(B)(1), 690.8(B): the larger of both, never both."""
    found = built(ARRAY.format(size=""), f"nec\n  ambient {air} degC")
    assert found[0].runs["mppt.pv.pos.run"].size.label == size
    assert not [f for f in found[1] if f.code.startswith("CP59")]


def test_what_is_held_before_factors_is_told() -> None:
    (found,) = [f for f in built(ARRAY.format(size=", 10 AWG"), "nec")[1]
                if f.code == "CP303" and f.subject == "mppt.pv.pos.run"]  # fmt: skip
    assert "carries 31.2 A" in found.message and "good for 30 A" in found.message


LOAD = "load lamp {draw}\nplus -- [lf: fuse gg] -- 2 m -- lamp.pos\nlamp.neg -- 2 m -- minus\n"


@pytest.mark.parametrize(("draw", "rating"), [("10 A", 10.0), ("16 A", 16.0), ("17 A", 20.0)])
def test_a_device_is_not_below_its_current_and_no_more(draw: str, rating: float) -> None:
    """IEC 60364-4-43 433.1: Ib <= In <= Iz, without the 1.25 of other codes."""
    found = built(LOAD.format(draw=draw), "iec-60364")
    assert found[0].devices["lf"].rating.rating_a == rating and not errors(found)
    charger = "charger dock 32 A, out 28.8 V\nplus -- [df: fuse gg] -- 2 m -- dock.pos\ndock.neg -- 2 m -- minus\n"
    assert built(charger, "iec-60364")[0].devices["df"].rating.rating_a == 40.0  # what pushes: 1.25, a practice


def test_a_plate_may_state_the_factor_all_the_same() -> None:
    text = LOAD.format(draw="10 A")
    design, _ = compile_plate(
        Source("codes.plate", BANK.format(rules="iec-60364\n  continuous-factor 1.25") + text), lambda name: None
    )
    assert design is not None and design.devices["lf"].rating.rating_a == 16.0


@pytest.mark.parametrize(("metres", "told"), [(0.0, False), (0.5, True)])
def test_what_lies_before_a_device_is_told_with_its_conditions(metres: float, told: bool) -> None:
    """IEC 60364-4-43 434.2.1 and 434.3 a), from memory: 3 m, with the least risk, away from what burns."""
    text = BANK.replace("bank.pos -- [main", f"bank.pos -- {metres} m -- [main" if metres else "bank.pos -- [main")
    design, findings = compile_plate(Source("c.plate", text.format(rules="iec-60364") + LOAD.format(draw="5 A")),
                                     lambda name: None)  # fmt: skip
    assert design is not None and ("CP441" in {f.code for f in findings}) is told
    assert not [f for f in findings if f.severity == "error"]
