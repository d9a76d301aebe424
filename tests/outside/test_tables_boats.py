"""The rules for US boats against the published law: 33 CFR part 183, subpart I.

Every row and column of 183.425 Table 5 and its notes is typed here from the published table, beside what the
product ships, and is read through the rule profile as the compiler reads it. Note 1 at 80, 125 and 200 °C and the
72 inches of 183.460(a) are from memory; the rest was read on public pages.
"""

from __future__ import annotations

import math

import pytest

from copperplate.model import Size
from copperplate.standards import OutsideTable, profile

COLUMNS = (60, 75, 80, 90, 105, 125, 200)
TABLE_5 = {
    "18": (10, 10, 15, 20, 20, 25, 25),
    "16": (15, 15, 20, 25, 25, 30, 35),
    "14": (20, 20, 25, 30, 35, 40, 45),
    "12": (25, 25, 35, 40, 45, 50, 55),
    "10": (40, 40, 50, 55, 60, 70, 70),
    "8": (55, 65, 70, 70, 80, 90, 100),
    "6": (80, 95, 100, 100, 120, 125, 135),
    "4": (105, 125, 130, 135, 160, 170, 180),
    "3": (120, 145, 150, 155, 180, 195, 210),
    "2": (140, 170, 175, 180, 210, 225, 240),
    "1": (165, 195, 210, 210, 245, 265, 280),
    "1/0": (195, 230, 245, 245, 285, 305, 325),
    "2/0": (225, 265, 285, 285, 330, 355, 370),
    "3/0": (260, 310, 330, 330, 385, 410, 430),
    "4/0": (300, 360, 385, 385, 445, 475, 510),
}
"""33 CFR 183.425 Table 5: amperes of copper conductors by gauge and temperature rating of the insulation."""

NOTE_1 = {60: 0.58, 75: 0.75, 80: 0.78, 90: 0.82, 105: 0.85, 125: 0.89, 200: 1.00}
"""Table 5 note 1: factor in engine spaces (50 °C)."""

NOTE_2 = {3: 0.70, 4: 0.60, 6: 0.60, 7: 0.50, 24: 0.50, 25: 0.40, 60: 0.40}
"""Table 5 note 2: factor by current-carrying conductors in a bundle, 50 V and above (183.435(b))."""

AWG12 = Size("12", "AWG")
BOATS = profile("cfr-183")


def product_of(factors) -> float:
    return math.prod(factor.value for factor in factors)


@pytest.mark.parametrize("gauge", TABLE_5)
def test_every_row_of_table_5(gauge):
    read = [BOATS.ampacity(Size(gauge, "AWG"), column).value for column in COLUMNS]
    assert read == list(TABLE_5[gauge])


def test_table_5_has_no_other_row_and_no_other_column():
    with pytest.raises(OutsideTable, match="no row for 20 AWG"):
        BOATS.ampacity(Size("20", "AWG"), 105)
    with pytest.raises(OutsideTable, match="no row for 15 AWG"):
        BOATS.ampacity(Size("15", "AWG"), 105)
    with pytest.raises(OutsideTable, match="no column"):
        BOATS.ampacity(AWG12, 59)


def test_between_columns_the_lower_one_is_read():
    assert BOATS.ampacity(AWG12, 85).value == 35
    assert BOATS.ampacity(AWG12, 104.9).value == 40
    assert BOATS.ampacity(AWG12, 250).value == 55
    assert "80 °C, the next lower" in BOATS.reading(AWG12, 85)
    assert BOATS.reading(AWG12, 105) == ""


