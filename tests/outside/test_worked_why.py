"""What `why` prints is enough to work every figure out again by hand: the text is read as a reader reads it.

Figures are printed with three significant digits, so that a product of two of them is held to one percent.
"""

from __future__ import annotations

import re
from math import prod

import pytest

from copperplate.design import compile_plate
from copperplate.schema import to_json
from copperplate.text import Source
from copperplate.why import ladder, ladder_json

HEAD = """system "Read"
  nominal {nominal} V
  rules {rules}
  insulation {insulation} degC
  ambient {ambient} degC
battery b {nominal} V, 200 Ah, agm, range {nominal}..{full} V, fault-current 2 kA
bus plus positive, 300 A
bus minus negative, 300 A
panel cab blade, ways 4, return minus
load lamp 30 W, drop 10 %
load pump 9 A, inrush 30 A, works {low}..{full} V, drop 8 %
inverter inv 900 W, 230 V, efficiency 91 %
solar sun 120 W, voc 22 V, isc 7 A, vmp 18 V, imp 6.6 A, parallel 2, coldest -5 degC
controller box 20 A, max-input 100 V, output {full} V
route hold 2 m, {place}
b.pos -- 0.1 m -- [main: fuse class-t] -- 0.9 m -- plus
b.neg -- 1 m -- minus
plus -- [fi: fuse class-t] -- 1.4 m -- inv.pos
inv.neg -- 1.4 m -- minus
plus -- [fc: fuse class-t] -- 2 m -- cab
cab -//- via hold -- lamp
cab -//- 3 m, via hold -- pump
sun -//- [fp: fuse gg, breaks 20 kA] -- 5 m -- box.pv
plus -- [fs: fuse class-t] -- 1.5 m -- box.pos
box.neg -- 1.5 m -- minus
"""
PLACES = [
    ("cfr-183", 12, 105, 30, "engine-space"), ("cfr-183", 24, 75, 40, "bundle"), ("iso-13297", 12, 70, 35, "bundle"),
    ("iso-13297", 48, 105, 30, "engine-space"), ("nec", 24, 75, 40, "conduit"), ("nec", 12, 90, 30, "conduit"),
    ("iec-60364", 24, 70, 35, "conduit"), ("iec-60364", 48, 90, 45, "free-air"),
]  # fmt: skip
RUNS = ("b.pos.run", "inv.pos.run", "cab.run", "lamp.run", "pump.run", "box.pv.run", "box.pos.run", "inv.neg.run")


def text_of(rules: str, nominal: int, insulation: int, ambient: int, place: str) -> tuple[dict, dict]:
    plate = HEAD.format(rules=rules, nominal=nominal, full=nominal * 1.2, low=nominal * 0.7, insulation=insulation,
                        ambient=ambient, place=place)  # fmt: skip
    design, _ = compile_plate(Source("read.plate", plate), lambda name: None)
    assert design is not None
    listed = to_json(design)["published"]
    assert all(source["status"] for source in listed), "every source says how it was checked"
    told = {run: re.sub(r"\s+", " ", ladder(design, run, 400)) for run in RUNS}
    return told, {run: ladder_json(design, run) for run in RUNS}


def figure(pattern: str, text: str) -> list[float]:
    found = re.search(pattern, text)
    assert found, (pattern, text)
    return [float(group) for group in found.groups()]


NUMBER = r"(-?[\d.]+)"


