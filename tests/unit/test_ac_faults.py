"""AC faults: c U / Z by hand from resistances of IEC 60228 and ASTM B258, verdicts by IEC 60898-1 and 60364-4-41.

Published figures used: IEC 60228:2004 Table 2 (class 2) and Table 3 (class 5) give 7.98 ohm/km for 2.5 mm2, class 5, at
20 °C; IEC 60909-0:2016 Table 1 gives c = 1.10 and 0.90 (from memory); IEC 60898-1 Table 7 gives 5, 10 and 20 times the
rating for types B, C, D (from memory); IEC 60364-4-41 Table 41.1 gives 0.4 s at 230 V and 0.8 s at 120 V (from memory).
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from plates import changed, codes, compiled, of_code

from copperplate.audit.loops import check_loops
from copperplate.model import Size
from copperplate.standards import conductors

CAMP = """system "Camp"
  nominal 12 V
  rules iec-60364
  conductors mm2
  insulation 70 degC
  ac 230 V
shore inlet "Inlet" 16 A, 230 V, fault-current 1 kA, earth-loop 0.8 ohm, bonds-neutral
panel mains "AC panel" breaker, ways 4, ac, breaks 6 kA, curve b
load kettle "Kettle" 8 A, ac

inlet -///- 4 m, 2.5 mm2 -- [main: breaker 16 A, poles 2, residual 30 mA, breaks 6 kA, curve c] -- 6 m -- mains
mains.1 -///- [10 A] -- 20 m, 2.5 mm2 -- kettle
"""
OHM_M = 7.98e-3
"""Of 2.5 mm2, class 5, at 20 °C: IEC 60228:2004 Table 3."""
HOT = 1 + 0.00393 * (70 - 20)
SPLIT = """system "House"
  nominal 12 V
  rules nec
  conductors awg
  ac 120/240 V split
shore grid "Service" 60 A, 240 V, fault-current 10 kA, bonds-neutral
panel mains "AC panel" breaker, ac, ways 8, breaks 10 kA, curve d
load heater "Water heater" 4500 W, 240 V, ac
load lamp "Lamps" 600 W, ac
grid -////- 10 m, 4 AWG -- [grid-main: breaker 60 A, residual 30 mA, breaks 10 kA, curve c] -- mains
mains.1 -///- 8 m, 10 AWG -- heater
mains.3 -///- 4 m, 14 AWG -- lamp
"""
GENERATOR = """system "Generator"
  nominal 12 V
  rules cfr-183
  conductors awg
  ac 120 V
