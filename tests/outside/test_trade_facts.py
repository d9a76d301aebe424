"""Facts of the trade, each as a small plate through the whole compiler.

Common practice, no source: sizes that US small-craft charts give for 105 °C copper at 12 V and 3 %, by the
circular-mil formula with K = 10.75; lengths are out and back. The charts offer the sizes of the usual series,
which has no 3 AWG. The ampacity of 16 AWG at 105 °C, 25 A, is 33 CFR 183.425 Table 5.
"""

from __future__ import annotations

import pytest

from copperplate.design import compile_plate
from copperplate.findings import Finding
from copperplate.model.results import Design
from copperplate.text import Source

HEAD = """system "Fact"
  nominal 12 V
  rules cfr-183
  conductors awg
  insulation 105 degC
battery b "Battery" 12 V, 100 Ah, agm
  range 12..14.4 V
  fault-current 3 kA
"""


def compiled(plate: str) -> tuple[Design, tuple[Finding, ...]]:
    design, findings = compile_plate(Source("fact.plate", HEAD + plate), lambda name: None)
    assert design is not None, [f.message for f in findings]
    return design, findings


@pytest.mark.parametrize(
    ("load", "one_way", "expected"),
    [
        ("5 A", "10 ft", "14 AWG"),
        ("3 A", "25 ft", "12 AWG"),
        ("166.7 A, intermittent", "7.5 ft", "1 AWG"),
        ("166.7 A, intermittent", "5 ft", "2 AWG"),
        ("100 A", "5 ft", "4 AWG"),
        ("3 A, drop 1.36 V", "25 ft", "16 AWG"),
    ],
)
def test_chart_sizes(load: str, one_way: str, expected: str) -> None:
    design, findings = compiled(f"load x {load}\nb -//- [fuse] -- {one_way} -- x\n")
    assert not [f.message for f in findings if f.severity == "error"]
    run = design.runs["x.run"]
    assert run.size is not None and run.size.key == expected


def test_16_awg_is_rated_25_a() -> None:
    design, _ = compiled("load x 3 A, drop 1.36 V\nb -//- [fuse] -- 25 ft -- x\n")
    assert design.runs["x.run"].table_ampacity_a == 25.0


def test_advice_above_the_computed_size_is_taken() -> None:
    """Common practice, no source: the maker's larger size is used."""
    design, _ = compiled("load x 5 A\n  advised-wire 10 AWG\nb -//- [fuse] -- 10 ft -- x\n")
    run = design.runs["x.run"]
    assert run.size is not None and (run.size.key, run.governed_by) == ("10 AWG", "advice")


def test_advice_below_the_computed_size_warns_and_the_larger_is_used() -> None:
    """Common practice, no source: the physics prevails, the reader is told on the first page."""
    from copperplate import drawing, report

    design, findings = compiled("load x 5 A\n  advised-wire 18 AWG\nb -//- [fuse] -- 10 ft -- x\n")
    run = design.runs["x.run"]
    assert run.size is not None and run.size.key == "14 AWG"
    (warning,) = [f for f in findings if f.severity == "warning" and "18 AWG" in f.message]
    text = report.markdown(report.document(design, report.named(drawing.sheets(design), "fact")))
    first_page = text.split("\n## ")[1]
    assert warning.severity == "warning" and "advises 18 AWG" in first_page


def test_a_clamp_too_small_is_an_error_with_remedies_that_hold() -> None:
    """Common practice, no source: the conductor must fit its terminal; each way out is compiled again."""
    load = "load x 5 A\n  terminal clamp 22..16 AWG\n"
    _, findings = compiled(load + "b -//- [fuse] -- 10 ft -- x\n")
    (error,) = [f for f in findings if f.severity == "error"]
    assert error.subject.startswith("x") and "16 AWG" in " ".join((error.message, *error.notes, error.help))
    assert error.help
    words = " ".join((error.help, *error.notes))
    assert ("drop" in words and "ft" in words) or "m" in words


def test_a_clamp_with_room_is_offered_its_largest_size() -> None:
    """Common practice, no source: without advice the largest size that fits is offered, the computed one taken."""
    design, _ = compiled("load x 5 A\n  terminal clamp 18..8 AWG\nb -//- [fuse] -- 10 ft -- x\n")
    run = design.runs["x.run"]
    assert run.size is not None and run.size.key == "14 AWG"
    assert any("8 AWG" in offer for offer in run.offers)
