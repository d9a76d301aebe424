"""Fault currents, what breaks them, what they open and what they heat."""

from __future__ import annotations

import functools
import math
import operator
import random

import numpy as np
import pytest
from plates import BOAT, LAMP_RUN, SECOND, THICK, changed, codes, compiled, of_code

from copperplate.faults.sides import NOTHING, Norton, sides
from copperplate.protection.disconnection import let_through, withstand
from copperplate.standards import adiabatic_k, fuses


@pytest.mark.parametrize("seed", range(40))
def test_sides_against_a_dense_solve(seed):
    """NumPy's solve of the same conductances, a side of a branch at a time, trees and meshes alike; the trees have
    wires without ohms."""
    pick = random.Random(seed)
    count = pick.randint(2, 30)
    wires = [(i, pick.randrange(i), pick.choice((seed % 2 * 1e-4, pick.uniform(1e-4, 0.1)))) for i in range(1, count)]
    wires += [(*pick.sample(range(count), 2), pick.uniform(1e-4, 0.1)) for _ in range(seed % 2 * pick.randint(0, 8))]
    given = [NOTHING] * count
    for bit in range(3):
        ohm = pick.uniform(1e-3, 1e-2)
        at = pick.randrange(count)
        given[at] = given[at].beside(Norton(pick.uniform(11, 14) / ohm, 1 / ohm, 1 << bit))
    for line, both in sides(count, wires, given, range(len(wires))).items():
        for here, there, side in ((0, 1, both[0]), (1, 0, both[1])):
            here, there = wires[line][here], wires[line][there]
            left = [wire for index, wire in enumerate(wires) if index != line]
            near = [here]
            for node in near:
                ends = [b if a == node else a for a, b, _ in left if node in (a, b)]
                near += [end for end in dict.fromkeys(ends) if end != there and end not in near]
            place = {node: index for index, node in enumerate(near)}
            matrix, pushed = np.zeros((len(near), len(near))), np.zeros(len(near))
            for a, b, ohm in left:
                for one, other in ((a, b), (b, a)):
                    if one in place:
                        matrix[place[one], place[one]] += 1 / max(ohm, 1e-9)
                        if other in place:
                            matrix[place[one], place[other]] -= 1 / max(ohm, 1e-9)
            for node, index in place.items():
                matrix[index, index] += given[node].siemens
                pushed[index] += given[node].amperes
            volts = np.zeros(len(near))
            if len(near) > 1:
                volts[1:] = np.linalg.solve(matrix[1:, 1:], pushed[1:])
            amperes = pushed[0] - matrix[0] @ volts
            assert side.amperes == pytest.approx(amperes, rel=1e-4, abs=1e-3)
            reaching = [given[node].sources for node in near]
            assert side.sources == functools.reduce(operator.or_, reaching)


def test_sides_keep_their_digits_beside_a_large_one():
    """10 kA stand on a bar with 3000 circuits; what a source of 1 mA brings from behind one of them is told whole."""
    wires = [(0, node, 1.0) for node in range(1, 3001)]
    given = [Norton(1e4, 1e3, 1), *([NOTHING] * 3000)]
    given[7] = Norton(1e-3, 1e-3, 2)
    assert sides(3001, wires, given, [6])[6][1] == given[7]


def test_the_largest_fault_by_hand():
    """13.6 V (LiFePO4 fully charged, at rest) behind 13.6 V / 3 kA and 0.3 m of the run's own copper at 20 °C: NEC
    chapter 9 table 8 gives 10 AWG (solid, uncoated) 1.21 ohm/kft at 75 °C, which is 3.27 mohm/m at 20 °C."""
    design, _ = compiled(changed(("0.3 m --", "0.3 m, 10 AWG --"), ("0.5 m --", "0.5 m, 10 AWG --")))
    ohm_per_m = 1.21 / 304.8 / (1 + 0.00393 * 55)
    fault = design.devices["main"].prospective_fault
    assert fault is not None
    assert fault.value == pytest.approx(13.6 / (13.6 / 3000 + 0.3 * ohm_per_m), rel=0.01)
    assert ("house resistance", pytest.approx(4.533, rel=1e-3), "mohm") in fault.inputs


