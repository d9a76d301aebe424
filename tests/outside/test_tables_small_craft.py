"""The ISO small-craft profile, fuses, ferrules and colours against what was read or remembered of their sources.

The small-craft ampacity table and its factors are from memory as a whole (no public copy was found), so these tests
show that the product carries them unchanged and says so, not that they are right.
"""

from __future__ import annotations

import math

import pytest

from copperplate.model import Size
from copperplate.standards import OutsideTable, colour, ferrule, fuses, lug, profile

ISO = profile("iso-13297")
COLUMNS = (60, 70, 85, 105, 125, 200)
AMPACITY = {
    "0.75": (6, 10, 12, 16, 20, 25),
    "1": (8, 14, 18, 20, 25, 35),
    "1.5": (12, 18, 21, 25, 30, 40),
    "2.5": (17, 25, 30, 35, 40, 45),
    "4": (22, 35, 40, 45, 50, 55),
    "6": (29, 45, 50, 60, 70, 75),
    "10": (40, 65, 70, 90, 100, 120),
    "16": (54, 90, 100, 130, 150, 170),
    "25": (71, 120, 140, 170, 185, 200),
    "35": (87, 160, 185, 210, 225, 240),
    "50": (105, 210, 230, 270, 300, 325),
    "70": (135, 265, 285, 330, 360, 375),
    "95": (165, 310, 330, 390, 410, 430),
    "120": (190, 360, 400, 450, 480, 520),
    "150": (220, 380, 430, 475, 520, 560),
}
"""Small-craft ampacities (from memory): amperes by mm² and insulation temperature; 85 stands for 85 to 90 °C."""


@pytest.mark.parametrize("area", AMPACITY)
def test_every_row_of_the_small_craft_table_and_that_it_is_from_memory(area):
    read = [ISO.ampacity(Size(area, "mm2"), c) for c in COLUMNS]
    assert [r.value for r in read] == list(AMPACITY[area])
    assert {r.status for r in read} == {"from memory"}
    assert ISO.ampacity(Size(area, "mm2"), 90).value == AMPACITY[area][2]


@pytest.mark.parametrize(
    ("insulation", "printed"), [(70, 0.75), (85, 0.82), (90, 0.82), (105, 0.86), (125, 0.89), (200, 1.0)]
)
def test_small_craft_engine_spaces(insulation, printed):
    (factor,) = ISO.factors(Size("6", "mm2"), insulation, 30, True, 12, 2, "")
    assert factor.value == printed
    assert ISO.figures["engine-space"].value == 60


def test_small_craft_engine_space_hotter_than_its_figure_or_insulation():
    (factor,) = ISO.factors(Size("6", "mm2"), 105, 70, True, 12, 2, "")
    assert factor.value == pytest.approx(math.sqrt(35 / 75))
    with pytest.raises(OutsideTable):
        ISO.factors(Size("6", "mm2"), 60, 30, True, 12, 2, "")


@pytest.mark.parametrize(("conductors", "printed"), [(4, 0.7), (6, 0.7), (7, 0.6), (24, 0.6), (25, 0.5)])
def test_small_craft_bundles_begin_at_four_conductors(conductors, printed):
    (factor,) = ISO.factors(Size("6", "mm2"), 105, 30, False, 12, conductors, "bundle")
    assert factor.value == printed
    assert ISO.factors(Size("6", "mm2"), 105, 30, False, 12, 3, "bundle") == ()


def test_small_craft_sizes_and_distances():
    """ISO 10133:2012 7.7: 1 mm² alone, 0.75 mm² in a sheath. 200 mm and 1.8 m are from memory."""
    assert ISO.minimum("mm2", False)[0] == Size("1", "mm2")
    assert ISO.minimum("mm2", True)[0] == Size("0.75", "mm2")
    assert ISO.minimum("awg", False)[0] == Size("16", "AWG")
    assert [ISO.placement("bar", s).value for s in (False, True)] == [0.2, 0.2]
    assert [ISO.placement("battery", s).value for s in (False, True)] == [0.2, 1.8]


RATINGS = {
    "blade": (1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30, 35, 40),
    "mini-blade": (2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30),
    "high-blade": (20, 30, 40, 50, 60, 70, 80),
    "strip": (30, 40, 50, 60, 70, 80, 100, 125, 150, 175, 200, 225, 250, 300, 350, 400, 450, 500),
    "strip-70v": (60, 80, 100, 125, 150, 175, 200, 225, 250, 300, 350, 400, 450, 500),
    "single-bolt": (30, 40, 50, 60, 75, 80, 90, 100, 125, 150, 175, 200, 225, 250, 300),
    "class-t": (
        1, 3, 6, 10, 15, 20, 25, 30, 35, 40, 45, 50, 60, 70, 80, 90, 100, 110, 125, 150, 175, 200, 225, 250, 300, 350,
        400, 450, 500, 600, 700, 800, 1000, 1200,
    ),
    "gg": (2, 4, 6, 10, 16, 20, 25, 32, 40, 50, 63, 80, 100, 125, 160, 200, 250, 315, 400, 500, 630),
    "gpv": (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 16, 20, 25, 30, 32),
}  # fmt: skip
BREAKS = {
    # amperes, volts DC: ISO 8820-3, 8820-5, 8820-6, ISO 20934, UL 248-15; gG 25 kA from memory
    "blade": (1000, 32),
    "mini-blade": (1000, 32),
    "high-blade": (1000, 32),
    "strip": (2000, 32),
    "strip-70v": (2500, 70),
    "single-bolt": (2000, 58),
    "class-t": (20000, 125),
    "gg": (25000, 250),
    "gpv": (10000, 1000),  # IEC 60269-6, from memory: 10 kA or more, 1000 to 1500 V
    "breaker": (None, None),
}


