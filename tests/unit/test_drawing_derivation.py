"""Rows of ladders and trees of cables: what is derived from the wiring before anything is drawn."""

from __future__ import annotations

import re
from typing import Any

from copperplate import resolve, syntax
from copperplate.design import compile_plate
from copperplate.drawing import sheets
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


def derived(text: str) -> list[LadderSection]:
    return branches(wiring(text))


def ids(steps: list[Any]) -> list[str]:
    return [step if isinstance(step, str) else step.id for step in steps]


def test_a_way_is_a_row_of_fuse_and_conductor_out_and_back() -> None:
    (section,) = derived(
        HEAD + "panel cabin blade, ways 4, return minus\nload lamp 1 A\n"
        "plus -- [fuse] -- 1 m -- cabin\ncabin.2 -//- 3 m -- lamp\n"
    )
    (row,) = section.rows
    assert (section.rail, section.back, section.ways) == ("cabin.feed", "minus", 4)
    assert (row.way, row.part, row.flag_back) == (2, "lamp", False)
    assert ids(row.positive) == ["cabin.2", "lamp.run+"] and ids(row.negative) == ["lamp.run-"]


def test_taps_are_rows_that_hang_from_the_row_above() -> None:
    (section,) = derived(
        HEAD + "panel cabin blade\nload a 1 A\nload b 1 A\nplus -- [fuse] -- 1 m -- cabin.feed\n"
        "cabin.neg -- 1 m -- minus\ncabin.1 -//- 3 m -- a -- 1 m -- b\n"
    )
    first, second = section.rows
    assert (second.above, second.start, second.above_back, second.flag_back) == (0, "a.pos", 0, False)
    assert ids(first.positive) == ["cabin.1", "a.run+", "a.pos"]


def test_a_return_by_the_chassis_is_flagged() -> None:
    (section,) = derived(
        HEAD
        + "earth chassis conducts, 2 mohm\nminus -- 0.5 m -- chassis\npanel cabin blade, return minus\nload a 1 A\n"
        "load b 1 A\nload c 1 A\nplus -- [fuse] -- 1 m -- cabin\ncabin.1 -//- 3 m -- a\ncabin.2 -//- 3 m -- b\n"
        "cabin.3 -- 2 m -- c.pos\nc.neg -- 0.3 m -- chassis\n"
    )
    assert [row.flag_back for row in section.rows] == [False, False, True]
    assert section.rows[2].back_to == "chassis"


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
