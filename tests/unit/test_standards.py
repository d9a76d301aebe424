"""The standards room as data: sheets complete, statuses closed, profiles whole, choices documented and monotonic."""

from __future__ import annotations

import itertools
import math

import pytest

from copperplate.model import Size
from copperplate.model.folders import FOLDERS
from copperplate.model.kinds import CHEMISTRIES, FAMILIES, PROFILES
from copperplate.standards import (
    STATUSES,
    OutsideTable,
    chemistry,
    colour,
    conductors,
    default_family,
    fuses,
    profile,
    table,
    tables,
    threads,
)
from copperplate.standards.colours import LETTERS

DATA = FOLDERS[0]
ALL = [profile(name) for name in PROFILES]
NUMBERED = ("_a", "_c", "_v", "_mm2", "_mm", "_kft", "_km", "_min", "_max", "_mil")


def test_every_table_has_its_sheet_and_every_sheet_its_table():
    csv = {p.with_suffix("") for p in DATA.rglob("*.csv")}
    toml = {p.with_suffix("") for p in DATA.glob("*/*.toml") if p.parent.name != "profiles"}
    assert csv == toml
    assert {p.stem for p in (DATA / "profiles").glob("*.toml")} == set(PROFILES)
    assert len(tables()) == len(csv)


@pytest.mark.parametrize("name", [t.name for t in tables()])
def test_every_row_says_how_it_was_checked(name):
    read = table(name)
    assert read.title and read.edition and read.clause and read.status and read.rounding
    columns = [h for h in read.header if h == "status" or h.startswith("status_")]
    assert columns and read.rows
    for row in read.records:
        assert all(row[c] in STATUSES for c in columns if row[c]), row
        assert any(row[c] for c in columns), row


@pytest.mark.parametrize("name", [t.name for t in tables()])
def test_columns_that_are_numbers_hold_numbers(name):
    for row in table(name).records:
        for heading, cell in row.items():
            if heading.endswith(NUMBERED) and cell and " " not in cell and not heading.startswith("system_"):
                assert math.isfinite(float(cell)), (name, heading, cell)


def test_an_unknown_profile_is_a_key_error():
    with pytest.raises(KeyError):
        profile("abc")
    assert profile("nec") is profile("nec")


@pytest.mark.parametrize("rules", ALL, ids=PROFILES)
def test_a_profile_is_whole(rules):
    assert rules.title and rules.edition and rules.counting and rules.readings
    for constant in rules.constants().values():
        assert constant.source and constant.status in STATUSES and constant.quantity
    for series in ("awg", "sae", "mm2"):
        sizes = rules.sizes(series)
        areas = [conductors.area_mm2(s) for s in sizes]
        assert areas == sorted(areas) and len(sizes) > 8
        for sheath, volts in itertools.product((False, True), (12.0, 120.0)):
            least, rule = rules.minimum(series, sheath, volts)
            assert least in sizes and rule.source
        for size in sizes:
            assert rules.ampacity(size, 90).value > 0
            assert rules.judged_ohm_per_m(size, False).value > 0
    for origin, sheath in itertools.product(("battery", "bar"), (False, True)):
        assert rules.placement(origin, sheath).unit == "m"
    for kind in ("solar", "controller", "charger", "converter", "inverter", "alternator", "generator", "shore"):
        assert rules.source_factor(kind)
    assert all(rules.clauses.values())


@pytest.mark.parametrize("rules", ALL, ids=PROFILES)
def test_larger_carries_more_and_hotter_or_more_bundled_less(rules):
    def usable(size, ambient=30.0, engine=False, loaded=2, laid="bundle"):
        amperes = rules.ampacity(size, 90).value
        for factor in rules.factors(size, 90, ambient, engine, 120, loaded, laid):
            amperes *= factor.value
        return round(amperes, 9)

    for series in ("awg", "sae", "mm2"):
        sizes = rules.sizes(series)
        for smaller, larger in itertools.pairwise(sizes):
            assert usable(smaller) <= usable(larger)
            assert rules.judged_ohm_per_m(smaller, True).value > rules.judged_ohm_per_m(larger, True).value
        for size in sizes:
            ladder = [usable(size, ambient=t) for t in (30, 35, 44, 50, 61, 75)]
            assert ladder == sorted(ladder, reverse=True)
            bundles = [usable(size, loaded=n) for n in (1, 2, 3, 4, 7, 9, 12, 21, 25, 31, 40)]
            assert bundles == sorted(bundles, reverse=True)
            assert usable(size, engine=True) <= usable(size)


@pytest.mark.parametrize("rules", ALL, ids=PROFILES)
def test_no_rule_lets_insulation_work_in_air_hotter_than_itself(rules):
    for engine in (False, True):
        with pytest.raises(OutsideTable):
            rules.factors(Size("10", "AWG"), 75, 90, engine, 12, 2, "")


