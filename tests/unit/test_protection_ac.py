"""AC: devices and their conductors, bonds, residual current, earths, capacity, AC apart from DC."""

from __future__ import annotations

import pytest
from plates import changed, codes, compiled, of_code

from copperplate.design import compile_plate
from copperplate.model import Size
from copperplate.text import Source

AC = """system "AC"
  nominal 12 V
  rules cfr-183
  conductors awg
  ac 120 V
shore inlet "Shore inlet" 30 A, 120 V, fault-current 3 kA, earth-loop 0.1 ohm
  bonds-neutral
panel mains "AC panel" breaker, ways 4, ac, breaks 5 kA, curve c
load kettle "Kettle" 8 A, ac

inlet -///- 1 m -- [shore-main: breaker 30 A, poles 2, residual 30 mA, breaks 5 kA, curve c] -- 3 m -- mains
mains.1 -///- [way: 20 A] -- 5 m -- kettle
"""


@pytest.mark.parametrize(("rating", "size"), [("15 A", "14 AWG"), ("20 A", "12 AWG"), ("30 A", "10 AWG")])
def test_small_conductors_and_their_breakers(rating, size):
    """NEC 240.4(D): 15 A on 14 AWG, 20 A on 12, 30 A on 10; also common practice, no source."""
    plate = changed(("[way: 20 A] -- 5 m", f"[{rating}] -- 5 m, {size}"), plate=AC)
    assert "CP433" not in codes(plate)
    smaller = {"14 AWG": "16 AWG", "12 AWG": "14 AWG", "10 AWG": "12 AWG"}[size]
    assert "CP433" in codes(changed((size, smaller), plate=plate))


def test_a_sound_supply_says_nothing():
    assert codes(changed(("way: ", ""), plate=AC)) == set()


PLAIN = changed(("way: ", ""), plate=AC)


BANK = """battery house "Bank" 12.8 V, 200 Ah, lifepo4
  range 12.0..14.4 V
  fault-current 3 kA
"""


def test_no_device_on_board():
    plate = changed(
        (
            "1 m -- [shore-main: breaker 30 A, poles 2, residual 30 mA, breaks 5 kA, curve c] -- 3 m -- mains",
            "4 m, 10 AWG -- kettle",
        ),
        ("mains.1 -///- [20 A] -- 5 m -- kettle\n", ""),
        ('panel mains "AC panel" breaker, ways 4, ac, breaks 5 kA, curve c\n', ""),
        plate=PLAIN,
    )
    assert "CP701" in codes(plate)


def test_one_bond_for_each_source_in_use():
    """Common practice: one joint of neutral and earth, at the source in use."""
    assert "CP703" in codes(changed(("  bonds-neutral\n", ""), plate=PLAIN))
    generator = 'generator gen "Generator" 3600 W, 120 V\n  bonds-neutral\nload kettle'
    second = changed(("load kettle", generator), plate=PLAIN)
    second += "feed: gen -///- [gen-main: breaker 30 A, poles 2, residual 30 mA] -- 3 m -- mains\n"
    (found,) = of_code("CP704", compiled(second)[1])
    assert found.subject == "gen"


def test_a_transfer_parts_the_bonds():
    inverter = 'inverter inv "Inverter" 2000 W, 120 V, charges 20 A\n  bonds-neutral\npanel mains'
    handed_on = (
        "3 m -- inv.ac-in\nback: inv.ac-out -///- [out: breaker 20 A, poles 2, residual 30 mA] -- 3 m -- mains\n"
    )
    plate = changed(("panel mains", BANK + inverter), ("3 m -- mains\n", handed_on), plate=PLAIN)
    plate += "house.pos -- 0.3 m -- [main: fuse class-t] -- 0.5 m -- inv.pos\nhouse.neg -- 0.8 m -- inv.neg\n"
    assert not {"CP703", "CP704", "CP706"} & codes(plate)
    # The inverter itself supplies past the shore's device: its own must stand behind it.
    assert "CP706" in codes(changed(("20 A, poles 2, residual 30 mA", "20 A, poles 2"), plate=plate))


def test_residual_current_of_30_ma():
    """IEC 60364-4-41 411.3.3 and 415.1.1: 30 mA."""
    assert "CP706" in codes(changed((", residual 30 mA", ""), plate=PLAIN))
    assert "CP706" in codes(changed(("residual 30 mA", "residual 300 mA"), plate=PLAIN))
    assert "CP706" not in codes(changed((", residual 30 mA", ""), ("[20 A]", "[20 A, residual 30 mA]"), plate=PLAIN))


def test_a_circuit_without_its_earth():
    assert "CP705" in codes(changed(("mains.1 -///-", "mains.1 -//-"), plate=PLAIN))


def test_a_supply_gives_what_it_gives():
    (found,) = of_code("CP708", compiled(changed(('inlet" 30 A', 'inlet" 7 A'), plate=PLAIN))[1])
    assert found.subject == "inlet" and found.measure is not None
    assert (found.measure.found, found.measure.limit) == (pytest.approx(8.0), pytest.approx(7.0))


