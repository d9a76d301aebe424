"""Batteries in parallel on leads of their own: of two with the other out, of more with any one out."""

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


@pytest.mark.parametrize(("units", "share"), [(2, 90.0), (3, 45.0), (4, 30.0)])
def test_with_one_out_the_others_share_and_of_two_the_other_carries_all(units: int, share: float) -> None:
    """90 A on equal leads: 90 / (n - 1)."""
    design, findings = compiled(plate(*((0.6, ""),) * units, amperes=90), HEAD)
    assert not [f for f in findings if f.severity == "error"] and design.rechecked
    for n in range(1, units + 1):
        for run in (f"b{n}.pos.run", f"b{n}.neg.run"):
            assert design.runs[run].design_current.value == pytest.approx(share, rel=1e-6)
        assert design.devices[f"m{n}"].rating.needs_a.value == pytest.approx(1.25 * share, rel=1e-6)
    without = design.conductors["b1.pos.run"].current_a
    assert without["everything"] == pytest.approx(90.0 / units)
    assert without["everything.without.b1"] == pytest.approx(0.0, abs=1e-6)
    assert without["everything.without.b2"] == pytest.approx(90.0 / (units - 1))


def test_the_reason_of_a_lead_names_the_state_that_governs() -> None:
    design, _ = compiled(plate(*((0.6, ""),) * 3, amperes=90), HEAD)
    why = design.runs["b1.pos.run"].design_current
    named = {name: value for name, value, _ in why.inputs}
    assert named["Everything on"] == pytest.approx(30.0)
    assert named["Everything on without `b2`"] == pytest.approx(45.0) == pytest.approx(why.value)


def test_unequal_leads_carry_what_their_ohms_and_the_batteries_leave_them() -> None:
    """With `b3` out 90 A part by the other two, each 13.6 V / 3 kA (a full LiFePO4 of 12.8 V) and its two leads; the
    re-check compares what was sized for with the solved states."""
    design, findings = compiled(plate((0.5, ", 2 AWG"), (3.0, ", 2 AWG"), (3.0, ", 2 AWG"), amperes=90), HEAD)
    assert not [f for f in findings if f.code.startswith("CP59")]
    state = "everything.without.b3"
    near, far = (abs(design.conductors[f"b{n}.pos.run"].current_a[state]) for n in (1, 2))
    ohm = {
        n: 13.6 / 3000 + sum(design.conductors[f"b{n}.{pole}.run"].resistance_ohm[state] for pole in ("pos", "neg"))
        for n in (1, 2)
    }
    assert near + far == pytest.approx(90.0, rel=1e-6)
    assert near == pytest.approx(90.0 * ohm[2] / (ohm[1] + ohm[2]), rel=0.02)
    assert design.runs["b1.pos.run"].design_current.value >= near * (1 - 1e-6)


def test_a_budget_overdrawn_with_one_of_three_out_is_told_as_that() -> None:
    leads = ((5.0, ", 10 AWG"), (6.0, ", 2/0 AWG"), (6.0, ", 2/0 AWG"))
    _, findings = compiled(plate(*leads, amperes=60), HEAD)
    (told,) = [f for f in findings if f.code == "CP310"]
    assert "with a battery beside it out" in told.message and "alone" not in told.message