@pytest.mark.parametrize(
    ("size", "row"),
    [
        (Size("2.5", "mm2"), "14"),  # 2.08 mm² by ASTM B258, the next is 3.31
        (Size("4", "mm2"), "12"),
        (Size("6", "mm2"), "10"),  # 5.26
        (Size("16", "mm2"), "6"),  # 13.30
        (Size("25", "mm2"), "4"),  # 21.15, 3 AWG is 26.67
        (Size("35", "mm2"), "2"),  # 33.63
        (Size("50", "mm2"), "1"),  # 42.41
        (Size("70", "mm2"), "2/0"),  # 67.43
        (Size("150", "mm2"), "4/0"),
        (Size("12", "SAE"), "14"),  # 5833 circular mil against the 6530 of 12 AWG
    ],
)
def test_other_series_read_the_largest_row_not_larger_in_area(size, row):
    assert BOATS.ampacity(size, 105).value == TABLE_5[row][4]


def test_a_conductor_thinner_than_the_table_is_outside_it():
    with pytest.raises(OutsideTable):
        BOATS.ampacity(Size("0.75", "mm2"), 105)


@pytest.mark.parametrize("insulation", NOTE_1)
def test_every_row_of_note_1(insulation):
    """Engine spaces at 50 °C, the note's own air; the thermal formula is not applied on top."""
    for ambient in (20, 30, 50):
        (factor,) = BOATS.factors(AWG12, insulation, ambient, True, 12, 2, "")
        assert factor.value == NOTE_1[insulation]
        assert "note 1" in factor.source


def test_an_engine_space_hotter_than_the_note_takes_the_smaller_factor():
    (factor,) = BOATS.factors(AWG12, 105, 60, True, 12, 2, "")
    assert factor.value == pytest.approx(math.sqrt(45 / 75))
    (barely,) = BOATS.factors(AWG12, 105, 50.2, True, 12, 2, "")
    assert barely.value == 0.85  # the root gives 0.854: the note's own figure is smaller


def test_hot_air_outside_engine_spaces_goes_by_the_root_of_the_rise_left():
    """sqrt((Tc - Ta) / (Tc - 30)), the formula of NEC 310.15(B) on Table 5's 30 °C: 0.931 at 40 °C for 105 °C."""
    assert BOATS.factors(AWG12, 105, 30, False, 12, 2, "") == ()
    assert BOATS.factors(AWG12, 105, 10, False, 12, 2, "") == ()
    (factor,) = BOATS.factors(AWG12, 105, 40, False, 12, 2, "")
    assert factor.value == pytest.approx(0.9309, abs=5e-5)
    assert factor.status == "computed"
    with pytest.raises(OutsideTable, match="rated 60 °C"):
        BOATS.factors(AWG12, 60, 60, False, 12, 2, "")


@pytest.mark.parametrize("conductors", NOTE_2)
@pytest.mark.parametrize("volts", [50, 120, 240])
def test_every_row_of_note_2_from_50_volts(conductors, volts):
    (factor,) = BOATS.factors(AWG12, 105, 30, False, volts, conductors, "bundle")
    assert factor.value == NOTE_2[conductors]


def test_bundles_below_50_volts_are_counted_and_not_factored():
    """183.435(b) binds at 50 V and above only; below, advice from three conductors on."""
    assert BOATS.factors(AWG12, 105, 30, False, 48, 25, "bundle") == ()
    assert BOATS.bundle_advice(48).value == 3
    assert BOATS.bundle_advice(50) is None
    assert BOATS.factors(AWG12, 105, 30, False, 120, 2, "bundle") == ()
    assert BOATS.factors(AWG12, 105, 30, False, 120, 9, "free-air") == ()


def test_engine_space_and_bundle_multiply_each_once():
    assert product_of(BOATS.factors(AWG12, 105, 30, True, 120, 3, "conduit")) == pytest.approx(0.85 * 0.7)


def test_minimum_gauges():
    """183.425(d), (e): 18 AWG inside a sheath, 16 AWG run separately; in mm² and SAE the next size not smaller."""
    assert BOATS.minimum("awg", False)[0] == Size("16", "AWG")
    assert BOATS.minimum("awg", True)[0] == Size("18", "AWG")
    assert BOATS.minimum("mm2", False)[0] == Size("1.5", "mm2")
    assert BOATS.minimum("mm2", True)[0] == Size("1", "mm2")
    assert BOATS.minimum("sae", False)[0] == Size("14", "SAE")  # 16 SAE has 1.18 mm², 16 AWG 1.31 mm²


