"""Supplies that an inverter hands through, and devices in parallel. Currents by P = U I, worked beside each check."""

from __future__ import annotations

import pytest
from plates import SECOND, changed, codes, compiled, of_code

TRANSFER = """system "Transfer"
  nominal 12 V
  rules cfr-183
  conductors awg
  ac 120 V
battery house "Bank" 12.8 V, 280 Ah, lifepo4
  range 12.0..14.4 V
  fault-current 5 kA
bus plus "Positive bus" positive, 400 A
bus minus "Negative bus" negative, 400 A
inverter inv "Inverter" 2000 W, 120 V, charges 60 A, shares-supply, efficiency 90 %
shore inlet "Shore inlet" 30 A, 120 V, bonds-neutral
panel mains "AC panel" breaker, ac, ways 6
load kettle "Kettle" 1500 W, ac
load heater "Heater" 1200 W, ac
house.pos -- 0.4 m -- [main: fuse class-t] -- 0.9 m -- plus
house.neg -- 0.5 m -- minus
plus -- [fuse class-t] -- 1 m -- inv.pos
inv.neg -- 1 m -- minus
inlet -///- 2 m -- [shore-main: breaker, poles 2, residual 30 mA] -- 3 m -- inv.ac-in
inv.ac-out -///- [out: breaker, residual 30 mA] -- 3 m -- mains
mains.1 -///- 4 m -- kettle
mains.2 -///- 4 m -- heater
case shore "On shore" on inlet, kettle, heater
case sea "At sea" on inv, kettle
"""
SPLIT = """system "Split"
  nominal 48 V
  rules nec
  conductors awg
  ac 120/240 V split
battery bank "Bank" 12.8 V, 400 Ah, lifepo4, series 4
  range 12.0..14.4 V
  fault-current 5 kA
inverter inv "Inverter" 9000 W, 240 V
shore grid "Supply" 60 A, 240 V, bonds-neutral
panel mains "AC panel" breaker, ac, ways 8
load oven "Oven" 4800 W, ac
load heater "Heater" 2400 W, ac, leg 1
load lamp "Lamp" 600 W, ac, leg 2
bank.pos -- 0.4 m -- [main: fuse class-t] -- 1 m, parallel 2 -- inv.pos
inv.neg -- 1 m, parallel 2 -- bank.neg
grid -////- 2 m -- [grid-main: breaker, poles 2, residual 30 mA] -- 3 m -- inv.ac-in
inv.ac-out -////- [out: breaker, poles 2, residual 30 mA] -- 3 m -- mains
mains.1 -////- 4 m -- oven
mains.3 -///- 4 m -- heater
mains.4 -///- 4 m -- lamp
"""


def test_a_shore_inlet_carries_what_the_inverter_hands_through():
    """(1500 W + 1200 W) / 120 V = 22.5 A, and 1.25 times that asks for a 30 A breaker."""
    design, _ = compiled(TRANSFER)
    assert design.runs["inv.ac-in.run"].design_current.value == pytest.approx(22.5)
    assert design.devices["shore-main"].rating.rating_a == 30.0
    assert design.conductors["inv.ac-in.run.l/1"].current_a["shore"] == pytest.approx(22.5)
    assert design.rechecked


def test_charging_adds_to_what_is_handed_through_unless_it_yields():
    """60 A x 14.4 V / 90 % / 120 V = 8 A beside 22.5 A: more than the supply of 30 A gives; the way out is
    told. Such machines are often set to share the supply (common practice, no source)."""
    plate = changed((", shares-supply", ""), plate=TRANSFER)
    design, findings = compiled(plate)
    assert design.runs["inv.ac-in.run"].design_current.value == pytest.approx(22.5 + 8.0)
    (found,) = of_code("CP708", findings)
    assert found.measure is not None and found.measure.found == pytest.approx(30.5)
    assert "shares-supply" in found.help
    assert any(a.subject == "inv" and "charges with all its current" in a.text for a in design.assumptions)
    yielding, findings = compiled(TRANSFER)
    assert not of_code("CP708", findings)
    assert not any("charges with all its current" in a.text for a in yielding.assumptions)


def test_an_inverter_that_hands_through_takes_nothing_from_its_bank():
    """On shore no direct current flows, and 2700 W are not asked of an inverter of 2000 W."""
    design, findings = compiled(TRANSFER)
    assert design.conductors["inv.pos.run"].current_a["shore"] == 0.0
    assert design.conductors["inv.ac-in.run.l/1"].current_a["sea"] == 0.0
    assert not of_code("CP708", findings)
    asked = of_code(
        "CP708",
        compiled(changed(("case sea", "case both on inv, kettle, heater\ncase sea"), plate=TRANSFER))[1],
    )
    assert [f.subject for f in asked] == ["inv"]


