"""Runs, nodes, conductors and devices of plates without mistakes. Addresses are those of the language reference."""

from __future__ import annotations

import pytest
from resolving import sound

from copperplate.model import Size, System

HERON = """\
system "Heron"
  nominal 12 V
  rules cfr-183
  ambient 30 degC
battery house "House bank" 12.8 V, 280 Ah, lifepo4, parallel 2
  range 12.0..14.4 V
  fault-current 5 kA
  terminal stud M8
bus plus "Positive bus" positive, 300 A, terminal stud M10
bus minus "Negative bus" negative, 300 A, terminal stud M10
panel cabin "Cabin fuse block" blade, ways 12, return minus
load fridge "Fridge" 60 W, works 10.5..15 V, daily 10 h
load lights "Cabin lights" 8 x 0.25 A, drop 10 %
inverter inv "Inverter" 1500 W, efficiency 92 %
  terminal stud M8
  advised-wire 50 mm2 to 4 m
route port-locker "Port locker" 4 m, ambient 40 degC

house.pos -- 0.4 m -- [main: fuse class-t] -- 0.3 m -- [isolator: switch 300 A] -- 0.9 m -- plus
house.neg -- 0.5 m -- [shunt 500 A] -- 0.4 m -- minus
plus -- [fuse class-t] -- 1.2 m -- inv.pos
inv.neg -- 1.3 m -- minus
plus -- [fuse] -- 1.0 m -- cabin
cabin -//- via port-locker, 0.5 m -- fridge
cabin.3 -//- [10 A] -- 7 m, 12 AWG -- lights
"""
SMALL = 'system "S"\n  nominal 12 V\nbattery house 12.8 V, 100 Ah\n'


@pytest.fixture(scope="module")
def heron() -> System:
    return sound(HERON)


def wires(system: System) -> dict[str, tuple[str, str, str, float]]:
    """By conductor: pole, from node, to node, metres."""
    return {c.id: (c.pole, c.from_node, c.to_node, c.length_m) for c in system.conductors.values()}


def test_runs_are_called_by_the_end_that_tells_them_apart(heron: System) -> None:
    assert list(heron.runs) == [
        "house.pos.run", "house.neg.run", "inv.pos.run", "inv.neg.run", "cabin.run", "fridge.run", "lights.run",
        "house.link",
    ]  # fmt: skip
    ends = {run.id: (run.from_end, run.to_end) for run in heron.runs.values()}
    assert ends["house.pos.run"] == ("house.pos", "plus")
    assert ends["inv.neg.run"] == ("inv.neg", "minus")
    assert ends["cabin.run"] == ("plus", "cabin")
    assert ends["fridge.run"] == ("cabin.1", "fridge")
    assert ends["lights.run"] == ("cabin.3", "lights")


def test_pieces_between_devices_are_numbered_and_mounted_ones_are_none(heron: System) -> None:
    assert wires(heron) == {
        "house.pos.run/1": ("pos", "house.pos", "house.pos.run:1", 0.4),
        "house.pos.run/2": ("pos", "house.pos.run:2", "house.pos.run:3", 0.3),
        "house.pos.run/3": ("pos", "house.pos.run:4", "plus", 0.9),
        "house.neg.run/1": ("neg", "house.neg", "house.neg.run:1", 0.5),
        "house.neg.run/2": ("neg", "house.neg.run:2", "minus", 0.4),
        "inv.pos.run": ("pos", "inv.pos.run:1", "inv.pos", 1.2),
        "inv.neg.run": ("neg", "inv.neg", "minus", 1.3),
        "cabin.run": ("pos", "cabin.run:1", "cabin.feed", 1.0),
        "fridge.run+": ("pos", "cabin.1", "fridge.pos", 4.5),
        "fridge.run-": ("neg", "minus", "fridge.neg", 4.5),
        "lights.run+": ("pos", "cabin.3", "lights.pos", 7.0),
        "lights.run-": ("neg", "minus", "lights.neg", 7.0),
    }


def test_markers_drop_the_word_run(heron: System) -> None:
    markers = {c.id: c.marker for c in heron.conductors.values()}
    assert markers["house.pos.run/2"] == "house.pos/2"
    assert markers["fridge.run-"] == "fridge-"
    assert markers["inv.neg.run"] == "inv.neg"