@pytest.mark.parametrize("place", PLACES, ids=lambda p: f"{p[0]}-{p[1]}-{p[4]}")
def test_every_figure_can_be_worked_out_again(place):
    told, whole = text_of(*place)
    for run in RUNS:
        text, json = told[run], whole[run]["run"]
        # The ampacity is the table's figure times each factor, and reaches what it is held against.
        made = re.search(rf" {NUMBER} A((?: x {NUMBER} \([a-z -]+ factor\))*); (?:33 CFR|NEC|IEC|small-craft)", text)
        assert made, text
        factors = [float(f) for f in re.findall(rf" x {NUMBER} \(", made[2])]
        assert json["ampacity_a"] == pytest.approx(float(made[1]) * prod(factors), rel=0.01), run
        (carry,) = figure(rf"to carry {NUMBER} A", text)
        assert carry <= json["ampacity_a"] * 1.005
        times = re.search(rf"times the design current {NUMBER}", text)
        assert carry == pytest.approx(json["design_current_a"] * (float(times[1]) if times else 1), rel=0.01)
        # What the device must carry.
        for design_a, factor, needs in re.findall(rf"{NUMBER} A x {NUMBER} = {NUMBER} A are needed", text):
            assert float(needs) == pytest.approx(float(design_a) * float(factor), rel=0.01)
            assert float(design_a) == pytest.approx(json["design_current_a"], rel=0.01)
        # The drop of the whole path: ampere-metres by ohms per metre, and what is lost elsewhere.
        if "drop, whole path" in text and ", here " in text:
            lost, here, at = figure(rf"lost {NUMBER} V, .*?here {NUMBER} A m, at {NUMBER} mohm/m", text)
            elsewhere = re.search(rf"elsewhere {NUMBER} V", text)
            assert lost == pytest.approx(here * at / 1000 + (float(elsewhere[1]) if elsewhere else 0), rel=0.01)
            rate = re.search(rf"constant {NUMBER} ohm mm²/m, area {NUMBER} mm²", text)
            mils = re.search(rf"K {NUMBER} ohm cmil/ft, area {NUMBER} cmil", text)
            table = re.search(rf"table {NUMBER} ohm/kft", text)
            known = [
                float(rate[1]) / float(rate[2]) if rate else None,
                float(mils[1]) / float(mils[2]) / 0.3048 if mils else None,
                float(table[1]) / 304.8 if table else None,
            ]
            assert [k for k in known if k is not None] == [pytest.approx(at / 1000, rel=0.01)], run
        # Faults: volts over the sum of what is printed, and what other sources add.
        for kind in ("largest fault", "far-end fault"):
            if kind not in text or "mohm" not in text.split(kind)[1]:
                continue
            part = text.split(kind)[1].split("common practice")[0]
            (amperes,) = figure(rf"{NUMBER} A", part)
            (volts,) = figure(r"(?:e\.m\.f\.|lowest) ([\d.]+) V", part)
            ohms = sum(float(m) for m in re.findall(rf"{NUMBER} mohm", part)) / 1000
            pushed = sum(float(a) for a in re.findall(rf"pushes {NUMBER} A", part))
            assert amperes == pytest.approx(volts / ohms + pushed, rel=0.015), (run, part)


@pytest.mark.parametrize("place", PLACES, ids=lambda p: f"{p[0]}-{p[1]}-{p[4]}")
def test_the_currents_that_it_begins_with(place):
    """P / (U low - budget), output over efficiency, short-circuit current by strings; warm copper at the end."""
    told, whole = text_of(*place)
    lamp, inv, sun = told["lamp.run"], told["inv.pos.run"], told["box.pv.run"]
    shown, watts, low, budget = figure(
        rf"design current {NUMBER} A .*?power {NUMBER} W, low voltage {NUMBER} V, drop budget {NUMBER} V", lamp
    )
    assert shown == pytest.approx(watts / (low - budget), rel=0.01)
    shown, output, share, low, budget = figure(
        rf"design current {NUMBER} A .*?output {NUMBER} W, efficiency {NUMBER} %, low voltage {NUMBER} V, "
        rf"drop budget {NUMBER} V", inv
    )  # fmt: skip
    assert shown == pytest.approx(output / (share / 100) / (low - budget), rel=0.01)
    shown, each, strings = figure(
        rf"design current {NUMBER} A .*?short-circuit current {NUMBER} A, strings {NUMBER};.*?690\.8", sun
    )
    assert shown == pytest.approx(each * strings, rel=0.01)
    for run in ("lamp.run", "pump.run"):
        (degrees,) = figure(rf"its copper at {NUMBER} °C", told[run])
        json = whole[run]["run"]
        air, hot = json["ambient_c"], json["insulation_c"]
        assert degrees >= air and degrees <= hot
        through = json["design_current_a"] / json["ampacity_a"]
        assert degrees <= air + (hot - air) * through**2 + 0.5