generator gen "Generator" 3600 W, 120 V, sub-transient-reactance 12 %, bonds-neutral
load kettle "Kettle" 8 A, ac
gen -///- [main: breaker 30 A, poles 2, residual 30 mA] -- 2 m -- kettle
"""


def test_the_table_is_what_the_product_uses():
    assert conductors.ohm_per_m(Size("2.5", "mm2"), 20.0, False) == pytest.approx(OHM_M, rel=0.08)


def cold(size: Size) -> float:
    return conductors.ohm_per_m(size, 20.0, False)


def test_the_largest_current_is_source_and_cold_copper_out_and_back():
    """c U / sqrt((c U / Ik)² + (2 R l)²): line to neutral, the source at right angles."""
    design, _ = compiled(CAMP)
    r = cold(Size("2.5", "mm2"))
    for name, metres in (("main", 4.0), ("mains.1", 10.0)):
        expected = 1.1 * 230 / math.hypot(1.1 * 230 / 1000, 2 * r * metres)
        assert design.devices[name].prospective_fault.value == pytest.approx(expected, rel=1e-9)
        assert expected < 1000
    assert design.sources["inlet"].fault_current_a == 1000.0


def test_the_smallest_current_is_the_loop_outside_and_hot_copper():
    """c U0 / (Zs + 2 (R' hot, X' 0.08 mohm/m) l), IEC 60364-4-41 411.4.4; at the kettle 30 m from the inlet."""
    design, _ = compiled(CAMP)
    each = math.hypot(cold(Size("2.5", "mm2")) * HOT, 0.08e-3)
    expected = 0.9 * 230 / (0.8 + 2 * 30 * each)
    device = design.devices["mains.1"]
    assert device.end_fault.value == pytest.approx(expected, rel=1e-9)
    assert device.earth_fault.value == pytest.approx(expected, rel=1e-9)


def test_a_breaker_opens_at_once_above_the_top_of_its_type():
    """IEC 60898-1 Table 7: type B from 5 times, type C from 10 times its rating."""
    design, found = compiled(CAMP)
    device = design.devices["mains.1"]
    assert device.end_fault.value > 5 * 10 and device.far_end == "opens" and device.opens_within_s == 0.1
    assert not {"CP716", "CP717", "CP718"} & {f.code for f in found if f.subject == "mains.1"}
    slow, found = compiled(changed(("curve b", "curve d"), plate=CAMP))
    assert slow.devices["mains.1"].end_fault.value < 20 * 10 and slow.devices["mains.1"].far_end == "not proven"
    assert [f.subject for f in of_code("CP717", found)] == ["mains.1"]


def test_an_earth_fault_is_opened_by_the_residual_device_on_the_way():
    """IEC 61008-1 Table 1: within 0.04 s at five times 30 mA (from memory). Without it, a type D breaker of 10 A is not
    sure to open in 0.4 s at less than 200 A."""
    plate = changed(("curve b", "curve d"), plate=CAMP)
    assert compiled(plate)[0].devices["mains.1"].earth_end == "opens"
    bare, found = compiled(changed((", residual 30 mA", ""), plate=plate))
    assert bare.devices["mains.1"].earth_end == "not proven"
    (told,) = of_code("CP716", found)
    assert told.subject == "mains.1" and "0.4 s" in " ".join(told.notes)


def test_two_lines_drive_more_than_a_line_and_the_neutral():
    """Line to line: 2 c U / sqrt((2 c U / Ik)² + (2 R l)²), more than line to neutral wherever there is copper."""
    design, _ = compiled(SPLIT)
    r = cold(Size("4", "AWG")) * 10
    expected = 1.1 * 240 / math.hypot(1.1 * 240 / 10_000, 2 * r)
    for name in ("grid-main", "mains.1", "mains.3"):
        assert design.devices[name].prospective_fault.value == pytest.approx(expected, rel=1e-9)
    assert expected > 1.1 * 120 / math.hypot(1.1 * 120 / 10_000, 2 * r)


def test_a_short_of_a_load_between_lines_has_no_neutral():
    """Both lines of the heater at twice the voltage and twice the source; the earth fault at 120 V."""
    design, _ = compiled(SPLIT)
    hot = [1 + 0.00393 * (design.runs[run].insulation_c - 20) for run in ("mains.run", "heater.run")]
    copper = cold(Size("4", "AWG")) * 10 * hot[0] + cold(Size("10", "AWG")) * 8 * hot[1]
    loop = 1.1 * 120 / 10_000
    z = math.hypot(2 * copper, 2 * 18 * 0.08e-3)
    device = design.devices["mains.1"]
    assert device.end_fault.value == pytest.approx(0.9 * 240 / (2 * loop + z), rel=1e-6)
    assert device.earth_fault.value == pytest.approx(0.9 * 120 / (loop + z), rel=1e-6)


def test_a_generator_by_its_sub_transient_reactance():
    """IEC 60909-0: c In / x''d. 30 A and 12 %: 275 A at the terminals; for long no more than its 30 A."""
    design, found = compiled(GENERATOR)
    assert design.sources["gen"].fault_current_a == pytest.approx(1.1 * 30 / 0.12)
    assert design.devices["main"].prospective_fault.value == pytest.approx(275.0)
    assert design.devices["main"].end_fault.value == pytest.approx(30.0)
    assert [f.subject for f in of_code("CP718", found)] == ["gen"]
    assert not {"CP713", "CP715"} & {f.code for f in found}, "every breaker breaks 275 A"
    limited, _ = compiled(changed(("sub-transient-reactance 12 %", "self-limiting"), plate=GENERATOR))
    assert limited.devices["main"].prospective_fault.value == pytest.approx(30.0)
    silent, _ = compiled(changed((", sub-transient-reactance 12 %", ""), plate=GENERATOR))
    assert silent.devices["main"].prospective_fault.value == pytest.approx(330.0)
    assert any(a.subject == "gen" and "10 %, which is taken" in a.text for a in silent.assumptions)


def test_what_nobody_told_is_asked_and_the_larger_taken():
    plate = changed((", fault-current 1 kA, earth-loop 0.8 ohm", ""), (", breaks 6 kA, curve b", ""), plate=CAMP)
    design, found = compiled(plate)
    (told,) = of_code("CP713", found)
    assert told.subject == "inlet" and "`mains.1`" in " ".join(told.notes)
    assert design.devices["main"].prospective_fault.value > compiled(CAMP)[0].devices["main"].prospective_fault.value
    assert any(a.subject == "inlet" and "10000 A" in a.text for a in design.assumptions)


def test_a_device_that_breaks_too_little_is_refused_unless_backed():
    strong = changed(("fault-current 1 kA", "fault-current 6 kA"), ("4 m, 2.5", "0.3 m, 2.5"), (" 6 m --", " 0.3 m --"),
                     plate=CAMP)  # fmt: skip
    weak = changed(("breaks 6 kA, curve b", "breaks 3 kA, curve b"), plate=strong)
    assert not {"CP714", "CP715"} & codes(strong)
    assert [f.subject for f in of_code("CP714", compiled(weak)[1])] == ["mains.1"]
    backed = changed(("[10 A]", "[10 A, backed-by main]"), plate=weak)
    assert "CP714" not in codes(backed)
    assert [
        f.subject for f in of_code("CP715", compiled(changed(("breaks 6 kA, curve b", "curve b"), plate=strong))[1])
    ] == ["mains.1"]


def test_an_inverter_behind_its_transfer_meets_what_it_hands_through():
    """At the panel behind the inverter the shore drives the larger current, the inverter the smaller."""
    plate = CAMP.replace("-- 6 m -- mains\n", "-- 6 m -- inv.ac-in\n")
    plate += """battery house "Bank" 12.8 V, 200 Ah, lifepo4
  range 12.0..14.4 V
  fault-current 3 kA
