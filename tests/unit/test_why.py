"""The tree and the ladder: what they show is what the design says, in 72 columns as in 100."""

from __future__ import annotations

import inspect
import re
import sys
from dataclasses import replace

import pytest

from copperplate.design import compile_plate
from copperplate.model import Assumption
from copperplate.model.results import Design
from copperplate.text import Source
from copperplate.units import number
from copperplate.why import ladder, ladder_json, run_of, show

PLATE = '''\
system "Small"
  nominal 12 V
  rules cfr-183
battery house "Bank" 12.8 V, 100 Ah, lifepo4, parallel 2
  link 0.3 m
  range 12.0..14.4 V
  fault-current 3 kA
bus plus "Positive bar" positive, 200 A
bus minus "Negative bar" negative, 200 A
panel block "Fuse block" blade, ways 6, 60 A, return minus
inverter inv "Inverter" 600 W, 230 V
load fridge "Fridge" 50 W, works 10.5..15 V
load lamp-a "First lamp" 1 A, drop 10 %
load lamp-b "Second lamp" 1 A, drop 10 %
house.pos -- 0.3 m -- [main: fuse class-t] -- [isolator: switch 200 A] -- 1 m -- plus
house.neg -- 1.2 m -- minus
plus -- [fuse class-t] -- 1 m -- inv.pos
inv.neg -- 1.1 m -- minus
plus -- [fuse class-t] -- 1 m -- block
block.1 -//- 3.5 m, 12 AWG -- fridge
block.2 -//- 2 m -- lamp-a -- 1 m -- lamp-b
'''


@pytest.fixture(scope="module")
def design() -> Design:
    found, findings = compile_plate(Source("small.plate", PLATE), lambda name: None)
    assert found is not None and not [f for f in findings if f.severity == "error"], findings
    return found


def test_every_run_stands_in_the_tree_once(design: Design) -> None:
    tree = show(design)
    assert tree.startswith("house  12.8 V 200 Ah lifepo4\n└─ 0.3 m ")
    assert re.search(r"─\[main \S+ A\]─\[isolator 200 A\]─ 1 m ─ plus  ▕[█░]{8}▏ \S+ of \S+ A\n", tree)
    assert re.search(r"1 +\S+ A +3\.5 m 12 AWG +fridge ", tree)
    for name in ("inv", "lamp-a", "lamp-b", "house.neg", "inv.neg"):
        assert len(re.findall(rf"(?<![\w.-]){re.escape(name)}(?![\w.-])", tree)) == 1, name


def test_figures_of_the_tree_are_those_of_the_design(design: Design) -> None:
    for load in design.loads.values():
        (line,) = [text for text in show(design).splitlines() if re.search(rf" {re.escape(load.load)}  ", text)]
        assert f"{load.voltage_v:.1f} V" in line
        assert f"{load.drop_percent:.1f} of {number(load.budget_percent)} %" in line


def test_a_chain_of_more_taps_than_the_stack_is_deep_is_a_tree_like_any_other(design: Design) -> None:
    taps = 300
    lamps = "".join(f'load t{n} "Tap" 1 mA, drop 10 %\n' for n in range(taps))
    run = "block.3 -//- " + " -- ".join(f"1 cm -- t{n}" for n in range(taps)) + "\n"
    deep, _ = compile_plate(Source("deep.plate", PLATE + lamps + run), lambda name: None)
    assert deep is not None
    most = sys.getrecursionlimit()
    sys.setrecursionlimit(len(inspect.stack()) + taps - 50)
    try:
        shown = show(deep)
    finally:
        sys.setrecursionlimit(most)
    assert f"t{taps - 1}" in shown


@pytest.mark.parametrize("width", [72, 100])
def test_the_ladder_keeps_to_the_width(design: Design, width: int) -> None:
    for run in design.system.runs:
        assert max(map(len, ladder(design, run, width).splitlines())) <= width


def test_the_ladder_says_what_the_run_result_says(design: Design) -> None:
    result = design.runs["fridge.run"]
    text = ladder(design, "fridge.run", 100)
    assert text.splitlines()[0].startswith("fridge.run   12 AWG, on way block.1 (")
    assert text.splitlines()[0].endswith("stated by the plate, and checked")
    assert f"{number(result.design_current.value)} A" in text
    assert "7 m        3.5 m out and back" in text
    for candidate in result.candidates:
        if candidate.chosen:
            assert candidate.size.label in text
            assert all(rung.shown in text for rung in candidate.rungs)
    assert "chosen" in text
    load = design.loads["fridge"]
    assert f"{load.voltage_v:.2f} V at `fridge`" in text


def test_the_ladder_lists_what_was_assumed_for_the_run(design: Design) -> None:
    assumed = Assumption("fridge.run", "the air around it is 30 °C")
    text = ladder(replace(design, assumptions=(assumed,)), "fridge.run", 100)
    assert "assumed          the air around it is 30 °C" in text
    assert "assumed          nothing for this run" in ladder(replace(design, assumptions=()), "fridge.run", 100)


def test_a_run_without_a_result_says_so(design: Design) -> None:
    assert "not sized" in ladder(replace(design, runs={}), "fridge.run", 72)


@pytest.mark.parametrize(
    ("address", "run"),
    [
        ("fridge.run", "fridge.run"), ("fridge", "fridge.run"), ("block.1", "fridge.run"),
        ("fridge.run-", "fridge.run"), ("fridge+", "fridge.run"), ("main", "house.pos.run"),
        ("isolator", "house.pos.run"), ("inv", "inv.pos.run"), ("inv.neg", "inv.neg.run"),
        ("house.pos/1", "house.pos.run"), ("block", "block.run"), ("nothing", None),
    ],
)  # fmt: skip
def test_whatever_names_a_run_finds_it(design: Design, address: str, run: str | None) -> None:
    assert run_of(design, address) == run


def test_json_holds_the_run_its_devices_and_its_loads(design: Design) -> None:
    value = ladder_json(design, "fridge.run")
    assert value["run"]["id"] == "fridge.run" and value["run"]["size"] == "12 AWG"
    assert [d["id"] for d in value["devices"]] == ["block.1"]
    assert [load["id"] for load in value["loads"]] == ["fridge"]
