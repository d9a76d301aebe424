"""The NEC and IEC 60364 profiles against their published tables, every row that is used.

NEC figures were read on public pages of the 2011 to 2023 editions. IEC ambient factors, method C for PVC to 16 mm²
and the grouping factors were read in equal national tables; method C above that and for XLPE, method B1 and Table
54.2 are from memory.
"""

from __future__ import annotations

import itertools
import math

import pytest

from copperplate.model import Size
from copperplate.standards import OutsideTable, adiabatic_k, cold_voc_factor, fuses, profile, table

NEC, IEC = profile("nec"), profile("iec-60364")


def awg(number: str) -> Size:
    return Size(number, "AWG")


def mm2(number: str) -> Size:
    return Size(number, "mm2")


TABLE_310_16 = {
    # gauge: 60, 75, 90 °C
    "14": (15, 20, 25),
    "12": (20, 25, 30),
    "10": (30, 35, 40),
    "8": (40, 50, 55),
    "6": (55, 65, 75),
    "4": (70, 85, 95),
    "3": (85, 100, 115),
    "2": (95, 115, 130),
    "1": (110, 130, 145),
    "1/0": (125, 150, 170),
    "2/0": (145, 175, 195),
    "3/0": (165, 200, 225),
    "4/0": (195, 230, 260),
}


@pytest.mark.parametrize("gauge", TABLE_310_16)
def test_every_row_of_nec_310_16(gauge):
    assert [NEC.ampacity(awg(gauge), c).value for c in (60, 75, 90)] == list(TABLE_310_16[gauge])
    assert NEC.ampacity(awg(gauge), 105).value == TABLE_310_16[gauge][2]


AMBIENT_310_15_B1 = {
    # up to °C: 60, 75, 90 °C columns
    10: (1.29, 1.20, 1.15),
    15: (1.22, 1.15, 1.12),
    20: (1.15, 1.11, 1.08),
    25: (1.08, 1.05, 1.04),
    35: (0.91, 0.94, 0.96),
    40: (0.82, 0.88, 0.91),
    45: (0.71, 0.82, 0.87),
    50: (0.58, 0.75, 0.82),
    55: (0.41, 0.67, 0.76),
    60: (None, 0.58, 0.71),
    65: (None, 0.47, 0.65),
    70: (None, 0.33, 0.58),
    75: (None, None, 0.50),
    80: (None, None, 0.41),
    85: (None, None, 0.29),
}


@pytest.mark.parametrize("ambient", AMBIENT_310_15_B1)
def test_every_row_of_the_nec_ambient_factors(ambient):
    for column, printed in zip((60, 75, 90), AMBIENT_310_15_B1[ambient], strict=True):
        for air in (ambient, ambient - 4):
            if printed is None:
                with pytest.raises(OutsideTable):
                    NEC.factors(awg("10"), column, air, False, 120, 3, "conduit")
                continue
            found = NEC.factors(awg("10"), column, air, False, 120, 3, "conduit")
            assert next(f.value for f in found if f.quantity == "ambient factor") == printed


def test_nec_base_air_needs_no_factor_and_hotter_than_the_table_is_outside():
    assert NEC.factors(awg("10"), 60, 30, False, 120, 3, "") == ()
    with pytest.raises(OutsideTable):
        NEC.factors(awg("10"), 90, 86, False, 120, 3, "")


BUNDLES_310_15_C1 = {
    4: 0.80, 6: 0.80, 7: 0.70, 9: 0.70, 10: 0.50, 20: 0.50, 21: 0.45, 30: 0.45, 31: 0.40, 40: 0.40, 41: 0.35, 99: 0.35,
}  # fmt: skip


@pytest.mark.parametrize("conductors", BUNDLES_310_15_C1)
def test_every_row_of_the_nec_adjustment_factors(conductors):
    (factor,) = NEC.factors(awg("10"), 60, 30, False, 12, conductors, "conduit")
    assert factor.value == BUNDLES_310_15_C1[conductors]
    assert NEC.factors(awg("10"), 60, 30, False, 12, 3, "conduit") == ()


