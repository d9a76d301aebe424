"""Conductors against ASTM B258, the copper wire tables, IEC 60228, the SAE areas and NEC chapter 9 Table 8.

Diameters and areas are those that handbooks print for ASTM B258; resistances at 20 °C of solid annealed wire are
those of the copper wire tables (NBS Handbook 100). All figures are typed here and nothing is read from a file that
the product ships.
"""

from __future__ import annotations

import math

import pytest

from copperplate.model import Size
from copperplate.standards import conductors, profile, table

ASTM_B258 = {
    # gauge: diameter mm, area mm², circular mil, ohm per 1000 ft of solid copper at 20 °C
    "24": (0.5106, 0.2047, 404.0, 25.67),
    "22": (0.6438, 0.3255, 642.4, 16.14),
    "20": (0.8118, 0.5176, 1022, 10.15),
    "18": (1.0237, 0.8230, 1624, 6.385),
    "16": (1.2908, 1.3087, 2583, 4.016),
    "14": (1.6277, 2.0809, 4107, 2.525),
    "12": (2.0525, 3.3088, 6530, 1.588),
    "10": (2.5882, 5.2612, 10383, 0.9989),
    "8": (3.2636, 8.3656, 16510, 0.6282),
    "6": (4.1154, 13.3018, 26251, 0.3951),
    "4": (5.1894, 21.1506, 41741, 0.2485),
    "3": (5.8273, 26.6705, 52635, 0.1970),
    "2": (6.5437, 33.6308, 66371, 0.1563),
    "1": (7.3481, 42.4077, 83693, 0.1239),
    "1/0": (8.2515, 53.4751, 105535, 0.09827),
    "2/0": (9.2658, 67.4309, 133077, 0.07793),
    "3/0": (10.4049, 85.0288, 167806, 0.06180),
    "4/0": (11.6840, 107.2193, 211600, 0.04901),
}


@pytest.mark.parametrize("gauge", ASTM_B258)
def test_awg_geometry_and_cold_resistance(gauge):
    diameter, area, circular_mil, ohm_per_kft = ASTM_B258[gauge]
    size = Size(gauge, "AWG")
    assert (conductors.area_mm2(size) * 4 / math.pi) ** 0.5 == pytest.approx(diameter, abs=6e-5)
    assert conductors.area_mm2(size) == pytest.approx(area, abs=6e-5)
    assert conductors.circular_mil(size) == pytest.approx(circular_mil, rel=6e-4)
    assert conductors.ohm_per_m(size, 20.0) * 304.8 == pytest.approx(ohm_per_kft, rel=6e-4)


def test_the_formula_equals_the_table_that_ships():
    for row in table("astm/b258").records:
        size = Size(row["awg"], "AWG")
        assert conductors.area_mm2(size) == pytest.approx(float(row["area_mm2"]), abs=6e-5)
        assert conductors.circular_mil(size) == pytest.approx(float(row["area_circular_mil"]), abs=0.51)


def test_the_gauge_by_its_definition():
    """ASTM B258: 36 AWG is 0.005 in, 4/0 is 0.46 in, and 39 steps lie between them."""
    four_noughts = conductors.area_mm2(Size("4/0", "AWG"))
    assert four_noughts == pytest.approx(math.pi / 4 * (0.46 * 25.4) ** 2)
    step = conductors.area_mm2(Size("10", "AWG")) / conductors.area_mm2(Size("11", "AWG"))
    assert step == pytest.approx((0.46 / 0.005) ** (2 / 39))


IEC_60228 = {
    # mm²: class 5 plain, tinned, ohm per km at 20 °C
    "0.5": (39.0, 40.1),
    "0.75": (26.0, 26.7),
    "1": (19.5, 20.0),
    "1.5": (13.3, 13.7),
    "2.5": (7.98, 8.21),
    "4": (4.95, 5.09),
    "6": (3.30, 3.39),
    "10": (1.91, 1.95),
    "16": (1.21, 1.24),
    "25": (0.780, 0.795),
    "35": (0.554, 0.565),
    "50": (0.386, 0.393),
    "70": (0.272, 0.277),
    "95": (0.206, 0.210),
    "120": (0.161, 0.164),
    "150": (0.129, 0.132),
}


@pytest.mark.parametrize("area", IEC_60228)
def test_every_row_of_iec_60228_class_5(area):
    plain, tinned = IEC_60228[area]
    size = Size(area, "mm2")
    assert conductors.ohm_per_m(size, 20.0, tinned=False) * 1000 == pytest.approx(plain)
    assert conductors.ohm_per_m(size, 20.0, tinned=True) * 1000 == pytest.approx(tinned)
    assert conductors.area_mm2(size) == float(area)


def test_the_series_holds_every_size_once_and_in_order():
    assert [s.number for s in conductors.series_sizes("mm2")] == list(IEC_60228)
    for series in ("awg", "sae", "mm2"):
        areas = [conductors.area_mm2(s) for s in conductors.series_sizes(series)]
        assert areas == sorted(set(areas))
        assert conductors.series_sizes(series)[-1] == conductors.LARGEST[series]


