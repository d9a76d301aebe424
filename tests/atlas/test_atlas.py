"""Ordinary systems, and the figures and findings that a practitioner expects of them.

Each figure is worked by arithmetic beside its plate and held against what the compiler tells; faults and lasting flows
against the dense solves and maximum flows of `tests/outside` too. A figure that the compiler does not tell rightly
yet has the plain reason beside it, and its test must fail until the reason is taken away.
"""

from __future__ import annotations

import doctest
from itertools import chain

import atlas_figures
import design_network
import pytest
from atlas_figures import FOLDER, ORACLES, PLATES, TELLERS, Figure, Standing, flow_of, plate_of, sheet
from whole_plate import CHECKS

FIGURES = [figure for plate in PLATES for figure in sheet(plate).figures]


def _marked(figure: Figure) -> object:
    marks = [pytest.mark.xfail(strict=True, reason=figure.fails)] if figure.fails else []
    return pytest.param(figure, id=figure.name, marks=marks)


def _standing(kind: str) -> list[object]:
    rows: list[Standing] = list(chain.from_iterable(getattr(sheet(plate), kind) for plate in PLATES))
    return [
        pytest.param(
            row,
            id=f"{row.plate}-{row.code}-{row.of}",
            marks=[pytest.mark.xfail(strict=True, reason=row.fails or row.because)]
            if row.fails or kind == "undeserved"
            else [],
        )
        for row in rows
    ]


def test_arithmetic() -> None:
    assert doctest.testmod(atlas_figures) == (0, 1)
    assert doctest.testmod(design_network) == (0, 1)


@pytest.mark.parametrize("figure", [_marked(figure) for figure in FIGURES if figure.quantity in TELLERS])
def test_the_compiler_tells_the_figure(figure: Figure) -> None:
    assert figure.holds(TELLERS[figure.quantity](plate_of(figure.plate), figure))


@pytest.mark.parametrize("figure", [pytest.param(f, id=f.name) for f in FIGURES if f.quantity in ORACLES])
def test_the_figure_by_hand_is_that_of_the_oracle(figure: Figure) -> None:
    assert figure.holds(ORACLES[figure.quantity](figure))
    if figure.cut:
        assert flow_of(figure).cut == figure.cut


@pytest.mark.parametrize("factor", [0.95, 1.05])
def test_a_figure_that_is_five_percent_off_is_seen(factor: float) -> None:
    seen = 0
    for figure in FIGURES:
        if figure.expected in (0.0, float("inf")):
            continue
        if figure.quantity in TELLERS and not figure.fails:
            assert not figure.holds(TELLERS[figure.quantity](plate_of(figure.plate), figure), factor), figure.name
            seen += 1
        if figure.quantity in ORACLES:
            assert not figure.holds(ORACLES[figure.quantity](figure), factor), figure.name
            seen += 1
    assert seen > len(FIGURES) / 2


@pytest.mark.parametrize("row", _standing("findings"))
def test_a_finding_stands(row: Standing) -> None:
    assert any(row.is_that(*key) for key in plate_of(row.plate).severities)


@pytest.mark.parametrize("row", _standing("undeserved"))
def test_an_undeserved_finding_is_gone(row: Standing) -> None:
    assert not any(row.is_that(*key) for key in plate_of(row.plate).severities)


@pytest.mark.parametrize("plate", PLATES)
def test_no_other_finding_stands(plate: str) -> None:
    rows = [*sheet(plate).findings, *sheet(plate).undeserved]
    assert [key for key in plate_of(plate).severities if not any(row.is_that(*key) for row in rows)] == []


def _whole() -> list[object]:
    rows = [(plate, name) for plate in PLATES for name in CHECKS]
    reasons = [sheet(plate).fails.get(name, "") for plate, name in rows]
    return [
        pytest.param(*row, id="-".join(row), marks=[pytest.mark.xfail(strict=True, reason=reason)] if reason else [])
        for row, reason in zip(rows, reasons, strict=True)
    ]


@pytest.mark.parametrize(("plate", "name"), _whole())
def test_the_whole_plate_holds(plate: str, name: str) -> None:
    assert CHECKS[name](plate_of(plate)) == []


@pytest.mark.parametrize("plate", PLATES)
def test_every_plate_has_figures(plate: str) -> None:
    assert (FOLDER / f"{plate}.plate").is_file()
    assert sheet(plate).figures
    assert set(sheet(plate).fails) <= set(CHECKS)
    for figure in sheet(plate).figures:
        assert figure.quantity in TELLERS or figure.quantity in ORACLES, figure.quantity


def test_every_sheet_has_a_plate() -> None:
    sheets = {path.relative_to(FOLDER).with_suffix("").as_posix() for path in FOLDER.rglob("*.toml")}
    assert sheets == set(PLATES)
