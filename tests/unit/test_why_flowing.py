"""What `why` says of currents: what adds up, what flows for ever, both sides of a fault, how a short clears."""

from __future__ import annotations

import re

import pytest
from plates import compiled

from copperplate.model.results import Design
from copperplate.why import ladder, ladder_json

BANKS = """system "Three banks"
  nominal 12 V
  rules iso-13297
  conductors mm2
battery one "First" 12 V, 100 Ah, agm, fault-current 2 kA, range 12..14.4 V
battery two "Second" 12 V, 100 Ah, agm, fault-current 2 kA, range 12..14.4 V
battery three "Third" 12 V, 100 Ah, agm, fault-current 2 kA, range 12..14.4 V
solar roof "Modules" 200 W, voc 24 V, isc 11 A, vmp 20 V, imp 10 A, temp-coefficient -0.3 %/K, coldest -10 degC
controller mppt "Controller" 30 A, max-input 75 V, output 14.4 V
bus plus "Positive bar" positive, 400 A
bus minus "Negative bar" negative, 400 A
load fridge "Fridge" 5 A, drop 8 %
load heater "Heater" 20 A, drop 8 %
one.pos -- [f1: fuse class-t 100 A] -- 1 m, 120 mm2 -- plus
two.pos -- [f2: fuse class-t 100 A] -- 1 m, 120 mm2 -- plus
three.pos -- [f3: fuse class-t 100 A] -- 1 m, 120 mm2 -- plus
one.neg -- 1 m, 120 mm2 -- minus
two.neg -- 1 m, 120 mm2 -- minus
three.neg -- 1 m, 120 mm2 -- minus
mppt.pos -- 1 m, 16 mm2 -- plus
mppt.neg -- 1 m, 16 mm2 -- minus
roof -//- 4 m, 6 mm2 -- mppt.pv
plus -- 0.15 m, 4 mm2 -- [tap: fuse class-t 10 A] -- 2 m, 4 mm2 -- fridge.pos
fridge.neg -- 2 m, 4 mm2 -- minus
plus -- [warm: fuse class-t 30 A] -- 3 m, 10 mm2 -- heater.pos
heater.neg -- 3 m, 10 mm2 -- minus
"""


@pytest.fixture(scope="module")
def design() -> Design:
    return compiled(BANKS)[0]


def told(design: Design, run: str) -> str:
    return re.sub(r"\s+", " ", ladder(design, run, 100))


def test_the_minimum_cut_with_its_devices(design: Design) -> None:
    """Into the first lead, shorted, come the other two banks by their fuses and all that the controller gives."""
    assert "for ever 230 A from `plus`: `f2` 100 A + `f3` 100 A + `mppt` 30 A = 230 A; it carries" in told(
        design, "one.pos.run"
    )
    back = ladder_json(design, "one.pos.run")["lasting_a"]["one.pos.run"]["back"]
    assert back["cut_a"] == {"f2": 100.0, "f3": 100.0, "mppt": 30.0} and back["amperes"] == 230.0


def test_a_tap_from_the_bar_to_its_device(design: Design) -> None:
    """Three fuses and the controller may feed it with 330 A; 0.15 m to a fuse of 10 A are short enough (ISO 10133 8.1:
    200 mm), so that it carries that."""
    text = told(design, "fridge.pos.run")
    assert "for ever 330 A from `plus`: `f1` 100 A + `f2` 100 A + `f3` 100 A + `mppt` 30 A = 330 A; 0.15 m" in text
    assert "to `tap` at 0.15 m, 0.2 m are allowed (ISO 10133 8.1); what stands ahead lets 10 A pass" in text


def test_a_return_has_the_cut_of_its_positive(design: Design) -> None:
    assert "return, for ever 10 A from `fridge`: `tap` 10 A" in told(design, "fridge.neg.run")


def test_the_governing_state_and_what_adds_up_in_it() -> None:
    """Anchoring takes the winch's 80 A and the lamps' 4 A and is more than the 30 A of the night; what charges pushes
    50 A."""
    cases = """case anchor on winch, lamps
case night on fridge, lamps, heater
"""
    text = """system "Cases"
  nominal 12 V
  rules iso-13297
  conductors mm2
battery house "House" 12 V, 200 Ah, agm, fault-current 2 kA, range 12..14.4 V
alternator alt "Alternator" 14.4 V, 50 A, self-limiting
bus plus "Positive bar" positive, 400 A
bus minus "Negative bar" negative, 400 A
load winch "Winch" 80 A, intermittent
load lamps "Lamps" 4 A, drop 8 %
load fridge "Fridge" 6 A, drop 8 %
load heater "Heater" 20 A, drop 8 %
main-run: house.pos -- [main: fuse class-t] -- 1 m -- plus
house.neg -- 1 m -- minus
plus -- [alt-fuse: fuse class-t] -- 2 m -- alt.pos
alt.neg -- 2 m -- minus
"""
    for load in ("winch", "lamps", "fridge", "heater"):
        text += f"plus -- [{load}-fuse: fuse class-t] -- 2 m -- {load}.pos\n{load}.neg -- 2 m -- minus\n"
    design, _ = compiled(text + cases)
    state = ladder_json(design, "main-run")["governing"]
    assert state["amperes"] == pytest.approx(84.0)
    assert state["adds"] == {"winch": pytest.approx(80.0), "lamps": pytest.approx(4.0)}
    assert state["next_a"] == pytest.approx(50.0)
    assert "`: `winch` 80 A + `lamps` 4 A; next `" in told(design, "main-run")
    assert ladder_json(design, "winch.pos.run")["governing"] is None, "one consumer adds nothing up"


def test_both_sides_of_a_fault_with_their_sources(design: Design) -> None:
    """The bank's own side: 2 kA on its post. The bar's side: two banks of 6.6 mohm, each over a metre of 120 mm² (0.161
    mohm, IEC 60228), then the first's own metre, and what the controller gives."""
    text = told(design, "one.pos.run")
    amperes, sources = re.search(r"2000 A of `one` by `one\.pos`, or (\d+) A of (.+?) by `one", text).groups()
    assert float(amperes) == pytest.approx(13.2 / ((6.6 + 0.161) / 2 + 0.161) * 1000 + 30, rel=0.001)
    assert sources == "`two` and `three` and `mppt`"


def test_how_the_smallest_short_comes_about(design: Design) -> None:
    text = told(design, "heater.pos.run")
    assert "a short from `heater.pos` to `heater.neg`, fed by `one` alone; it opens first" in text
    assert re.search(r"out, hot [\d.]+ mohm, back, hot [\d.]+ mohm", text)
