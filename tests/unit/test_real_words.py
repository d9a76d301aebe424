"""Words of real boats, campers and cabins: places, pins, residual devices, duty, colours, prices. Figures by hand."""

from __future__ import annotations

import pytest

from copperplate.making import Made, make

HEAD = """\
system "Small"
  nominal 12 V
  rules iso-13297
  conductors mm2
battery house "House" 12 V, 100 Ah, agm, range 12..14.4 V, full 14.4 V, fault-current 0.9 kA
bus minus negative, 100 A
panel nav "Fuse block" blade, ways 6, return minus
house.pos -- 0.15 m -- [main: fuse] -- 1 m -- nav
house.neg -- 1 m -- minus
"""


def made(text: str, head: str = HEAD) -> Made:
    return make({"a.plate": (head + text).encode()}, "a.plate")


def codes(of: Made) -> list[str]:
    return [f.code for f in of.findings if f.severity != "advice"]


def test_a_place_need_not_be_declared_and_has_a_name_of_its_own() -> None:
    plate = made(
        'place nav "Chart table"\n'
        "load lamp 1 A, at nav\n"
        "load horn 2 A, at mast\n"
        "nav -//- 3 m -- lamp\n"
        "nav -//- 3 m -- horn\n"
    )
    assert codes(plate) == [] and plate.design is not None
    assert plate.design.system.places["nav"].title == "Chart table" and "mast" in plate.design.system.places
    assert plate.design.system.parts["lamp"].at == "nav"


def test_what_stands_in_petrol_vapour_must_be_ignition_protected() -> None:
    """33 CFR 183.410: under any profile here."""
    text = (
        'place bilge "Bilge" petrol\n'
        "load blower blower, 4 A, at bilge{}\n"
        "nav -//- 3 m -- [stop: switch 10 A, at bilge] -- 1 m -- blower\n"
    )
    assert codes(made(text.format(""))) == ["CP514", "CP514"]
    assert codes(made(text.format(", ignition-protected"))) == ["CP514"]


def test_a_device_in_a_hot_place_is_in_the_air_of_that() -> None:
    hot = made(
        "place den ambient 70 degC\n"
        "load lamp 4 A\n"
        "nav -//- 3 m -- [spare-fuse: fuse blade 5 A, at den] -- 1 m -- lamp\n"
    )
    assert any(f.code == "CP448" and f.subject == "spare-fuse" for f in hot.findings)


@pytest.mark.parametrize(("duty", "hours"), [("duty 40 %", 9.6), ("duty 10 min/h", 4.0), ("daily 6 h, duty 50 %", 3.0)])
def test_duty_counts_in_the_energy_of_a_day_and_nowhere_else(duty: str, hours: float) -> None:
    """40 % of 24 h is 9.6 h; 10 min/h is a sixth of 24 h."""
    plate = made(f"load fridge 60 W, {duty}\nnav -//- 3 m -- fridge\n")
    assert codes(plate) == [] and plate.design is not None
    (line,) = [line for balance in plate.design.energy for line in balance.lines if line.subject == "fridge"]
    assert line.wh == pytest.approx(60 * hours)
    always = made("load fridge 60 W\nnav -//- 3 m -- fridge\n").design
    assert always is not None
    run = plate.design.runs["fridge.run"]
    assert (run.design_current.value, run.size) == (
        always.runs["fridge.run"].design_current.value,
        always.runs["fridge.run"].size,
    )


MAINS = (
    HEAD.replace("  conductors mm2\n", "  conductors mm2\n  ac 230 V\n")
    + """\
shore inlet "Inlet" 16 A, 230 V, bonds-neutral, fault-current 3 kA, earth-loop 0.4 ohm
load boiler 1000 W, ac
"""
)


def test_an_rcbo_is_a_breaker_with_a_residual_current_and_an_rcd_has_no_overload_release() -> None:
    both = made(
        "inlet -///- 0.5 m -- [guard: rcbo 16 A, 30 mA, type a, poles 2, breaks 6 kA, curve b] -- 2 m -- boiler\n",
        MAINS,
    )
    assert codes(both) == [] and both.design is not None
    guard = both.design.system.devices["guard"]
    assert (guard.kind, guard.rating_a, guard.residual_a, guard.sort) == ("breaker", 16.0, 0.03, "a")
    alone = made("inlet -///- 0.5 m -- [guard: rcd 40 A, 30 mA] -- 2 m -- boiler\n", MAINS)
    assert alone.design is not None and not alone.design.system.devices["guard"].roles.protects
    assert alone.design.system.devices["guard"].poles == 2 and "CP701" in codes(alone)