@pytest.mark.parametrize(
    ("gauge", "insulation", "ambient", "conductors", "usable"),
    [
        ("14", 90, 30, 2, 15),
        ("12", 75, 30, 2, 20),
        ("1", 90, 30, 2, 110),  # 14 to 1 AWG: the 60 °C column
        ("2/0", 90, 30, 2, 175),  # larger: the 75 °C column
        ("12", 90, 40, 6, 30 * 0.91 * 0.80),  # derated from 90 °C to less than the 30 A... and 20 A of the terminals
        ("12", 90, 50, 9, 30 * 0.82 * 0.70),  # 17.2 A: the terminals no longer bind
    ],
)
def test_terminals_cap_the_corrected_ampacity(gauge, insulation, ambient, conductors, usable):
    """NEC 110.14(C)(1): correct from the insulation's own column, end at that of the terminals."""
    factors = NEC.factors(awg(gauge), insulation, ambient, False, 120, conductors, "conduit")
    ampacity = NEC.ampacity(awg(gauge), insulation).value
    for factor in factors:
        ampacity *= factor.value
    assert ampacity == pytest.approx(min(usable, TABLE_310_16[gauge][1 if "/" in gauge else 0]))
    assert ampacity >= min(usable, TABLE_310_16[gauge][1 if "/" in gauge else 0]) - 1e-12


def test_nec_minimum_sizes():
    """720.4 under 50 V: 12 AWG; 14 AWG above (from memory)."""
    assert NEC.minimum("awg", False, 12)[0] == awg("12")
    assert NEC.minimum("awg", True, 48)[0] == awg("12")
    assert NEC.minimum("awg", False, 120)[0] == awg("14")


def test_nec_continuous_loads_and_small_conductors():
    """210.19, 210.20, 215.2, 215.3: 125 % on conductors and devices; 240.4(D): 7, 10, 15, 20, 30 A."""
    assert NEC.figures["device-factor"].value == NEC.figures["conductor-factor"].value == 1.25
    caps = {"18": 7, "16": 10, "14": 15, "12": 20, "10": 30}
    assert {g: NEC.device_cap(awg(g), "dc").value for g in caps} == caps
    assert NEC.device_cap(mm2("2.5"), "dc").value == 15
    assert NEC.device_cap(awg("8"), "dc") is None


EARTH_250_122 = {15: "14", 20: "12", 60: "10", 100: "8", 200: "6", 300: "4", 400: "3", 500: "2", 600: "1"}


@pytest.mark.parametrize("device", EARTH_250_122)
def test_every_row_of_nec_250_122(device):
    assert NEC.earth_size(device, "awg")[0] == awg(EARTH_250_122[device])
    assert NEC.earth_size(device - 1, "awg")[0] == awg(EARTH_250_122[device])


def test_earths_beyond_the_table_and_in_other_series():
    with pytest.raises(OutsideTable):
        NEC.earth_size(601, "awg")
    assert NEC.earth_size(15, "mm2")[0] == mm2("2.5")  # 14 AWG is 2.08 mm²
    assert NEC.earth_size(21, "awg")[0] == awg("10")


STANDARD_RATINGS = (
    15, 20, 25, 30, 35, 40, 45, 50, 60, 70, 80, 90, 100, 110, 125, 150, 175, 200, 225, 250, 300, 350, 400, 450, 500,
    600,
)  # fmt: skip
"""NEC 240.6(A), inverse-time breakers to 600 A; fuses have 1, 3, 6, 10 and 601 A as well."""


def test_every_standard_rating_of_nec_240_6():
    shipped = [(float(r["rating_a"]), r["breaker"]) for r in table("nec/240-6-a").records]
    assert [a for a, breaker in shipped if breaker == "1"] == list(STANDARD_RATINGS)
    assert [a for a, breaker in shipped if breaker == "0"] == [1, 3, 6, 10, 601]
    for smaller, larger in itertools.pairwise(STANDARD_RATINGS):
        assert fuses.next_rating(NEC.family("breaker"), smaller + 0.1) == larger
    assert fuses.next_rating(NEC.family("breaker"), 601) is None


def test_preferred_ratings_of_iec_60898():
    """6, 10, 13, 16, 20, 25, 32, 40, 50, 63, 80, 100, 125 A (8 A from memory); 5 A is a small DC breaker."""
    preferred = [6, 8, 10, 13, 16, 20, 25, 32, 40, 50, 63, 80, 100, 125]
    assert [a for a in IEC.family("breaker").ratings_a if a >= 6] == preferred


