"""AC: cores, panels, lines of a split supply, supplies and their zones."""

from __future__ import annotations

import pytest
from resolving import resolved, sound

DC = 'system "S"\n  nominal 12 V\nbattery house 12.8 V, 100 Ah\n'
SINGLE = DC + "  \nshore dock 16 A, 230 V\npanel mains ac, breaker, ways 6\nload kettle ac, 1500 W\n"
SINGLE = SINGLE.replace("  \n", "") + "dock -///- [inlet: breaker 16 A, poles 2] -- 8 m -- mains\n"
SPLIT = DC.replace("12 V\nb", "12 V\n  ac 120/240 V split\nb") + "shore dock 50 A\npanel mains ac, ways 8\n"
SPLIT += "dock -////- [inlet: breaker 50 A] -- 8 m -- mains\n"


def test_a_cable_has_a_line_a_neutral_and_an_earth() -> None:
    system = sound(SINGLE + "mains -///- 4 m -- kettle\n")
    assert {c.id: (c.pole, c.from_node, c.to_node) for c in system.conductors.values() if c.run == "kettle.run"} == {
        "kettle.run.l": ("l", "mains.1", "kettle.ac-in.l"),
        "kettle.run.n": ("n", "mains.ac-in.n", "kettle.ac-in.n"),
        "kettle.run.pe": ("pe", "mains.ac-in.pe", "kettle.ac-in.pe"),
    }
    run = system.runs["kettle.run"]
    assert (run.current, run.conductors, run.length_m, run.circuit_length_m) == ("ac", 3, 4.0, 8.0)
    assert system.conductors["kettle.run.pe"].marker == "kettle.pe"
    assert system.devices["mains.1"].legs == (("mains.ac-in.l", "mains.1"),)
    assert system.devices["mains.1"].kind == "breaker"


def test_two_poles_open_line_and_neutral_and_never_the_earth() -> None:
    system = sound(SINGLE + "mains.2 -///- [16 A, poles 2, residual 30 mA] -- 4 m -- kettle\n")
    assert system.devices["inlet"].legs == (("dock.ac-out.l", "mains.run:1"), ("dock.ac-out.n", "mains.run:-1"))
    assert system.devices["mains.2"].legs == (("mains.ac-in.l", "mains.2"), ("mains.ac-in.n", "mains.2.n"))
    assert system.devices["mains.2"].residual_a == pytest.approx(0.03)
    assert system.conductors["kettle.run.n"].from_node == "mains.2.n"


def test_a_split_supply_has_two_lines() -> None:
    system = sound(SPLIT + "load oven ac, 4 kW\nmains.1 -////- [30 A] -- 3 m -- oven\n")
    poles = {c.id: c.pole for c in system.conductors.values() if c.run == "oven.run"}
    assert poles == {"oven.run.l1": "l1", "oven.run.l2": "l2", "oven.run.n": "n", "oven.run.pe": "pe"}
    assert system.devices["mains.1"].legs == (
        ("mains.ac-in.l1", "mains.1.l1"),
        ("mains.ac-in.l2", "mains.1.l2"),
    )
    assert system.devices["mains.1"].poles == 2
    assert len(system.devices["inlet"].legs) == 2  # a breaker of a split supply opens both lines


def test_a_circuit_of_one_line_takes_the_leg_that_its_load_says() -> None:
    text = SPLIT + "load a ac, 5 A, leg 2\nload b ac, 5 A\nload c ac, 5 A\n"
    system = sound(text + "mains.1 -///- 3 m -- a\nmains.3 -///- 3 m -- b\nmains.4 -///- 3 m -- c\n")
    assert system.devices["mains.1"].legs == (("mains.ac-in.l2", "mains.1"),)
    assert system.devices["mains.3"].legs == (("mains.ac-in.l1", "mains.3"),)
    assert system.devices["mains.4"].legs == (("mains.ac-in.l2", "mains.4"),)
    said = {a.subject for a in system.assumptions if "split supply" in a.text}
    assert said == {"inlet", "mains.3", "mains.4"}


def test_an_inverter_feeds_a_zone_of_its_own() -> None:
    text = DC + "inverter inv 1 kW, 230 V\nload kettle ac, 800 W\nhouse -//- [fuse] -- 1 m -- inv\n"
    system = sound(text + "inv -///- 3 m -- kettle\n")
    assert system.runs["kettle.run"].from_end == "inv.ac-out"
    node = system.nodes["kettle.ac-in.l"]
    assert (node.zone, node.nominal_v) == ("inv", 230.0)
    assert system.settings.ac == "230" and system.settings.frequency_hz == 50.0
    assert any("AC of 230 V" in a.text for a in system.assumptions)


def test_near_an_inverter_is_its_output_and_far_its_input() -> None:
    text = SINGLE + "inverter inv 1 kW, 230 V\nhouse -//- [fuse] -- 1 m -- inv\n"
    system = sound(text + "mains -///- 2 m -- inv\ninv -///- 3 m -- kettle\n")
    assert list(system.runs)[-2:] == ["inv.ac-in.run", "kettle.run"]
    assert system.nodes["inv.ac-in.l"].zone == "dock" and system.nodes["kettle.ac-in.l"].zone == "inv"


