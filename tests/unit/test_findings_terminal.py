"""What a finding looks like in a terminal: place, marks, widths, and nothing of a plate that steers the terminal."""

from __future__ import annotations

import re

from copperplate.findings import Finding, Related
from copperplate.findings.terminal import closing, coloured, columns, harmless, render
from copperplate.text import Source, Span

PLATE = """\
load deck-light "Deck light" 36 W, works 11..15 V
cabin.7 -//- 9.5 m, 16 AWG -- deck-light
"""


def span(text: str, marked: str, name: str = "launch.plate") -> Span:
    start = text.index(marked)
    return Span(Source(name, text), start, start + len(marked))


LOW_VOLTAGE = Finding(
    "CP311",
    "error",
    "deck-light",
    "`deck-light` gets 10.9 V and works from 11.0 V",
    span(PLATE, "9.5 m, 16 AWG"),
    "this run drops 0.84 V of the 1.1 V",
    ("house 12.0 V (low end of its range) - main 0.11 V - cabin 0.15 V - deck-light.run 0.84 V",),
    "12 AWG: 11.4 V at the light. Or move it to 6.8 m or nearer.",
    (Related(span(PLATE, "works 11..15 V"), "its window"),),
)


def test_headline_places_marks_notes_and_help() -> None:
    assert render(LOW_VOLTAGE, 100) == (
        "error CP311  `deck-light` gets 10.9 V and works from 11.0 V\n"
        "  launch.plate:2  cabin.7 -//- 9.5 m, 16 AWG -- deck-light\n"
        "                               ^^^^^^^^^^^^^ this run drops 0.84 V of the 1.1 V\n"
        '  launch.plate:1  load deck-light "Deck light" 36 W, works 11..15 V\n'
        "                                                     -------------- its window\n"
        "  = house 12.0 V (low end of its range) - main 0.11 V - cabin 0.15 V - deck-light.run 0.84 V\n"
        "  try 12 AWG: 11.4 V at the light. Or move it to 6.8 m or nearer.\n"
    )


def test_no_line_is_wider_than_the_terminal() -> None:
    for width in (72, 80, 100):
        lines = render(LOW_VOLTAGE, width, folder="boats/").splitlines()
        assert max(map(columns, lines)) <= width
    assert "deck-light" in render(LOW_VOLTAGE, 72)


def test_a_long_line_is_cut_around_its_marks() -> None:
    text = f"{'a' * 80} {'b' * 80} HERE {'c' * 80}"
    finding = Finding("CP101", "error", "x", "too long", span(text, "HERE"))
    place, marks = render(finding, 72).splitlines()[1:3]
    assert columns(place) <= 72
    assert place[marks.index("^") : marks.rindex("^") + 1] == "HERE"
    assert place.count("…") == 2


def test_marks_stand_under_wide_and_combining_characters() -> None:
    text = 'load a "日本語 e\u0301" 5 W, wrong'
    finding = Finding("CP101", "error", "a", "wrong", span(text, "wrong"))
    place, marks = render(finding, 80).splitlines()[1:3]
    before = place[: place.index("wrong")]
    assert columns(before) == marks.index("^")
    assert columns(before) == len(before) + 3 - 1


def test_a_span_over_several_lines_marks_its_first() -> None:
    text = "battery house\n  range 12..14 V\n"
    finding = Finding("CP101", "error", "house", "no capacity", Span(Source("a.plate", text), 0, len(text)))
    assert render(finding, 80).splitlines()[1:] == ["  a.plate:1  battery house", "             ^^^^^^^^^^^^^"]


def test_an_indented_line_is_shown_without_its_indent() -> None:
    text = "battery house\n    range 12..14\n"
    finding = Finding("CP101", "error", "house", "no unit", span(text, "12..14"))
    assert render(finding, 80).splitlines()[1:] == ["  launch.plate:2  range 12..14", " " * 24 + "^^^^^^"]


def test_nothing_to_show_and_no_place() -> None:
    empty = Finding("CP101", "error", "system", "the plate is empty", Span(Source("a.plate", ""), 0, 0))
    assert render(empty, 80) == "error CP101  the plate is empty\n  a.plate:1\n"
    assert render(Finding("CP101", "advice", "system", "so it is"), 80) == "advice CP101  so it is\n"


def test_control_characters_never_reach_the_terminal() -> None:
    text = "load a\x1b[2J\x07\tb\u202e 5 W"
    attacked = Finding(
        "CP101",
        "error",
        "a",
        "\x1b]0;title\x07 bad",
        span(text, "b", "na\x1bme"),
        "\x9b31m",
        ("\x1b",),
        "\x00",
        (Related(span(text, "5 W"), "\x1b"),),
    )
    assert not re.search("[\x00-\x09\x0b-\x1f\x7f-\x9f\u202e]", render(attacked, 80))
    assert harmless("a\u00a0b\udcff") == "a b\ufffd"


def test_colour_adds_only_escapes() -> None:
    without = re.sub("\x1b\\[[0-9;]*m", "", render(LOW_VOLTAGE, 80, paint=coloured))
    assert without == render(LOW_VOLTAGE, 80)
    assert render(LOW_VOLTAGE, 80, paint=coloured) != without


def test_closing_lines() -> None:
    warning = Finding("CP401", "warning", "a", "b")
    accepted = Finding("CP401", "warning", "a", "b", accepted="seen by the yard")
    assert closing([LOW_VOLTAGE, LOW_VOLTAGE, warning], "launch.plate", 31, 14) == (
        "2 errors, 1 warning in launch.plate (31 runs)"
    )
    assert closing([LOW_VOLTAGE], "launch.plate", None, None) == "1 error in launch.plate"
    assert closing([], "launch.plate", 31, 14) == "launch.plate: 31 runs, 14 devices, nothing to say"
    assert closing([accepted], "launch.plate", 1, 1) == "launch.plate: 1 run, 1 device, nothing to say, 1 accepted"
