"""The plates of tests/cases/plates, compiled from end to end: all their findings, and figures worked by hand."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from copperplate import schema
from copperplate.design import compile_plate
from copperplate.text import Source

PAGES = Path(__file__).resolve().parents[1] / "cases" / "plates"
CASE = re.compile(
    r"^## (.+)\n[\s\S]*?^```plate\n([\s\S]*?)^```\n\n```findings\n([\s\S]*?)^```(?:\n\n```figures\n([\s\S]*?)^```)?$",
    re.MULTILINE,
)
FIGURE = re.compile(r"(\w+) (\S+) (.+?) = (.+?)(?: \+- (\S+))?$")


def cases() -> list[tuple[str, str, str, str]]:
    """(page and title, plate, findings, figures) of every case."""
    return [
        (f"{path.stem}: {title}", plate, findings, figures)
        for path in sorted(PAGES.glob("*.md"))
        for title, plate, findings, figures in CASE.findall(path.read_text(encoding="utf-8"))
    ]


@pytest.mark.parametrize(("title", "plate", "expected", "figures"), cases(), ids=[case[0] for case in cases()])
def test_a_plate_gives_what_stands_below_it(title: str, plate: str, expected: str, figures: str) -> None:
    design, findings = compile_plate(Source("case.plate", plate), lambda _: None)
    found = [f"{f.code} {f.span.line}:{f.span.column} {f.subject}" for f in findings if f.span is not None]
    assert sorted(found) == sorted(expected.splitlines()) and len(found) == len(findings)
    if not figures:
        return
    assert design is not None
    document = json.loads(schema.to_text(design))
    for line in figures.splitlines():
        match = FIGURE.fullmatch(line)
        assert match is not None, line
        group, name, path, value, within = match.groups()
        what: Any = next(entry for entry in document[group] if entry["id"] == name)
        for key in path.split():
            what = what[key]
        assert what == (pytest.approx(float(value), rel=0, abs=float(within)) if within else value), line


def test_every_case_is_found() -> None:
    pages = [path.read_text(encoding="utf-8") for path in PAGES.glob("*.md")]
    assert len(cases()) == sum(len(re.findall(r"^## ", page, re.MULTILINE)) for page in pages) > 10
