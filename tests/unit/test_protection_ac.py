"""AC: devices and their conductors, bonds, residual current, earths, capacity, AC apart from DC."""

from __future__ import annotations

import pytest
from plates import changed, codes, compiled, of_code

AC = """system "AC"
  nominal 12 V
  rules cfr-183
  conductors awg
  ac 120 V
shore inlet "Shore inlet" 30 A, 120 V, fault-current 3 kA
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
