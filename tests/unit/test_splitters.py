"""Splitters, and chargers of several outputs: current passes to each output and never back."""

from __future__ import annotations

import pytest

from copperplate.design import compile_plate
from copperplate.findings import Finding
from copperplate.model.cranking import cranking
from copperplate.model.results import Design
from copperplate.text import Source

HEAD = """
system "Splitters"
  nominal 12 V
  rules iso-13297
  conductors mm2
battery start 12 V, 80 Ah, agm, range 12..14.4 V, full 14.4 V, fault-current 1.8 kA
battery house 12 V, 120 Ah, agm, range 12..14.4 V, full 14.4 V, fault-current 1.8 kA
bus minus negative, 300 A
load fridge 5 A, drop 8 %
start.neg -- 0.5 m -- minus
house.neg -- 0.5 m -- minus
house -//- [fridge-fuse: fuse] -- 3 m -- fridge
"""
DIODES = """
alternator alt 15.1 V, 70 A, self-limiting
splitter diodes 100 A, outputs start house, loses 0.7 V
alt.pos -- 1 m -- diodes.in
diodes.start -- 1 m -- [start-fuse: fuse] -- start.pos
diodes.house -- 1 m -- [house-fuse: fuse] -- house.pos
alt.neg -- 1 m -- minus
"""
CHARGER = """
shore inlet 16 A, 230 V, bonds-neutral, fault-current 3 kA, earth-loop 0.4 ohm
charger ch 40 A, in 230 V, out 14.4 V, outputs start house
inlet -///- 1 m -- [main: breaker 16 A, residual 30 mA, poles 2, breaks 6 kA, curve b] -- 2 m -- ch
ch.start -- 2 m -- [start-fuse: fuse] -- start.pos
ch.house -- 2 m -- [house-fuse: fuse] -- house.pos
ch.neg -- 2 m -- minus
"""


def compiled(text: str) -> tuple[Design, tuple[Finding, ...]]:
    design, findings = compile_plate(Source("t.plate", text), lambda name: None)
    assert design is not None
    assert not [f for f in findings if f.severity == "error"] and design.rechecked
    return design, findings


def fault_a(design: Design, device: str) -> float:
    found = design.devices[device].prospective_fault
    assert found is not None
    return found.value


@pytest.mark.parametrize(("more", "part", "amperes"), [(DIODES, "diodes", 70.0), (CHARGER, "ch", 40.0)])
def test_each_output_may_give_all_and_none_gives_to_another(more: str, part: str, amperes: float) -> None:
    design, _ = compiled(HEAD + more)
    for bank in ("start", "house"):
        assert design.runs[f"{bank}.pos.run"].design_current.value == pytest.approx(amperes)
        fault = design.devices[f"{bank}-fuse"].prospective_fault
        assert fault is not None and fault.value == pytest.approx(1800.0)  # its own battery at its post, and no other
    fridge = design.devices["fridge-fuse"].prospective_fault
    assert fridge is not None and fridge.value == pytest.approx(1800.0 + amperes)


def test_a_load_takes_nothing_from_the_other_bank() -> None:
    design, _ = compiled(HEAD + DIODES)
    everything = {name: result.current_a["everything"] for name, result in design.conductors.items()}
    assert everything["fridge.run+"] == pytest.approx(5.0, rel=1e-6)
    others = {name: a for name, a in everything.items() if not name.startswith("fridge.")}
    assert others == pytest.approx(dict.fromkeys(others, 0.0), abs=1e-6)


def test_a_start_with_the_engine_running_takes_nothing_back_through_the_splitter() -> None:
    """What passes to either bank comes from the alternator alone, and is all of it."""
    text = HEAD + DIODES + """
load crank starter, 200 A, for 5 s, works 8..15 V
start.pos -- 1 m -- crank.pos
crank.neg -- 1 m -- minus
case running on alt, crank
"""
    design, _ = compiled(text)
    to = [design.conductors[f"{bank}.pos.run"].current_a["running"] for bank in ("start", "house")]
    assert min(to) >= 0.0 and sum(to) == pytest.approx(70.0, rel=1e-6)


def test_a_splitter_is_bought_as_one_and_a_charger_with_its_outputs() -> None:
    design, _ = compiled(HEAD + DIODES)
    assert [(m.item, m.quantity) for m in design.materials if m.group == "device"] == [("splitter, 100 A", 1)]
    design, _ = compiled(HEAD + CHARGER)
    assert not [m for m in design.materials if m.group == "device"]


def test_a_splitter_ends_a_cranking_way() -> None:
    """Both ends of the way by which `house` would start the engine are bare but for the splitter."""
    text = HEAD + """
load crank starter, 200 A, for 5 s, works 8..15 V
splitter diodes 300 A, outputs away
start.pos -- 1 m -- crank.pos
crank.neg -- 1 m -- minus
house.pos -- 1 m -- diodes.in
diodes.away -- 1 m -- crank.pos
"""
    design, _ = compile_plate(Source("t.plate", text), lambda name: None)
    assert design is not None
    exempt = cranking(design.system)
    assert "start.neg.run" in exempt
    assert not {"diodes.away", "diodes.in.run", "house.neg.run"} & exempt


def test_a_loop_of_a_selector_and_a_splitter_gives_nothing_back() -> None:
    """What `house` drives into a short at the fuse of `start` goes there by the selector alone."""
    text = HEAD + DIODES + """
selector sel 300 A, inputs 1 2, positions off 1 2 both
start.pos -- 0.5 m, 35 mm2 -- sel.1
house.pos -- 0.5 m, 35 mm2 -- sel.2
load lamp 5 A, drop 8 %
sel -- [lamp-fuse: fuse] -- 3 m -- lamp.pos
lamp.neg -- 3 m -- minus
"""
    design, _ = compile_plate(Source("t.plate", text), lambda name: None)
    assert design is not None and not [f for f in design.findings if f.code.startswith("CP59")]
    # 13.2 V behind 13.2 V / 1800 A and 1 m of 35 mm2 (0.554 mohm/m, IEC 60228 class 5); the alternator comes that way.
    other = 13.2 / (13.2 / 1800 + 0.000554)
    assert fault_a(design, "start-fuse") == pytest.approx(1800 + other + 70, rel=1e-3)