def test_devices_sit_where_they_are_drawn(heron: System) -> None:
    legs = {device.id: (device.kind, device.run, device.legs) for device in heron.devices.values()}
    assert legs == {
        "main": ("fuse", "house.pos.run", (("house.pos.run:1", "house.pos.run:2"),)),
        "isolator": ("switch", "house.pos.run", (("house.pos.run:3", "house.pos.run:4"),)),
        "house.neg.shunt": ("shunt", "house.neg.run", (("house.neg.run:1", "house.neg.run:2"),)),
        "inv.pos.fuse": ("fuse", "inv.pos.run", (("plus", "inv.pos.run:1"),)),
        "cabin.fuse": ("fuse", "cabin.run", (("plus", "cabin.run:1"),)),
        "cabin.1": ("fuse", "fridge.run", (("cabin.feed", "cabin.1"),)),
        "cabin.3": ("fuse", "lights.run", (("cabin.feed", "cabin.3"),)),
    }
    assert heron.devices["house.neg.shunt"].pole == "neg"
    assert heron.runs["house.pos.run"].device_ids == ("main", "isolator")


def test_a_way_has_the_family_of_its_panel_and_the_rating_of_its_bracket(heron: System) -> None:
    first, third = heron.devices["cabin.1"], heron.devices["cabin.3"]
    assert (first.family, first.rating_a, first.panel, first.way) == ("blade", None, "cabin", 1)
    assert (third.family, third.rating_a, third.panel, third.way) == ("blade", 10.0, "cabin", 3)
    assert heron.runs["lights.run"].device_ids == ()


def test_lengths_routes_and_what_a_run_states(heron: System) -> None:
    fridge, lights = heron.runs["fridge.run"], heron.runs["lights.run"]
    assert (fridge.length_m, fridge.circuit_length_m, fridge.routes) == (4.5, 9.0, ("port-locker",))
    assert fridge.ambient_c == 40.0 and lights.ambient_c == 30.0
    assert heron.conductors["fridge.run+"].routes == (("port-locker", 4.0),)
    assert heron.routes["port-locker"].runs == ("fridge.run",)
    assert lights.size == Size("12", "AWG") and fridge.size is None
    assert heron.runs["house.pos.run"].length_m == 1.6


def test_links_of_a_bank_are_listed_and_join_nothing(heron: System) -> None:
    link = heron.runs["house.link"]
    assert (link.role, link.count, link.length_m, link.conductor_ids) == ("link", 2, 0.3, ())
    assert not any(node.startswith("house.link") for node in heron.nodes)


@pytest.mark.parametrize(
    ("bank", "nominal", "links"),
    [("series 4", "48 V", 3), ("parallel 3", "12 V", 4), ("series 2, parallel 2", "24 V", 4)],
)
def test_a_bank_has_a_link_for_each_step(bank: str, nominal: str, links: int) -> None:
    """Three steps join four in series; each further string is joined at both its poles."""
    text = SMALL.replace("100 Ah", f"100 Ah, {bank}, link 0.2 m").replace("nominal 12 V", f"nominal {nominal}")
    system = sound(text + "load lamp 2 A\nhouse -//- 3 m -- lamp\n")
    assert system.runs["house.link"].count == links
    assert system.runs["house.link"].circuit_length_m == pytest.approx(0.2 * links)


def test_numbered_ways_are_reserved_before_the_others_are_given() -> None:
    text = SMALL + "panel fb ways 4\n" + "".join(f"load l{i} 1 A\n" for i in range(1, 5))
    text += "house -//- [fuse] -- 1 m -- fb\n"
    text += "fb -//- 1 m -- l1\nfb.1 -//- 1 m -- l2\nfb -//- 1 m -- l3\nfb.3 -//- 1 m -- l4\n"
    system = sound(text)
    assert {r.to_end: r.from_end for r in system.runs.values() if r.from_end.startswith("fb")} == {
        "l1": "fb.2", "l2": "fb.1", "l3": "fb.4", "l4": "fb.3",
    }  # fmt: skip


def test_a_panel_without_return_has_a_negative_bar_that_its_feeding_pair_joins() -> None:
    system = sound(SMALL + "panel fb ways 4\nload l1 1 A\nhouse -//- [fuse] -- 1 m -- fb\nfb -//- 1 m -- l1\n")
    assert wires(system)["fb.run-"] == ("neg", "house.neg", "fb.neg", 1.0)
    assert wires(system)["l1.run-"] == ("neg", "fb.neg", "l1.neg", 1.0)


def test_a_panel_may_return_to_a_bar_of_both_poles() -> None:
    text = SMALL + "bus bar both\npanel fb ways 4, return bar\nload l1 1 A\n"
    text += "house -//- [fuse] -- 1 m -- bar\nbar.pos -- [fuse] -- 1 m -- fb\nfb -//- 1 m -- l1\n"
    system = sound(text)
    assert wires(system)["l1.run-"][1] == "bar.neg"
    assert wires(system)["house.run+"] == ("pos", "house.run:1", "bar.pos", 1.0)