def test_terminal_factor_never_falls_short_of_its_limit():
    """The product of ampacity and factors in order must not miss a standard rating by a rounding error, nor pass
    the terminals' own figure by more than one."""
    nec = profile("nec")
    for size, insulation, ambient, loaded in itertools.product(nec.sizes("awg"), (75, 90), (10, 22, 30, 33), (2, 4)):
        amperes = nec.ampacity(size, insulation).value
        for factor in nec.factors(size, insulation, ambient, False, 120, loaded, ""):
            amperes *= factor.value
        limit = nec.ampacity(size, 60 if "/" not in size.number else 75).value
        assert amperes <= limit * (1 + 1e-12)
        assert amperes >= limit or amperes < limit * (1 - 1e-3)


@pytest.mark.parametrize(
    ("number", "system", "expected"),
    [
        ("12", "AWG", Size("12", "AWG")),
        ("2/0", "awg", Size("2/0", "AWG")),
        ("00", "AWG", Size("2/0", "AWG")),
        ("0", "AWG", Size("1/0", "AWG")),
        ("2.50", "mm2", Size("2.5", "mm2")),
        ("35", "mm²", Size("35", "mm2")),
        ("10", "SAE", Size("10", "SAE")),
        ("3", "SAE", None),
        ("7/0", "AWG", None),
        ("3", "mm2", None),
        ("a", "mm2", None),
        ("", "AWG", None),
        ("12", "BWG", None),
    ],
)
def test_sizes_by_name(number, system, expected):
    assert conductors.size_from(number, system) == expected


def test_no_size_above_the_largest():
    with pytest.raises(OutsideTable):
        profile("cfr-183").at_least(200, "awg")


def test_tinned_copper_resists_more():
    for series in ("awg", "sae", "mm2"):
        for size in conductors.series_sizes(series):
            plain, tinned = (conductors.ohm_per_m(size, 20, tinned=t) for t in (False, True))
            assert 1.01 < tinned / plain < 1.07


def test_every_family_and_chemistry_and_profile_of_the_plate_language_has_its_data():
    for name in FAMILIES:
        assert all(rules.family(name).id == name for rules in ALL)
    with pytest.raises(KeyError):
        fuses.family("wire")
    for name in CHEMISTRIES:
        assert chemistry(name).fault_range
    poles = {"dc": ("pos", "neg", "mid", "pe"), "ac": ("l", "l1", "l2", "n", "pe")}
    for name, negative, ac in itertools.product(PROFILES, ("earthed", "floating"), (False, True)):
        for current, names in poles.items():
            assert all(colour(name, negative, pole, current, ac) in LETTERS for pole in names)


@pytest.mark.parametrize("name", PROFILES)
@pytest.mark.parametrize("ac", [False, True])
def test_no_two_conductors_of_a_plate_that_differ_in_duty_share_a_colour(name, ac):
    """A DC negative never looks like an AC line or earth, nor like the DC positive."""
    negative = colour(name, "earthed", "neg", "dc", ac)
    assert negative != colour(name, "earthed", "pos", "dc", ac)
    if ac:
        lines = {colour(name, "earthed", pole, "ac", True) for pole in ("l", "l1", "l2", "pe")}
        assert negative not in lines


ORDER = [fuses.family(name) for name in ("blade", "single-bolt", "class-t", "gg")]


@pytest.mark.parametrize(
    ("needs", "highest", "fault", "chosen"),
    [
        (10, 14.6, 0, "blade"),
        (30, 14.6, 0, "blade"),
        (31, 14.6, 0, "single-bolt"),
        (300, 29.2, 0, "single-bolt"),
        (301, 14.6, 0, "class-t"),
        # No class T below 70 A and no bolt below 30 A: a buyer finds gG there.
        (10, 58.4, 0, "gg"),
        (26, 57.6, 0, "single-bolt"),
        (25, 14.6, 1500, "single-bolt"),
        (20, 14.6, 1500, "gg"),
        (10, 14.6, 5000, "gg"),
        (60, 14.6, 5000, "gg"),
        (61, 14.6, 5000, "class-t"),
        (500, 14.6, 5000, "class-t"),
        (10, 220, 0, "gg"),
        # Nothing breaks it: the first that carries it.
        (10, 14.6, 90_000, "blade"),
        (2000, 14.6, 0, "gg"),
    ],
)
def test_the_family_taken_where_none_is_named(needs, highest, fault, chosen):
    """What shops for boats and vans have: common practice, no source."""
    assert default_family("fuse", needs, highest, fault, ORDER) == chosen
    assert default_family("breaker", needs, highest, fault, ORDER) == "breaker"