@pytest.mark.parametrize(("words", "times"), [("parallel 2", 2.0), ("series 4", 1.0)])
def test_parallel_strings_add_and_series_do_not(words, times):
    """US small-craft practice: parallel strings add their short-circuit currents, batteries in series do not."""
    one = compiled(BOAT)[0].sources["house"].fault_current_a
    plate = changed(("lifepo4\n", f"lifepo4, {words}\n"))
    if words.startswith("series"):
        plate = changed(("nominal 12 V", "nominal 48 V"), ("10.5..15 V", "40..60 V"), plate=plate)
    many = compiled(plate)[0].sources["house"].fault_current_a
    assert many == pytest.approx(times * one)


def test_two_batteries_feed_a_fault_together():
    second = changed(("bus plus", SECOND))
    second += "second.pos -- 0.3 m -- [other: fuse class-t, 50 A] -- 0.5 m -- plus\nsecond.neg -- 0.8 m -- minus\n"
    alone = compiled(BOAT)[0].devices["lamp-fuse"].prospective_fault
    both = compiled(second)[0].devices["lamp-fuse"].prospective_fault
    assert alone is not None and both is not None
    assert both.value > 1.4 * alone.value


def test_nothing_is_proven_without_a_figure():
    design, findings = compiled(changed(("  fault-current 3 kA\n", "")))
    (found,) = of_code("CP416", findings)
    assert found.subject == "house" and "management system" in found.notes[0]
    assert design.devices["main"].prospective_fault is None and design.devices["main"].far_end == ""


@pytest.mark.parametrize(
    ("family", "kilo", "code"),
    [
        # Breaking capacities: ISO 8820-3 1 kA, ISO 8820-6 2 kA, UL 248-15 20 kA DC (typical).
        ("blade", "0.9 kA", None),
        ("blade", "1.3 kA", "CP411"),
        ("single-bolt", "1.9 kA", None),
        ("single-bolt", "3 kA", "CP411"),
        ("class-t", "19 kA", None),
        ("class-t", "25 kA", "CP411"),
    ],
)
def test_the_device_at_the_battery_breaks_it_or_is_refused(family, kilo, code):
    main = ("[main: fuse class-t, 50 A]", f"[main: fuse {family}, 30 A]")
    plate = changed(("3 kA", kilo), main, ("0.3 m", "0.01 m, 2 AWG"))
    assert ("CP411" in codes(plate)) == (code is not None)


def test_a_branch_behind_another_is_a_warning_that_the_maker_can_settle():
    blade = changed(("lamp-fuse: fuse class-t", "lamp-fuse: fuse blade"))
    (found,) = of_code("CP415", compiled(blade)[1])
    assert found.severity == "warning" and "backed-by main" in found.help
    assert "CP415" not in codes(changed(("fuse blade", "fuse blade, backed-by main"), plate=blade))
    assert "CP415" not in codes(changed(("fuse blade", "fuse blade, breaks 5 kA"), plate=blade))


def test_backing_by_a_device_that_is_not_above_settles_nothing():
    plate = changed(("lamp-fuse: fuse class-t", "lamp-fuse: fuse blade, backed-by beside"))
    plate = changed(("load lamp", 'load other "Other" 2 A\nload lamp'), plate=plate)
    plate += "plus -- [beside: fuse class-t] -- 2 m -- other.pos\nother.neg -- 2 m -- minus\n"
    assert "CP415" in codes(plate)


def test_the_ways_of_a_panel_make_one_finding():
    plate = changed(
        ("load lamp", 'panel cabin "Block" blade, ways 4, return minus\nload b "B" 1 A\nload lamp'),
        (LAMP_RUN, ""),
    )
    plate += "plus -- [fuse class-t] -- 0.2 m -- cabin\ncabin.1 -//- 3 m -- lamp\ncabin.2 -//- 3 m -- b\n"
    (found,) = of_code("CP415", compiled(plate)[1])
    assert found.subject == "cabin" and "2 ways" in found.message