@pytest.mark.parametrize("name", RATINGS)
def test_standard_ratings_of_every_family(name):
    """ISO 8820-3 type C was read in full; of the other lists the end values were, the steps are from memory."""
    assert fuses.family(name).ratings_a == RATINGS[name]
    for smaller, larger in zip(RATINGS[name], RATINGS[name][1:], strict=False):
        assert fuses.next_rating(name, smaller) == smaller
        assert fuses.next_rating(name, smaller * 1.001) == larger
    assert fuses.next_rating(name, RATINGS[name][-1] * 1.001) is None


@pytest.mark.parametrize("name", BREAKS)
def test_breaking_capacity_and_voltage_of_every_family(name):
    family = fuses.family(name)
    assert (family.interrupting_a, family.voltage_v) == BREAKS[name]


GATES = {
    # family, rating: {share of rating: (not before, not after), seconds}
    ("blade", 10): {1.35: (0.75, 600), 1.6: (0.25, 50), 2.0: (0.15, 5), 3.5: (0.08, 0.5), 6.0: (None, 0.15)},
    ("blade", 40): {1.35: (0.75, 600), 2.0: (0.15, 5), 3.5: (0.08, 0.5), 6.0: (None, 0.15)},
    ("mini-blade", 10): {1.35: (0.75, 600), 2.0: (0.15, 5), 3.5: (0.08, 0.5), 6.0: (0.03, 0.1)},
    ("high-blade", 60): {1.35: (60, 1800), 2.0: (2, 50), 3.5: (0.2, 7), 6.0: (0.04, 1)},
}
"""ISO 8820-3 types C, F and E. Type C at 110, 350 and 600 % to 30 A from memory, the rest read."""


@pytest.mark.parametrize("key", GATES)
def test_published_gates_at_their_own_points(key):
    name, rating = key
    for share, (not_before, not_after) in GATES[key].items():
        assert fuses.slow_gate(name, rating, share * rating) == not_after
        assert fuses.fast_gate(name, rating, share * rating) == (not_before or 0.0)


def test_between_gates_the_slow_reading_is_slower_and_the_fast_one_faster():
    assert fuses.slow_gate("blade", 10, 34.0) == 5  # not yet 350 %
    assert fuses.fast_gate("blade", 10, 21.0) == 0.08  # the gate above, at 350 %
    assert fuses.slow_gate("blade", 10, 1000.0) == 0.15
    assert fuses.fast_gate("blade", 10, 1000.0) == 0.0


def test_a_fuse_need_not_open_below_its_first_gate_and_carries_its_rating():
    assert fuses.slow_gate("blade", 10, 11.0) == math.inf
    assert fuses.fast_gate("blade", 10, 11.0) == 360000
    assert fuses.slow_gate("gg", 32, 32 * 1.6) == 3600  # IEC 60269, conventional fusing current (from memory)
    assert fuses.slow_gate("gg", 32, 32 * 1.25) == math.inf


@pytest.mark.parametrize("name", ["strip", "strip-70v", "single-bolt", "class-t", "breaker"])
def test_families_without_a_published_curve_give_none(name):
    assert fuses.slow_gate(name, 100, 1000) is None
    assert fuses.fast_gate(name, 100, 1000) is None


DIN_46228_4 = {
    "0.5": "white", "0.75": "grey", "1": "red", "1.5": "black", "2.5": "blue", "4": "grey", "6": "yellow", "10": "red",
    "16": "blue", "25": "yellow", "35": "red", "50": "blue",
}  # fmt: skip


@pytest.mark.parametrize("area", DIN_46228_4)
def test_every_ferrule_colour_of_din_46228_4(area):
    text = ferrule(Size(area, "mm2"))
    assert text.startswith(f"ferrule {area} mm², ")
    assert text.endswith(DIN_46228_4[area])


def test_gauges_take_the_ferrule_that_is_not_smaller():
    """The trade's pairs: 14 AWG in 2.5 mm², 12 in 4, 10 in 6, 8 in 10, 6 in 16, 4 in 25, 2 in 35, 1 in 50."""
    pairs = {"16": "1.5", "14": "2.5", "12": "4", "10": "6", "8": "10", "6": "16", "4": "25", "2": "35", "1": "50"}
    for gauge, area in pairs.items():
        assert ferrule(Size(gauge, "AWG")).startswith(f"ferrule {area} mm²,")
    assert ferrule(Size("2/0", "AWG")) == ""
    assert lug(Size("2/0", "AWG"), "M10") == "ring lug 2/0 AWG, M10"


def test_colours_of_us_boats():
    """US small-craft practice: red; black, or yellow where AC black is present; AC black, white, green."""
    assert colour("cfr-183", "earthed", "pos", "dc", False) == "RD"
    assert colour("cfr-183", "earthed", "neg", "dc", False) == "BK"
    assert colour("cfr-183", "earthed", "neg", "dc", True) == "YE"
    ac = {"l": "BK", "l1": "BK", "l2": "RD", "n": "WH", "pe": "GN"}
    assert {pole: colour("cfr-183", "earthed", pole, "ac", True) for pole in ac} == ac


def test_colours_of_iec_60445():
    """IEC 60445:2017 6.2, 6.3: DC red and white, AC brown, black, blue, protective green-yellow."""
    assert colour("iec-60364", "earthed", "pos", "dc", True) == "RD"
    assert colour("iec-60364", "floating", "neg", "dc", True) == "WH"
    ac = {"l1": "BN", "l2": "BK", "n": "BU", "pe": "GNYE"}
    assert {pole: colour("iec-60364", "earthed", pole, "ac", True) for pole in ac} == ac
