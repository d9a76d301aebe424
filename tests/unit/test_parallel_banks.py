"""Batteries in parallel on leads of their own: each is judged as if the others were out, by its own leads."""

from __future__ import annotations

import pytest
from small_plates import compiled

HEAD = """system "Banks"
  nominal 12 V
  rules cfr-183
  conductors awg
"""
BATTERY = """battery b{n} "Bank" 12.8 V, 200 Ah, lifepo4
  range 12..14.4 V
  fault-current 3 kA
b{n}.pos -- [m{n}: fuse class-t] -- {metres} m{size} -- plus
b{n}.neg -- {metres} m{size} -- minus
"""
BARS = """bus plus "Positive bus" positive, 900 A
bus minus "Negative bus" negative, 900 A
load big "Big" {amperes} A, drop 3 %
plus -- [fuse class-t] -- 1 m, 2 AWG -- big.pos
big.neg -- 1 m, 2 AWG -- minus
"""


def plate(*leads: tuple[float, str], amperes: int = 40) -> str:
    banks = [BATTERY.format(n=n, metres=metres, size=size) for n, (metres, size) in enumerate(leads, 1)]
    return BARS.format(amperes=amperes) + "".join(banks)


def by_hand(metres: float, mm2: float, amperes: float = 40.0) -> float:
    """Percent of 12 V by K = 10.75 ohm circular mil a foot, as US small-craft practice has it: 40 A through one
    battery's two leads and 2 m of 2 AWG (33.6 mm²). 1 mm² is 1973.5 circular mils; 1 m is 3.2808 ft."""
    lost = 10.75 * 3.2808 / 1973.5 * amperes * (2 * metres / mm2 + 2 / 33.62)
    return 100 * lost / 12.0


def test_the_worst_battery_is_the_one_whose_leads_lose_most_and_not_the_one_with_the_longest() -> None:
    design, findings = compiled(plate((2.4, ", 8 AWG"), (2.5, ", 2 AWG")), HEAD)
    load = design.loads["big"]
    assert load.source == "b1" and load.drop_percent == pytest.approx(by_hand(2.4, 8.367), rel=0.01)
    (found,) = [f for f in findings if f.code == "CP310"]
    assert "from `b1` alone" in found.message and "b1" in found.help


def test_the_size_that_is_offered_mends_it() -> None:
    _, findings = compiled(plate((2.4, ", 8 AWG"), (2.5, ", 2 AWG")), HEAD)
    (found,) = [f for f in findings if f.code == "CP310"]
    size = found.help.split(" on ")[0]
    _, mended = compiled(plate((2.4, f", {size}"), (2.5, ", 2 AWG")), HEAD)
    assert "CP310" not in {f.code for f in mended}


def test_leads_left_out_hold_the_budget_with_either_battery_out() -> None:
    design, findings = compiled(plate((0.5, ""), (2.5, "")), HEAD)
    assert not [f for f in findings if f.severity == "error"] and design.rechecked
    lead = design.runs["b1.pos.run"]
    assert {design.runs[r].size for r in ("b1.pos.run", "b2.pos.run", "b1.neg.run", "b2.neg.run")} == {lead.size}
    assert design.loads["big"].source == "b2"
    assert by_hand(2.5, lead.area_mm2) <= 3.0


def test_free_leads_beside_stated_ones_are_sized_by_their_own_way() -> None:
    design, findings = compiled(plate((3.0, ", 2/0 AWG"), (2.5, "")), HEAD)
    assert not [f for f in findings if f.severity == "error"]
    assert by_hand(2.5, design.runs["b2.pos.run"].area_mm2) <= 3.0


def test_a_lead_that_nothing_can_carry_names_the_other_mains() -> None:
    """Three batteries: a short on one's lead is fed by the other two through their mains, and not by its own."""
    _, findings = compiled(plate((0.5, ""), (1.5, ""), (3.0, ""), amperes=300), HEAD)
    found = [f for f in findings if f.code == "CP305"]
    assert found and "`m2` and `m3`" in found[0].message and "`m1`" not in found[0].message
