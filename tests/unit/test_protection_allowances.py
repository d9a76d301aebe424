"""What the rules allow beyond what is kept to: a rating above the ampacity, devices together, no sheath."""

from __future__ import annotations

import pytest
from plates import compiled

BOAT = """system "Boat"
  nominal {volts} V
  rules cfr-183
  conductors awg
battery house "Bank" {volts} V, 100 Ah, agm, fault-current 0.9 kA
bus plus "Positive bar" positive, 150 A
bus minus "Negative bar" negative, 150 A
load lamp "Lamp" 12 A, drop 10 %
house.pos -- 0.15 m -- [main: fuse class-t 60 A] -- 0.15 m -- plus
house.neg -- 0.8 m -- minus
plus -- [guard: fuse class-t {rating}] -- 3 m, 16 AWG -- lamp.pos
lamp.neg -- 3 m, 12 AWG -- minus
"""


def told(plate, *codes):
    """(code, subject) of the findings of some codes, the re-check's among them."""
    _, findings = compiled(plate)
    return sorted((f.code, f.subject) for f in findings if f.code in (*codes, "CP595", "CP596"))


@pytest.mark.parametrize(
    ("volts", "rating", "code"),
    [
        (12, "25 A", None), (12, "30 A", "CP437"), (12, "35 A", "CP437"), (12, "40 A", "CP404"),
        (48, "25 A", None), (48, "35 A", "CP437"),
    ],
)  # fmt: skip
def test_a_stated_rating_up_to_150_percent_is_warned_of(volts, rating, code):
    """33 CFR 183.425 Table 5: 16 AWG of 105 °C carries 25 A; 183.455(c)(1): 150 % of it, 37.5 A, below 50 V."""
    expected = [(code, "guard")] if code else []
    assert told(BOAT.format(volts=volts, rating=rating), "CP437", "CP404") == expected


def test_a_rating_that_is_left_out_is_not_above_the_ampacity():
    design, _ = compiled(BOAT.format(volts=12, rating=""))
    assert design.devices["guard"].rating.rating_a <= 25.0


def test_the_same_of_a_return_in_a_run_of_its_own():
    """The negative of 16 AWG brings back what the 30 A of its positive let pass."""
    plate = BOAT.format(volts=12, rating="30 A").replace("12 AWG -- minus", "16 AWG -- minus")
    plate = plate.replace("3 m, 16 AWG -- lamp.pos", "3 m, 12 AWG -- lamp.pos")
    assert told(plate, "CP437", "CP404") == [("CP437", "guard")]
    assert told(plate.replace("30 A]", "40 A]"), "CP437", "CP404") == [("CP404", "guard")]


UNITS = """system "Three batteries"
  nominal 12 V
  rules cfr-183
  conductors awg
battery one "First" 12 V, 100 Ah, agm, fault-current {fault}, range 12..14.4 V
battery two "Second" 12 V, 100 Ah, agm, fault-current {fault}, range 12..14.4 V
battery three "Third" 12 V, 100 Ah, agm, fault-current {fault}, range 12..14.4 V
bus plus "Positive bar" positive, 300 A
bus minus "Negative bar" negative, 300 A
load lamp "Lamp" 12 A, drop 10 %
one.pos -- [f1: fuse class-t {rating}] -- 1 m, {size} -- plus
two.pos -- [f2: fuse class-t {rating}] -- 1 m, {size} -- plus
three.pos -- [f3: fuse class-t {rating}] -- 1 m, {size} -- plus
one.neg -- 1 m, 2/0 AWG -- minus
two.neg -- 1 m, 2/0 AWG -- minus
three.neg -- 1 m, 2/0 AWG -- minus
plus -- [lamp-fuse: fuse class-t 20 A] -- 3 m, 12 AWG -- lamp.pos
lamp.neg -- 3 m, 12 AWG -- minus
"""
LEADS = ("one.pos.run", "two.pos.run", "three.pos.run")


@pytest.mark.parametrize(
    ("size", "rating", "fault", "code"),
    [
        ("4 AWG", "80 A", "0.9 kA", None),
        ("6 AWG", "80 A", "0.9 kA", "CP438"),
        ("8 AWG", "100 A", "0.9 kA", "CP403"),
        ("6 AWG", "100 A", "0.6 kA", "CP403"),
    ],
)
def test_a_stated_size_behind_two_other_batteries(size, rating, fault, code):
    """33 CFR 183.425 Table 5, 105 °C: 8 AWG 80 A, 6 AWG 120 A, 4 AWG 160 A. Into one lead come 2 x 80 A. Without a
    curve a fuse is listed from six times its rating on: 480 A, which one battery of 0.9 kA drives; one of 0.6 kA does
    not drive the 600 A that 100 A ask for. A fuse of 100 A is above what 8 AWG carries by itself."""
    found = told(UNITS.format(size=size, rating=rating, fault=fault), "CP438", "CP403", "CP402", "CP404")
    if code is None:
        assert found == []
    elif code == "CP438":
        assert found == sorted((code, lead) for lead in LEADS)
    else:
        assert found and all(c != "CP438" for c, _ in found)


def test_a_lead_of_a_size_of_our_own_carries_the_sum():
    design, _ = compiled(UNITS.format(size="6 AWG", rating="80 A", fault="0.9 kA").replace(", 6 AWG", ""))
    assert all(design.runs[lead].ampacity.value >= 160.0 for lead in LEADS)


@pytest.mark.parametrize(
    ("way", "code"),
    [("0.17 m", None), ("0.3 m", "CP439"), ("1.8 m", "CP439"), ("1.8 m, sheath", None), ("2 m", "CP402")],
)
def test_a_device_up_to_72_inches_from_a_battery_asks_for_a_sheath_from_7_on(way, code):
    """7 in are 0.178 m and 72 in 1.83 m: US small-craft practice (a published question), and 33 CFR 183.460(a)."""
    plate = BOAT.format(volts=12, rating="20 A").replace("0.15 m -- [main", f"{way} -- [main")
    assert told(plate, "CP439", "CP402") == ([(code, "main")] if code else [])


def test_other_rules_than_these_have_no_such_figure():
    plate = BOAT.format(volts=12, rating="20 A").replace("0.15 m -- [main", "0.19 m -- [main")
    plate = plate.replace("cfr-183", "iso-13297").replace("16 AWG", "2.5 mm2").replace("12 AWG", "4 mm2")
    assert told(plate.replace("conductors awg", "conductors mm2"), "CP439", "CP402") == []