def test_an_rcbo_right_at_a_way_is_the_ways_own_device() -> None:
    text = (
        "panel board breaker, ac, ways 4, 16 A, breaks 6 kA, curve b\n"
        "inlet -///- [main-ac: breaker 16 A, poles 2, breaks 6 kA, curve c] -- 2 m -- board\n"
    )
    plate = made(text + "board.1 -///- [rcbo 10 A, 30 mA] -- 4 m -- boiler\n", MAINS)
    assert plate.design is not None and plate.design.system.devices["board.1"].residual_a == 0.03
    assert [d.id for d in plate.design.system.devices.values() if d.run == "boiler.run"] == ["board.1"]


def test_a_galvanic_isolator_sits_in_the_protective_conductor_alone() -> None:
    guard = "[guard: rcbo 16 A, 30 mA, poles 2, breaks 6 kA, curve b]"
    plate = made(
        f"inlet -///- 0.5 m -- [gi: galvanic-isolator 16 A, in pe] -- 0.5 m -- {guard} -- 2 m -- boiler\n", MAINS
    )
    assert codes(plate) == [] and plate.design is not None
    isolator = plate.design.system.devices["gi"]
    assert {plate.design.system.nodes[node].pole for leg in isolator.legs for node in leg} == {"pe"}
    line = made(f"inlet -///- 0.5 m -- [gi: galvanic-isolator 16 A] -- 0.5 m -- {guard} -- 2 m -- boiler\n", MAINS)
    assert [(f.code, f.severity) for f in line.findings if f.subject == "gi"] == [("CP255", "error")]
    assert "in pe" in next(f.help for f in line.findings if f.subject == "gi")


def test_metal_is_only_bonded() -> None:
    plate = made(
        "metal tank\n"
        "earth hull\n"
        "load lamp 1 A\n"
        "nav -//- 3 m -- lamp\n"
        "tank -- 2 m, 16 mm2, bonding -- hull\n"
        "minus -- 1 m, 16 mm2 -- hull\n"
    )
    assert codes(plate) == []


def test_pins_are_numbered_and_the_next_free_one_is_taken() -> None:
    text = (
        'connector plug "Deck plug" pins 3, 10 A\n'
        "load a 1 A\n"
        "load b 2 A\n"
        "nav -//- 1 m -- [plug{}] -- 2 m -- a\n"
        "nav -//- 1 m -- [plug] -- 2 m -- b\n"
    )
    plate = made(text.format(".2"))
    assert codes(plate) == [] and plate.design is not None
    assert {d.id: d.rating_a for d in plate.design.system.devices.values() if d.kind == "connector"} == {
        "plug.2": 10.0,
        "plug.1": 10.0,
    }
    beyond = made(text.format(".9"))
    (finding,) = [f for f in beyond.findings if f.code == "CP249"]
    assert finding.message == "`plug` has 3 pins, and no `9`" and "are free" in finding.help


def test_a_conductor_has_the_colour_that_its_run_states_or_that_its_use_has() -> None:
    """Brown with yellow for a bilge blower: US small-craft practice, E-11 table."""
    us = HEAD.replace("iso-13297", "cfr-183").replace("  conductors mm2\n", "  colours by-function\n")
    plate = made(
        "load fan blower, 4 A\nload horn horn, 4 A\nnav -//- 3 m -- fan\nnav -//- 3 m, colour pink -- horn\n", us
    )
    assert plate.design is not None
    colours = {name: plate.design.conductors[name].colour for name in ("fan.run+", "fan.run-", "horn.run+")}
    assert colours == {"fan.run+": "BNYE", "fan.run-": "BK", "horn.run+": "PK"}
    wrong = made("load horn horn, 4 A\nnav -//- 3 m, colour pinc -- horn\n")
    assert [f.code for f in wrong.findings if f.severity == "error"] == ["CP128"]


def test_prices_masses_codes_and_words_stand_on_any_component() -> None:
    plate = made(
        'load lamp lamp, 1 A, price 12.50 EUR, mass 0.2 kg, order-code "L-1", note "behind the lining"\n'
        'nav -//- 3 m, note "in the lining" -- lamp\n'
    )
    assert codes(plate) == [] and plate.design is not None
    lamp = plate.design.system.parts["lamp"]
    assert (lamp.price, lamp.mass_kg, lamp.order_code, lamp.remark) == ("12.50 EUR", 0.2, "L-1", "behind the lining")


def test_a_charger_fills_with_what_it_is_set_to_and_is_wired_for_its_rating() -> None:
    text = (
        "charger dock 30 A, in 230 V, out 14.4 V{}\n"
        "inlet -///- 0.5 m -- [guard: rcbo 16 A, 30 mA, poles 2, breaks 6 kA, curve b] -- 2 m -- dock.ac-in\n"
        "house -//- [dock-fuse: fuse] -- 1 m -- dock\n"
    )
    full, less = made(text.format(""), MAINS).design, made(text.format(", set-to 20 A"), MAINS).design
    assert full is not None and less is not None
    assert less.runs["dock.run"].design_current.value == full.runs["dock.run"].design_current.value


