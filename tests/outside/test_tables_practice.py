"""Fuses, studs, crimps, ferrules, batteries, copper and heat of faults, cell by cell.

Every figure is typed here as its source has it (read on public pages, or from memory where the product's own status
says so) and compared with what ships, no row left over on either side.
"""

from __future__ import annotations

import pytest

from copperplate.standards import adiabatic, colour, table


def cells(name: str, *columns: str) -> list[tuple[str, ...]]:
    return [tuple(record[column] for column in columns) for record in table(name).records]


def test_every_gate_of_every_fuse():
    """ISO 8820-3: seconds, not before and not after, at percent of the rating; IEC 60269 conventional currents."""
    assert cells("fuses/gates", "family", "rating_min_a", "rating_max_a", "percent_of_rating", "min_s", "max_s") == [
        ("blade", "1", "30", "110", "360000", ""), ("blade", "1", "30", "135", "0.75", "600"),
        ("blade", "1", "30", "160", "0.25", "50"), ("blade", "1", "30", "200", "0.15", "5"),
        ("blade", "1", "30", "350", "0.08", "0.5"), ("blade", "1", "30", "600", "", "0.15"),
        ("blade", "35", "40", "100", "360000", ""), ("blade", "35", "40", "135", "0.75", "600"),
        ("blade", "35", "40", "200", "0.15", "5"), ("blade", "35", "40", "350", "0.08", "0.5"),
        ("blade", "35", "40", "600", "", "0.15"),
        ("high-blade", "20", "80", "100", "360000", ""), ("high-blade", "20", "80", "135", "60", "1800"),
        ("high-blade", "20", "80", "200", "2", "50"), ("high-blade", "20", "80", "350", "0.2", "7"),
        ("high-blade", "20", "80", "600", "0.04", "1"),
        ("mini-blade", "2", "30", "110", "360000", ""), ("mini-blade", "2", "30", "135", "0.75", "600"),
        ("mini-blade", "2", "30", "200", "0.15", "5"), ("mini-blade", "2", "30", "350", "0.08", "0.5"),
        ("mini-blade", "2", "30", "600", "0.03", "0.1"),
        ("gg", "16", "63", "125", "3600", ""), ("gg", "16", "63", "160", "", "3600"),
    ]  # fmt: skip


def test_no_gate_that_is_only_remembered_with_doubt_ships():
    """Strip fuses (ISO 8820-5) and class T (UL 248-15) have no curve that was read."""
    assert {family for (family,) in cells("fuses/gates", "family")} == {"blade", "mini-blade", "high-blade", "gg"}


def test_every_device_that_opens_at_once():
    """IEC 60898-1: bands of types B, C and D, 3 to 5, 5 to 10 and 10 to 20 times, within 0.1 s; IEC 61008-1: 40 ms at
    five times; a fuse of ISO 8820-3 within 1 s at 600 %; what states no curve is taken for type C (common practice, no
    source)."""
    assert cells("fuses/at-once", "kind", "curve", "times", "seconds", "holds_times") == [
        ("breaker", "b", "5", "0.1", "3"), ("breaker", "c", "10", "0.1", "5"), ("breaker", "d", "20", "0.1", "10"),
        ("breaker", "", "10", "", ""), ("fuse", "", "6", "1", ""), ("residual", "", "5", "0.04", ""),
    ]  # fmt: skip


def test_every_colour_of_blade_fuses():
    """ISO 8820-3 types C and F, read on one page; 35 and 40 A from memory."""
    assert cells("fuses/blade-colours", "rating_a", "colour") == [
        ("1", "black"), ("2", "grey"), ("3", "violet"), ("4", "pink"), ("5", "light brown"), ("7.5", "brown"),
        ("10", "red"), ("15", "blue"), ("20", "yellow"), ("25", "clear"), ("30", "green"), ("35", "blue-green"),
        ("40", "orange"),
    ]  # fmt: skip


@pytest.mark.parametrize(("insulation", "final"), [(60, 160), (105, 160), (110, 250), (150, 250), (180, 350)])
def test_what_insulation_stands_at_the_end_of_a_fault(insulation, final):
    """IEC 60364-5-54: PVC 160 °C, cross-linked 250 °C, silicone 350 °C."""
    assert adiabatic.final_temperature_c(insulation) == final


def test_every_disconnection_time_of_final_circuits():
    """IEC 60364-4-41 Table 41.1, TN, seconds by the AC voltage to earth (read in the equal national table)."""
    assert cells("iec/60364-4-41-1", "volts_max", "seconds") == [("120", "0.8"), ("230", "0.4"), ("400", "0.2")]