inverter inv "Inverter" 2300 W, 230 V, bonds-neutral
house.pos -- 0.3 m -- [dc: fuse class-t] -- 0.5 m -- inv.pos
house.neg -- 0.8 m -- inv.neg
inv.ac-out -///- [out: breaker 16 A, poles 2, residual 30 mA, breaks 6 kA, curve c] -- 2 m, 2.5 mm2 -- mains
"""
    design, found = compiled(plate)
    assert 300 < design.devices["out"].prospective_fault.value < 1000
    assert design.devices["out"].end_fault.value == pytest.approx(10.0)
    assert design.devices["out"].earth_end == "opens"
    assert [f.subject for f in of_code("CP718", found)] == ["inv"]
    alone = plate.replace("inlet -///- 4 m", "inlet -///- 4 m")
    assert design.devices["main"].end_fault.value > 100, alone


def test_a_loop_that_nobody_measured_proves_nothing():
    """What is inferred from the largest current is the least loop that there can be: its opening stays unproven."""
    plate = changed((", earth-loop 0.8 ohm", ""), plate=CAMP)
    design, found = compiled(plate)
    assert design.devices["mains.1"].end_fault.value > 5 * 10 and design.devices["mains.1"].far_end == "not proven"
    assert design.devices["mains.1"].earth_end == "opens", "by the residual-current device"
    (told,) = of_code("CP718", found)
    assert "`earth-loop` on `inlet`" in told.help
    assert "CP716" in codes(changed((", residual 30 mA", ""), plate=plate))


def test_a_selector_keeps_a_source_off_the_feeder_of_the_other():
    """The generator's 30 A never reach the breaker of the shore: it sees the shore's current alone."""
    plate = changed(("-- 6 m -- mains", "-- 6 m -- [a: selector 16 A, poles 2] -- 1 m -- mains"), plate=CAMP)
    plate += "generator gen 2 kW, 230 V, bonds-neutral\n"
    plate += "from-gen: gen -///- 4 m -- [gen-main: breaker 10 A, poles 2, residual 30 mA, curve c]"
    plate += " -- 1 m -- [b: selector 16 A, poles 2] -- 1 m -- mains\n"
    design, _ = compiled(plate)
    assert design.devices["main"].end_fault.value > 100
    assert design.devices["gen-main"].prospective_fault.value == pytest.approx(1.1 * 2000 / 230 / 0.1, rel=0.05)


def test_a_panel_fed_twice_from_one_supply_shares_its_currents():
    """Both ends of a breaker shorted: of what the supply drives, each side has the share of its own cable. A short
    before the breaker of one cable is fed by the other too, backwards through it: 4 m against 18 m."""
    plate = changed(("inlet -///- 4 m", "a: inlet -///- 4 m"), ("-- 6 m --", "-- 6 m, 2.5 mm2 --"), plate=CAMP)
    plate += "b: inlet -///- 8 m, 2.5 mm2 -- [second: breaker 20 A, poles 2, residual 30 mA, curve c, breaks 6 kA]"
    plate += " -- 4 m, 2.5 mm2 -- mains\n"
    design, _ = compiled(plate)
    r = cold(Size("2.5", "mm2"))
    near, round_about = 2 * r * 4, 2 * r * (8 + 4 + 6)
    both = near * round_about / (near + round_about)
    amperes = 1.1 * 230 / math.hypot(1.1 * 230 / 1000, both)
    sides = amperes * both / near, amperes * both / round_about
    assert [side.value for side in design.devices["main"].fault_sides] == pytest.approx(sides, rel=1e-9)
    assert design.devices["main"].prospective_fault.value == pytest.approx(sides[0], rel=1e-9)
    each = math.hypot(r * HOT, 0.08e-3)
    backwards = 4 / (4 + 18) * 0.9 * 230 / (0.8 + 2 * each * 4 * 18 / (4 + 18))
    assert design.devices["main"].end_fault.value == pytest.approx(backwards, rel=1e-5)
    # Right behind the second, 8 m against 14 m: 14/22 of the current at 20 A are more times than 8/22 at 16 A.
    forwards = 14 / (8 + 14) * 0.9 * 230 / (0.8 + 2 * each * 8 * 14 / (8 + 14))
    assert design.devices["second"].end_fault.value == pytest.approx(forwards, rel=1e-5)


def test_of_two_breakers_of_one_rating_the_quicker_type_opens_first():
    """16 A of type B at the panel, 16 A of type C before it: the short of the kettle is no short of the main."""
    plate = changed(("[10 A]", "[16 A]"), ("20 m, 2.5 mm2", "40 m, 2.5 mm2"), plate=CAMP)
    design, _ = compiled(plate)
    assert design.devices["main"].clearing.node == "mains.ac-in.l"
    assert design.devices["mains.1"].clearing.node == "kettle.ac-in.l"
    slow, _ = compiled(changed(("curve b", "curve c"), plate=plate))
    assert slow.devices["main"].clearing.node == "kettle.ac-in.l"


def test_a_selector_keeps_the_larger_supply_from_the_cable_of_the_smaller():
    """Two selectors that meet: 1.5 mm² behind the 10 A breaker of the shore never see the generator's 32 A."""
    smaller = ("4 m, 2.5 mm2 -- [main: breaker 16 A", "4 m, 1.5 mm2 -- [main: breaker 10 A")
    plate = changed(smaller, ("-- 6 m -- mains", "-- 6 m, 1.5 mm2 -- [a: selector 16 A, poles 2] -- mains"), plate=CAMP)
    plate += "generator gen 9 kW, 230 V, bonds-neutral\n"
    plate += "from-gen: gen -///- 4 m, 10 mm2 -- [gen-main: breaker 32 A, poles 2, residual 30 mA, curve c]"
    plate += " -- 1 m, 10 mm2 -- [b: selector 40 A, poles 2] -- mains\n"
    assert not {"CP402", "CP403", "CP404", "CP595", "CP599"} & codes(plate)