def test_a_fuse_for_32_v_is_not_for_48_v():
    """ISO 8820-3 blades are for 32 V (or 58 V, where the part says so)."""
    plate = changed(
        ("nominal 12 V", "nominal 48 V"), ("12.8 V", "51.2 V"), ("12.0..14.4", "48..57"), ("10.5..15", "40..60"),
        ("lamp-fuse: fuse class-t", "lamp-fuse: fuse blade"),
    )  # fmt: skip
    (found,) = of_code("CP413", compiled(plate)[1])
    assert found.subject == "lamp-fuse"
    assert "CP413" not in codes(changed(("fuse blade", "fuse blade, 58.5 V"), plate=plate))


def test_the_voltage_that_counts_is_that_of_charging():
    """58 V of ISO 8820-6 stand above 51.2 V and below the 58.4 V that 16 cells are charged with (3.65 V each)."""
    plate = changed(
        ("nominal 12 V", "nominal 48 V"), ("12.8 V", "51.2 V"), ("12.0..14.4", "48..57"), ("10.5..15", "40..60"),
        ("lamp-fuse: fuse class-t", "lamp-fuse: fuse single-bolt"),
    )  # fmt: skip
    assert "CP413" in codes(plate)
    assert "CP413" not in codes(changed(("fault-current", "full 56 V, fault-current"), plate=plate))


def test_far_ends_open_by_the_published_gate_or_are_not_proven():
    """ISO 8820-3 type C: at 600 % within 0.15 s; class T times were not read, so nothing is proven of it."""
    blade = compiled(changed(("lamp-fuse: fuse class-t", "lamp-fuse: fuse blade")))[0].devices["lamp-fuse"]
    assert blade.far_end == "opens" and blade.opens_within_s == 0.15
    class_t = compiled(BOAT)[0].devices["lamp-fuse"]
    assert class_t.far_end == "not proven" and class_t.opens_within_s is None


def test_the_far_end_by_hand():
    """12.0 V through 4.53 mohm and 2 x 30 m of 10 AWG at 105 °C and the feeders: less than 30 A x 200 %."""
    plate = changed(
        ("2 A, works 10.5..15 V", "5 A, drop 10 %"), ("lamp-fuse: fuse class-t", "lamp-fuse: fuse blade 30 A"),
        ("-- 3 m --", "-- 30 m, 10 AWG --"), *THICK,
    )  # fmt: skip
    design, findings = compiled(plate)
    hot = (1.21 / 304.8) * (1 + 0.00393 * 85) / (1 + 0.00393 * 55)
    hot_2 = (0.194 / 304.8) * (1 + 0.00393 * 85) / (1 + 0.00393 * 55)
    by_hand = 12.0 / (13.6 / 3000 + 60 * hot + 1.6 * hot_2)
    far = design.devices["lamp-fuse"].end_fault
    assert far is not None and far.value == pytest.approx(by_hand, rel=0.01)
    (found,) = of_code("CP412", findings)
    # 135 % (600 s) is reached and 160 % (50 s) is not, by hand: 41.8 A of 48 A.
    assert 1.35 * 30 < far.value < 1.6 * 30 and "600 s" in found.message


def test_adiabatic_heating_as_linsley_computes_it():
    """T. Linsley, Basic Electrical Installation Work, pp. 250-251 (AB-01): 200 A for 0.4 s, k 115, 1.5 mm² stands it
    and 1.1 mm² is the least. k of 70 °C thermoplastic: IEC 60364-5-54 table A.54.2."""
    k = adiabatic_k(70.0).value
    assert k == pytest.approx(115, rel=0.005)
    assert withstand(1.5, 70.0) > 200**2 * 0.4 > withstand(1.0, 70.0)
    assert math.sqrt(200**2 * 0.4) / k == pytest.approx(1.1, rel=0.005)


def test_let_through_at_and_above_the_gates():
    """ISO 8820-3 type C, 10 A: 5 s at 200 % and 0.15 s at 600 %; above the last gate the melting I²t does not grow."""
    family = fuses.family("blade")
    assert let_through(family, 10.0, 20.0) == pytest.approx(20**2 * 5)
    assert let_through(family, 10.0, 60.0) == pytest.approx(60**2 * 0.15)
    assert let_through(family, 10.0, 500.0) == pytest.approx(60**2 * 0.15)
    assert let_through(family, 10.0, 10.5) == math.inf