VOC_690_7 = {
    20: 1.02, 15: 1.04, 10: 1.06, 5: 1.08, 0: 1.10, -5: 1.12, -10: 1.14, -15: 1.16, -20: 1.18, -25: 1.20, -30: 1.21,
    -35: 1.23, -40: 1.25,
}  # fmt: skip
"""NEC Table 690.7(A), coldest air of each row."""


@pytest.mark.parametrize("coldest", VOC_690_7)
def test_every_row_of_nec_690_7(coldest):
    assert cold_voc_factor(coldest).value == VOC_690_7[coldest]
    assert cold_voc_factor(coldest + 4).value == VOC_690_7[coldest]


def test_outside_nec_690_7():
    assert cold_voc_factor(25).value == 1.0
    with pytest.raises(OutsideTable):
        cold_voc_factor(-40.5)


METHOD_C = {
    # mm²: PVC 70 °C, XLPE 90 °C
    "1.5": (19.5, 24), "2.5": (27, 33), "4": (36, 45), "6": (46, 58), "10": (63, 80), "16": (85, 107),
    "25": (112, 138), "35": (138, 171), "50": (168, 209), "70": (213, 269), "95": (258, 328), "120": (299, 382),
}  # fmt: skip
METHOD_B1 = {
    "1.5": (17.5, 23), "2.5": (24, 31), "4": (32, 42), "6": (41, 54), "10": (57, 75), "16": (76, 100),
    "25": (101, 133), "35": (125, 164), "50": (151, 198), "70": (192, 253), "95": (232, 306), "120": (269, 354),
}  # fmt: skip


@pytest.mark.parametrize("area", METHOD_C)
def test_every_row_of_iec_methods_c_and_b1(area):
    for column, surface, conduit in zip((70, 90), METHOD_C[area], METHOD_B1[area], strict=True):
        ampacity = IEC.ampacity(mm2(area), column).value
        assert ampacity == surface
        (factor,) = IEC.factors(mm2(area), column, 30, False, 230, 2, "conduit")
        assert ampacity * factor.value == pytest.approx(conduit)
    assert IEC.ampacity(mm2(area), 105).value == METHOD_C[area][1]


def test_outside_the_iec_ampacities():
    for size, insulation in ((mm2("1"), 70), (mm2("150"), 70), (mm2("2.5"), 60)):
        with pytest.raises(OutsideTable):
            IEC.ampacity(size, insulation)


AMBIENT_B_52_14 = {
    10: (1.22, 1.15), 15: (1.17, 1.12), 20: (1.12, 1.08), 25: (1.06, 1.04), 35: (0.94, 0.96), 40: (0.87, 0.91),
    45: (0.79, 0.87), 50: (0.71, 0.82), 55: (0.61, 0.76), 60: (0.50, 0.71), 65: (None, 0.65), 70: (None, 0.58),
    75: (None, 0.50), 80: (None, 0.41),
}  # fmt: skip


@pytest.mark.parametrize("ambient", AMBIENT_B_52_14)
def test_every_row_of_the_iec_ambient_factors(ambient):
    for column, printed in zip((70, 90), AMBIENT_B_52_14[ambient], strict=True):
        if printed is None:
            with pytest.raises(OutsideTable):
                IEC.factors(mm2("6"), column, ambient, False, 230, 2, "")
            continue
        (factor,) = IEC.factors(mm2("6"), column, ambient, False, 230, 2, "")
        assert factor.value == printed
        assert factor.value == pytest.approx(math.sqrt((column - ambient) / (column - 30)), abs=0.006)


GROUPS_B_52_17 = {2: 0.80, 3: 0.70, 4: 0.65, 5: 0.60, 6: 0.57, 7: 0.54, 8: 0.52, 9: 0.50, 12: 0.45, 16: 0.41, 20: 0.38}
LAYER_B_52_17 = {2: 0.85, 3: 0.79, 4: 0.75, 5: 0.73, 6: 0.72, 7: 0.72, 8: 0.71, 9: 0.70, 12: 0.70, 16: 0.70, 20: 0.70}


@pytest.mark.parametrize("circuits", GROUPS_B_52_17)
def test_every_row_of_the_iec_grouping_factors(circuits):
    """Two loaded conductors make a circuit; conductors not said to lie otherwise are taken as bunched."""
    for laid, printed in (("bundle", GROUPS_B_52_17), ("", GROUPS_B_52_17), ("free-air", LAYER_B_52_17)):
        (factor,) = IEC.factors(mm2("6"), 70, 30, False, 12, 2 * circuits, laid)
        assert factor.value == printed[circuits]
        (odd,) = IEC.factors(mm2("6"), 70, 30, False, 12, 2 * circuits - 1, laid)
        assert odd.value == printed[circuits]


