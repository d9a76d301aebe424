"""Placement, smaller conductors, levels, bars, studs, and what breaks which pole."""

from __future__ import annotations

import pytest
from plates import BOAT, SECOND, THICK, changed, codes, compiled, of_code

INCH = 0.0254


@pytest.mark.parametrize(
    ("inches", "sheath", "allowed"),
    [
        # 33 CFR 183.455(b): at the source; within 7 in; within 40 in in a sheath all the way.
        (6.9, False, True),
        (7.1, False, False),
        (39.0, True, True),
        (41.0, True, False),
    ],
)
def test_distance_of_a_device_from_its_bar(inches, sheath, allowed):
    word = ", sheath" if sheath else ""
    lead = f"plus -- {inches} in, 16 AWG{word} -- [lamp-fuse: fuse class-t] -- 3 m{word} --"
    design, findings = compiled(changed(("plus -- [lamp-fuse: fuse class-t] -- 3 m --", lead)))
    assert bool(of_code("CP402", findings)) != allowed
    assert design.devices["lamp-fuse"].distance_from_source_m == pytest.approx(inches * INCH)
    assert design.devices["lamp-fuse"].placement_limit_m == pytest.approx((40 if sheath else 7) * INCH)


@pytest.mark.parametrize(("inches", "allowed"), [(71.0, True), (73.0, False)])
def test_distance_of_a_device_from_the_battery(inches, allowed):
    """72 in: US small-craft practice; 33 CFR 183.460(a), from memory."""
    found = of_code("CP402", compiled(changed(("house.pos -- 0.3 m", f"house.pos -- {inches} in")))[1])
    assert bool(found) != allowed
    if found:
        assert found[0].subject == "main" and "move `main` to 1.83 m" in found[0].help


def test_a_large_enough_conductor_needs_no_device_at_the_bar():
    """What the main device lets pass for ever is carried by 50 A of conductor: no step, no distance."""
    far = ("plus -- [lamp-fuse: fuse class-t] -- 3 m --", "plus -- 1 m, {} -- [lamp-fuse: fuse class-t] -- 2 m --")
    assert "CP402" in codes(changed((far[0], far[1].format("14 AWG"))))
    assert "CP402" not in codes(changed((far[0], far[1].format("10 AWG"))))


def test_a_battery_at_each_end_needs_a_device_at_each():
    """NEC 690.9 logic; common practice."""
    second = changed(("bus plus", SECOND))
    bare = second + "second.pos -- 0.5 m -- plus\nsecond.neg -- 0.8 m -- minus\n"
    assert "CP401" not in codes(bare)  # within 72 in of the second battery every circuit has its device
    far = second + "second.pos -- 2.5 m -- plus\nsecond.neg -- 0.8 m -- minus\n"
    assert "CP402" in codes(far)
    both = second + "second.pos -- 0.3 m -- [other: fuse class-t, 50 A] -- 2.5 m -- plus\nsecond.neg -- 1 m -- minus\n"
    assert not {"CP401", "CP402", "CP403"} & codes(both)


def test_a_run_without_any_device():
    plate = changed(("[main: fuse class-t, 50 A] -- ", ""), ("[lamp-fuse: fuse class-t] -- ", ""))
    (found,) = of_code("CP401", compiled(changed(("0.3 m -- 0.5 m", "0.8 m"), plate=plate))[1])
    assert found.subject == "lamp.pos.run" and "3.8 m" in found.message


def test_the_step_of_size_names_both_ways_out_and_the_limit_in_law():
    """33 CFR 183.455(c)(1): up to 150 % under 50 V, reported and not used."""
    plate = changed(("[lamp-fuse: fuse class-t] -- 3 m", "3 m, 16 AWG"))
    (found,) = of_code("CP403", compiled(plate)[1])
    assert found.subject == "lamp.pos.run"
    assert "25 A" in found.help and "10 AWG" in found.help  # Table 5 at 105 °C: 16 AWG 25 A, 10 AWG 60 A
    assert "150 %" in found.notes[0] and "37.5 A" in found.notes[0]


