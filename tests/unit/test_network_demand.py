"""Currents for sizing: what each load asks for, why, and what was assumed for it."""

from __future__ import annotations

import pytest
from small_plates import BARS, HEAD, sound


def test_constant_power_is_drawn_at_the_low_voltage_less_its_budget() -> None:
    """60 W at 12 V - 3 % = 11.64 V: 5.155 A."""
    run = sound("load x 60 W\nbank -//- [fuse] -- 1 m -- x\n").runs["x.run"]
    assert run.design_current.value == pytest.approx(60 / 11.64)
    assert run.design_current.formula == "power / (low voltage - drop budget)"
    assert ("low voltage", 12.0, "V") in run.design_current.inputs


def test_resistive_loads_are_taken_at_the_highest_voltage() -> None:
    """2.4 ohm at 14.4 V: 6 A."""
    design = sound("load x 2.4 ohm\nbank -//- [fuse] -- 1 m -- x\n")
    assert design.runs["x.run"].design_current.value == pytest.approx(6.0)


def test_a_count_of_loads_multiplies() -> None:
    design = sound("load x 8 x 0.25 A\nbank -//- [fuse] -- 1 m -- x\n")
    assert design.runs["x.run"].design_current.value == pytest.approx(2.0)


def test_an_inverter_draws_its_output_over_efficiency() -> None:
    """1500 W / 0.92 at 11.64 V: 140.07 A; without AC loads behind it that is what feeders carry too."""
    text = "inverter inv 1500 W, efficiency 92 %\nplus -- [fuse class-t] -- 1 m -- inv.pos\ninv.neg -- 1 m -- minus\n"
    design = sound(BARS + text + "load x 1 A\ncabin.1 -//- 1 m -- x\n")
    assert design.runs["inv.pos.run"].design_current.value == pytest.approx(1500 / 0.92 / 11.64)
    assert design.runs["bank.pos.run"].design_current.value == pytest.approx(1500 / 0.92 / 11.64 + 1)


def test_a_feeder_tells_the_cases_behind_its_current() -> None:
    design = sound(BARS + "load a 4 A\nload b 3 A\ncabin.1 -//- 1 m -- a\ncabin.2 -//- 1 m -- b\n")
    why = design.runs["cabin.run"].design_current
    assert why.value == pytest.approx(7.0) and why.formula == "largest over the cases"
    assert why.inputs[0][1:] == (pytest.approx(7.0), "A")


def test_charging_counts_for_what_a_conductor_carries_and_not_for_its_drop() -> None:
    text = "alternator alt 60 A, self-limiting\nalt.pos -- 1 m -- plus\nalt.neg -- 1 m -- minus\n"
    design = sound(BARS + text + "load x 1 A\ncabin.1 -//- 1 m -- x\n")
    lead = design.runs["bank.pos.run"]
    assert lead.design_current.value == pytest.approx(60.0)
    assert design.loads["x"].drop_v < 0.2
    # Banks low, the alternator gives its rating; at the end of charging they are held where it ends.
    charging = design.conductors["bank.neg.run"].current_a
    assert charging["charging.bulk"] == pytest.approx(60.0) and charging["charging"] == pytest.approx(0.0, abs=1e-6)


def test_a_solar_array_is_taken_at_its_short_circuit_current_with_both_factors() -> None:
    """NEC 690.8: 1.25 x 1.25 x 5.8 A = 9.06 A for conductors."""
    text = """solar pv 100 W, voc 24 V, isc 5.8 A, vmp 20 V, imp 5.2 A
controller mppt 10 A, max-input 75 V
pv -//- 3 m -- mppt.pv
plus -- [fuse] -- 1 m -- mppt.pos
mppt.neg -- 1 m -- minus
load x 1 A
cabin.1 -//- 1 m -- x
"""
    design = sound(BARS + text)
    assert design.runs["mppt.pv.run"].design_current.value == pytest.approx(5.8)
    assert design.conductors["mppt.pv.run+"].current_a["charging.bulk"] == pytest.approx(5.2)
    assert design.conductors["bank.neg.run"].current_a["charging.bulk"] == pytest.approx(10.0)


def test_what_the_plate_leaves_open_is_an_assumption() -> None:
    head = HEAD.replace("  range 12..14.4 V\n  full 14.4 V\n", "")
    design = sound("load x 1 A\nbank -//- [fuse] -- 1 m -- x\n", head)
    texts = [a.text for a in design.assumptions if a.subject == "bank"]
    assert any(text.startswith("the low end of its range is taken as") for text in texts)
    assert any(text.startswith("its voltage while charging is taken as") for text in texts)


def test_the_other_supply_is_off_in_its_case() -> None:
    """Shore or generator through a selector: in each case one of them carries the load."""
    text = """system "Two supplies"
  nominal 12 V
  ac 120 V
shore dock 30 A, 120 V, bonds-neutral
generator gen 3000 W, 120 V
panel mains breaker, ways 4, ac
load heat 1000 W, ac
near: dock -///- [b1: breaker 30 A, poles 2, residual 30 mA] -- 2 m -- [ashore: selector 30 A, poles 2] -- 2 m -- mains
far: gen -///- [b2: breaker 25 A, poles 2, residual 30 mA] -- 3 m -- [engine: selector 30 A, poles 2] -- 3 m -- mains
mains.1 -///- [15 A] -- 3 m -- heat
case berth on heat, dock
case sea on heat, gen
"""
    design = sound(text, "")
    for case, live, dead in (("berth", "near.l/2", "far.l/2"), ("sea", "far.l/2", "near.l/2")):
        assert design.conductors[live].current_a[case] == pytest.approx(1000 / 120)
        assert design.conductors[dead].current_a[case] == pytest.approx(0.0, abs=1e-9)