def test_a_tap_makes_a_run_of_each_leg() -> None:
    system = sound(SMALL + "load a 1 A\nload b 1 A\nhouse -//- [fuse] -- 2 m, 10 AWG -- a -- 1 m -- b\n")
    assert [run for run in system.runs] == ["a.run", "b.run"]
    assert wires(system)["b.run+"] == ("pos", "a.pos", "b.pos", 1.0)
    assert wires(system)["b.run-"] == ("neg", "a.neg", "b.neg", 1.0)
    assert system.runs["a.run"].size == Size("10", "AWG") and system.runs["b.run"].size is None


def test_a_named_run_is_called_by_its_name_and_its_legs_are_numbered() -> None:
    one = sound(SMALL + "load a 1 A\nw12: house -//- [fuse] -- 2 m -- a\n")
    assert list(one.runs) == ["w12"] and list(one.conductors) == ["w12+", "w12-"]
    assert list(one.devices) == ["w12.fuse"] and one.conductors["w12+"].marker == "w12+"
    two = sound(SMALL + "load a 1 A\nload b 1 A\nw12: house -//- 2 m -- a -- 1 m -- b\n")
    assert list(two.runs) == ["w12-1", "w12-2"]


def test_a_tap_at_a_splice_behind_a_load_is_called_by_the_splice() -> None:
    """The leg before it is called by the load already."""
    text = SMALL + "load a 1 A\nload b 1 A\njunction j\nhouse -//- 2 m -- a -- 1 m -- j -- 1 m -- b\n"
    assert list(sound(text).runs) == ["a.run", "j.run", "b.run"]


def test_addresses_do_not_depend_on_which_way_a_circuit_gets() -> None:
    text = SMALL + "panel fb ways 4\nload a 1 A\njunction j\nhouse -//- 1 m -- fb\nWAY -//- 2 m -- j\nj -//- 1 m -- a\n"
    free, numbered = sound(text.replace("WAY", "fb")), sound(text.replace("WAY", "fb.1"))
    assert list(free.runs) == list(numbered.runs) == ["fb.run", "j.run", "a.run"]


def test_devices_of_a_pair_sit_in_the_positive_conductor() -> None:
    system = sound(SMALL + "load a 1 A\nhouse -//- 1 m -- [s: switch 10 A] -- 2 m -- a\n")
    assert wires(system) == {
        "a.run+/1": ("pos", "house.pos", "a.run:1", 1.0),
        "a.run+/2": ("pos", "a.run:2", "a.pos", 2.0),
        "a.run-": ("neg", "house.neg", "a.neg", 3.0),
    }


def test_a_device_of_two_poles_divides_both_conductors() -> None:
    system = sound(SMALL + "load a 1 A\nhouse -//- 1 m -- [f: fuse] -- 1 m -- [s: switch 10 A, poles 2] -- 2 m -- a\n")
    assert wires(system) == {
        "a.run+/1": ("pos", "house.pos", "a.run:1", 1.0),
        "a.run+/2": ("pos", "a.run:2", "a.run:3", 1.0),
        "a.run+/3": ("pos", "a.run:4", "a.pos", 2.0),
        "a.run-/1": ("neg", "house.neg", "a.run:-1", 2.0),
        "a.run-/2": ("neg", "a.run:-2", "a.neg", 2.0),
    }
    assert system.devices["s"].legs == (("a.run:3", "a.run:4"), ("a.run:-1", "a.run:-2"))
    assert system.runs["a.run"].circuit_length_m == 8.0


def test_a_two_pole_device_of_a_way_opens_the_return_too() -> None:
    text = SMALL + "panel fb ways 4, breaker\nload a 1 A\nhouse -//- 1 m -- fb\nfb.2 -//- [10 A, poles 2] -- 2 m -- a\n"
    system = sound(text)
    assert system.devices["fb.2"].legs == (("fb.feed", "fb.2"), ("fb.neg", "fb.2.neg"))
    assert system.devices["fb.2"].kind == "breaker" and system.devices["fb.2"].poles == 2
    assert wires(system)["a.run-"] == ("neg", "fb.2.neg", "a.neg", 2.0)


def test_what_a_stretch_says_holds_for_the_whole_run() -> None:
    text = SMALL + "load a 1 A\nroute r 2 m, engine-space, conduit\n"
    text += "house -//- 1 m, via r, 4 mm2, parallel 2, insulation 90 degC, sheath -- a\n"
    run = sound(text).runs["a.run"]
    assert (run.size, run.parallel, run.insulation_c, run.sheath) == (Size("4", "mm2"), 2, 90.0, True)
    assert (run.length_m, run.engine_space, run.laid) == (3.0, True, "conduit")


