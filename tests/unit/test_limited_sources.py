"""Sources that push give at most their rating, and never more than brings their own terminals to the voltage that ends
them: figures by Ohm's law."""

from __future__ import annotations

import pytest
from small_plates import compiled

HEAD = """system "Far sources"
  nominal 12 V
  rules cfr-183
  conductors awg
  ac 120 V
battery start "Start" 12 V, 100 Ah, agm, range 12..14.4 V, full 14.4 V, fault-current 1.8 kA
bus minus "Minus" negative, 100 A
load lamp 2 A, works 10..15 V
start.neg -- 0.1 m -- minus
start.pos -- [f3: fuse] -- 3 m -- lamp.pos
lamp.neg -- 3 m -- minus
"""
CHARGER = """shore inlet "Shore inlet" 16 A, 120 V, bonds-neutral, fault-current 3 kA
charger dock "Charger" 10 A, in 120 V, out {out} V
inlet -///- 1 m -- [guard: breaker 10 A, poles 2, residual 30 mA, breaks 6 kA, curve b] -- 3 m -- dock.ac-in
start.pos -- [f1: fuse] -- 40 m, 16 AWG -- dock.pos
dock.neg -- 40 m, 16 AWG -- minus
"""


def test_a_charger_at_the_end_of_a_long_thin_way_gives_what_its_voltage_brings() -> None:
    """10 A through 80 m of 16 AWG would need 11 V more than the bank has. At 14.4 V the charger gives
    (14.4 V - 12 V) / R into the low bank, R by ASTM B258 (1.3087 mm²) with copper of 1/58 ohm mm²/m at 20 °C as warm as
    the current makes it; and nothing once the bank is at the 14.4 V of its end."""
    design, _ = compiled(CHARGER.format(out=14.4), HEAD)
    lead = design.conductors["dock.pos.run"]
    given = design.sources["dock"].current_a
    volts = {case: across["charging.bulk"] for case, across in design.node_v.items() if "charging.bulk" in across}
    assert volts["dock.pos"] - volts["dock.neg"] == pytest.approx(14.4, rel=1e-5)
    assert volts["start.pos"] - volts["start.neg"] == pytest.approx(12.0)
    warm = 1 + 0.00393 * (design.runs["dock.pos.run"].ambient_c - 20)
    cold_ohm = 80 / 58 / 1.3087 * warm
    assert given["charging.bulk"] == pytest.approx(2.4 / cold_ohm, rel=0.01)
    assert abs(lead.current_a["charging.bulk"]) == pytest.approx(given["charging.bulk"])
    assert given["charging"] == pytest.approx(0.0, abs=1e-6)
    assert design.loads["lamp"].highest_v == pytest.approx(14.4, rel=1e-6)
    # What it draws follows what it gives: 14.4 V x 2.2 A / 0.9 at 120 V, not the 10 A of its rating.
    drawn = design.conductors["dock.ac-in.run.l/1"].current_a["charging.bulk"]
    efficiency = design.system.parts["dock"].efficiency
    assert drawn == pytest.approx(14.4 * given["charging.bulk"] / efficiency / 120, rel=0.01)


def test_what_a_charger_ends_at_is_what_loads_see_where_it_is_above_the_full_voltage() -> None:
    design, _ = compiled(CHARGER.format(out=14.7), HEAD)
    assert design.loads["lamp"].highest_v == pytest.approx(14.7, rel=1e-6)


def test_an_alternator_does_not_rise_above_its_voltage() -> None:
    """60 A through 6 m of 14 AWG lose 3.3 V; the alternator ends at 14.4 V and gives (14.4 - 12) V / R, up to twice
    their ampacity with the copper as hot as that makes it."""
    text = "alternator alt 60 A, 14.4 V, self-limiting\nstart.pos -- [f2: fuse] -- 3 m, 14 AWG -- alt.pos\n"
    design, _ = compiled(text + "alt.neg -- 3 m, 14 AWG -- minus\n", HEAD)
    state = "charging.bulk"
    volts = {node: by_case[state] for node, by_case in design.node_v.items()}
    assert volts["alt.pos"] - volts["alt.neg"] == pytest.approx(14.4, rel=1e-5)
    given = design.sources["alt"].current_a[state]
    ohm = sum(
        design.conductors[c].resistance_ohm[state] for c in ("alt.pos.run", "alt.neg.run", "start.neg.run") if c
    )
    assert 0 < given < 60 and given * ohm == pytest.approx(2.4, rel=0.01)


def test_an_array_stays_below_its_open_circuit_voltage() -> None:
    """5 A through 200 m of 16 AWG would need 13 V more than the 36 V at which its controller holds it; at the 40 V of
    its open circuit it brings less."""
    text = """solar pv 180 W, voc 40 V, isc 5.2 A, vmp 36 V, imp 5 A
controller mppt 15 A, max-input 75 V, output 14.4 V
pv -//- 100 m, 16 AWG -- mppt.pv
start.pos -- [f2: fuse] -- 1 m -- mppt.pos
mppt.neg -- 1 m -- minus
"""
    design, _ = compiled(text, HEAD)
    for state in ("charging", "charging.bulk"):
        volts = {node: by_case[state] for node, by_case in design.node_v.items()}
        assert volts["pv.pos"] - volts["pv.neg"] <= 40 * (1 + 1e-6)


def test_two_chargers_of_one_voltage_share_and_the_higher_one_goes_on_alone() -> None:
    """Side by side at the end of charging at 14.4 V: the one that ends at 13.8 V gives nothing."""
    second = CHARGER.format(out=14.4) + """charger low "Low charger" 20 A, in 120 V, out 13.8 V
inlet -///- 1 m -- [guard-b: breaker 10 A, poles 2, residual 30 mA, breaks 6 kA, curve b] -- 3 m -- low.ac-in
start.pos -- [f4: fuse] -- 1 m, 10 AWG -- low.pos
low.neg -- 1 m, 10 AWG -- minus
"""
    design, _ = compiled(second, HEAD)
    assert design.sources["low"].current_a["charging"] == 0.0
    assert design.sources["low"].current_a["charging.bulk"] == pytest.approx(20.0)