def test_between_and_outside_the_iec_groups():
    (ten,) = IEC.factors(mm2("6"), 70, 30, False, 12, 20, "bundle")
    assert ten.value == 0.45  # ten circuits: the row of twelve
    with pytest.raises(OutsideTable):
        IEC.factors(mm2("6"), 70, 30, False, 12, 42, "bundle")


K_ROWS = {(70, 160): 115, (90, 160): 100, (180, 350): 132}
"""IEC 60364-5-54 annex A / IEC 60364-4-43: PVC 70 °C, PVC 90 °C (from memory), silicone 180 °C (from memory)."""


@pytest.mark.parametrize("row", K_ROWS)
def test_k_by_the_formula_equals_the_printed_k(row):
    initial, final = row
    k = adiabatic_k(initial)
    assert dict((name, value) for name, value, _ in k.inputs)["final"] == final
    assert k.value == pytest.approx(K_ROWS[row], abs=0.5)


def test_every_k_that_ships_follows_from_the_same_formula():
    rows = table("iec/60364-5-54-k").records
    assert len(rows) == 13
    for row in rows:
        initial, final = float(row["initial_c"]), float(row["final_c"])
        assert 226 * math.sqrt(math.log1p((final - initial) / (234.5 + initial))) == pytest.approx(
            float(row["k"]), abs=0.5
        )


def test_hotter_insulation_never_counts_as_standing_more():
    """105 °C insulation is taken as thermoplastic, so its k is below that of 70 and 90 °C."""
    assert adiabatic_k(105).value == pytest.approx(87.6, abs=0.05)
    assert adiabatic_k(105).value < adiabatic_k(90).value < adiabatic_k(70).value < 143


@pytest.mark.parametrize(
    ("line", "earth"),
    [("1.5", "1.5"), ("16", "16"), ("25", "16"), ("35", "16"), ("50", "25"), ("95", "50"), ("120", "70")],
)
def test_iec_protective_conductors_by_the_line(line, earth):
    """IEC 60364-5-54 Table 54.2 (from memory): S to 16 mm², 16 mm² to 35 mm², S/2 above."""
    assert IEC.earth_size(100, "mm2", "ac", mm2(line))[0] == mm2(earth)
    assert IEC.earth_size(100, "mm2", "ac") is None


@pytest.mark.parametrize("rules", [NEC, IEC], ids=("nec", "iec-60364"))
def test_times_and_factors_of_faults(rules):
    """IEC 60364-4-41 411.3.2.3 (5 s, from memory) and Table 41.1 (TN); IEC 60909-0:2016 Table 1 at +10 % (from memory);
    the NEC asks in 250.4(A)(5) for a path that opens the device and gives no time, so that they are practice there."""
    assert rules.figures["disconnection"].value == 5
    assert [rules.disconnection(volts).value for volts in (120, 230, 240, 277, 400)] == [0.8, 0.4, 0.4, 0.2, 0.2]
    assert (rules.figures["fault-voltage-highest"].value, rules.figures["fault-voltage-lowest"].value) == (1.1, 0.9)
    times = [rules.figures["disconnection"], rules.disconnection(120)]
    if rules is NEC:
        assert all(time.source.startswith("NEC 250.4(A)(5)") and time.status == "practice" for time in times)
    else:
        assert [time.cited for time in times] == ["IEC 60364-4-41 411.3.2.3, from memory", "IEC 60364-4-41 Table 41.1"]


def test_figures_that_devices_and_outlets_are_held_to():
    """IEC 60364-4-41 411.3.3: 30 mA; gG fuses stand apart from a ratio of 1.6 (IEC 60269-2); NEC 220.14(I): 180 VA an
    outlet; IEC 60898-1 5.3.4.1: 1500 A at least (from memory); NEC Table 690.7(A) ends at -40 °C."""
    wanted = {"residual": 0.03, "selectivity": 1.6, "outlet": 180, "breaker-breaks": 1500, "coldest": -40}
    for rules in (NEC, IEC):
        assert {name: rules.figures[name].value for name in wanted} == wanted
