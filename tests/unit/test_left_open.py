"""What is not known yet: `?`, `about`, `status` and `unmeasured`."""

from __future__ import annotations

import pytest
from plates import compiled, of_code
from resolving import resolved

from copperplate import drawing, syntax
from copperplate.design import compile_plate
from copperplate.findings import Finding
from copperplate.model.results import Design
from copperplate.text import Source

PLATE = """system "A first draft"
  nominal 12 V
  rules iso-13297
  conductors mm2
  unmeasured 8 m
  status draft
battery house 12 V, 100 Ah, agm, range 12..14.4 V, fault-current ? kA
bus minus negative
panel cabin "Fuse block" blade, ways 6, return minus
load lamp "Lamps" lamp, 1 A
load pump "Pump" pump, 5 A, intermittent, drop 10 %
load heater "Heater" heater, ? W
house.pos -- [main: fuse] -- about 1 m -- cabin
house.neg -- about 1 m -- minus
cabin -//- ? m -- lamp
cabin -//- about 4 m -- pump
cabin -//- 3 m -- heater
"""


def test_three_open_points_and_what_is_taken() -> None:
    design, findings = compiled(PLATE)
    points = of_code("CP253", findings)
    assert [f.subject for f in points] == ["house", "heater", "lamp.run"]
    assert {f.severity for f in points} == {"advice"}
    assert not [f for f in findings if f.severity == "error"]
    # 4 kA of a 12 V block of 100 Ah: the top of the usual range (common practice, no source).
    assert design.system.parts["house"].fault_current_a == 4000.0
    run = design.system.runs["lamp.run"]
    assert run.length_open and run.length_m == 8.0 and not design.system.runs["pump.run"].length_open
    assert design.system.runs["pump.run"].length_m == 4.0
    (note,) = points[2].notes
    assert note.startswith("its size serves up to ")
    told = {a.subject: a.text for a in design.assumptions if a.text.startswith("about")}
    assert told["pump.run"] == "about 4 m, to be measured"
    assert len([a for a in design.assumptions if a.text == "about 1 m, to be measured"]) == 2


@pytest.mark.parametrize(
    ("status", "severity", "words"),
    [
        ("  status draft\n", "advice", "Draft, not for installation"),
        ("  status review\n", "warning", "Issued for review, not for installation"),
        ("", "warning", "Issued for review, not for installation"),
        ('  status "For the yard"\n', "warning", "For the yard"),
        ("  status build\n", "error", "Issued for construction"),
        ("  status as-built\n", "error", "As built"),
    ],
)
def test_the_status_weighs_open_points_and_stands_in_the_title_block(status: str, severity: str, words: str) -> None:
    design, findings = compiled_all(PLATE.replace("  status draft\n", status))
    assert {f.severity for f in of_code("CP253", findings)} == {severity}
    assert design.system.settings.status == words


def compiled_all(plate: str) -> tuple[Design, tuple[Finding, ...]]:
    """The design of a plate whose open points may be errors."""
    design, findings = compile_plate(Source("a.plate", plate), lambda name: None)
    assert design is not None
    return design, findings


def test_each_sheet_of_a_draft_says_so_and_an_open_length_is_a_question_mark() -> None:
    design, _ = compiled(PLATE)
    sheets = drawing.sheets(design)
    assert sheets and all("Draft, not for installation" in sheet.svg for sheet in sheets)
    assert any("? (8 m)" in sheet.svg for sheet in sheets)


@pytest.mark.parametrize(
    ("old", "new"),
    [("12 V, 100 Ah", "? V, 100 Ah"), ("drop 10 %", "drop ? %"), ("1 A\n", "1 A, daily ? h\n"), ("? W", "? m")],
)
def test_everything_else_is_asked_for(old: str, new: str) -> None:
    _, findings = resolved(PLATE.replace(old, new, 1))
    codes = [f.code for f in findings if f.severity == "error"]
    assert len(codes) == 1 and codes[0] in ("CP254", "CP120"), codes


def test_a_question_mark_is_printed_in_the_one_style() -> None:
    text, findings = syntax.format(Source("a.plate", "a -- ?m -- b\nload x ?amps\n"))
    assert (text, findings) == ("a -- ? m -- b\nload x ? A\n", ())
    _, wrong = syntax.parse(Source("a.plate", "a -- ? furlong -- b\n"))
    assert [f.code for f in wrong] == ["CP102"]
