"""What has one reading is taken without a finding, and the formatter writes the one style."""

from __future__ import annotations

import pytest

from copperplate import syntax
from copperplate.syntax import printer
from copperplate.text import Source

SPELLINGS = [
    # units and numbers
    ("load a 5 amps", "load a 5 A"),
    ("load a 60 watts", "load a 60 W"),
    ("load a 12 v, 3 Volts", "load a 12 V, 3 V"),
    ("load a 8 x 0.25 a", "load a 8 x 0.25 A"),
    ("a -- 2 metres -- b", "a -- 2 m -- b"),
    ("a -- 6' -- b", "a -- 6 ft -- b"),
    ("a -- 30\" -- b", "a -- 30 in -- b"),
    ("a -- 5'6\" -- b", "a -- 5 ft 6 in -- b"),
    ("a -- 9 1/2 ft -- b", "a -- 9.5 ft -- b"),
    ("a -- 1/2 m -- b", "a -- 0.5 m -- b"),
    ("a -- 2 m, 16 awg -- b", "a -- 2 m, 16 AWG -- b"),
    ("a -- 2 m, AWG 16 -- b", "a -- 2 m, 16 AWG -- b"),
    ("a -- 2 m, awg 2/0 -- b", "a -- 2 m, 2/0 AWG -- b"),
    # ranges
    ("load a works 11-15 V", "load a works 11..15 V"),
    ("load a works 11 - 15 V", "load a works 11..15 V"),
    ("load a works 11–15 V", "load a works 11..15 V"),
    ("load a works 11 to 15 V", "load a works 11..15 V"),
    ("load a works 11V..15V", "load a works 11..15 V"),
    ("load a works 11...15 volts", "load a works 11..15 V"),
    # a comma left out between two values
    ("a -- 2 m 1.5 mm2 -- b", "a -- 2 m, 1.5 mm2 -- b"),
    ("load a 5 A @ 12 V", "load a 5 A, 12 V"),
    ('battery a "A" 12.8 V 280 Ah, agm', 'battery a "A" 12.8 V, 280 Ah, agm'),
    # strokes
    ("a -> 2 m -> b", "a -- 2 m -- b"),
    ("a --> 2 m → b", "a -- 2 m -- b"),
    ("a --- 2 m — b", "a -- 2 m -- b"),
    ("a –//– 2 m -- b", "a -//- 2 m -- b"),
    ("a -//- 2 m -//- b", "a -//- 2 m -- b"),
    # brackets and names
    ("a -- [5 A fuse] -- b", "a -- [fuse 5 A] -- b"),
    ("a -- [F1: 5 A fuse] -- b", "a -- [f1: fuse 5 A] -- b"),
    ("load Port_Lamp 5 A", "load port-lamp 5 A"),
    ("Plus -- 2 m -- Inv.pos", "plus -- 2 m -- inv.pos"),
]


@pytest.mark.parametrize(("written", "style"), SPELLINGS)
def test_one_reading_is_taken_and_written_in_the_one_style(written: str, style: str) -> None:
    tree, findings = syntax.parse(Source("a.plate", written))
    meant, none = syntax.parse(Source("a.plate", style))
    assert findings == none == ()
    assert printer.same(tree.statements, meant.statements)
    assert syntax.format(Source("a.plate", written)) == (style + "\n", ())
    assert syntax.format(Source("a.plate", style)) == (style + "\n", ())


REFUSED = [
    ("a -- 5 ft 6 -- b", "CP104", "5 ft 6 in"),
    ("a -- 1,5 m -- b", "CP101", "1.5 m, or `1, 5 m` if these are two things"),
    ("load a 1 000 W", "CP117", "1000 W if it is one number, `1, 000 W` if these are two things"),
    ("load a 5 MA", "CP102", "5 mA"),
    ("a -/- 2 m -- b", "CP113", "-- for one conductor, -//- for two"),
    ("a -- 2 m -//- b", "CP113", "-- here, and -//- at the beginning"),
    ("load a works 11 -15 V", "CP116", "11..15 V"),
]


@pytest.mark.parametrize(("written", "code", "help"), REFUSED)
def test_two_readings_are_refused_and_the_help_says_both(written: str, code: str, help: str) -> None:
    _, findings = syntax.parse(Source("a.plate", written))
    assert [(f.code, f.help) for f in findings] == [(code, help)]
