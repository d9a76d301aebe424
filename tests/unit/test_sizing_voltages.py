"""Voltages at loads: both poles, every law, cases, windows, rings, batteries in parallel, a chassis."""

from __future__ import annotations

import pytest
from small_plates import BARS, HEAD, codes, compiled, doubled, size, sound


def test_a_path_runs_out_and_back_and_adds_up() -> None:
    design = sound(BARS + "load x 4 A\ncabin.1 -//- 5 m -- x\n")
    load = design.loads["x"]
    through = [step.through for step in load.path]
    assert through == [
        "", "bank.pos.run/1", "main", "bank.pos.run/2", "feed", "cabin.run", "cabin.1", "x.run+", "x.run-",
        "bank.neg.run",
    ]  # fmt: skip
    assert load.path[0].reached == "bank.pos" and load.path[-1].reached == "bank.neg"
    assert sum(step.lost_v for step in load.path) == pytest.approx(load.solved_drop_v, abs=1e-12)
    assert sum(step.judged_v for step in load.path) == pytest.approx(load.drop_v, abs=1e-12)
    assert load.voltage_v == pytest.approx(12.0 - load.solved_drop_v)
    assert load.run == "x.run" and load.source == "bank" and load.worst_case == "everything"


def test_the_judged_drop_by_the_circular_mil_formula() -> None:
    """US small-craft practice: E = K I L / CM with K = 10.75, L out and back in feet; 10 AWG has 10 380 circular
    mil. 8 A over 2 x 15 ft: 0.2486 V."""
    design = sound("load x 8 A\nbank -//- [fuse] -- 15 ft, 10 AWG -- x\n")
    assert design.loads["x"].drop_v == pytest.approx(10.75 * 8 * 30 / 10380, rel=1e-3)


def test_the_laws_of_loads() -> None:
    """Constant current, power and resistance behind one resistance, by Ohm's law."""
    for law, amperes in (("5 A", lambda v: 5.0), ("60 W", lambda v: 60 / v), ("2.4 ohm", lambda v: v / 2.4)):
        design = sound(f"load x {law}\nbank -//- [fuse] -- 3 m, 10 AWG -- x\n")
        load = design.loads["x"]
        assert load.current_a == pytest.approx(amperes(load.voltage_v), rel=1e-11)


def test_a_stated_resistance_of_a_device_counts() -> None:
    """5 A through 20 mohm: 0.1 V more."""
    plain = sound("load x 5 A, drop 10 %\nbank -//- [fuse] -- 2 m, 10 AWG -- x\n").loads["x"]
    relay = "[relay 20 A, 20 mohm]"
    more = sound(f"load x 5 A, drop 10 %\nbank -//- [fuse] -- 1 m, 10 AWG -- {relay} -- 1 m -- x\n").loads["x"]
    assert more.solved_drop_v - plain.solved_drop_v == pytest.approx(0.1, abs=1e-9)
    assert more.drop_v - plain.drop_v == pytest.approx(0.1, abs=1e-9)


def test_a_chassis_return_adds_its_resistance() -> None:
    """8 A through a chassis of 2 mohm between any two points: 16 mV."""
    text = """earth body "Body" conducts{}
load x 8 A
bank.neg -- 0.3 m -- body
bank.pos -- [fuse] -- 2 m -- x.pos
x.neg -- 0.3 m -- body
"""
    bare, real = sound(text.format("")).loads["x"], sound(text.format(", 2 mohm")).loads["x"]
    assert real.solved_drop_v - bare.solved_drop_v == pytest.approx(0.016, abs=1e-9)
    assert real.drop_v - bare.drop_v == pytest.approx(0.016, abs=1e-9)


def test_a_device_sees_the_charging_voltage_even_when_off() -> None:
    design, findings = compiled("load x 2 A, works 10..14 V\nbank -//- [fuse] -- 2 m -- x\n")
    assert codes(findings) == ["CP312"] and design.loads["x"].highest_v == pytest.approx(14.4)


def test_the_source_alone_below_the_window_is_told_once() -> None:
    _, findings = compiled("load x 2 A, works 12.5..15 V\nbank -//- [fuse] -- 2 m -- x\n")
    assert codes(findings) == ["CP314"]


def test_cases_rule_feeders_and_a_branch_keeps_its_own_load() -> None:
    loads = "load a 10 A\nload b 6 A\ncabin.1 -//- 2 m -- a\ncabin.2 -//- 2 m -- b\n"
    cases = "case day on a\ncase night on b\n"
    design = sound(BARS + loads + cases)
    currents = {run: design.runs[run].design_current.value for run in ("cabin.run", "a.run", "b.run")}
    assert currents == pytest.approx({"cabin.run": 10.0, "a.run": 10.0, "b.run": 6.0})
    assert sound(BARS + loads).runs["cabin.run"].design_current.value == pytest.approx(16.0)
    shared = sound(BARS + loads + "case low\n  on a, b\n  share a 50 %\n")
    assert shared.runs["cabin.run"].design_current.value == pytest.approx(11.0)
    assert shared.runs["a.run"].design_current.value == pytest.approx(10.0)


def test_tapped_legs_carry_all_that_lies_behind() -> None:
    design = sound(BARS + "load a 2 A\nload b 3 A\ncabin.1 -//- 2 m -- a -- 1 m -- b\n")
    assert design.runs["a.run"].design_current.value == pytest.approx(5.0)
    assert design.runs["b.run"].design_current.value == pytest.approx(3.0)