@pytest.mark.parametrize(
    ("way", "outside_m"),
    [
        ("3 m", None), ("3 m, sheath", 0.0), ("1 m -- [f: fuse] -- 2 m, sheath", 1.0),
        ("0.2 m -- 2 m, sheath -- 0.1 m -- 0.2 m", 0.3), ("1 m, sheath -- 0.4 m -- 1 m, sheath -- 0.2 m", 0.6),
    ],
)  # fmt: skip
def test_a_run_half_in_a_sheath_tells_how_far_it_leaves_it(way: str, outside_m: float | None) -> None:
    system = sound(SMALL + f"load a 1 A\nhouse -//- {way} -- a\n" if "fuse" in way else _fused(way))
    assert system.runs["a.run"].sheath is (outside_m == 0.0)
    assert system.runs["a.run"].outside_m == outside_m


def _fused(way: str) -> str:
    return SMALL + f"load a 1 A\nhouse -//- [f: fuse] -- {way} -- a\n"


def test_lengths_in_feet_and_inches_are_counted_in_metres() -> None:
    system = sound(SMALL + "load a 1 A\nhouse -//- 5 ft 6 in -- a\n")
    assert system.runs["a.run"].length_m == pytest.approx(5.5 * 0.3048)  # the international foot, 1959


def test_a_single_run_lands_on_the_pole_that_its_other_end_tells() -> None:
    text = SMALL + "bus plus positive\nbus minus negative\nload a 1 A\nhouse.pos -- [fuse] -- 1 m -- plus\n"
    system = sound(text + "house.neg -- 1 m -- minus\nplus -- [f: fuse] -- 3 m -- a\na -- 2 m -- minus\n")
    assert wires(system)["a.pos.run"] == ("pos", "a.pos.run:1", "a.pos", 3.0)
    assert wires(system)["a.neg.run"] == ("neg", "a.neg", "minus", 2.0)


def test_a_splice_of_a_single_run_is_one_node_and_of_a_pair_two() -> None:
    text = SMALL + "junction j\njunction k\nload a 1 A\nhouse.pos -- [fuse] -- 1 m -- j\nj -- 1 m -- a.pos\n"
    system = sound(text + "a.neg -- 1 m -- house.neg\nload b 1 A\na -//- 1 m -- k\nk -//- 1 m -- b\n")
    assert system.nodes["j"].pole == "pos"
    assert (system.nodes["k.pos"].pole, system.nodes["k.neg"].pole) == ("pos", "neg")


def test_earthing_carries_no_current_and_a_chassis_does() -> None:
    text = SMALL + "earth hull\nload a 1 A\nhouse -//- 1 m -- a\nhouse.neg -- 2 m, 16 mm2 -- hull\n"
    bond = sound(text).runs["house.neg.run"]
    assert bond.earth and bond.circuit_length_m == 0.0 and sound(text).conductors["house.neg.run"].pole == "pe"
    text = SMALL + "earth chassis conducts, 2 mohm\nload a 1 A\nhouse.pos -- [fuse] -- 3 m -- a.pos\n"
    text += "a.neg -- 1 m -- chassis\nhouse.neg -- chassis\n"
    system = sound(text)
    assert not system.runs["a.neg.run"].earth and system.conductors["a.neg.run"].pole == "neg"
    assert system.ties == (("house.neg", "chassis"),) and system.runs["house.neg.run"].conductor_ids == ()
    assert system.parts["chassis"].values["resistance_ohm"] == pytest.approx(0.002)


def test_two_fuses_on_one_way_are_two_devices() -> None:
    text = SMALL + "panel fb ways 4\nload a 1 A\nhouse -//- 1 m -- fb\nfb.1 -//- [nav: fuse 5 A] -- 2 m -- a\n"
    system = sound(text)
    assert set(system.devices) == {"fb.1", "nav"}
    assert system.devices["nav"].legs == (("fb.1", "a.run:1"),)
    assert wires(system)["a.run+"] == ("pos", "a.run:1", "a.pos", 2.0)


def test_a_source_may_feed_a_panel_through_a_way() -> None:
    text = (
        SMALL
        + "panel fb ways 4\nalternator alt 14 V, 50 A\nhouse -//- [fuse] -- 1 m -- fb\nalt -//- 2 m -- [30 A] -- fb.2\n"
    )
    system = sound(text)
    assert system.devices["fb.2"].rating_a == 30.0
    assert wires(system)["fb.2.run+"] == ("pos", "alt.pos", "fb.2", 2.0)
