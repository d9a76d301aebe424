"""What findings, `why`, `show` and the report say of figures: each sum of one unit, each name with its own figure."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
from small_plates import HEAD, compiled, size

from copperplate.report import document, markdown
from copperplate.why import ladder, show

ATLAS = Path(__file__).parent.parent / "atlas"
BARS = """bus plus positive, 400 A
bus minus negative, 400 A
bank.pos -- 0.3 m -- [main: fuse class-t] -- 0.5 m -- plus
bank.neg -- 0.8 m -- minus
"""
LAMP = "load lamp 10 A\nplus -- [lf: fuse blade] -- 2 m -- lamp.pos\nlamp.neg -- 2 m -- minus\n"


def source(kind: str, name: str, words: str) -> str:
    runs = f"plus -- [{name}-fuse: fuse class-t] -- 1 m -- {name}.pos\n{name}.neg -- 1 m -- minus\n"
    return f"{kind} {name} {words}\n{runs}"


def told(text: str, code: str, head: str = HEAD):
    return [f for f in compiled(text, head)[1] if f.code == code]


def test_ohms_of_cable_do_not_take_in_what_a_charger_pushes() -> None:
    """16 AWG is 13.17 mohm/m at 20 °C (ASTM B258): no cable here comes near the 40 A of the charger in milliohms."""
    (found,) = told(BARS + LAMP + source("charger", "dock", "40 A, out 14.2 V"), "CP415")
    cable = re.search(r"([\d.]+) mohm of cable to here; other sources add 40 A", found.notes[0])
    assert cable is not None and float(cable[1]) < 5.0


def test_a_source_alone_is_named_with_its_own_current() -> None:
    head = HEAD.replace("fault-current", "max-charge 50 A\n  fault-current")
    sources = source("alternator", "c1", "14.2 V, 60 A") + source("alternator", "c2", "14.2 V, 40 A")
    (found,) = told(BARS + LAMP + sources, "CP602", head)
    assert "by `c1` alone, with 60 A" in found.message


@pytest.mark.parametrize(
    ("volts", "amperes", "words"),
    [
        # 33 CFR 183.455(c)(1), under 50 V: 150 % of Table 5. 16 AWG at 105 °C: 25 A.
        (12.0, 40.0, "150 % of it, 37.5 A, is the limit of 33 CFR 183.455(c)(1), under 50 V: 40 A is above that"),
        # 33 CFR 183.455(c)(2), from 50 V: 100 %, or the next standard rating above it; 25 A is one by NEC 240.6(A).
        (120.0, 30.0, "here 25 A, is the limit of 33 CFR 183.455(c)(2), 50 V and above: 30 A is above that"),
    ],
)
def test_what_the_law_allows_is_its_own_at_each_voltage(volts: float, amperes: float, words: str) -> None:
    if volts < 50.0:
        plate = BARS + LAMP.replace("blade", f"class-t {amperes} A").replace("2 m", "2 m, 16 AWG")
    else:
        plate = (
            "shore dock 30 A, 120 V, bonds-neutral, fault-current 3 kA\nload heat 1000 W, ac\n"
            "dock -///- 1 m, 16 AWG -- [main: breaker 30 A, residual 30 mA] -- 1 m -- heat\n"
        )
    (found,) = told(plate, "CP404")
    assert any(words in note for note in found.notes), found.notes
    assert all("150 %" not in note for note in found.notes if volts >= 50.0)


def test_an_earth_beside_another_bank_goes_by_its_own_circuits() -> None:
    other = """battery start 12 V, 100 Ah, agm, fault-current 3 kA, range 11..14.4 V
earth hull
load crank 150 A, intermittent, drop 10 %
start.pos -- 0.3 m -- [sf: fuse class-t 350 A] -- 1 m -- crank.pos
crank.neg -- 1 m -- start.neg
bank.neg -- 1 m -- hull
"""
    (found,) = told(BARS + LAMP + other, "CP505")
    assert "`sf`" not in found.notes[0] and "crank" not in found.help and "start" not in found.help


def test_a_device_far_from_an_alternator_offers_that_it_may_limit_itself() -> None:
    alternator = "alternator alt 90 A, 14.2 V\nalt.pos -- 3 m, 4 AWG -- [af: fuse class-t 100 A] -- 1 m -- plus\n"
    (found,) = told(BARS + LAMP + alternator + "alt.neg -- 3 m -- minus\n", "CP402")
    assert "`self-limiting` on `alt`, where its maker states that it is" in found.help


def test_the_device_of_an_alternator_stands_above_no_branch() -> None:
    """A bank of 5 kA drives 20 times what an alternator of 90 A pushes into a short: its fuse stays closed."""
    branch = "load big 60 A, drop 10 %\nplus -- [bf: fuse class-t 100 A] -- 2 m -- big.pos\nbig.neg -- 2 m -- minus\n"
    alternator = "alternator alt 90 A, 14.2 V\nalt.pos -- 0.1 m -- [af: fuse class-t 100 A] -- 1 m -- plus\n"
    _, findings = compiled(BARS + LAMP + branch + alternator + "alt.neg -- 1 m -- minus\n")
    assert not [f for f in findings if f.subject == "af" and f.code in ("CP419", "CP595")]


def test_no_rating_above_its_inlet_is_offered_to_a_main_device() -> None:
    """46 A x 1.25 = 57.3 A; inlet, cord and main device are of one rating (common practice, no source)."""
    plate = """shore dock 50 A, 120 V, fault-current 3 kA, bonds-neutral