def test_behind_a_converter_a_fault_has_no_more_than_it_gives():
    """10 A of a converter are 200 % of a 5 A blade, 5 s by ISO 8820-3 type C, and need not open one of 10 A."""
    plate = changed(
        (
            "load lamp",
            'converter step "Step" 10 A, in 12 V, out 24 V, isolated\npanel far "Far" blade, ways 2\nload lamp',
        ),
        (LAMP_RUN, "plus -- [fuse class-t] -- 1 m -- step.in.pos\nstep.in.neg -- 1 m -- minus\n"),
        ("works 10.5..15 V", "works 20..30 V"),
    )
    plate += "step.out -//- 1 m -- far\nfar.1 -//- [5 A] -- 3 m -- lamp\n"
    way = compiled(plate)[0].devices["far.1"]
    assert way.end_fault is not None and way.end_fault.value == pytest.approx(10.0)
    assert way.far_end == "opens" and way.opens_within_s == 5
    design, findings = compiled(changed(("[5 A]", "[10 A]"), plate=plate))
    assert design.devices["far.1"].far_end == "does not open"
    assert "step gives 10 A" in of_code("CP412", findings)[0].notes[0]


ALTERNATOR = 'alternator alt "Alternator" 80 A, 14 V{}\nbus plus'
CHARGED = "alt.pos -- 1 m, 4 AWG -- plus\nalt.neg -- 1 m, 4 AWG -- minus\nhouse.neg"


@pytest.mark.parametrize(("said", "pushed"), [(", self-limiting", 80.0), ("", 240.0)])
def test_what_pushes_adds_to_the_side_that_it_reaches(said, pushed):
    """Common practice, no source: a source that limits its own current adds all that it gives, one that does not three
    times its rating. The alternator stands on the bar: it comes to the lamp's fuse beside the battery, and to the main
    fuse from the other side, where its 80 A or 240 A are less than the battery's kiloamperes and count nothing."""
    alone, _ = compiled(changed(*THICK))
    plate = changed(*THICK, ("bus plus", ALTERNATOR.format(said)), ("house.neg", CHARGED))
    design, _ = compiled(plate)
    added = {name: design.devices[name].prospective_fault.value - alone.devices[name].prospective_fault.value
             for name in ("main", "lamp-fuse")}  # fmt: skip
    assert added == {"main": pytest.approx(0.0, abs=1e-9), "lamp-fuse": pytest.approx(pushed, rel=1e-9)}
    assert ("alt pushes", pushed, "A") in design.devices["lamp-fuse"].prospective_fault.inputs
    assert any(a.subject == "alt" and f"{pushed:.0f} A" in a.text for a in design.assumptions)


def test_a_fuse_between_battery_and_bar_breaks_the_larger_side():
    """The 3 kA battery and the 2 kA one behind their own lead and fuse, met at the bar: each main fuse breaks what its
    own battery brings, or what the other brings over both leads, and never the sum."""
    ohm_per_m = 0.194 / 304.8 / (1 + 0.00393 * 55)  # 2 AWG, NEC chapter 9 table 8, at 20 degC
    second = changed(*THICK, ("bus plus", SECOND))
    second += "second.pos -- 0.3 m, 2 AWG -- [other: fuse class-t, 50 A] -- 0.5 m, 2 AWG -- plus\n"
    second += "second.neg -- 0.8 m, 2 AWG -- minus\n"
    design, _ = compiled(second)
    large = design.sources["second"].fault_current_a
    for name, own, other in (("main", 3000.0, large), ("other", large, 3000.0)):
        from_own = 13.6 / (13.6 / own + 0.3 * ohm_per_m)
        from_other = 13.6 / (13.6 / other + 1.3 * ohm_per_m)
        fault = design.devices[name].prospective_fault
        assert fault.value == pytest.approx(max(from_own, from_other), rel=0.01)


def test_what_charges_by_an_inverter_adds_too():
    plate = changed(
        ("bus plus", 'inverter inv "Inverter" 300 W, 120 V, charges 25 A, bonds-neutral\nbus plus'),
        ("house.neg", "plus -- [fuse class-t 40 A] -- 1 m -- inv.pos\ninv.neg -- 1 m -- minus\nhouse.neg"),
    )
    design, _ = compiled(plate)
    assert ("inv pushes", 25.0, "A") in design.devices["lamp-fuse"].prospective_fault.inputs
