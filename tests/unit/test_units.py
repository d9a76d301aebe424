"""Units against values published elsewhere, and against the default registry of the pint library."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from copperplate.model.kinds import COMMON, DEVICE, KINDS, SEGMENT
from copperplate.units import (
    NOISE,
    SIZE_SYSTEMS,
    UNITS,
    beside,
    dimension_of,
    exceeds,
    from_si,
    normal,
    number,
    show,
    suffices,
    suggest,
    to_si,
)


@pytest.mark.parametrize(
    ("value", "unit", "expected", "dimension"),
    [
        # International yard and pound agreement, 1959 (NIST SP 811, appendix B.8): 1 ft = 0.3048 m, 1 in = 0.0254 m.
        (5, "ft", 1.524, "length"),
        (7, "in", 0.1778, "length"),
        (72, "in", 1.8288, "length"),
        (40, "in", 1.016, "length"),
        (6000, "ft", 1828.8, "length"),
        # NIST SP 811, appendix B.9: t/°C = (t/°F - 32) / 1.8; 212 °F and 32 °F are its fixed points.
        (212, "degF", 100.0, "temperature"),
        (32, "degF", 0.0, "temperature"),
        (86, "degF", 30.0, "temperature"),
        (-40, "degF", -40.0, "temperature"),
        (20, "degC", 20.0, "temperature"),
        # SI Brochure, 9th edition, table 7: prefixes; table 8: min, h.
        (5, "kA", 5000.0, "current"),
        (30, "mA", 0.03, "current"),
        (12, "mohm", 0.012, "resistance"),
        (6.3, "mohm", 0.0063, "resistance"),
        (1.5, "kW", 1500.0, "power"),
        (90, "min", 1.5, "time"),
        (1800, "s", 0.5, "time"),
        (100, "mAh", 0.1, "charge"),
        (3, "%", 0.03, "share"),
        (-0.27, "%/K", -0.0027, "share-per-kelvin"),
        (-0.27, "%/degC", -0.0027, "share-per-kelvin"),
        (35, "mm2", 35.0, "area"),
    ],
)
def test_published_conversions_come_out_without_noise(value: float, unit: str, expected: float, dimension: str) -> None:
    assert to_si(value, unit) == (expected, dimension)


PINT_NAMES = {
    "ohm": "ohm", "mohm": "milliohm", "uohm": "microohm", "kohm": "kiloohm", "mm2": "millimeter**2",
    "%": "percent", "%/K": "percent/kelvin", "%/degC": "percent/kelvin", "Nm": "newton*meter",
    "Ah": "ampere*hour", "mAh": "milliampere*hour", "in": "inch", "min": "minute",
}  # fmt: skip
COUNTED_IN = {
    "voltage": "volt", "current": "ampere", "power": "watt", "energy": "watt*hour", "charge": "ampere*hour",
    "resistance": "ohm", "length": "meter", "area": "millimeter**2", "temperature": "degC", "share": "dimensionless",
    "share-per-kelvin": "1/kelvin", "time": "hour", "frequency": "hertz", "torque": "newton*meter", "mass": "kilogram",
}  # fmt: skip
"""What the model counts each dimension in."""


@pytest.fixture(scope="module")
def registry() -> pint.UnitRegistry:
    return pint.UnitRegistry()


@pytest.mark.parametrize("unit", UNITS)
def test_every_unit_agrees_with_the_default_registry_of_pint(unit: str, registry: pint.UnitRegistry) -> None:
    goal = COUNTED_IN[UNITS[unit].dimension]
    for value in (-17.5, 1.0, 230.0):
        expected = registry.Quantity(value, PINT_NAMES.get(unit, unit)).to(goal).magnitude
        assert to_si(value, unit)[0] == pytest.approx(expected, rel=1e-10)


@given(st.sampled_from(sorted(UNITS)), st.floats(-1e6, 1e6).filter(lambda x: x == 0 or abs(x) > 1e-3))
def test_there_and_back(unit: str, value: float) -> None:
    assert from_si(to_si(value, unit)[0], unit) == pytest.approx(value, rel=1e-9, abs=1e-8)


def test_every_unit_that_the_table_of_kinds_shows_is_of_its_dimension() -> None:
    attributes = [*COMMON, *DEVICE, *SEGMENT, *(a for kind in KINDS.values() for a in kind.attributes)]
    checked = 0
    for attribute in attributes:
        if attribute.unit:
            assert dimension_of(attribute.unit) == attribute.dimension, attribute
            checked += 1
    assert checked > 40


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("MA", "mA"), ("ma", "mA"), ("v", "V"), ("KV", "kV"), ("ah", "Ah"), ("AH", "Ah"), ("w", "W"), ("kw", "kW"),
        ("amps", "A"), ("Amps", "A"), ("volts", "V"), ("watts", "W"), ("metres", "m"), ("meters", "m"), ("M", "m"),
        ("feet", "ft"), ("FT", "ft"), ('"', "in"), ("'", "ft"), ("inches", "in"), ("awg", "AWG"), ("Awg", "AWG"),
        ("sae", "SAE"), ("MM2", "mm2"), ("C", "degC"), ("F", "degF"), ("degc", "degC"), ("percent", "%"),
        ("hours", "h"), ("hrs", "h"), ("hz", "Hz"), ("Ohm", "ohm"), ("mOhm", "mohm"), ("sq", "mm2"),
    ],
)  # fmt: skip
def test_a_wrong_unit_has_a_suggestion(written: str, meant: str) -> None:
    assert written not in UNITS and written not in SIZE_SYSTEMS
    assert suggest(written) == meant


def test_a_word_that_is_like_no_unit_has_none() -> None:
    assert suggest("fridge") is None
    assert suggest("") is None


@pytest.mark.parametrize(
    ("written", "unit"),
    [("mm²", "mm2"), ("°C", "degC"), ("°F", "degF"), ("Ω", "ohm"), ("\u2126", "ohm"), ("%/°C", "%/degC")],
)
def test_other_spellings_are_the_same_unit(written: str, unit: str) -> None:
    assert normal(written) == unit
    assert unit in UNITS


def test_case_counts_and_sizes_are_no_units() -> None:
    assert dimension_of("mA") == "current"
    assert dimension_of("MA") is None
    assert dimension_of("AWG") is None
    with pytest.raises(KeyError):
        to_si(1.0, "MA")


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [
        (0.1 + 0.2, 3, "0.3"), (10.94, 3, "10.9"), (12.0, 3, "12"), (1234.4, 3, "1234"), (0.012345, 3, "0.0123"),
        (0.0, 3, "0"), (-0.0001, 1, "-0.0001"), (99.96, 3, "100"), (2.675, 2, "2.7"), (1e-9, 3, "0.000000001"),
        (float("inf"), 3, "-"), (float("nan"), 3, "-"), (-12.34, 3, "-12.3"),
    ],
)  # fmt: skip
def test_numbers_as_readers_see_them(value: float, digits: int, text: str) -> None:
    assert number(value, digits) == text


@given(st.floats(allow_nan=True, allow_infinity=True), st.integers(1, 6))
def test_no_number_is_printed_with_an_exponent_or_noise(value: float, digits: int) -> None:
    text = number(value, digits)
    assert "e" not in text and text not in ("", "-0")


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (1.524, "ft", "5 ft"), (1.524, "m", "1.52 m"), (0.03, "%", "3 %"), (2300.0, "kA", "2.3 kA"),
        (30.0, "degF", "86 °F"),
        (35.0, "mm2", "35 mm²"), (40.0, "degC", "40 °C"), (0.0063, "mohm", "6.3 mohm"), (-0.0027, "%/K", "-0.27 %/K"),
        (0.1778, "in", "7 in"), (0.25, "min", "15 min"),
    ],
)  # fmt: skip
def test_values_as_readers_see_them(value: float, unit: str, text: str) -> None:
    assert show(value, unit) == text


def test_no_conversion_waits_for_pint() -> None:
    """Loading it costs more than a whole `check`."""
    script = "import sys, copperplate.units as u; u.to_si(1, 'degF'); assert 'pint' not in sys.modules"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, cwd=Path(__file__).parent)
    assert done.returncode == 0, done.stderr


@pytest.mark.parametrize(
    ("value", "limit", "shown"),
    [(3.0019, 3.0, "3.002"), (3.02, 3.0, "3.02"), (14.4, 10.0, "14.4"), (3.0000001, 3.0, "3"), (3.0, 3.0, "3")],
)
def test_a_number_is_told_from_its_limit(value: float, limit: float, shown: str) -> None:
    assert beside(value, limit) == shown


def test_figures_within_the_tolerance_are_equal() -> None:
    """A figure of four printed digits is equal to the one it was rounded from, and the next printed one is not."""
    assert not exceeds(57.74, 100 / 3**0.5) and suffices(57.73, 100 / 3**0.5)
    assert exceeds(57.75, 100 / 3**0.5) and not suffices(57.72, 100 / 3**0.5)
    assert not exceeds(0.1 + 0.2, 0.3, NOISE) and suffices(0.3, 0.1 + 0.2, NOISE) and not exceeds(0.0, 0.0)