def test_a_sender_has_one_terminal_for_its_signal() -> None:
    plate = made(
        "load gauge gauge, 0.1 A\nload level sender\nnav -//- 3 m -- gauge\ngauge.in -- 4 m, signal -- level\n"
    )
    assert codes(plate) == []


MAST = """\
cable mast "Mast cable" 12 m, cores {cores}, {size}, shared-negative
load top nav-light, 0.4 A, drop 10 %
load steam nav-light, 0.8 A, drop 10 %
nav -//- 1 m -- via mast core 1 -- top
nav -//- 1 m -- via mast core {second} -- steam
"""


def test_the_shared_core_of_a_cable_carries_the_sum_of_its_pairs() -> None:
    """0.4 + 0.8 = 1.2 A. At 1.5 mm2 and 0.0164 ohm mm2/m (ISO 13297:2020, Annex A) 13 m lose 0.17 V."""
    plate = made(MAST.format(cores=5, size="1.5 mm2", second=2))
    assert codes(plate) == [] and plate.design is not None
    shared = plate.design.runs["mast-neg.run"]
    assert shared.size is not None and shared.size.label == "1.5 mm²"
    assert max(abs(a) for a in plate.design.conductors["mast-neg.run"].current_a.values()) == pytest.approx(
        1.2, rel=0.05
    )
    lost = {step.through: step.judged_v for step in plate.design.loads["steam"].path}
    assert lost["mast-neg.run"] == pytest.approx(0.0164 * 1.2 * 13 / 1.5, rel=0.01)


def test_a_core_that_is_not_there_or_taken_is_told_with_those_that_are_free() -> None:
    beyond = [f for f in made(MAST.format(cores=3, size="1.5 mm2", second=8)).findings if f.code == "CP249"]
    assert [(f.message, f.help) for f in beyond] == [("`mast` has 3 cores, and no `8`", "cores 2 and 3 are free")]
    taken = [f for f in made(MAST.format(cores=3, size="1.5 mm2", second=1)).findings if f.code == "CP249"]
    assert [f.message for f in taken] == ["core 1 of `mast` stands in another run"]


def test_a_cable_without_a_shared_negative_gives_each_pair_two_cores_of_its_size() -> None:
    text = MAST.format(cores=4, size="2.5 mm2", second=3).replace(", shared-negative", "").replace(" core 1", "")
    plate = made(text)
    assert codes(plate) == [] and plate.design is not None
    sizes = {plate.design.runs[name].size for name in ("top.run", "steam.run")}
    assert {size.label for size in sizes if size is not None} == {"2.5 mm²"}
    few = made(text.replace("cores 4", "cores 3"))
    assert [f.help for f in few.findings if f.code == "CP249"] == ["a second cable, or `shared-negative`"]


def test_terminals_listed_for_75_degc_read_that_column() -> None:
    """NEC Table 310.16: 10 AWG copper carries 30 A in the column of 60 °C and 35 A in that of 75 °C."""
    nec = HEAD.replace("iso-13297", "nec").replace("  conductors mm2\n", "  conductors awg\n  insulation 90 degC\n{}")
    text = "load lamp 5 A\nnav -//- 3 m, 10 AWG -- lamp\n"
    carried = []
    for said in ("", "  terminals 75 degC\n"):
        design = made(text, nec.format(said)).design
        assert design is not None
        ampacity = design.runs["lamp.run"].ampacity
        assert ampacity is not None
        carried.append(round(ampacity.value, 3))
    assert carried == [30.0, 35.0]


def test_an_old_battery_holds_less_and_its_fault_is_that_of_a_new_one() -> None:
    """70 % of 100 Ah at 12 V; half of it usable, as the plate says."""
    text = "load lamp 12 W, daily 10 h\nnav -//- 3 m -- lamp\n"
    new, old = (
        made(text, HEAD.replace("0.9 kA", f"0.9 kA, usable 50 %{health}")).design for health in ("", ", health 70 %")
    )
    assert new is not None and old is not None
    assert old.energy[0].usable_wh == pytest.approx(0.7 * (new.energy[0].usable_wh or 0.0))
    assert old.sources["house"].fault_current_a == new.sources["house"].fault_current_a
    assert old.rechecked and new.rechecked


def test_a_rod_has_a_resistance_to_the_ground_and_is_no_return() -> None:
    plate = made("earth rod electrode, 25 ohm\nload lamp 1 A\nnav -//- 3 m -- lamp\nminus -- 1 m, 16 mm2 -- rod\n")
    assert codes(plate) == []
