"""Selectors of several positions, switches that one statement declares, and switches at both ends."""

from __future__ import annotations

import pytest

from copperplate.design import compile_plate
from copperplate.findings import Finding
from copperplate.model.results import Design
from copperplate.text import Source

BANKS = """
system "Selectors"
  nominal 12 V
  rules iso-13297
  conductors mm2
battery one 12 V, 90 Ah, flooded, range 11.8..14.4 V, fault-current 1.8 kA
battery two 12 V, 90 Ah, flooded, range 11.8..14.4 V, fault-current 1.8 kA
selector choose "Battery selector" 250 A, inputs one two, positions off one two both
bus minus negative, 100 A
panel cabin "Fuse block" blade, ways 4, return minus
load lamp 6 A, drop 5 %
one.pos -- [one-fuse: fuse class-t 100 A] -- 0.4 m -- choose.one
two.pos -- [two-fuse: fuse class-t 100 A] -- 0.4 m -- choose.two
one.neg -- 0.5 m -- minus
two.neg -- 0.5 m -- minus
choose -- [main: fuse] -- 1 m -- cabin
cabin -//- 3 m, 4 mm2 -- lamp
"""
ONE = """
system "Switches"
  nominal 12 V
  rules iso-13297
  conductors mm2
battery house 12 V, 60 Ah, agm, range 12..14.4 V, fault-current 0.9 kA
"""


def compiled(text: str) -> tuple[Design, tuple[Finding, ...]]:
    design, findings = compile_plate(Source("t.plate", text), lambda name: None)
    assert design is not None
    return design, findings


def opened(design: Design) -> dict[str, frozenset[str]]:
    return {case.id: case.open_devices for case in design.system.cases}


def test_a_case_sets_a_selector_and_each_position_is_a_case_where_none_does() -> None:
    text = "case evening on lamp, set choose two\ncase flat on lamp, set choose both\ncase berth on lamp\n"
    design, findings = compiled(BANKS + text)
    assert not [f for f in findings if f.severity == "error"] and design.rechecked
    assert opened(design) == {
        "evening": {"choose.one"},
        "flat": frozenset(),
        "berth": {"choose.two"},
        "berth.two": {"choose.one"},
        "berth.both": frozenset(),
        "charging": {"choose.two"},
        "charging.two": {"choose.one"},
        "charging.both": frozenset(),
    }


def test_either_battery_carries_the_whole_and_the_fault_behind_both_is_that_of_both() -> None:
    design, _ = compiled(BANKS)
    # 6 A through the one that the selector stands at; on `both` two equal batteries share it.
    for run in ("choose.one.run", "choose.two.run"):
        assert design.runs[run].design_current.value == pytest.approx(6.0)
    fault = design.devices["main"].prospective_fault
    # 1.8 kA each; 0.4 m of 16 mm² out of each (0.44 mohm) takes a little: above 1.8 and below 2 x 1.8 kA.
    assert fault is not None and 1800 < fault.value < 3600


def test_a_position_that_cuts_a_load_off_is_found_and_one_that_is_not_there() -> None:
    assert ("CP241", "lamp") in {(f.code, f.subject) for f in compiled(BANKS + "case x on lamp, set choose off\n")[1]}
    (finding,) = [f for f in compiled(BANKS + "case x on lamp, set choose three\n")[1] if f.code == "CP248"]
    assert finding.message == "`choose` has the positions off, one, two and both, and no `three`"


def test_a_selector_is_bought_once() -> None:
    design, _ = compiled(BANKS)
    assert [(m.item, m.quantity) for m in design.materials if m.group == "device"] == [("selector, 250 A", 1)]


def test_a_transfer_switch_parts_both_poles_of_two_supplies() -> None:
    design, findings = compiled(
        """
system "Transfer"
  nominal 12 V
  rules iso-13297
  conductors mm2
  ac 230 V
battery house 12.8 V, 200 Ah, lifepo4, range 12..14.4 V, fault-current 4 kA
inverter inv "Inverter" 1500 W, 230 V, bonds-neutral
shore inlet "Shore inlet" 16 A, 230 V, bonds-neutral, fault-current 3 kA, earth-loop 0.4 ohm
selector change "Transfer switch" ac, 25 A, poles 2, inputs shore inverter
panel board "AC panel" breaker, ac, ways 4, 16 A, breaks 6 kA, curve b
load heater "Heater" 1000 W, ac
house -//- [main: fuse class-t] -- 1.5 m -- inv
inlet -///- 1 m -- [shore-main: breaker 16 A, poles 2, residual 30 mA, breaks 6 kA, curve b] -- 2 m -- change.shore
inv.ac-out -///- [inv-main: breaker 10 A, poles 2, residual 30 mA, breaks 6 kA, curve b] -- 1 m -- change.inverter
change -///- 1 m -- board
board -///- [10 A] -- 4 m -- heater
case away on inv, heater, set change inverter
case hooked on inlet, heater, set change shore
"""
    )
    assert not [f for f in findings if f.severity == "error"] and design.rechecked
    assert [len(design.system.devices[name].legs) for name in ("change.shore", "change.inverter")] == [2, 2]
    # 1000 W at 230 V: 4.35 A by the shore in one case, by the inverter in the other.
    flows = {case: design.devices["shore-main"].current_a[case] for case in ("away", "hooked")}
    assert abs(flows["away"]) == pytest.approx(0.0) and abs(flows["hooked"]) == pytest.approx(1000 / 230, rel=0.02)