def test_a_converter_draws_what_lies_behind_and_its_supply_is_sized_for_its_rating() -> None:
    text = """converter cv 20 A, in 24 V, out 12 V, efficiency 90 %, isolated
load x 3 A
bank -//- [fuse] -- 1 m -- cv.in
cv.out -//- 2 m -- x
"""
    design = sound(text, doubled())
    supply = design.loads["cv"]
    assert supply.current_a * supply.voltage_v == pytest.approx(3 * 12 / 0.9, rel=1e-9)
    assert design.runs["cv.in.run"].design_current.value == pytest.approx(20 * 12 / 0.9 / (24 - 0.72), rel=1e-9)
    assert design.loads["x"].nominal_v == 12.0 and design.loads["x"].source == "cv"


def test_batteries_in_parallel_share_by_resistance_and_each_lead_carries_all() -> None:
    """Equal batteries of 5 mohm on leads of the same size, 0.5 and 1.5 m a pole: the shares are as the conductances."""
    head = HEAD.replace("fault-current 3 kA", "internal-resistance 5 mohm")
    twin = head[head.index("battery") :].replace("bank", "twin").replace('"Bank"', '"Twin"')
    text = """bus plus "P" positive, 300 A
bus minus "N" negative, 300 A
bank.pos -- [f1: fuse class-t] -- 0.5 m -- plus
bank.neg -- 0.5 m -- minus
twin.pos -- [f2: fuse class-t] -- 1.5 m -- plus
twin.neg -- 1.5 m -- minus
load x 60 A, intermittent
plus -- [f3: fuse class-t] -- 1 m -- x.pos
x.neg -- 1 m -- minus
"""
    design = sound(text, head + twin)
    a, b = (design.conductors[f"{name}.pos.run"] for name in ("bank", "twin"))
    near, far = (a.current_a["everything"], b.current_a["everything"])
    assert near + far == pytest.approx(60.0)
    ohms = [0.005 + 2 * c.resistance_ohm["everything"] for c in (a, b)]
    assert near / far == pytest.approx(ohms[1] / ohms[0], rel=2e-3)
    assert size(design, "bank.pos.run") == size(design, "twin.neg.run")
    assert all(design.runs[f"{n}.pos.run"].design_current.value == pytest.approx(60.0) for n in ("bank", "twin"))
    volts = {node: by_case["everything"] for node, by_case in design.node_v.items()}
    terminals = [volts[f"{n}.pos"] - volts[f"{n}.neg"] for n in ("bank", "twin")]
    assert min(terminals) == pytest.approx(12.0, abs=1e-9)


RING = """junction j1 "One"
junction j2 "Two"
bus plus "P" positive, 300 A
bus minus "N" negative, 300 A
bank.pos -- 0.3 m -- [main: fuse class-t] -- 0.5 m -- plus
bank.neg -- 0.8 m -- minus
ra: plus -- [r1: fuse class-t] -- 2 m -- j1
rb: j1 -- 3 m -- j2
rc: plus -- [r2: fuse class-t] -- 5 m -- j2
load a 8 A
load b 6 A
j1 -- [fa: fuse] -- 1 m -- a.pos
a.neg -- 2 m -- minus
j2 -- [fb: fuse] -- 1 m -- b.pos
b.neg -- 2 m -- minus
"""


def test_a_ring_has_one_size_and_shares_by_length() -> None:
    """8 A at 2 m and 6 A at 5 m of a ring of 10 m: by moments, the short way carries (8 x 8 + 6 x 5) / 10 = 9.4 A,
    a little less because it is the warmer one."""
    design = sound(RING)
    assert size(design, "ra") == size(design, "rb") == size(design, "rc")
    assert design.conductors["ra"].current_a["everything"] == pytest.approx(9.4, rel=5e-3)
    assert design.runs["rb"].design_current.value == pytest.approx(14.0)
    assert all(load.drop_v <= load.budget_v * (1 + 1e-9) for load in design.loads.values())


def test_a_collapse_is_located() -> None:
    runs = "bank -//- [a: fuse] -- 60 m, 10 AWG -- x\nbank -//- [b: fuse] -- 1 m -- y\n"
    design, findings = compiled("load x 300 W\nload y 2 A\n" + runs)
    assert [f.subject for f in findings if f.code == "CP301"] == ["x"]
    assert design.loads["x"].voltage_v == 0.0 and design.loads["y"].voltage_v > 11.5


def test_both_lines_of_a_split_phase() -> None:
    """120 V from line to neutral, 240 V between lines; the neutral carries the difference."""
    head = 'system "Split"\n  nominal 12 V\n  rules nec\n  insulation 90 degC\n  ac 120/240 V split\n'
    text = """generator gen "Gen" 6000 W, bonds-neutral
panel mains "Mains" breaker, ways 6, ac
load a "A" 1200 W, ac, leg 1
load c "C" 600 W, ac, leg 2
load d "D" 2400 W, ac
gen -////- [breaker 30 A, poles 2] -- 5 m -- mains
mains.1 -///- [20 A] -- 5 m -- a
mains.2 -///- [20 A] -- 5 m -- c
mains.3 -////- [20 A, poles 2] -- 5 m -- d
"""
    design, findings = compiled(text, head)
    assert not codes(findings)
    through = {pole: design.conductors[f"mains.run.{pole}"].current_a["everything"] for pole in ("l1", "l2", "n")}
    assert through["l1"] == pytest.approx(20.0) and abs(through["n"]) == pytest.approx(5.0)
    assert abs(through["l2"]) == pytest.approx(15.0)
    assert design.loads["d"].nominal_v == 240.0 and 238 < design.loads["d"].voltage_v < 240
    assert 118 < design.loads["a"].voltage_v < 120
