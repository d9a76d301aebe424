"""Rows and bays: what is derived from the wiring before anything is drawn."""

from __future__ import annotations

import re
from typing import Any

from copperplate import resolve, syntax
from copperplate.design import compile_plate
from copperplate.drawing import sheets
from copperplate.drawing.bays import Power, bays
from copperplate.drawing.branches import LadderSection, branches
from copperplate.drawing.cables import supply
from copperplate.drawing.wiring import DcWiring
from copperplate.text import Source

HEAD = """system "Test"
  nominal 12 V
  ac 230 V
battery house 12.8 V, 100 Ah, lifepo4, fault-current 3 kA
bus plus positive
bus minus negative
house.pos -- 0.3 m -- [main: fuse class-t] -- 0.5 m -- plus
house.neg -- 0.5 m -- minus
"""


def wiring(text: str) -> DcWiring:
    tree, _ = syntax.parse(Source("test.plate", text))
    system, findings = resolve.resolve(tree, lambda name: None)
    assert system is not None, findings
    return DcWiring(system)


def derived(text: str) -> tuple[list[LadderSection], Power]:
    found = wiring(text)
    sections, used, sides = branches(found)
    return sections, bays(found, used, sides, [section.rail for section in sections])


def ids(steps: list[Any]) -> list[str]:
    return [step if isinstance(step, str) else step.id for step in steps]


def test_a_way_is_a_row_of_fuse_and_conductor_out_and_back() -> None:
    (section,), _ = derived(
        HEAD + "panel cabin blade, ways 4, return minus\nload lamp 1 A\n"
        "plus -- [fuse] -- 1 m -- cabin\ncabin.2 -//- 3 m -- lamp\n"
    )
    (row,) = section.rows
    assert (section.rail, section.back, section.ways) == ("cabin.feed", "minus", 4)
    assert (row.way, row.part, row.flag_back) == (2, "lamp", False)
    assert ids(row.positive) == ["cabin.2", "lamp.run+"] and ids(row.negative) == ["lamp.run-"]


def test_taps_are_rows_that_hang_from_the_row_above() -> None:
    (section,), _ = derived(
        HEAD + "panel cabin blade\nload a 1 A\nload b 1 A\nplus -- [fuse] -- 1 m -- cabin.feed\n"
        "cabin.neg -- 1 m -- minus\ncabin.1 -//- 3 m -- a -- 1 m -- b\n"
    )
    first, second = section.rows
    assert (second.above, second.start, second.above_back, second.flag_back) == (0, "a.pos", 0, False)
    assert ids(first.positive) == ["cabin.1", "a.run+", "a.pos"]


def test_a_return_by_the_chassis_is_flagged() -> None:
    (section,), _ = derived(
        HEAD
        + "earth chassis conducts, 2 mohm\nminus -- 0.5 m -- chassis\npanel cabin blade, return minus\nload a 1 A\n"
        "load b 1 A\nload c 1 A\nplus -- [fuse] -- 1 m -- cabin\ncabin.1 -//- 3 m -- a\ncabin.2 -//- 3 m -- b\n"
        "cabin.3 -- 2 m -- c.pos\nc.neg -- 0.3 m -- chassis\n"
    )
    assert [row.flag_back for row in section.rows] == [False, False, True]
    assert section.rows[2].back_to == "chassis"


def test_a_source_behind_a_controller_hangs_from_it() -> None:
    _, power = derived(
        HEAD + "solar roof 100 W, voc 22 V, isc 6 A, vmp 18 V, imp 5.5 A\n"
        "controller mppt 20 A, max-input 75 V, output 14.4 V\n"
        "plus -- [fuse] -- 1 m -- mppt.pos\nmppt.neg -- 1 m -- minus\nroof -//- 4 m -- mppt.pv\n"
    )
    bay = next(c for c in power.bays if c.parts and c.parts[0].id == "mppt")
    assert (bay.top, bay.bottom) == ("plus", "minus")
    (hung,) = bay.hung
    assert hung.loop and (hung.hangs_from, hung.side) == ("mppt", "pv")
    assert [edge.id for edge in hung.parts] == ["roof"]


def test_batteries_linked_one_to_the_next_are_one_bank() -> None:
    text = HEAD.replace("house.neg -- 0.5 m -- minus\n", "") + (
        "battery two 12.8 V, 100 Ah, lifepo4, fault-current 3 kA\n"
        "battery three 12.8 V, 100 Ah, lifepo4, fault-current 3 kA\n"
        "u1: house.pos -- 0.3 m -- two.pos\nu2: two.pos -- 0.3 m -- three.pos\n"
        "l1: house.neg -- 0.3 m -- two.neg\nl2: two.neg -- 0.3 m -- three.neg\nthree.neg -- 0.5 m -- minus\n"
    )
    _, power = derived(text)
    bank = power.banks["house"]
    assert [string[0].id for string in bank.strings] == ["house", "two", "three"]
    assert (bank.pos, bank.neg) == ("house.pos", "three.neg")
    assert len(power.bays) == 1


