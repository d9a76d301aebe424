"""Batteries wired in series one by one, and batteries of some age."""

from __future__ import annotations

import pytest

from copperplate.design import compile_plate
from copperplate.findings import Finding
from copperplate.model import Battery
from copperplate.model.results import Design
from copperplate.text import Source

EACH = "12 V, 110 Ah, agm, range 11.8..14.4 V, fault-current 0.9 kA"
HEAD = f"""
system "Series"
  nominal 24 V
  rules iso-13297
  conductors mm2
battery low "Lower" {EACH}
battery high "Upper" {EACH}, health 70 %
load pump 120 W, intermittent, drop 8 %
low.pos -- 0.3 m -- high.neg
high.pos -- [pump-fuse: fuse] -- 3 m -- pump.pos
pump.neg -- 3 m -- low.neg
"""
TAP = """
load lamp 10 W, 12 V
low.pos -- [lamp-fuse: fuse] -- 3 m -- lamp.pos
lamp.neg -- 3 m -- low.neg
"""


def compiled(text: str) -> tuple[Design, tuple[Finding, ...]]:
    design, findings = compile_plate(Source("t.plate", text), lambda name: None)
    assert design is not None
    return design, findings


def clean(text: str) -> tuple[Design, list[str]]:
    design, findings = compiled(text)
    assert not [f for f in findings if f.severity == "error"] and design.rechecked
    return design, [f.code for f in findings if f.severity == "warning"]


def fault_a(design: Design, device: str) -> float:
    found = design.devices[device].prospective_fault
    assert found is not None
    return found.value


def test_batteries_linked_one_by_one_are_a_bank() -> None:
    """24 V over both resistances is the short of one battery; the bank holds what the weakest does, 110 Ah x 70 %."""
    design, codes = clean(HEAD)
    assert codes == ["CP618"]
    assert [part.id for part in design.system.of(Battery)] == ["high"]
    assert fault_a(design, "pump-fuse") == pytest.approx(900.0)
    usable = design.energy[0].usable_wh
    assert usable == pytest.approx(0.5 * 110 * 0.7 * 24)  # half of a lead-acid battery is used (common practice)
    # 120 W at twice 11.8 V, less 8 % of 24 V.
    assert design.runs["pump.pos.run"].design_current.value == pytest.approx(120 / (23.6 - 1.92))


def test_a_string_is_the_bank_that_one_statement_tells() -> None:
    by_hand, _ = clean(HEAD.replace(", health 70 %", ""))
    bank = HEAD.replace(", health 70 %", ", series 2, link 0.3 m").replace("low.neg", "high.neg")
    text = bank.replace("low.pos -- 0.3 m -- high.neg\n", "").replace(f'battery low "Lower" {EACH}\n', "")
    stated, _ = clean(text)
    assert by_hand.runs == stated.runs and by_hand.cuts == stated.cuts
    assert {d: r.prospective_fault for d, r in by_hand.devices.items()} == {
        d: r.prospective_fault for d, r in stated.devices.items()
    }


def test_a_tap_draws_on_the_lowest_battery_alone() -> None:
    design, codes = clean(HEAD + TAP)
    assert sorted(codes) == ["CP618", "CP619"]
    assert fault_a(design, "lamp-fuse") == pytest.approx(900.0)
    assert design.conductors["lamp.pos.run"].current_a["everything"] == pytest.approx(10 / 11.7, rel=0.02)


def test_two_strings_stand_side_by_side() -> None:
    text = f"""
system "Two strings"
  nominal 24 V
  rules iso-13297
  conductors mm2
battery a1 {EACH}
battery a2 {EACH}
battery b1 {EACH}
battery b2 {EACH}
bus plus positive, 100 A
bus minus negative, 100 A
load pump 480 W, drop 8 %
first: a1.pos -- 0.3 m, 35 mm2 -- a2.neg
b1.pos -- 0.3 m -- b2.neg
a2.pos -- 0.1 m, sheath -- [fa: fuse] -- 0.5 m -- [sa: switch 100 A] -- 0.2 m -- plus
b2.pos -- 0.1 m, sheath -- [fb: fuse] -- 0.5 m -- [sb: switch 100 A] -- 0.2 m -- plus
a1.neg -- 0.5 m -- minus
b1.neg -- 0.5 m -- minus
plus -- [pf: fuse] -- 3 m -- pump.pos
pump.neg -- 3 m -- minus
"""
    design, _ = clean(text)
    assert [(part.id, part.series) for part in design.system.of(Battery)] == [("a2", 2), ("b2", 2)]
    assert design.runs["first"].area_mm2 == 35
    # 26.4 V over two batteries of 13.2 V / 900 A and 0.1 m of 2.5 mm2 (7.98 mohm/m, IEC 60228 class 5).
    assert design.runs["a2.pos.run"].area_mm2 == 2.5
    assert fault_a(design, "fa") == pytest.approx(26.4 / (2 * 13.2 / 900 + 0.1 * 0.00798))


def test_age_takes_from_the_capacity_and_adds_to_the_resistance() -> None:
    """A start takes 60 A more of 12 V behind 13.2 V / 900 A = 14.7 mohm, which leaves 11.12 V; at 60 % 24.4 mohm, which
    leave 10.53 V. Copper takes 0.1 V more."""
    text = """
system "Age"
  nominal 12 V
  rules iso-13297
  conductors mm2
battery old 12 V, 60 Ah, agm, range 12..14.4 V, fault-current 0.9 kA{age}
load motor 20 A, inrush 80 A, works 10.6..15 V, intermittent, drop 10 %
old -//- [fuse 40 A] -- 0.5 m, 16 mm2 -- motor
"""
    _, new = compiled(text.format(age=""))
    _, aged = compiled(text.format(age=", health 60 %"))
    assert [f.code for f in new if f.severity == "error"] == []
    assert [f.code for f in aged if f.severity == "error"] == ["CP427"]