SAE_CIRCULAR_MIL = {
    "18": 1537, "16": 2336, "14": 3702, "12": 5833, "10": 9343, "8": 14810, "6": 24538, "4": 37360,
    "2": 62450, "1": 77790, "1/0": 98980, "2/0": 125100, "3/0": 158600, "4/0": 205500,
}  # fmt: skip
"""Smallest areas of SAE conductors, circular mil (read on one public page)."""


@pytest.mark.parametrize("gauge", SAE_CIRCULAR_MIL)
def test_sae_wire_has_3_to_11_percent_less_copper(gauge):
    sae, awg = Size(gauge, "SAE"), Size(gauge, "AWG")
    assert conductors.circular_mil(sae) == pytest.approx(SAE_CIRCULAR_MIL[gauge])
    assert 0.89 < conductors.area_mm2(sae) / conductors.area_mm2(awg) < 0.975
    assert conductors.ohm_per_m(sae, 20.0) > conductors.ohm_per_m(awg, 20.0)


TABLE_8 = {
    # gauge, strands: uncoated, coated, ohm per 1000 ft at 75 °C
    "18": (7.95, 8.45),
    "16": (4.99, 5.29),
    "14": (3.14, 3.26),
    "12": (1.98, 2.05),
    "10": (1.24, 1.29),
    "8": (0.778, 0.809),
    "6": (0.491, 0.510),
    "4": (0.308, 0.321),
    "3": (0.245, 0.254),
    "2": (0.194, 0.201),
    "1": (0.154, 0.160),
    "1/0": (0.122, 0.127),
    "2/0": (0.0967, 0.101),
    "3/0": (0.0766, 0.0797),
    "4/0": (0.0608, 0.0626),
}
"""NEC chapter 9 Table 8, stranded copper."""


@pytest.mark.parametrize("gauge", TABLE_8)
def test_every_row_of_nec_table_8_and_copper_at_75_degrees(gauge):
    uncoated, coated = TABLE_8[gauge]
    size, nec = Size(gauge, "AWG"), profile("nec")
    assert nec.judged_ohm_per_m(size, tinned=False).value * 304.8 == pytest.approx(uncoated)
    assert nec.judged_ohm_per_m(size, tinned=True).value * 304.8 == pytest.approx(coated)
    # Our own resistance knows no lay of the strands, which lengthens them by about 2 %.
    physical = conductors.ohm_per_m(size, 75.0) * 304.8
    assert physical < uncoated < 1.04 * physical
    assert conductors.tinned_ratio(size) == pytest.approx(coated / uncoated)


def test_solid_rows_of_nec_table_8_are_our_copper():
    """14, 12 and 10 AWG solid, uncoated, 75 °C: 3.07, 1.93 and 1.21 ohm per 1000 ft."""
    for gauge, printed in (("14", 3.07), ("12", 1.93), ("10", 1.21)):
        assert conductors.ohm_per_m(Size(gauge, "AWG"), 75.0) * 304.8 == pytest.approx(printed, rel=5e-3)


def test_sizes_without_a_row_of_table_8_go_by_its_own_constant():
    """12.9 ohm cmil/ft is what the stranded uncoated rows amount to (12.84 to 12.93)."""
    nec = profile("nec")
    assert nec.judged_ohm_per_m(Size("6", "mm2"), False).value == pytest.approx(12.9 / (6 / 5.067075e-4) / 0.3048)


def test_copper_gets_its_resistance_by_0_393_percent_a_kelvin():
    """NBS Handbook 100: 0.00393 referred to 20 °C. At 105 °C copper has 1.334 times its cold resistance."""
    for size in (Size("10", "AWG"), Size("10", "SAE"), Size("10", "mm2")):
        cold = conductors.ohm_per_m(size, 20.0)
        assert conductors.ohm_per_m(size, 105.0) / cold == pytest.approx(1.33405)
        assert conductors.ohm_per_m(size, -10.0) / cold == pytest.approx(0.8821)


def test_weight_of_copper():
    """8.89 g/cm³ (NBS Handbook 100): 1000 ft of 10 AWG weigh 31.43 lb in the copper wire tables."""
    assert conductors.kg_per_m(Size("10", "AWG")) * 304.8 / 0.45359237 == pytest.approx(31.43, rel=2e-3)
    assert conductors.kg_per_m(Size("50", "mm2")) == pytest.approx(0.4445)


def test_the_small_craft_constant_is_5_percent_below_copper():
    """ISO 10133 annex: E = 0.0164 I L / S, against 0.017241 ohm mm²/m of annealed copper at 20 °C."""
    iso = profile("iso-13297")
    assert iso.judged_ohm_per_m(Size("2.5", "mm2"), False).value == pytest.approx(0.0164 / 2.5)
    assert iso.judged_ohm_per_m(Size("10", "AWG"), True).value == pytest.approx(0.0164 / 5.2612, rel=1e-4)


def test_the_building_standard_takes_copper_in_service():
    """IEC 60364-5-52 annex G: 0.0225 ohm mm²/m (from memory)."""
    iec = profile("iec-60364")
    assert iec.judged_ohm_per_m(Size("6", "mm2"), False).value == pytest.approx(0.0225 / 6)
