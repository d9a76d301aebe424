"""Contacts: what stands open in a case, what closes it, engines, and the ways to starters."""

from __future__ import annotations

import math

import pytest

from copperplate.design import compile_plate
from copperplate.findings import Finding
from copperplate.model.results import Design
from copperplate.text import Source

HEAD = """
system "Contacts"
  nominal 12 V
  rules RULES
  conductors mm2
battery house 12.8 V, 200 Ah, agm, range 12..14.4 V, fault-current 3 kA
battery start 12 V, 80 Ah, agm, range 12..14.4 V, fault-current 1.8 kA
bus plus positive
bus minus negative
house.pos -- [main: fuse class-t] -- 0.5 m -- plus
house.neg -- 0.5 m -- minus
start.neg -- 0.5 m -- minus
"""


def compiled(text: str, rules: str = "iso-13297") -> tuple[Design, tuple[Finding, ...]]:
    design, findings = compile_plate(Source("t.plate", HEAD.replace("RULES", rules) + text), lambda name: None)
    assert design is not None
    return design, findings


def opened(design: Design) -> dict[str, frozenset[str]]:
    return {case.id: case.open_devices for case in design.system.cases}


GUARDED = """
load bms 0.2 A
load lamp 2 A
load pump 5 A
house -//- [bms-fuse: fuse 3 A] -- 1 m -- bms
plus -- [lamp-fuse: fuse] -- 1 m -- [gate: contactor 60 A, closed-by bms] -- lamp.pos
lamp.neg -- 1 m -- minus
plus -- [pump-fuse: fuse] -- 1 m -- [spare: switch 60 A, normally-open] -- pump.pos
pump.neg -- 1 m -- minus
start -//- [s: fuse] -- 1 m -- other
load other 1 A
"""


def test_a_contact_is_closed_where_what_closes_it_is_on_and_a_normally_open_one_where_a_case_turns_it_on() -> None:
    design, _ = compiled(
        GUARDED
        + """
case day on bms, lamp, other
case night on lamp, other
case flood on bms, pump, spare
"""
    )
    assert opened(design) == {
        "day": {"spare"},
        "night": {"gate", "spare"},
        "flood": frozenset(),
        "charging": {"spare"},
    }
    shares = {case.id: set(case.shares) for case in design.system.cases}
    assert shares["day"] == {"bms", "lamp", "other"} and shares["night"] == {"other"}
    assert shares["flood"] == {"bms", "pump"}


def test_what_closes_a_contact_runs_in_implied_cases() -> None:
    design, _ = compiled(GUARDED)
    assert opened(design) == {"everything": {"spare"}, "charging": {"spare"}}
    everything, charging = design.system.cases
    assert "pump" not in everything.shares and "lamp" in everything.shares
    assert set(charging.shares) == {"bms"}


def test_a_load_that_an_open_contact_cuts_off_and_a_contact_that_never_closes_are_found() -> None:
    _, findings = compiled(GUARDED + "case night on lamp, other, pump\n")
    assert {("CP241", "lamp"), ("CP241", "pump"), ("CP244", "gate")} <= {(f.code, f.subject) for f in findings}


def test_a_combiner_is_closed_where_a_source_charges() -> None:
    design, _ = compiled(
        """
alternator alt 14.4 V, 50 A, self-limiting, engine diesel
engine diesel
load lamp 2 A
start.pos -- [alt-fuse: fuse] -- 1 m -- alt.pos
alt.neg -- diesel
diesel -- 1 m -- minus
plus -- [lamp-fuse: fuse] -- 1 m -- lamp.pos
lamp.neg -- 1 m -- minus
join: plus -- [near: fuse] -- 1 m -- [combine: combiner 100 A] -- 0.5 m -- [far: fuse] -- start.pos
case anchor on lamp
case motoring on lamp, diesel
case under-way on alt
"""
    )
    assert opened(design) == {
        "anchor": {"combine"}, "motoring": frozenset(), "under-way": frozenset(), "charging": frozenset(),
    }  # fmt: skip
    assert set(design.system.cases[1].shares) == {"alt", "lamp"}


