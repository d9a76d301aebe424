"""What stands between a bank or an array and the rest: a main device, and something that opens by hand."""

from __future__ import annotations

import pytest
from small_plates import compiled

HEAD = """system "Small"
  nominal {volts} V
  rules {rules}
battery house {volts} V, {ah} Ah, agm, fault-current 3 kA
bus plus positive, 200 A
bus minus negative, 200 A
load lamp 5 A
load fan 4 A
house.neg -- 1 m -- minus
plus -- [fuse gg] -- 2 m -- lamp.pos
lamp.neg -- 2 m -- minus
plus -- [fuse gg] -- 2 m -- fan.pos
fan.neg -- 2 m -- minus
"""
MAIN, SWITCH = "[main: fuse gg 63 A]", "[iso: switch 100 A]"


def told(lead: str, rules: str = "cfr-183", ah: int = 100, volts: int = 12) -> dict[str, str]:
    _, findings = compiled(f"house.pos -- {lead} -- plus\n", HEAD.format(rules=rules, ah=ah, volts=volts))
    return {f.code: f.severity for f in findings if f.code in ("CP442", "CP443", "CP444")}


@pytest.mark.parametrize("rules", ["cfr-183", "iso-13297", "nec", "iec-60364"])
def test_a_bank_without_a_main_device_is_told_under_every_profile(rules: str) -> None:
    assert told("0.15 m", rules) == {"CP442": "warning"}
    assert told(f"0.1 m -- {MAIN} -- 0.1 m", rules) == {}


def test_a_bar_on_the_post_has_no_conductor_to_guard() -> None:
    _, findings = compiled("house.pos -- plus\n", HEAD.format(rules="cfr-183", ah=100, volts=12))
    assert "CP442" not in {f.code for f in findings}


@pytest.mark.parametrize(("ah", "asked"), [(100, False), (120, True)])
def test_a_bank_above_100_ah_has_a_switch(ah: int, asked: bool) -> None:
    """US small-craft practice: above 800 A of cold cranking, or 100 Ah where that is not known."""
    assert ("CP443" in told(f"0.1 m -- {MAIN} -- 0.1 m", ah=ah)) is asked
    assert told(f"0.1 m -- {MAIN} -- 0.1 m -- {SWITCH} -- 0.1 m", ah=ah) == {}
    assert told(f"0.1 m -- {MAIN.replace('fuse gg', 'breaker').replace('63', '60')} -- 0.1 m", ah=ah) == {}


def test_a_bar_for_what_stays_live_may_lie_ahead_of_the_switch() -> None:
    live = f"0.1 m -- {MAIN} -- 0.1 m -- always\nbus always positive, 100 A\nalways -- {SWITCH} -- 0.1 m"
    assert "CP443" not in told(live, ah=280)


@pytest.mark.parametrize(("volts", "code"), [(48, None), (96, "CP444")])
def test_the_code_asks_for_a_disconnect_above_60_volts(volts: int, code: str | None) -> None:
    """NEC 480.7(A): 60 V DC; banks of 12, 24 and 48 V lie below."""
    found = told(f"0.1 m -- {MAIN} -- 0.1 m", "nec", volts=volts)
    assert found == ({code: "error"} if code else {})


@pytest.mark.parametrize(("device", "told_of"), [("", True), ("[off: switch 30 A] -- 1 m -- ", False)])
def test_an_array_has_something_that_parts_it(device: str, told_of: bool) -> None:
    """NEC 690.13, 690.15; IEC 60364-7-712 712.537, from memory."""
    array = f"""house.pos -- 0.1 m -- {MAIN} -- 0.1 m -- plus
controller mppt 30 A, max-input 100 V, output 14.4 V
solar roof 200 W, voc 24 V, isc 10 A, vmp 20 V, imp 9.6 A
plus -- [fuse gg] -- 0.5 m -- mppt.pos
mppt.neg -- 1 m -- minus
roof.pos -- 4 m -- {device}mppt.pv.pos
roof.neg -- 4 m -- mppt.pv.neg
"""
    _, findings = compiled(array, HEAD.format(rules="cfr-183", ah=100, volts=12))
    assert ("CP445" in {f.code for f in findings}) is told_of


INVERTER = """house.pos -- 0.1 m, sheath -- [main: fuse class-t{main}] -- 0.1 m, sheath -- plus
inverter inv 1000 W, efficiency 90 %, output 120 V, bonds-neutral
load tv 200 W, ac
plus -- [if: fuse class-t] -- 0.5 m -- inv.pos
inv.neg -- 1 m -- minus
inv.ac-out -///- 2 m -- [ib: breaker, residual 30 mA, breaks 5 kA] -- 2 m -- tv
"""


def test_the_main_stands_for_a_fully_loaded_inverter() -> None:
    """1000 W / 0.9 at 12 V less 3 % is 95.5 A; with lamp and fan 104.5 A, times 1.25: 131 A, a main of 150 A."""
    head = HEAD.format(rules="cfr-183", ah=100, volts=12).replace("fault-current", "range 12..14.4 V, fault-current")
    design, findings = compiled(INVERTER.format(main=""), head)
    needs = design.devices["main"].rating.needs_a
    assert needs.value == pytest.approx((1000 / 0.9 / (12 - 0.36) + 9) * 1.25)
    assert design.devices["main"].rating.rating_a == 150.0 and "inverter at its rating" in needs.formula
    assert not [f for f in findings if f.code in ("CP446", "CP595")]
    _, findings = compiled(INVERTER.format(main=" 60 A"), head)
    (told_of,) = [f for f in findings if f.code == "CP446"]
    assert told_of.subject == "main" and "150 A" in told_of.help and not [f for f in findings if f.code == "CP405"]