def test_every_k_of_iec_60364_5_54():
    assert cells("iec/60364-5-54-k", "insulation", "initial_c", "final_c", "k") == [
        ("PVC 70 C up to 300 mm2", "70", "160", "115"), ("PVC 70 C over 300 mm2", "70", "140", "103"),
        ("PVC 90 C up to 300 mm2", "90", "160", "100"), ("XLPE / EPR 90 C", "90", "250", "143"),
        ("rubber 60 C", "60", "200", "141"), ("butyl rubber 85 C", "85", "220", "134"),
        ("silicone 180 C", "180", "350", "132"), ("PVC 70 C", "30", "160", "143"), ("XLPE / EPR", "30", "250", "176"),
        ("butyl rubber 85 C", "30", "220", "166"), ("none", "30", "500", "228"), ("none", "30", "200", "159"),
        ("none", "30", "150", "138"),
    ]  # fmt: skip


def test_every_constant_of_the_circular_mil_formula():
    """Ohm circular mil per foot, and the copper's temperature that it stands for."""
    assert cells("copper/circular-mil-constants", "k_ohm_cmil_per_ft", "copper_c") == [
        ("10.371", "20.0"), ("10.4", "20.7"), ("10.575", "25.0"), ("10.75", "29.3"), ("11.1", "37.9"),
        ("11.2", "40.3"), ("12.0", "60.0"), ("12.6", "74.7"), ("12.9", "82.0"),
    ]  # fmt: skip
    for k, degrees in cells("copper/circular-mil-constants", "k_ohm_cmil_per_ft", "copper_c"):
        # 10.371 at 20 °C, 0.00393 a kelvin (NBS Handbook 100).
        assert float(k) == pytest.approx(10.371 * (1 + 0.00393 * (float(degrees) - 20)), rel=2e-3)


def test_every_ferrule_of_din_46228_4():
    assert cells("din/46228-4", "area_mm2", "length_mm", "colour") == [
        ("0.5", "8", "white"), ("0.75", "8", "grey"), ("1", "8", "red"), ("1.5", "8", "black"), ("2.5", "8", "blue"),
        ("4", "10", "grey"), ("6", "12", "yellow"), ("10", "12", "red"), ("16", "18", "blue"), ("25", "22", "yellow"),
        ("35", "16", "red"), ("50", "20", "blue"),
    ]  # fmt: skip


def test_every_stud():
    """Thread, lug hole (from memory), torque in brass and in steel 8.8, current of a clamped stud."""
    columns = ("diameter_mm", "lug_hole_mm", "torque_brass_nm", "torque_steel_8_8_nm", "clamped_current_a")
    assert cells("practice/studs", "stud", *columns) == [
        ("M4", "4", "4.3", "1.2", "", "35"), ("M5", "5", "5.3", "2.0", "2.5-5", "75"),
        ("M6", "6", "6.4", "3.0", "6.5-8.8", "125"), ("M8", "8", "8.4", "6.0", "15-21", "150"),
        ("M10", "10", "10.5", "10.0", "27-42", "200"), ("M12", "12", "13.0", "15.5", "68-70", "350"),
        ("no-10", "4.83", "5.1", "2.3-3.6", "", ""), ("1/4 in", "6.35", "6.7", "5.2-6.0", "6.0", ""),
        ("5/16 in", "7.94", "8.4", "6.8-12", "12", ""), ("3/8 in", "9.53", "10.0", "11-22", "22", ""),
    ]  # fmt: skip


def test_every_crimp_of_small_craft_practice():
    """Newton for a minute: 10, 15, 30, 35, 40, 45, 50, 60, 70, 80, 90, 100, 125, 150, 175 and 225 lbf."""
    gauges = ("18", "16", "14", "12", "10", "8", "6", "5", "4", "3", "2", "1", "1/0", "2/0", "3/0", "4/0")
    pounds = (10, 15, 30, 35, 40, 45, 50, 60, 70, 80, 90, 100, 125, 150, 175, 225)
    shipped = cells("practice/crimp-pull", "awg", "pull_n", "hold_s")
    assert [gauge for gauge, _, _ in shipped] == list(gauges)
    assert [float(newton) for _, newton, _ in shipped] == pytest.approx([4.448222 * p for p in pounds], abs=0.06)
    assert {hold for _, _, hold in shipped} == {"60"}


def test_every_rested_voltage():
    """Volts of a 12 V block at rest by percent of charge, lowest and highest of the pages read."""
    lead = {"flooded": ((12.6, 12.73), (12.4, 12.45), (12.2, 12.3), (12.0, 12.15), (11.6, 11.9)),
            "agm": ((12.8, 13.2), (12.6, 12.65), (12.3, 12.35), (12.0, 12.1), (11.6, 11.9)),
            "gel": ((12.85, 13.0), (12.65, 12.7), (12.35, 12.4), (12.0, 12.1), (11.8, 11.8))}  # fmt: skip
    wanted = [
        (kind, percent, *volts)
        for kind, row in lead.items()
        for percent, volts in zip((100, 75, 50, 25, 0), row, strict=True)
    ]
    lithium = ((13.4, 13.6), (13.3, 13.4), (13.2, 13.3), (13.0, 13.2), (12.8, 13.0), (12.5, 12.9), (12.0, 12.5))
    wanted += [("lifepo4", p, *v) for p, v in zip((100, 90, 70, 50, 30, 20, 10), lithium, strict=True)]
    wanted.append(("lifepo4", 0, 10.0, 10.0))
    shipped = cells("batteries/rested-voltage", "chemistry", "soc_percent", "low_v", "high_v")
    assert [(k, int(p), float(low), float(high)) for k, p, low, high in shipped] == wanted


