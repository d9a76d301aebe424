"""The same plate under two rule profiles, compared by the command that compares designs."""

from __future__ import annotations

import json
from itertools import permutations
from pathlib import Path

import pytest
from command import run, write

from copperplate.design import compile_plate
from copperplate.model.results import Design
from copperplate.text import Source

PROFILES = ("cfr-183", "iso-13297", "nec", "iec-60364")
PLATE = """system "Small"
  nominal 12 V
  rules {rules}
  conductors mm2
  insulation 75 degC
battery house "Bank" 12.8 V, 100 Ah, lifepo4
  range 12.0..14.4 V
  fault-current 2 kA
bus minus "Negative bar" negative, 100 A
panel block "Fuse block" blade, 100 A, ways 6, return minus
load pump "Pump" 10 A, drop 10 %
load lamp "Lamp" 1 A, drop 10 %
load radio "Radio" 3 A
house.pos -- [main: fuse class-t, 60 A] -- 1 m -- block
house.neg -- 1.2 m -- minus
block.1 -//- 2 m -- pump
block.2 -//- 2 m -- lamp
block.3 -//- 4 m -- radio
"""


def under(rules: str) -> Design:
    design, findings = compile_plate(Source(f"{rules}.plate", PLATE.format(rules=rules)), lambda name: None)
    assert design is not None
    assert not [f for f in findings if f.severity == "error"], [f.message for f in findings]
    assert design.rechecked
    return design


@pytest.fixture(scope="module")
def designs() -> dict[str, Design]:
    return {rules: under(rules) for rules in PROFILES}


def test_each_profile_sizes_by_its_own_rules(designs: dict[str, Design]) -> None:
    """A lamp of 1 A takes the least size of each: 33 CFR 183.425(e) 16 AWG, read as 1.5 mm²; ISO 10133 7.7 1 mm²; NEC
    720.4 12 AWG below 50 V, read as 4 mm²; IEC 60364-5-52 Table 52.2 1.5 mm²."""
    least = {rules: design.runs["lamp.run"].size for rules, design in designs.items()}
    assert {rules: size.label for rules, size in least.items() if size} == {
        "cfr-183": "1.5 mm²", "iso-13297": "1 mm²", "nec": "4 mm²", "iec-60364": "1.5 mm²",
    }  # fmt: skip
    assert len({design.profile_title for design in designs.values()}) == 4


@pytest.mark.parametrize(("old", "new"), tuple(permutations(PROFILES, 2)))
def test_two_profiles_are_compared(old: str, new: str, designs: dict[str, Design], tmp_path: Path) -> None:
    for rules in (old, new):
        write(tmp_path, PLATE.format(rules=rules), f"{rules}.plate")
    done = run("diff", f"{old}.plate", f"{new}.plate", "--format", "json", cwd=tmp_path)
    assert done.returncode == 0
    value = json.loads(done.stdout)
    assert value["comparable"] and value["differs"] and not value["counts"]["added"] and not value["counts"]["removed"]
    (rules,) = [c for c in value["changes"] if c["kind"] == "system"]
    assert {(f["old"], f["new"]) for f in rules["causes"] if f["fact"] == "rules"} == {(old, new)}
    resized = {run for run, result in designs[old].runs.items() if result.size != designs[new].runs[run].size}
    assert resized
    told = {c["address"] for c in value["changes"] if c["change"] == "changed"}
    assert resized <= told


def test_the_first_line_says_which_rules(tmp_path: Path) -> None:
    for rules in ("cfr-183", "nec"):
        write(tmp_path, PLATE.format(rules=rules), f"{rules}.plate")
    done = run("diff", "cfr-183.plate", "nec.plate", cwd=tmp_path)
    lines = [line for line in done.stdout.splitlines() if line.startswith("~")]
    assert lines[0].split() == ["~", "system", "rules", "cfr-183", "->", "nec"]
    assert any("lamp.run" in line and "mm²" in line for line in lines)


SHORE = """system "Shore"
  nominal 12 V
  rules {rules}
  conductors mm2
  ac 230 V
shore inlet "Shore inlet" 230 V, 16 A, fault-current 3 kA, earth-loop 0.4 ohm, bonds-neutral
panel mains "Consumer unit" ac, breaker, ways 2
load heater "Heater" ac, 1000 W
inlet -///- 2 m -- [main: breaker 16 A, curve c, breaks 6 kA] -- mains
mains.1 -///- 40 m, 1.5 mm2 -- [guard: breaker 10 A, curve d, breaks 6 kA] -- heater
"""
CITED = {
    "cfr-183": "IEC 60364-4-41 411.3.2, taken as practice",
    "iso-13297": "IEC 60364-4-41 411.3.2, taken as practice",
    "nec": "NEC 250.4(A)(5), 250.122, which give no time",
    "iec-60364": "IEC 60364-4-41 411.3.2, with figures",
}


@pytest.mark.parametrize("rules", PROFILES)
def test_an_earth_fault_is_cited_by_the_rules_of_the_plate(rules: str) -> None:
    _, findings = compile_plate(Source("shore.plate", SHORE.format(rules=rules)), lambda name: None)
    (earth,) = [f for f in findings if f.code == "CP716"]
    assert earth.rule.startswith(CITED[rules])