def test_distances():
    """183.455(b): 7 in, 40 in in a sheath; 183.460(a): 72 in from a battery (from memory). 1 in = 25.4 mm."""
    assert BOATS.placement("bar", False).value == pytest.approx(7 * 0.0254)
    assert BOATS.placement("bar", True).value == pytest.approx(40 * 0.0254)
    assert BOATS.placement("battery", False).value == pytest.approx(72 * 0.0254)
    assert BOATS.placement("battery", True).value == pytest.approx(72 * 0.0254)
    assert BOATS.placement("battery", False).status == "from memory"


def test_device_shares():
    """183.455(c): the law allows 150 % below 50 V; a design here keeps to 100 %."""
    assert BOATS.figures["device-share"].value == 1.0
    assert BOATS.device_share_limit(12).value == 1.5
    assert "(c)(1)" in BOATS.device_share_limit(12).source
    assert "(c)(2)" in BOATS.device_share_limit(50).source


def test_sources():
    """NEC 690.8 for the sun: 1.25 x 1.25 = 1.5625; 183.460(b): at most 120 % of an alternator (from memory)."""
    assert product_of(BOATS.source_factor("solar")) == 1.5625
    assert product_of(BOATS.source_factor("charger")) == 1.25
    assert product_of(BOATS.source_factor("alternator")) == 1.0
    assert BOATS.source_limit("alternator").value == 1.2
    assert BOATS.source_limit("charger") is None


@pytest.mark.parametrize(
    ("volts", "share", "amperes", "feet_out_and_back", "gauge"),
    [
        (12, 0.03, 5, 20, "14"),
        (12, 0.03, 3, 50, "12"),
        (12, 0.03, 166.7, 15, "1"),
        (12, 0.03, 166.7, 10, "2"),
        (12, 0.03, 100, 10, "4"),
        (13.6, 0.10, 3, 50, "16"),
    ],
)
def test_the_circular_mil_practice(volts, share, amperes, feet_out_and_back, gauge):
    """US small-craft practice CM = K I L / E with K = 10.75: facts of the trade (common practice, no source)."""
    budget_v = volts * share
    metres = feet_out_and_back * 0.3048
    fitting = [
        size.number
        for size in BOATS.sizes("awg")
        if amperes * metres * BOATS.judged_ohm_per_m(size, False).value <= budget_v
    ]
    allowed = [s.number for s in BOATS.sizes("awg")]
    least = BOATS.minimum("awg", False)[0].number
    assert next(g for g in fitting if allowed.index(g) >= allowed.index(least)) == gauge


def test_k_is_solid_copper_at_29_degrees():
    """10.75 ohm cmil/ft on the 1000 circular mil foot: resistivity 0.01787 ohm mm²/m."""
    per_m = BOATS.judged_ohm_per_m(AWG12, False).value
    assert per_m * 3.3088 == pytest.approx(0.01787, rel=1e-3)
    assert BOATS.judged_ohm_per_m(Size("2.5", "mm2"), False).value * 2.5 == pytest.approx(0.01787, rel=1e-3)
    assert BOATS.judged_ohm_per_m(Size("12", "SAE"), False).value == pytest.approx(10.75 / 5833 / 0.3048)


def test_small_conductors_and_earths_of_ac_take_the_building_code_as_practice():
    assert [BOATS.device_cap(Size(g, "AWG"), "ac").value for g in ("14", "12", "10")] == [15, 20, 30]
    assert BOATS.device_cap(AWG12, "dc") is None
    assert BOATS.device_cap(Size("8", "AWG"), "ac") is None
    assert BOATS.earth_size(30, "awg", "ac")[0] == Size("10", "AWG")
    assert BOATS.earth_size(30, "awg", "dc") is None