@pytest.mark.parametrize(
    ("name", "block", "low", "full", "emf", "usable", "efficiency"),
    [
        # The low end at a quarter of the charge (lithium: a tenth), charging at the high end of what was read, the
        # e.m.f. the highest rested voltage, the depth the low end of what is recommended.
        ("flooded", 12, 12.0, 14.8, 12.73, 0.5, 0.85), ("agm", 12, 12.0, 14.7, 13.2, 0.5, 0.85),
        ("gel", 12, 12.0, 14.5, 13.0, 0.5, 0.85), ("lifepo4", 12.8, 12.0, 14.6, 13.6, 0.8, 0.98),
    ],
)  # fmt: skip
def test_every_chemistry(name, block, low, full, emf, usable, efficiency):
    shipped = {
        quantity: value
        for kind, quantity, value in cells("batteries/chemistry", "chemistry", "quantity", "value")
        if kind == name
    }
    quantities = ("block_v", "low_v", "full_v", "emf_full_v", "usable_share", "charge_efficiency")
    assert [float(shipped[q]) for q in quantities] == [block, low, full, emf, usable, efficiency]


def test_every_row_of_what_a_breaker_at_a_battery_must_break():
    """US small-craft practice: cold cranking amperes of 12 and 24 V banks, and of 32 V (from memory)."""
    columns = ("cca_min_a", "cca_max_a", "main_a", "branch_a")
    assert cells("batteries/interrupting-by-cca", "system_voltage_v", *columns) == [
        ("12-24", "0", "650", "1500", "750"), ("12-24", "651", "1100", "3000", "1500"),
        ("12-24", "1101", "", "5000", "2500"), ("32", "0", "1250", "3000", "1500"), ("32", "1251", "", "5000", "2500"),
    ]  # fmt: skip


def test_solid_and_stranded_rows_that_the_other_tests_do_not_read():
    """IEC 60228 class 2, plain and tinned, ohm per km at 20 °C."""
    plain = (36.0, 24.5, 18.1, 12.1, 7.41, 4.61, 3.08, 1.83, 1.15, 0.727, 0.524, 0.387, 0.268, 0.193, 0.153, 0.124)
    tinned = (36.7, 24.8, 18.2, 12.2, 7.56, 4.70, 3.11, 1.84, 1.16, 0.734, 0.529, 0.391, 0.270, 0.195, 0.154, 0.126)
    shipped = cells("iec/60228", "class2_plain_ohm_per_km", "class2_tinned_ohm_per_km")
    assert [(float(p), float(t)) for p, t in shipped] == list(zip(plain, tinned, strict=True))


COLOURS = {
    # rules, current, pole: with the negative earthed, AC in the same plate
    ("cfr-183", "dc"): {"pos": "RD", "neg": "YE", "pe": "GN"},
    ("cfr-183", "ac"): {"l": "BK", "l1": "BK", "l2": "RD", "n": "WH", "pe": "GN"},
    ("nec", "dc"): {"pos": "RD", "neg": "WH", "pe": "GN"},
    ("nec", "ac"): {"l": "BK", "l1": "BK", "l2": "RD", "n": "WH", "pe": "GN"},
    ("iec-60364", "dc"): {"pos": "RD", "neg": "WH", "mid": "BU", "pe": "GNYE"},
    ("iec-60364", "ac"): {"l": "BN", "l1": "BN", "l2": "BK", "n": "BU", "pe": "GNYE"},
    ("iso-13297", "dc"): {"pos": "RD", "neg": "YE", "pe": "GNYE"},
    ("iso-13297", "ac"): {"l": "BN", "l1": "BN", "l2": "BK", "n": "BU", "pe": "GNYE"},
}
"""US small-craft practice; NEC 200.6, 250.119 and 310.6 (from memory); IEC 60445:2017 6.2 and 6.3; the small-craft
standard's black or yellow (from memory)."""


@pytest.mark.parametrize(("rules", "current"), COLOURS)
def test_every_colour(rules, current):
    wanted = COLOURS[rules, current]
    assert {pole: colour(rules, "earthed", pole, current, True) for pole in wanted} == wanted
    if current == "dc":
        without = {"cfr-183": "BK", "nec": "WH", "iec-60364": "WH", "iso-13297": "BK"}[rules]
        assert colour(rules, "earthed", "neg", "dc", False) == without
