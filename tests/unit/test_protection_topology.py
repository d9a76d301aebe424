"""What stands between a conductor and its sources: guards and unprotected stretches."""

from __future__ import annotations

from hand_built import build, part

from copperplate.protection.circuit import ungrounded_circuit
from copperplate.protection.regions import regions
from copperplate.protection.topology import guard, survey

PLUS, MINUS = part("plus", "bus"), part("minus", "bus")
HOUSE = part("house", "battery")
FRIDGE, INV, CABIN = part("fridge", "load"), part("inv", "inverter"), part("cabin", "panel")


def guards_of(system):
    return guard(system)[0]


def survey_of(system):
    circuit = ungrounded_circuit(system)
    return survey(system, circuit, regions(circuit))


def test_a_chain_behind_a_main_fuse():
    system = build(
        [HOUSE, PLUS, MINUS, INV],
        [
            ("house.pos", 0.4, ("main", "fuse"), 0.3, ("isolator", "switch"), 0.9, "plus"),
            ("plus", 1.2, "inv.pos"),
            ("inv.neg", 1.3, "minus"),
        ],
    )
    guards = guards_of(system)
    assert list(guards) == ["house.pos.run/1", "house.pos.run/2", "house.pos.run/3", "inv.pos.run/1"]
    first = guards["house.pos.run/1"]
    assert (first.devices, first.own_end, first.origin, first.unprotected_m) == ((), ("main",), "battery", 0.4)
    for piece in ("house.pos.run/2", "house.pos.run/3", "inv.pos.run/1"):
        assert (guards[piece].devices, guards[piece].own_end, guards[piece].origin) == (("main",), (), "")
        assert guards[piece].sources == ("house",)


def test_a_branch_with_its_own_fuse_a_little_way_from_the_bar():
    system = build(
        [HOUSE, PLUS, INV, FRIDGE],
        [
            ("house.pos", 0.4, ("main", "fuse"), 0.9, "plus"),
            ("plus", 0.1, ("key", "switch"), 0.05, ("inv.fuse", "fuse"), 1.2, "inv.pos"),
            ("plus", ("fridge.fuse", "fuse"), 3.0, "fridge.pos"),
        ],
    )
    guards = guards_of(system)
    for piece in ("inv.pos.run/1", "inv.pos.run/2"):
        got = guards[piece]
        assert (got.devices, got.own_end, got.origin) == (("main",), ("inv.fuse",), "bar")
        assert abs(got.unprotected_m - 0.15) < 1e-12
    assert guards["inv.pos.run/3"].devices == ("inv.fuse",)
    assert guards["fridge.pos.run/1"].devices == ("fridge.fuse",)
    assert guards["fridge.pos.run/1"].origin == ""


def test_ways_of_a_panel_protect_from_their_start():
    system = build(
        [HOUSE, CABIN, FRIDGE],
        [("house.pos", 0.5, "cabin.feed"), (("way", "cabin.3"), 7.0, "fridge.pos")],
    )
    guards, stretches = survey_of(system)
    assert guards["cabin.feed.run/1"].own_end == ("cabin.3",)
    assert guards["cabin.feed.run/1"].origin == "battery"
    assert guards["fridge.pos.run/1"].devices == ("cabin.3",)
    assert [(s.device, s.length_m) for s in stretches] == [("cabin.3", 0.5)]


def test_two_batteries_protect_from_both_ends():
    system = build(
        [HOUSE, part("start", "battery"), PLUS, INV],
        [
            ("house.pos", 0.4, ("main", "fuse", {"rating_a": 250.0}), 0.9, "plus"),
            ("start.pos", 0.3, ("second", "fuse", {"rating_a": 100.0}), 2.0, "plus"),
            ("plus", 1.2, "inv.pos"),
        ],
    )
    guards = guards_of(system)
    assert guards["house.pos.run/1"].devices == ("main",)  # the other battery comes through it
    assert guards["house.pos.run/2"].sides == (("main",), ("second",))
    assert guards["inv.pos.run/1"].sides == (("main", "second"),)
    assert guards["inv.pos.run/1"].upstream_a({"main": 250.0, "second": 100.0}) == 350.0
    assert guards["house.pos.run/2"].upstream_a({"main": 250.0, "second": 100.0}) == 250.0