def test_a_stated_rating_is_one_that_its_family_is_made_in():
    """ISO 8820-3 type C has 7.5 A, IEC 60269-2 has not; a blade of 35 A is the last resort."""
    assert default_family("fuse", 7.5, 14.6, 0, ORDER, stated=True) == "blade"
    assert default_family("fuse", 32, 14.6, 0, ORDER, stated=True) == "gg"
    assert default_family("fuse", 35, 14.6, 0, ORDER, stated=True) == "blade"
    assert default_family("fuse", 1, 14.6, 5000, ORDER, stated=True) == "class-t"
    others = [fuses.family(name) for name in ("blade", "gg", "class-t")]
    assert default_family("fuse", 50, 14.6, 0, others, stated=True) == "gg"


@pytest.mark.parametrize(
    ("name", "nominal", "low", "full", "emf"),
    [
        ("flooded", 12, 12.0, 14.8, 12.73),
        ("flooded", 6, 6.0, 7.4, 6.365),
        ("agm", 24, 24.0, 29.4, 26.4),
        ("lifepo4", 12.8, 12.0, 14.6, 13.6),
        ("lifepo4", 12, 12.0, 14.6, 13.6),
        ("lifepo4", 25.6, 24.0, 29.2, 27.2),
        ("lifepo4", 48, 48.0, 58.4, 54.4),
        ("lifepo4", 51.2, 48.0, 58.4, 54.4),
        ("lifepo4", 3.2, 3.0, 3.65, 3.4),
    ],
)
def test_batteries_scale_with_their_cells(name, nominal, low, full, emf):
    found = chemistry(name, nominal)
    assert found.low_v.value == pytest.approx(low)
    assert found.full_v.value == pytest.approx(full)
    assert found.emf_full_v.value == pytest.approx(emf)
    assert found.low_v.value < found.emf_full_v.value < found.full_v.value
    assert 0.3 <= found.usable_share.value <= 0.96


@pytest.mark.parametrize(("name", "soc_when_low"), [("flooded", 25), ("agm", 25), ("gel", 25), ("lifepo4", 10)])
def test_defaults_of_a_chemistry_are_rows_of_the_rested_voltages(name, soc_when_low):
    rows = {int(r["soc_percent"]): r for r in table("batteries/rested-voltage").records if r["chemistry"] == name}
    found = chemistry(name, chemistry(name).block_v)
    assert found.low_v.value == float(rows[soc_when_low]["low_v"])
    assert found.emf_full_v.value == float(rows[100]["high_v"])
    assert found.low_v.status == rows[soc_when_low]["status"]
    assert found.charge_low_v.value < found.full_v.value


def test_breakers_of_the_us_are_the_standard_ratings_and_two_small_ones():
    standard = [float(r["rating_a"]) for r in table("nec/240-6-a").records if r["breaker"] == "1"]
    assert list(profile("nec").family("breaker").ratings_a) == [5.0, 10.0, *standard]


def test_an_unknown_chemistry_is_a_key_error():
    with pytest.raises(KeyError):
        chemistry("zinc")


def test_studs_by_the_names_that_plates_use():
    """Every stud whose torque ships has a thread that a plate may name, of the diameter in its name."""
    for row in table("practice/studs").records:
        assert row["stud"] in threads()
        if row["stud"].startswith("M"):
            assert row["diameter_mm"] == row["stud"].removeprefix("M")
    inch = next(row for row in table("practice/studs").records if row["stud"] == "3/8 in")
    assert float(inch["diameter_mm"]) == pytest.approx(9.525, abs=0.01)


@pytest.mark.parametrize("rules", ALL, ids=PROFILES)
def test_every_source_line_leads_to_its_publication(rules):
    for constant in rules.constants().values():
        found = rules.published(constant.source, constant.status)
        assert found.title and found.status == constant.status
        assert constant.source.startswith(found.clause)


def test_the_rows_of_one_table_are_one_source():
    boats = profile("cfr-183")
    lines = [boats.ampacity(Size(gauge, "AWG"), 105) for gauge in ("16", "10", "2/0")]
    assert len({boats.published(line.source, line.status) for line in lines}) == 1
    assert boats.published(lines[0].source, "verified").clause == "33 CFR 183.425 Table 5"


BODIES = {"cfr-183": ("33 CFR", "46 CFR", "NEC"), "nec": ("NEC",), "iso-13297": ("ISO",), "iec-60364": ("IEC",)}
"""Whose rules a profile cites as its own; the boats' law leaves much to the building code."""


@pytest.mark.parametrize("name", PROFILES)
def test_a_profile_cites_the_rules_of_others_as_practice_only(name):
    rules = profile(name)
    cited = [*rules.clauses.values(), *(rules.disconnection(volts).source for volts in (120, 230, 400))]
    cited += [figure.source for figure in rules.constants().values() if figure.status != "practice"]
    strange = [source for source in cited if not source.startswith(BODIES[name]) and "practice" not in source]
    # Figures of devices by their own standard, whoever applies it.
    assert all(source.startswith("IEC 60898-1") or source.startswith("IEC 60909-0") for source in strange), strange
