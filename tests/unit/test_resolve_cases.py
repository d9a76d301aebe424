"""The plates of tests/cases/resolve: each draws exactly the findings that stand below it, with code and place."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from resolving import line_of, resolved

CASES = Path(__file__).resolve().parents[1] / "cases" / "resolve"
CASE = re.compile(r"^## (.+)\n[\s\S]*?^```plate\n([\s\S]*?)^```\n\n```findings\n([\s\S]*?)^```$", re.MULTILINE)


def cases() -> list[tuple[str, str, str]]:
    """(page and title, plate, findings) of every case."""
    return [
        (f"{path.stem}: {title}", plate, findings)
        for path in sorted(CASES.glob("*.md"))
        for title, plate, findings in CASE.findall(path.read_text(encoding="utf-8"))
    ]


@pytest.mark.parametrize(("title", "plate", "expected"), cases(), ids=[title for title, _, _ in cases()])
def test_a_plate_draws_what_stands_below_it(title: str, plate: str, expected: str) -> None:
    _, findings = resolved(plate)
    assert [line_of(f) for f in findings] == expected.splitlines()


def test_every_case_is_found() -> None:
    pages = [path.read_text(encoding="utf-8") for path in CASES.glob("*.md")]
    assert len(cases()) == sum(len(re.findall(r"^## ", page, re.MULTILINE)) for page in pages) > 100