STARTER = """
engine diesel "Engine" ports ignition
load cranking starter, 250 A, for 10 s, works 8..15 V, drop 10 %
start.pos -- 0.4 m -- [master: switch 300 A] -- 1.1 m -- cranking.pos
cranking.neg -- diesel
diesel -- 1.5 m -- start.neg
"""


def test_the_way_to_a_starter_needs_no_device_where_the_rules_exempt_it() -> None:
    for rules in ("iso-13297", "cfr-183"):
        design, findings = compiled(STARTER, rules)
        assert not [f for f in findings if f.severity == "error"] and design.rechecked
    _, findings = compiled(STARTER.replace("starter, ", ""))
    assert ("CP401", "cranking.pos.run") in {(f.code, f.subject) for f in findings}
    _, findings = compiled(STARTER, "nec")
    assert "CP401" in {f.code for f in findings}


def test_what_leaves_the_way_to_a_starter_needs_a_device_near_it() -> None:
    near = "start.pos -- [lamp-fuse: fuse] -- 1 m -- lamp.pos\nlamp.neg -- 1 m -- minus\nload lamp 2 A\n"
    assert not [f for f in compiled(STARTER + near)[1] if f.severity == "error"]
    _, findings = compiled(STARTER + near.replace("[lamp-fuse: fuse] -- ", ""))
    assert ("CP401", "lamp.pos.run") in {(f.code, f.subject) for f in findings}


def test_a_brief_load_is_carried_by_the_heat_of_its_duty() -> None:
    design, _ = compiled(STARTER)
    run = design.runs["cranking.pos.run"]
    # k of copper from 105 to 160 degC (IEC 60364-5-54 annex A): 226 sqrt(ln(1 + 55 / 339.5)) = 87.6.
    k = 226 * math.sqrt(math.log(1 + 55 / (234.5 + 105)))
    assert run.brief_s == pytest.approx(10.0) and run.size is not None
    assert k * run.area_mm2 / math.sqrt(10) >= 250 > (run.ampacity.value if run.ampacity else 0.0)
    for_ever = compiled(STARTER.replace("for 10 s, ", ""))[0].runs["cranking.pos.run"]
    assert for_ever.ampacity is not None and for_ever.ampacity.value >= 250 and for_ever.area_mm2 > run.area_mm2


def test_a_load_that_two_ways_lead_to_is_carried_by_each_alone() -> None:
    """A pump by its float from the battery and by hand from the panel: neither way carries what the starter or the rest
    of the panel takes, though both stand in one ring with the battery."""
    text = """
system "Two ways"
  nominal 12 V
  rules cfr-183
  conductors mm2
battery batt 12 V, 95 Ah, flooded, range 11.6..14.4 V, fault-current 0.9 kA
junction switched
bus minus negative, 100 A
panel console blade, ways 6, 50 A, return minus
load crank starter, 165 A, for 10 s, works 8..15 V, drop 10 %
load bilge pump, 3.5 A, critical, intermittent, works 10..14.8 V
load socket 8 A, drop 8 %
batt.pos -- 0.3 m, sheath -- [master: switch 300 A] -- 0.1 m -- switched
switched -- 1 m -- crank.pos
crank.neg -- 1 m -- batt.neg
minus -- 1 m -- batt.neg
switched -- 0.1 m, sheath -- [console-main: fuse 40 A] -- 2 m -- console
batt -//- [bilge-live: fuse blade 5 A] -- 1 m -- [float: switch float, 10 A] -- 0.2 m -- bilge
console.1 -- 1.5 m -- bilge.pos
console.2 -//- 2 m -- socket
case starting on crank
case wet on bilge
case day on socket
"""
    design, findings = compile_plate(Source("t.plate", text), lambda name: None)
    assert design is not None and not [f for f in findings if f.severity == "error"] and design.rechecked
    assert design.devices["bilge-live"].rating.needs_a is not None
    assert design.devices["bilge-live"].rating.needs_a.value <= 5.0
    assert design.runs["bilge.run"].design_current.value <= 5.0