def test_small_craft_open_line_and_neutral_together():
    """ISO 13297:2020 13.2.1 (double-pole breakers) and 13.1.2 (no fuses where the system is not polarised)."""
    iso = changed(("cfr-183", "iso-13297"), ("conductors awg", "conductors mm2"), plate=PLAIN)
    assert "CP710" not in codes(iso)
    assert "CP710" in codes(changed(("breaker 30 A, poles 2,", "breaker 30 A,"), plate=iso))
    assert "CP702" in codes(changed(("breaker 30 A, poles 2, residual 30 mA", "fuse gg 32 A"), plate=iso))
    assert "CP710" not in codes(changed(("breaker 30 A, poles 2,", "breaker 30 A,"), plate=PLAIN))


def test_ac_and_dc_apart():
    """ISO 10133:2012 7.8; US small-craft practice."""
    plate = changed(
        ("load kettle", BANK + 'load lamp "Lamp" 2 A\nroute duct "Duct" 2 m\nload kettle'),
        ("[20 A] -- 5 m", "[20 A] -- via duct, 3 m"),
        plate=PLAIN,
    )
    plate += "house.pos -- 0.3 m -- [main: fuse class-t] -- via duct, 1 m -- lamp.pos\n"
    plate += "house.neg -- via duct, 1.3 m -- lamp.neg\n"
    assert "CP711" in codes(plate)
    assert "CP707" in codes(changed(("mains.1 -///-", "mains.1 -//-"), plate=plate))
    assert not {"CP707", "CP711"} & codes(changed(('"Duct" 2 m', '"Duct" 2 m, sheath'), plate=plate))


BRANCH = """system "Branch"
  nominal 12 V
  rules cfr-183
  conductors awg
  ac 120 V
shore inlet "Shore inlet" 50 A, 120 V, fault-current 3 kA, earth-loop 0.1 ohm, bonds-neutral
panel mains "AC panel" breaker, ways 4, ac, breaks 5 kA, curve c
load kettle "Kettle" 2 A, ac
inlet -///- 1 m -- [main: breaker 50 A, poles 2, residual 30 mA, breaks 5 kA, curve c] -- 1 m -- mains
mains.1 -///- [15 A] -- 3 m -- kettle
"""


@pytest.mark.parametrize("rules", ["cfr-183", "nec"])
@pytest.mark.parametrize(("rating", "amperes", "size"), [("15", "11", "14"), ("20", "15.5", "12"), ("30", "23", "10")])
def test_a_branch_gets_its_gauge_from_its_breaker(rules, rating, amperes, size):
    """NEC 240.4(D): 15 A 14 AWG, 20 A 12 AWG, 30 A 10 AWG, whether the breaker is stated or follows from the load times
    1.25 (NEC 210.20(A)); the same in US small craft (common practice, no source)."""
    plate = changed(("cfr-183", rules), ("[15 A]", f"[{rating} A]"), plate=BRANCH)
    stated, findings = compiled(plate)
    assert stated.runs["kettle.run"].size == Size(size, "AWG") and not findings
    plate = changed(("cfr-183", rules), ("[15 A] -- ", ""), ("2 A, ac", f"{amperes} A, ac"), plate=BRANCH)
    chosen, findings = compiled(plate)
    assert chosen.devices["mains.1"].rating.rating_a == float(rating)
    assert chosen.runs["kettle.run"].size == Size(size, "AWG") and not findings


@pytest.mark.parametrize(
    ("rules", "series", "size"),
    [("cfr-183", "awg", Size("8", "AWG")), ("nec", "awg", Size("8", "AWG")), ("iec-60364", "mm2", Size("10", "mm2"))],
)
def test_an_earth_by_the_table_of_each_profile(rules, series, size):
    """NEC Table 250.122 (cfr-183 takes it for AC): 8 AWG for a device of 100 A. IEC 60364-5-54 Table 54.2: as the line
    up to 16 mm2, here the 10 mm2 of the inverter's inlet. ISO 13297 has no table and asks."""
    design, _ = compiled(EARTHED.replace("cfr-183", rules).replace("awg", series).replace("LINE", "10 mm2"))
    assert (design.runs["inv.pe.run"].size, design.runs["inv.pe.run"].governed_by) == (size, "earth table")


def test_small_craft_rules_without_a_table_ask_for_the_earth():
    plate = EARTHED.replace("cfr-183", "iso-13297").replace("awg", "mm2").replace("LINE", "10 mm2")
    assert [f.subject for f in of_code("CP505", compiled(plate)[1])] == ["inv.pe.run"]


EARTHED = """system "Earthed"
  nominal 12 V
  rules cfr-183
  conductors awg
  ac 120 V
battery house "Bank" 12.8 V, 200 Ah, lifepo4
  range 12.0..14.4 V
  fault-current 3 kA
inverter inv 50 W, 120 V, bonds-neutral
earth hull
shore inlet 100 A, 120 V, fault-current 3 kA, bonds-neutral
load kettle 0.2 A, ac
inlet -///- 0.1 m, LINE -- [main: breaker 100 A, poles 2, residual 30 mA] -- 1 m -- inv.ac-in
inv.ac-out -///- 3 m, LINE -- kettle
inv.pe -- 1 m -- hull
house -//- 0.1 m -- [fuse class-t] -- 1 m, 2.5 mm2 -- inv
"""