def test_the_worked_loop_of_a_textbook():
    """T. Linsley, Basic Electrical Installation Work, book p. 250: 230 V, a loop of 1.15 ohm, 200 A (without c)."""
    plate = changed(("earth-loop 0.8 ohm", "earth-loop 1.15 ohm"), ("4 m, 2.5 mm2", "0.001 m, 2.5 mm2"),
                    (" 6 m --", " 0.001 m --"), ("20 m, 2.5 mm2", "0.001 m, 2.5 mm2"), plate=CAMP)  # fmt: skip
    assert compiled(plate)[0].devices["mains.1"].earth_fault.value / 0.9 == pytest.approx(200.0, rel=1e-3)


@pytest.mark.parametrize(
    ("device", "field", "factor"),
    [("main", "prospective_fault", 0.9), ("mains.1", "prospective_fault", 0.5), ("mains.1", "earth_fault", 1.2)],
)
def test_the_re_check_catches_a_current_on_the_unsafe_side(device, field, factor):
    design, _ = compiled(CAMP)
    assert not list(check_loops(design))
    one = design.devices[device]
    wrong = replace(getattr(one, field), value=getattr(one, field).value * factor)
    spoilt = replace(design, devices={**design.devices, device: replace(one, **{field: wrong})})
    assert [(f.code, f.subject) for f in check_loops(spoilt)] == [("CP596", device)]


def test_the_re_check_catches_a_device_that_breaks_too_little_and_a_verdict_without_proof():
    design, _ = compiled(changed((", residual 30 mA", ""), plate=CAMP))
    weak = replace(design.devices["mains.1"], interrupting_a=500.0)
    spoilt = replace(design, devices={**design.devices, "mains.1": weak})
    assert [f.subject for f in check_loops(spoilt)] == ["mains.1"]
    said = replace(design.devices["main"], earth_end="opens")
    sure = said.earth_fault.value >= 10 * 16
    spoilt = replace(design, devices={**design.devices, "main": said})
    assert [f.subject for f in check_loops(spoilt)] == ([] if sure else ["main"])
