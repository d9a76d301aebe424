"""What a finding offers holds when it is taken literally, and one mistake is told once in words that help."""

from __future__ import annotations

import re

import pytest
from scipy import constants
from small_plates import compiled

from copperplate.units import converted, enough

HEAD = """system "Small"
  nominal 12 V
  rules cfr-183
battery house 12.8 V, 200 Ah, lifepo4, range 12..14.4 V, fault-current 4 kA
bus minus negative, 400 A
panel cabin blade, ways 6, return minus
load lamp 18 A
load pump 15 A
load big 90 A
"""
PLATE = """bus plus positive, {bus}
house.pos -- 0.2 m -- [main: fuse class-t{main}] -- 0.5 m -- [iso: switch{switch}] -- 0.5 m -- plus
house.neg -- 0.8 m -- minus
plus -- [branch: fuse{branch}] -- 1 m -- cabin
plus -- [fuse] -- 2 m -- big.pos
big.neg -- 2 m -- minus
cabin.1 -//- 3 m -- lamp
cabin.2 -//- 3 m -- pump
"""


def plate(bus: str = "400 A", main: str = "", switch: str = " 400 A", branch: str = "") -> str:
    return PLATE.format(bus=bus, main=main, switch=switch, branch=branch)


def said(text: str) -> dict[str, str]:
    _, findings = compiled(text, HEAD)
    return {f.code: f.help for f in findings}


@pytest.mark.parametrize("wrong", ["bus", "switch"])
def test_the_rating_offered_for_a_bar_or_switch_leaves_nothing_more_to_say(wrong: str) -> None:
    ratings = {"CP420", "CP421", "CP422", "CP423", "CP430"}
    first = said(plate(**{wrong: " 20 A"}))
    (code,) = ratings & first.keys()
    amperes = re.search(r"([\d.]+) A or more", first[code])
    assert amperes is not None
    assert not (ratings | {"CP595"}) & said(plate(**{wrong: f" {amperes[1]} A"})).keys()


def test_the_rating_offered_where_none_is_stated_holds_too() -> None:
    amperes = re.search(r"([\d.]+) A or more", said(plate(switch=""))["CP430"])
    assert amperes is not None
    assert not {"CP422", "CP423", "CP430"} & said(plate(switch=f" {amperes[1]} A")).keys()


def test_what_a_reader_takes_literally_is_rounded_up() -> None:
    assert [enough(a) for a in (123.4, 200.0, 0.1234, 99.96, 1234.2)] == ["124", "200", "0.124", "100", "1235"]


def test_a_device_that_is_too_small_by_itself_is_told_once() -> None:
    findings = said(plate(branch=" 5 A"))
    assert "CP405" in findings and "CP419" not in findings


def test_a_charger_without_its_supply_is_told() -> None:
    charger = "charger dock 30 A, in 120 V, out 14.4 V\nplus -- [fuse] -- 1 m -- dock.pos\ndock.neg -- 1 m -- minus\n"
    _, findings = compiled(plate() + charger, HEAD)
    (told,) = [f for f in findings if f.code == "CP233"]
    assert told.subject == "dock" and "dock.ac-in" in told.message and "-///-" in told.help


def test_a_misspelled_chemistry_is_told_once() -> None:
    other = "battery two 12.8 V, 100 Ah, lifepo, range 12..14.4 V, fault-current 4 kA\n"
    runs = "two.pos -- 0.2 m -- [second: fuse class-t] -- 1 m -- plus\ntwo.neg -- 1 m -- minus\n"
    codes = {f.code for f in compiled(plate() + other + runs, HEAD)[1]}
    assert "CP204" in codes and "CP611" not in codes


def test_a_name_with_two_hyphens_is_told_where_it_stands() -> None:
    found = compiled(plate() + "load a--b 2 A\ncabin.3 -//- 3 m -- a--b\n", HEAD)[1]
    assert [(f.code, f.help) for f in found if f.severity == "error"] == [("CP109", "a-b"), ("CP109", "`a-b`")]


def test_other_units_are_offered_converted() -> None:
    # SciPy's constants are CODATA's and those of NIST SP 811.
    for unit, one in (("hp", constants.hp), ("miles", constants.mile), ("yd", constants.yard)):
        value = converted(2.0, unit)
        assert value is not None and value[0] == pytest.approx(2.0 * one, rel=1e-6)
    btu = converted(1.0, "BTU/h")
    assert btu is not None and btu[0] == pytest.approx(constants.Btu / constants.hour, rel=1e-6)
    (told,) = [f for f in compiled(plate() + "load winch 2 hp\n", HEAD)[1] if f.code == "CP102"]
    assert "1491 W" in told.help and "motor" in told.help


def test_the_energy_of_a_battery_is_offered_as_its_charge() -> None:
    found = compiled(plate() + "battery two 12 V, 2.4 kWh, agm\n", HEAD)[1]
    (told,) = [f for f in found if f.code == "CP120"]
    assert told.help == "`200 Ah`, at its 12 V"  # 2400 Wh / 12 V


def test_a_comparable_size_says_where_it_was_read() -> None:
    plain, quoted = "load fan 2 A, comparable-wire 10 AWG{}\ncabin.3 -//- 3 m -- fan\n", ' "the manual of a like fan"'
    assert [f.help for f in compiled(plate() + plain.format(""), HEAD)[1] if f.code == "CP124"]
    assert "CP124" not in {f.code for f in compiled(plate() + plain.format(quoted), HEAD)[1]}