def test_an_inverter_that_feeds_a_load_past_the_residual_device_is_told():
    """The device ashore of the inverter does not stand between the inverter and its load."""
    plate = EARTHED.replace("LINE", "2 AWG").replace("2.5 mm2", "12 AWG")
    assert [f.subject for f in of_code("CP706", compiled(plate)[1])] == ["kettle"]
    behind = plate.replace("-///- 3 m, 2 AWG", "-///- 1 m, 2 AWG -- [out: breaker 100 A, residual 30 mA] -- 2 m")
    assert not of_code("CP706", compiled(behind)[1])


TWO = """system "Two"
  nominal 12 V
  rules cfr-183
  conductors awg
  ac 120 V
shore inlet "Shore inlet" 30 A, 120 V, fault-current 3 kA, bonds-neutral
generator gen "Generator" 3600 W, 120 V, bonds-neutral
panel mains "AC panel" breaker, ways 4, ac, breaks 5 kA, curve c
load kettle "Kettle" 8 A, ac
from-inlet: inlet -///- 1 m -- [a: breaker 30 A, poles 2, residual 30 mA, breaks 5 kA, curve c] -- 1 m -- SELECTOR
from-gen: gen -///- 1 m -- [b: breaker 25 A, poles 2, residual 30 mA, curve c] -- 1 m -- SELECTOR
mains.1 -///- 3 m -- kettle
"""
BOTH_POLES = TWO.replace("SELECTOR", "[selector 30 A, poles 2] -- 1 m -- mains")
LINE_ONLY = TWO.replace("SELECTOR", "[selector 30 A] -- 1 m -- mains")


def test_each_source_in_use_has_one_bond():
    """Common practice, no source: one joint of neutral and earth, at the source in use. A selector of both poles parts
    the neutrals; one of the line alone leaves them joined, and then neither one bond nor two are right."""
    assert not {"CP703", "CP704", "CP712"} & codes(BOTH_POLES)
    assert [f.subject for f in of_code("CP704", compiled(LINE_ONLY)[1])] == ["gen"]
    once = changed(("3600 W, 120 V, bonds-neutral", "3600 W, 120 V"), plate=LINE_ONLY)
    (found,) = of_code("CP703", compiled(once)[1])
    assert found.subject == "gen" and "`inlet`" in found.message
    other = changed(("3600 W, 120 V, bonds-neutral", "3600 W, 120 V"), plate=BOTH_POLES)
    assert [f.subject for f in of_code("CP703", compiled(other)[1])] == ["gen"]


def test_a_selector_carries_what_its_own_source_lets_pass():
    """30 A and 25 A before selectors of 30 A: they take turns, and neither meets the sum."""
    assert "CP423" not in codes(BOTH_POLES)
    one, other = BOTH_POLES.split("from-gen")
    small = f"{one.replace('selector 30 A', 'selector 20 A')}from-gen{other}"
    assert [f.message for f in of_code("CP423", compiled(small)[1])] == [
        "`from-inlet.selector` is rated 20 A, and `a` before it lets 30 A pass"
    ]


def test_an_output_that_comes_back_to_its_own_inlet_is_refused():
    """Common practice, no source: an inverter must not charge the bank that it empties."""
    ring = BOTH_POLES.replace("mains.1", "back: mains.2 -///- 2 m -- inv.ac-in\nmains.1")
    ring = ring.replace(
        'generator gen "Generator" 3600 W, 120 V', 'inverter inv "Inverter" 3000 W, 120 V, charges 20 A'
    )
    ring = ring.replace("from-gen: gen -///-", "from-inv: inv.ac-out -///-")
    ring += BANK + "house.pos -- 0.3 m -- [main: fuse class-t] -- 0.5 m -- inv.pos\nhouse.neg -- 0.8 m -- inv.neg\n"
    assert [f.subject for f in of_code("CP719", compiled(ring)[1])] == ["inv"]
    parted = changed(("-///- 2 m -- inv.ac-in", "-///- 1 m -- [switch 20 A, poles 2] -- 1 m -- inv.ac-in"), plate=ring)
    assert "CP719" not in codes(parted)


def test_two_sources_of_one_inlet_are_told_how_to_take_turns():
    """The help, done as it says, is a plate without that finding."""
    plate = TWO.replace("from-inlet: ", "").replace("from-gen: ", "").replace("SELECTOR", "mains")
    _, found = compile_plate(Source("two.plate", plate), lambda name: None)
    (told,) = of_code("CP207", found)
    assert "`from-gen: gen -///- ... -- [selector 25 A, poles 2] -- 1 m -- mains`" in told.help
    assert "CP207" not in codes(TWO.replace("SELECTOR", "[selector 30 A, poles 2] -- 1 m -- mains"))