def test_a_feeder_from_bar_to_bar_is_a_link_between_neighbours() -> None:
    _, power = derived(HEAD + "bus aft positive\nplus -- [aft-fuse: fuse class-t] -- 3 m -- aft\n")
    (link,) = [c for c in power.bays if c.link]
    assert (link.link, link.top, link.bottom) == ("top", "plus", "aft")


def test_without_a_bar_the_terminals_of_the_battery_are_rails() -> None:
    text = (
        HEAD.split("bus plus")[0]
        + "load a 1 A\nload b 1 A\nhouse -//- [f1: fuse] -- 2 m -- a\nhouse -//- [f2: fuse] -- 2 m -- b\n"
    )
    (section,), power = derived(text)
    assert (section.rail, section.back, len(section.rows)) == ("house.pos", "house.neg", 2)
    assert power.rails == ["house.pos", "house.neg"]


def test_every_edge_stands_on_one_row_or_column() -> None:
    found = wiring(
        HEAD + "panel cabin blade, return minus\njunction j\nload a 1 A\nload b 1 A\nload c 1 A\n"
        "plus -- [fuse] -- 1 m -- cabin\n"
        "cabin.1 -//- 3 m -- a\ncabin.2 -- 1 m -- j\nj -- 1 m -- b.pos\nj -- 2 m -- c.pos\n"
        "b.neg -- 1 m -- minus\nc.neg -- 1 m -- minus\n"
    )
    sections, used, sides = branches(found)
    power = bays(found, used, sides, [section.rail for section in sections])
    on_rows = [
        s
        for section in sections
        for row in section.rows
        for s in (*row.positive, *row.negative)
        if not isinstance(s, str)
    ]
    on_columns = [edge for bay in power.bays for edge in bay.path if edge.kind != "part"]
    assert sorted(e.id for e in (*on_rows, *on_columns)) == sorted(e.id for e in found.edges)


def test_ac_is_a_forest_from_its_supplies() -> None:
    found = wiring(
        HEAD
        + "shore dock 16 A, 230 V\npanel mains ac, 16 A\nload kettle 900 W, ac\nload boiler 700 W, ac\nearth hull\n"
        "dock -///- 3 m -- [inlet: breaker 16 A, poles 2] -- 2 m -- mains\n"
        "mains.1 -///- 3 m -- kettle -- 1 m -- boiler\n"
        "mains.pe -- 1 m, 6 mm2 -- hull\n"
    )
    forest = supply(found.system)
    assert forest.roots == ["dock"]
    assert [(c.start, c.end, c.way) for c in forest.leaving["mains"]] == [
        ("mains", "kettle", "mains.1"),
        ("mains", "hull", ""),
    ]
    assert [c.end for c in forest.leaving["kettle"]] == ["boiler"]
    cores = {core.pole: core.steps for core in forest.leaving["dock"][0].cores}
    assert [kind for kind, _ in cores["n"]] == ["conductor", "device", "conductor"]
    assert [kind for kind, _ in cores["pe"]] == ["conductor"]


SPLIT = """system "Split phase"
  nominal 48 V
  conductors awg
  units us
  ac 120/240 V split
battery bank 51.2 V, 200 Ah, lifepo4, fault-current 3 kA
inverter inv 6000 W, 240 V, bonds-neutral
bank -//- [fuse class-t] -- 3 ft -- inv
panel house breaker, ac, ways 8, 60 A
load range 3000 W, 240 V, ac
load left 1200 W, ac, leg 1
load right 1200 W, ac, leg 2
inv.ac-out -////- [guard: breaker 30 A, poles 2, curve c] -- 10 ft -- house
house.1 -////- [20 A, poles 2, curve d] -- 10 ft -- range
house.3 -///- [15 A, curve b] -- 10 ft -- left
house.4 -///- [15 A, poles 2, residual 30 mA] -- 10 ft -- right
"""


def test_every_way_of_a_panel_on_two_lines_says_which_line_it_is_on() -> None:
    """And no bar joins ways of different lines; a breaker is given by its curve and its residual current too."""
    found, _ = compile_plate(Source("split.plate", SPLIT), lambda name: None)
    assert found is not None
    (sheet,) = (sheet for sheet in sheets(found) if sheet.slug == "ac")
    groups = re.findall(r'<g[^>]* data-device="([^"]+)">(.*?)</g>', sheet.svg, re.DOTALL)
    said = {name: re.findall(r">([^<>\n]+)</t(?:ext|span)>", body) for name, body in groups}
    assert said["house.1"] == ["L1", "L2", "1", "D 20 A"]
    assert said["house.3"] == ["L1", "3", "B 15 A"]
    assert said["house.4"] == ["L2", "N", "4", "15 A 30 mA"]
    assert said["guard"][:2] == ["guard", "C 30 A"]