def test_one_fuse_between_two_batteries_leaves_both_ends_bare():
    system = build(
        [HOUSE, part("start", "battery")],
        [("house.pos", 1.0, ("middle", "fuse"), 1.5, "start.pos")],
    )
    guards = guards_of(system)
    assert [(g.origin, g.unprotected_m, g.devices) for g in guards.values()] == [
        ("battery", 1.0, ("middle",)),
        ("battery", 1.5, ("middle",)),
    ]


def test_current_limited_sources_need_no_device_at_their_own_end():
    system = build(
        [HOUSE, PLUS, part("alt", "alternator", self_limiting=True), part("mppt", "controller")],
        [
            ("house.pos", 0.4, ("main", "fuse"), 0.9, "plus"),
            ("plus", ("alt.fuse", "fuse"), 1.5, "alt.pos"),
            ("plus", ("mppt.fuse", "fuse"), 1.5, "mppt.pos"),
        ],
    )
    guards = guards_of(system)
    assert guards["alt.pos.run/1"].devices == ("alt.fuse",)
    assert guards["alt.pos.run/1"].origin == ""
    assert guards["house.pos.run/1"].devices == ()


def test_an_alternator_that_does_not_limit_itself_is_a_source():
    system = build(
        [HOUSE, PLUS, part("alt", "alternator")],
        [("house.pos", 0.4, ("main", "fuse"), 0.9, "plus"), ("plus", ("alt.fuse", "fuse"), 1.5, "alt.pos")],
    )
    got = guards_of(system)["alt.pos.run/1"]
    assert (got.devices, got.own_end, got.origin, got.unprotected_m) == (("alt.fuse",), ("alt.fuse",), "bar", 1.5)


def test_a_ring_fed_through_two_fuses_is_protected_by_both():
    system = build(
        [HOUSE, PLUS, part("a", "junction"), FRIDGE],
        [
            ("house.pos", 0.4, ("main", "fuse"), 0.9, "plus"),
            ("plus", ("ring-1", "fuse"), 2.0, "a"),
            ("a", 3.0, ("ring-2", "fuse"), "plus"),
            ("a", 1.0, "fridge.pos"),
        ],
    )
    guards = guards_of(system)
    assert guards["a.run/1"].sides == (("ring-1",), ("ring-2",)) or guards["a.run/1"].devices
    assert guards["fridge.pos.run/1"].devices == ("ring-1", "ring-2")
    # Seen from the bar the ring holds no source of its own, so it feeds nothing back.
    assert guards["house.pos.run/2"].devices == ("main",)


def test_a_loop_of_bare_wire_counts_as_fed_from_both_ends():
    system = build(
        [HOUSE, PLUS, part("aft", "bus")],
        [
            ("house.pos", 0.4, ("main", "fuse"), 0.9, "plus"),
            ("plus", 2.0, "aft"),
            ("aft", 5.0, "plus"),
        ],
    )
    guards = guards_of(system)
    assert guards["plus.run/1"].sides == (("main",), ("main",))
    assert guards["aft.run/1"].sides == (("main",), ("main",))


def test_wire_without_any_device_is_a_stretch_without_one():
    system = build(
        [HOUSE, PLUS, INV],
        [("house.pos", 0.4, "plus"), ("plus", 1.2, "inv.pos")],
    )
    _, stretches = survey_of(system)
    assert [(s.device, s.end, round(s.length_m, 3)) for s in stretches] == [("", "inv.pos", 1.6)]


def test_behind_a_converter_alone_its_own_current_is_the_bound():
    conv = part("conv", "converter", current_a=40.0)
    system = build(
        [conv, CABIN, FRIDGE, part("horn", "load")],
        [
            ("conv.out.pos", 1.0, "cabin.feed"),
            (("way", "cabin.3"), 7.0, "fridge.pos"),
            (("way", "cabin.4", {"rating_a": 5.0}), 7.0, "horn.pos"),
        ],
    )
    guards = guards_of(system)
    feed = guards["cabin.feed.run/1"]
    assert (feed.devices, feed.sources, feed.limited_a, feed.upstream_a({})) == ((), (), 40.0, 40.0)
    assert guards["fridge.pos.run/1"].devices == ("cabin.3",)
    assert guards["horn.pos.run/1"].upstream_a({"cabin.4": 5.0}) == 5.0
