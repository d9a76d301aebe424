"""Several sources of one zone: whatever one of them, left to carry all, does to budgets, windows and ratings."""

from __future__ import annotations

import pytest
from small_plates import compiled

HEAD = """system "Two banks"
  nominal 12 V
  rules cfr-183
  ac 120 V
battery one 12.8 V, 200 Ah, lifepo4, range 12..14.4 V, fault-current 4 kA
battery two 12.8 V, 200 Ah, lifepo4, range 12..14.4 V, fault-current 4 kA
bus minus negative, 400 A
bus plus positive, 300 A
"""
STATED = """load big 40 A, {big}
one.pos -- 0.2 m, 4 AWG -- [m1: fuse class-t 60 A] -- {far}, 4 AWG -- plus
one.neg -- {far}, 4 AWG -- minus
two.pos -- 0.2 m{size} -- [m2: fuse class-t 60 A] -- 1.3 m{size} -- plus
two.neg -- 1.4 m{size} -- minus
plus -- [fuse] -- 2 m{own} -- big.pos
big.neg -- 2 m{own} -- minus
"""
OHM_PER_M_4_AWG = 1.7241e-8 / 21.151e-6
"""Cold copper of 1/58 ohm mm2/m in 21.151 mm2 (ASTM B258)."""


def stated(big: str, far: str = "3 m", size: str = "", own: str = "") -> str:
    return STATED.format(big=big, far=far, size=size, own=own)


def test_sizes_left_out_hold_a_budget_by_stated_leads_of_another_bank() -> None:
    design, findings = compiled(stated("drop 3 %"), HEAD)
    assert not [f.message for f in findings if f.severity == "error"] and design.rechecked
    # By hand, K 10.75 as US small-craft practice: 6.2 m of 4 AWG and the load's own 4 m, out and back, at 40 A.
    own = design.runs["big.pos.run"]
    ohm_mm2_per_m = 10.75 * 5.067075e-4 / 0.3048
    lost = 40.0 * ohm_mm2_per_m * (6.2 / 21.151 + 4.0 / own.area_mm2)
    assert lost / 12.0 <= 0.03
    assert 40.0 * ohm_mm2_per_m * (6.2 / 21.151 + 4.0 / 13.302) / 12.0 > 0.03  # 6 AWG would not do


def test_a_window_holds_by_stated_leads_of_another_bank() -> None:
    design, findings = compiled(stated("works 11.65..15 V, drop 8 %"), HEAD)
    assert not [f.message for f in findings if f.severity == "error"] and design.rechecked
    own_mm2 = design.runs["big.pos.run"].area_mm2
    cold = 40.0 * (6.2 * OHM_PER_M_4_AWG + 4.0 * 1.7241e-2 / own_mm2)
    assert 12.0 - cold >= 11.65


def test_a_window_is_judged_with_one_battery_out_where_every_size_is_stated() -> None:
    plate = stated("works 11.55..15 V, drop 8 %", "6 m", ", 2/0 AWG", ", 2 AWG")
    design, findings = compiled(plate, HEAD)
    (told,) = [f for f in findings if f.code == "CP311"]
    assert "from `one` alone" in told.message and design.loads["big"].voltage_v > 11.55
    # Warm copper loses more than cold copper, and no more than copper at 105 °C.
    cold = 40.0 * (12.2 * OHM_PER_M_4_AWG + 4.0 * 1.7241e-8 / 33.631e-6)
    assert told.measure is not None
    assert 12.0 - cold * (1 + 0.00393 * 85.0) <= float(told.measure.found) <= 12.0 - cold


def test_supplies_that_take_turns_count_one_at_a_time_against_a_panel() -> None:
    plate = """shore inlet 30 A, 120 V, bonds-neutral
generator gen 20 A, 120 V, bonds-neutral
panel mains breaker, ac, ways 6, {rating}
load kettle 1200 W, ac
a: inlet -///- 1 m -- [b1: breaker 30 A, poles 2] -- 4 m -- [s1: selector 30 A, poles 2] -- 1 m -- mains
b: gen -///- 1 m -- [b2: breaker 20 A, poles 2] -- 3 m -- [s2: selector 30 A, poles 2] -- 1 m -- mains
mains.1 -///- [20 A] -- 7 m -- kettle
case ashore on inlet, kettle off s2
case away on gen, kettle off s1
"""
    above = [
        [f.measure.found for f in compiled(plate.format(rating=amperes), HEAD)[1] if f.code == "CP421" and f.measure]
        for amperes in ("30 A", "25 A")
    ]
    assert above == [[], [pytest.approx(30.0)]]