def test_levels_warn_where_a_branch_would_take_the_rest_with_it():
    plate = changed(("load lamp", 'load heater "Heater" 30 A, drop 5 %\nload lamp'))
    plate += "plus -- [heat: fuse class-t 40 A] -- 2 m -- heater.pos\nheater.neg -- 2 m -- minus\n"
    (found,) = of_code("CP419", compiled(plate)[1])
    assert found.subject == "main" and "`heat`" in found.message
    assert "CP419" not in codes(changed(("class-t, 50 A", "class-t, 70 A"), plate=plate))  # 1.75 times
    # With one circuit below it nothing else goes dark.
    assert "CP419" not in codes(
        changed(("lamp-fuse: fuse class-t", "lamp-fuse: fuse class-t 45 A"), ("3 m", "3 m, 8 AWG"))
    )


@pytest.mark.parametrize(("lugs", "studs", "crowded"), [(4, 1, False), (5, 1, True), (8, 2, False)])
def test_four_ring_terminals_on_a_stud(lugs, studs, crowded):
    """US small-craft practice: at most four on one stud."""
    loads = "".join(f'load l{i} "L{i}" 1 A\n' for i in range(lugs - 2))
    runs = "".join(f"plus -- [fuse class-t] -- 2 m -- l{i}.pos\nl{i}.neg -- 2 m -- minus\n" for i in range(lugs - 2))
    bar = ("negative, 150 A", f"negative, 150 A, studs {studs}, terminal stud M8")
    plate = changed(bar, ("\nhouse.pos", f"{loads}\nhouse.pos"))
    assert ("CP424" in codes(plate + runs)) == crowded


def test_bars_and_switches_against_their_rating():
    heavy = changed(("2 A, works", "20 A, works"))
    assert "CP420" in codes(changed(("positive, 150 A", "positive, 19 A"), plate=heavy))
    assert "CP421" in codes(changed(("positive, 150 A", "positive, 45 A"), plate=heavy))
    switch = changed(("50 A] -- 0.5 m", "50 A] -- [key: switch 100 A] -- 0.5 m"), plate=heavy)
    assert not {"CP422", "CP423", "CP430"} & codes(switch)
    assert "CP422" in codes(changed(("switch 100 A", "switch 19 A"), plate=switch))
    assert "CP430" in codes(changed(("switch 100 A", "switch"), plate=switch))


def test_a_floating_negative_is_opened_with_the_positive():
    """46 CFR 111.05-37(a): no device in one pole of an insulated system alone."""
    found = of_code("CP425", compiled(changed(("awg\n", "awg\n  negative floating\n")))[1])
    assert len(found) == 1 and "2 devices" in found[0].message


def test_an_earthed_negative_has_no_fuse():
    """46 CFR 183.380(b)."""
    plate = changed(("house.neg -- 0.8 m", "house.neg -- 0.4 m -- [wrong: fuse class-t 50 A] -- 0.4 m"))
    assert "CP429" in codes(plate)
    assert "CP429" not in codes(changed(("wrong: fuse class-t 50 A", "meter: shunt 100 A"), plate=plate))


def test_three_strings_want_a_fuse_each():
    """NEC 690.9(A) for arrays; common practice for batteries."""
    assert "CP426" in codes(changed(("lifepo4\n", "lifepo4, parallel 3\n")))
    assert "CP426" not in codes(changed(("lifepo4\n", "lifepo4, parallel 2\n")))


def test_the_start_of_a_motor_and_its_window():
    winch = 'lamp "Winch" 20 A, intermittent, drop 10 %, works 10.8..15 V, inrush 100 A'
    lamp = 'lamp "Lamp" 2 A, works 10.5..15 V'
    plate = changed((lamp, winch), ("-- 3 m --", "-- 3 m, 8 AWG --"), *THICK)
    (found,) = of_code("CP427", compiled(plate)[1])
    # By hand: 12 V less 100 A through 6 m of 8 AWG and 1.6 m of 2 AWG at 30 °C (NEC ch. 9 table 8: 0.764 and 0.194
    # ohm/kft at 75 °C), the battery's terminals held while it runs. The 80 A that its start adds to 20 A lose within
    # the battery as well: 13.6 V charged over its 3 kA.
    warm = (1 + 0.00393 * 10) / (1 + 0.00393 * 55) / 304.8
    by_hand = 12.0 - 100 * (6 * 0.764 + 1.6 * 0.194) * warm - 80 * 13.6 / 3000
    assert found.measure is not None and found.measure.found == pytest.approx(by_hand, abs=0.05)


def test_the_plain_boat_says_nothing_but_that_curves_and_a_sheath_are_missing():
    """Its main stands 0.3 m from the battery without a sheath."""
    _, findings = compiled(BOAT)
    assert {f.code for f in findings} == {"CP418", "CP439"}