load heat 5500 W, ac
dock -///- 2 m -- [main: breaker{}, poles 2, breaks 5 kA, residual 30 mA] -- 2 m -- heat
"""
    (stated,) = told(plate.format(" 50 A"), "CP405")
    assert "less load" in stated.help and "60 A" not in stated.help and "70 A" not in stated.help
    (chosen,) = told(plate.format(""), "CP730")
    assert chosen.subject == "main" and chosen.measure is not None and chosen.measure.limit == 50.0


def test_a_voltage_is_told_in_as_many_digits_as_part_it_from_its_limit() -> None:
    """Four modules of 26.02 V at -40 °C, factor 1.25 (NEC 690.7(A)): 130.1 V beside 130 V."""
    array = """controller mppt 30 A, max-input 130 V, output 14.2 V
solar roof 100 W, voc 26.02 V, vmp 21 V, isc 5 A, imp 4.8 A, series 4
roof -//- 3 m -- mppt.pv
plus -- [fuse class-t] -- 1 m -- mppt.pos
mppt.neg -- 1 m -- minus
"""
    (found,) = told(BARS + LAMP + array, "CP603")
    assert "reaches 130.1 V" in found.message and "takes 130 V" in found.message


def test_advice_without_a_port_is_for_the_direct_current_of_an_inverter() -> None:
    plate = """inverter inv 1000 W, output 120 V, bonds-neutral, advised-wire 2/0 AWG, advised-fuse 200 A
load tv 100 W, ac
plus -- [if: fuse class-t] -- 1 m -- inv.pos
inv.neg -- 1 m -- minus
inv.ac-out -///- 2 m -- [ab: breaker, residual 30 mA, breaks 5 kA] -- 2 m -- tv
"""
    design, _ = compiled(BARS + LAMP + plate)
    sizes = {r: size(design, r) for r in design.runs}
    assert sizes["inv.pos.run"] == "2/0 AWG" and sizes["tv.run"] != "2/0 AWG", sizes
    assert design.devices["if"].rating.rating_a == 200.0 and design.devices["ab"].rating.rating_a < 200.0


def test_why_names_each_device_that_a_run_stands_behind() -> None:
    other = "load heat 60 A, drop 10 %\nplus -- [hf: fuse class-t] -- 2 m -- heat.pos\nheat.neg -- 2 m -- minus\n"
    design, _ = compiled(BARS.replace("class-t", "class-t 400 A") + LAMP + other)
    run = design.runs["bank.neg.run"]
    text = " ".join(ladder(design, run.run, 100).split())
    assert len(run.protected_by) > 1
    for device in run.protected_by:
        needs = design.devices[device].rating.needs_a.value
        assert f"= {needs:g} A are needed by `{device}`" in text, text


def test_a_design_current_is_the_largest_of_those_that_it_lists() -> None:
    """The return of a bank carries what a converter of 80 A pushes into it while all else there is off."""
    plate = ATLAS / "16-converter-between-banks.plate"
    design, _ = compiled(plate.read_text("utf-8"), "")
    current = design.runs["start.neg.run"].design_current
    assert current.value == pytest.approx(80.0)
    largest = max((amperes, what) for what, amperes, _ in current.inputs)
    assert largest == (pytest.approx(80.0), "Everything charging with banks low, loads off")


def test_the_report_tells_by_which_currents_a_path_is_judged() -> None:
    """By rule and warm: two sums over a path, each with its column, and both words with their meaning."""
    plate = BARS + LAMP + source("load", "heat", "60 A, drop 10 %") + "case day on heat\ncase night on lamp\n"
    text = markdown(document(compiled(plate)[0]))
    assert re.search(r"^\| Reaches .*\| So far, by rule, V \| So far, warm, V \|$", text, re.MULTILINE)
    assert all(re.search(rf"^\| \*\*{word}\*\* ", text, re.MULTILINE) for word in ("By rule", "Warm"))


def test_show_prints_no_rounding_of_a_solution() -> None:
    panel = "panel cabin blade, ways 2, return minus\nload tv 5 A\nplus -- [feed: fuse class-t] -- 1 m -- cabin\n"
    design, _ = compiled(BARS + LAMP + panel + "cabin.1 -//- 2 m -- tv\n")
    noise = replace(design.devices["feed"], current_a={"everything": 1.24e-15})
    assert "0 of" in show(replace(design, devices={**design.devices, "feed": noise}))
    assert "0.0000" not in show(replace(design, devices={**design.devices, "feed": noise}))