def test_a_supply_too_small_for_what_is_handed_through_is_told():
    """22.5 A of a supply of 16 A."""
    _, findings = compiled(changed(("30 A, 120 V", "16 A, 120 V"), plate=TRANSFER))
    assert [(f.subject, f.measure.found, f.measure.limit) for f in of_code("CP708", findings)] == [
        ("inlet", 22.5, 16.0)
    ]


def test_without_cases_both_sides_of_the_transfer_are_sized():
    plate = TRANSFER[: TRANSFER.index("case shore")].replace("2000 W", "3000 W")
    design, _ = compiled(plate)
    assert design.runs["inv.ac-in.run"].design_current.value == pytest.approx(22.5)
    assert design.runs["inv.pos.run"].design_current.value > 2700 / 12


def test_each_line_of_a_split_phase_hands_through_its_own():
    """4800 W / 240 V on both lines, 2400 W / 120 V on the first, 600 W / 120 V on the second."""
    design, _ = compiled(SPLIT)
    lines = {pole: design.conductors[f"inv.ac-in.run.{pole}/1"].current_a["everything"] for pole in ("l1", "l2")}
    assert lines == {"l1": pytest.approx(20 + 20), "l2": pytest.approx(-(20 + 5))}
    assert design.conductors["inv.ac-in.run.n"].current_a["everything"] == pytest.approx(-(20 - 5))
    assert design.loads["oven"].current_a == pytest.approx(4800 / 240)


BESIDE = "second: house.pos -- 0.3 m -- [two: fuse class-t, 50 A] -- 0.5 m -- plus\n"
PARALLEL = changed(("house.pos -- 0.3 m -- [main:", f"{BESIDE}house.pos -- 0.3 m -- [one:"))


def test_devices_in_parallel_are_told():
    """46 CFR 111.50-3(d): overcurrent devices are not connected in parallel."""
    found = of_code("CP434", compiled(PARALLEL)[1])
    assert [f.subject for f in found] == ["one"]
    assert "CP434" not in codes(changed())


def test_two_batteries_with_a_fuse_each_are_not_in_parallel():
    lead = "second.pos -- 0.3 m -- [other: fuse class-t, 50 A] -- 0.5 m -- plus\n"
    lead += "second.neg -- 0.8 m -- minus\nhouse.neg"
    assert "CP434" not in codes(changed(("bus plus", SECOND), ("house.neg", lead)))


def test_a_device_of_two_poles_carries_the_current_of_its_first() -> None:
    """Towards the load it counts as positive, as in the conductor behind it, and not as what comes back."""
    text = """system "Cabin"
  nominal 12 V
  rules iec-60364
  ac 230 V
shore inlet 16 A, 230 V, bonds-neutral
load kettle 1150 W, ac
inlet -///- [main: breaker 16 A, poles 2, residual 30 mA] -- 8 m -- kettle
"""
    design, _ = compiled(text)
    there = design.devices["main"].current_a["everything"]
    along = design.conductors["kettle.run.l"].current_a["everything"]
    assert there == pytest.approx(5.0) and along == pytest.approx(5.0)


def test_a_supply_that_a_case_cuts_off_is_asked_for_nothing():
    """On shore 1500 W + 1200 W run, which the generator of 2000 W cannot give; its selector is open then."""
    selected = (
        "inlet -///- 2 m -- [shore-main: breaker, poles 2, residual 30 mA] -- 3 m -- inv.ac-in",
        "from-shore: inlet -///- 2 m -- [shore-main: breaker, poles 2, residual 30 mA] -- 3 m -- "
        "[to-shore: selector 40 A, poles 2] -- 1 m -- inv.ac-in\n"
        'generator gen "Generator" 2000 W, 120 V, bonds-neutral\n'
        "from-gen: gen -///- 2 m -- [gen-main: breaker, poles 2, residual 30 mA] -- 3 m -- "
        "[to-gen: selector 40 A, poles 2] -- 1 m -- inv.ac-in",
    )
    apart = (
        ("on inlet, kettle, heater", "on inlet, kettle, heater, off to-gen"),
        (
            "case sea",
            "case running on gen, {loads}, off to-shore\ncase sea",
        ),
    )
    for loads, asked in (("kettle", []), ("kettle, heater", [("gen", 2700.0)])):
        edits = [(old, new.format(loads=loads)) for old, new in apart]
        _, findings = compiled(changed(selected, *edits, plate=TRANSFER))
        assert [(f.subject, f.measure.found) for f in of_code("CP708", findings)] == asked


def test_of_two_lines_the_more_loaded_one_counts():
    """4800 W / 240 V + 2400 W / 120 V = 40 A on the first line, 4800 W / 240 V + 600 W / 120 V = 25 A on the second: a
    supply of 35 A on each line gives their mean, and not the first."""
    _, findings = compiled(changed(("60 A, 240 V", "35 A, 240 V"), plate=SPLIT))
    (found,) = [f for f in of_code("CP708", findings) if f.subject == "grid"]
    assert found.measure is not None and found.measure.found == pytest.approx(40.0)