def test_a_pair_to_an_ac_load_is_line_and_neutral() -> None:
    text = DC + "shore dock 16 A, 230 V\nload lamp ac, 60 W\ndock -//- 3 m -- lamp\n"
    system, findings = resolved(text)
    assert system is not None and not [f for f in findings if f.severity == "error"]
    assert {c.pole for c in system.conductors.values()} == {"l", "n"}


def test_an_earth_terminal_apart_is_earthing() -> None:
    text = DC + "inverter inv 1 kW\nearth hull\nhouse -//- [fuse] -- 1 m -- inv\ninv.pe -- 1 m, 6 mm2 -- hull\n"
    run = sound(text).runs["inv.pe.run"]
    assert run.earth and run.current == "ac"


def test_a_supply_is_on_where_nothing_else_feeds_a_load() -> None:
    system = sound(SINGLE + "mains -///- 4 m -- kettle\n")
    everything = next(case for case in system.cases if case.id == "everything")
    assert dict(everything.shares) == {"kettle": 1.0, "dock": 1.0}


def test_a_supply_is_off_where_an_inverter_feeds_the_load() -> None:
    """With the supply off the battery carries the load: the larger current of the two readings."""
    text = SINGLE + "inverter inv 2 kW, 230 V\nhouse -//- [fuse] -- 1 m -- inv\n"
    system = sound(text + "mains -///- 2 m -- inv\ninv -///- 3 m -- kettle\n")
    everything = next(case for case in system.cases if case.id == "everything")
    assert dict(everything.shares) == {"kettle": 1.0, "inv": 1.0}


def test_no_ac_is_assumed_where_none_is_drawn() -> None:
    text = DC + "inverter inv 1 kW\nhouse -//- [fuse] -- 1 m -- inv\n"
    assert sound(text).settings.ac == ""


HEATER = SPLIT + "load heater ac, 4500 W, 240 V\n"


def test_three_cores_to_a_load_of_240_v_are_two_lines_and_earth() -> None:
    """The voltage between two lines of 120 V (NEC 220.5(A)): no neutral, a breaker of two poles."""
    system = sound(HEATER + "mains.1 -///- [30 A] -- 3 m -- heater\n")
    cores = {c.pole: (c.from_node, c.to_node) for c in system.conductors.values() if c.run == "heater.run"}
    assert cores == {
        "l1": ("mains.1.l1", "heater.ac-in.l1"),
        "l2": ("mains.1.l2", "heater.ac-in.l2"),
        "pe": ("mains.ac-in.pe", "heater.ac-in.pe"),
    }
    assert system.devices["mains.1"].poles == 2
    everything = next(case for case in system.cases if case.id == "everything")
    assert everything.shares["heater"] == 1.0


def test_without_a_panel_the_supply_has_two_lines_too() -> None:
    text = DC.replace("12 V\nb", "12 V\n  ac 120/240 V split\nb") + "shore dock 50 A\nload heater ac, 3 kW, 240 V\n"
    system = sound(text + "dock -///- [inlet: breaker 20 A] -- 8 m -- heater\n")
    assert {c.pole for c in system.conductors.values()} == {"l1", "l2", "pe"}
    assert {n.nominal_v for n in system.nodes.values() if n.part == "heater"} == {120.0}


def test_a_charger_takes_both_lines_by_its_input_voltage() -> None:
    text = SPLIT + "charger ch 20 A, in 240 V, out 14.4 V\nmains.1 -///- [15 A] -- 3 m -- ch\n"
    system = sound(text + "ch -//- [fuse] -- 1 m -- house\n")
    assert {c.pole for c in system.conductors.values() if c.run == "ch.ac-in.run"} == {"l1", "l2", "pe"}


def test_a_voltage_of_one_line_and_a_230_v_system_stay_with_line_and_neutral() -> None:
    one = sound(SPLIT + "load pump ac, 500 W, 120 V\nmains.1 -///- [15 A] -- 3 m -- pump\n")
    assert {c.pole for c in one.conductors.values() if c.run == "pump.run"} == {"l", "n", "pe"}
    europe = sound(SINGLE.replace("1500 W", "1500 W, 230 V") + "mains -///- 4 m -- kettle\n")
    assert {c.pole for c in europe.conductors.values() if c.run == "kettle.run"} == {"l", "n", "pe"}


@pytest.mark.parametrize(
    "text",
    [
        SINGLE.replace("1500 W", "1500 W, 120 V") + "mains -///- 4 m -- kettle\n",
        DC + "load lamp 24 V, 2 A\nhouse -//- [fuse] -- 3 m -- lamp\n",
        HEATER.replace("240 V\n", "120 V\n") + "mains.1 -///- [30 A] -- 3 m -- heater\n"
        + "load other ac, 1 kW, 24 V\nmains.5 -///- [15 A] -- 2 m -- other\n",
    ],
)  # fmt: skip
def test_a_load_of_another_voltage_is_told(text: str) -> None:
    _, findings = resolved(text)
    assert [f.code for f in findings if f.severity == "error"] == ["CP237"]
