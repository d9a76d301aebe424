"""The rescue example: six different errors, each in its place, and the same plate mended."""

from __future__ import annotations

from pathlib import Path

from copperplate.design import compile_plate
from copperplate.findings import Finding
from copperplate.text import Source

RESCUE = Path(__file__).parents[2] / "examples" / "rescue"
SIX = {
    "CP104": "helm.1 -//- 12 -- plotter",
    "CP202": "helm.4 -//- 8 ft -- sterio",
    "CP232": 'load horn "Horn"',
    "CP310": "helm.2 -//- 31 ft, 16 AWG -- deck",
    "CP402": "house.pos -- 9 ft",
    "CP404": "helm.3 -//- [40 A]",
}


def findings(name: str) -> tuple[Finding, ...]:
    path = RESCUE / name
    return compile_plate(Source(name, path.read_text(encoding="utf-8")), lambda _: None)[1]


def test_the_broken_plate_draws_six_different_errors() -> None:
    errors = [f for f in findings("broken.plate") if f.severity == "error"]
    assert sorted(f.code for f in errors) == sorted(SIX)
    for error in errors:
        assert error.span is not None and error.help
        assert error.span.source.line(error.span.line).startswith(SIX[error.code])


def test_the_mended_plate_has_no_error_and_no_warning() -> None:
    assert {f.severity for f in findings("mended.plate")} <= {"advice"}