def test_two_switches_at_both_ends_have_a_second_traveller_in_the_lists_and_one_way_in_the_drop() -> None:
    text = "house -//- [f: fuse] -- 2 m -- [a: switch 5 A, two-way] -- 6 m -- [b: switch 5 A, two-way] -- 2 m -- lamp\n"
    design, findings = compiled(ONE + "load lamp 2 A\n" + text)
    assert not [f for f in findings if f.severity in ("error", "warning")] and design.rechecked
    assert sorted(cut.length_m for cut in design.cuts if cut.colour == "RD") == [2.0, 2.0, 6.0, 6.0]
    plain, _ = compiled(ONE + "load lamp 2 A\n" + text.replace(", two-way", ""))
    assert design.loads["lamp"].voltage_v == pytest.approx(plain.loads["lamp"].voltage_v)
    assert sorted(cut.length_m for cut in plain.cuts if cut.colour == "RD") == [2.0, 2.0, 6.0]


def test_a_bracket_names_one_of_several_switches_of_a_statement() -> None:
    text = """
load porch 1 A
load step 1 A
switch wall "Switches by the door" ways 2, 5 A
house -//- [porch-fuse: fuse] -- 1 m -- [wall.2] -- 3 m -- porch
house -//- [step-fuse: fuse] -- 1 m -- [wall] -- 2 m -- step
"""
    design, findings = compiled(ONE + text)
    assert not [f for f in findings if f.severity == "error"] and design.rechecked
    assert {d.id: (d.of, d.rating_a) for d in design.system.devices.values() if d.roles.switches} == {
        "wall.1": ("wall", 5.0),
        "wall.2": ("wall", 5.0),
    }
    assert [(m.item, m.quantity) for m in design.materials if m.group == "device"] == [("switch, 5 A", 1)]
    assert "CP249" in {f.code for f in compiled(ONE + text.replace("[wall]", "[wall.2]"))[1]}
    assert "CP249" in {f.code for f in compiled(ONE + text.replace("[wall]", "[wall.3]"))[1]}


def test_an_alternator_gives_for_long_what_it_gives_hot_and_its_conductors_carry_its_rating() -> None:
    text = """
engine diesel daily 1 h
alternator alt 14.4 V, 120 A, self-limiting, engine diesel, hot 70 %, set-to 90 A
bus minus negative
house.pos -- [alt-fuse: fuse class-t] -- 2 m -- alt.pos
alt.neg -- diesel
diesel -- 1 m -- minus
house.neg -- 0.5 m -- minus
"""
    design, _ = compiled(ONE + text)
    assert design.runs["alt.pos.run"].design_current.value == pytest.approx(120.0)
    # 70 % of 120 A is 84 A, less than what the regulator is set to.
    ((source, amperes, _hours),) = design.energy[0].recharge
    assert (source, amperes) == ("alt", pytest.approx(84.0))


def test_coils_count_in_the_energy_of_the_day() -> None:
    text = """
load bms 0.2 A, daily 24 h
load lamp 2 A, daily 3 h
house -//- [bms-fuse: fuse 3 A] -- 1 m -- bms
house -//- [lamp-fuse: fuse] -- 1 m -- [guard: contactor 60 A, closed-by bms, coil 0.3 A] -- 1 m -- lamp
"""
    design, _ = compiled(ONE + text)
    (line,) = [line for line in design.energy[0].lines if line.what == "coil"]
    # 0.3 A x 24 h = 7.2 Ah at 12 V.
    assert line.wh == pytest.approx(7.2 * 12)


def test_a_switch_in_the_negative_is_advised_against() -> None:
    text = "load lamp 1 A\nhouse -//- [f: fuse] -- 3 m -- [sw: switch 5 A, in neg] -- 0.3 m -- lamp\n"
    design, findings = compiled(ONE + text)
    assert ("CP450", "sw") in {(f.code, f.subject) for f in findings}
    assert design.system.devices["sw"].pole == "neg" and len(design.system.devices["sw"].legs) == 1


def test_positions_and_inputs_may_be_numbers() -> None:
    text = BANKS.replace("inputs one two, positions off one two both", "inputs 1 2, positions off 1 2 both")
    text = text.replace("choose.one", "choose.1").replace("choose.two", "choose.2")
    numbered, findings = compiled(text + "case evening on lamp, set choose 2\ncase flat on lamp, set choose both\n")
    assert not [f for f in findings if f.severity == "error"] and numbered.rechecked
    cases = opened(numbered)
    assert (cases["evening"], cases["flat"]) == ({"choose.1"}, frozenset())


def test_a_word_that_begins_a_list_of_names_is_a_name_where_a_name_stands() -> None:
    design, findings = compiled(ONE + "load set 2 A, drop 8 %\nhouse -//- [fuse 3 A] -- 2 m -- set\n")
    assert not [f for f in findings if f.severity == "error"] and design.system.parts["set"].current_a == 2.0
