"""Every finding has a page, and the plates of the pages do what the pages say.

A page is `docs/findings/CPnnn.md`: `# CPnnn title`, prose, a ```plate under `## Draws it` and one under `## Mended`;
another under `## Draws it too` where the first leaves a text of the row out.
Other files of an example are ```plate NAME.plate blocks after it; ```plate escaped holds bytes as `\\xNN`.
"""

from __future__ import annotations

import importlib.util
import re
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from copperplate import drawing
from copperplate.design import compile_plate
from copperplate.findings import CODES, Finding
from copperplate.syntax import read
from copperplate.text import Source

DOCS = Path(__file__).resolve().parents[2] / "docs"
BLOCK = re.compile(r"^```plate ?(.*)\n([\s\S]*?)^```$", re.MULTILINE)

BY_SHEETS = ("CP510",)
"""Codes that are found when the sheets are drawn."""
DEFECTS_ONLY = {"CP118", *(f"CP59{n}" for n in range(10))}
"""Codes that guard against defects of ours: no plate draws them, and their pages say so instead."""


@dataclass
class Example:
    """A plate of a page, as bytes, with the other files that it uses."""

    plate: bytes = b""
    files: dict[str, bytes] = field(default_factory=dict)

    def findings(self, draw: bool = False) -> tuple[Finding, ...]:
        """What the plate gives; with `draw` also what its sheets tell."""

        def other(name: str) -> Source | None:
            return read(self.files[name], name)[0] if name in self.files else None

        source, reading = read(self.plate, "page.plate")
        if source is None:
            return reading
        design, found = compile_plate(source, other)
        told = drawing.cut_names(design, drawing.sheets(design)) if design is not None and draw else ()
        return (*reading, *found, *told)


def example(page: str, heading: str) -> Example:
    """The plate under one heading of a page."""
    section = page.split(f"\n## {heading}\n", 1)[1].split("\n## ", 1)[0]
    found = Example()
    for info, text in BLOCK.findall(section):
        if info == "escaped":
            found.plate = text.encode().decode("unicode_escape").encode("latin-1")
        elif info:
            found.files[info] = text.encode()
        else:
            found.plate = text.encode()
    return found


def page_of(code: str) -> str:
    path = DOCS / "findings" / f"{code}.md"
    assert path.is_file(), f"{code} ({CODES[code].title}) has no page docs/findings/{code}.md"
    return path.read_text(encoding="utf-8")


@pytest.mark.parametrize("code", sorted(CODES))
def test_a_code_has_a_page_whose_plates_draw_it_and_do_not(code: str) -> None:
    page = page_of(code)
    severity, title = CODES[code].severity, CODES[code].title
    assert page.splitlines()[0] == f"# {code} {title}"
    if code in DEFECTS_ONLY:
        assert "```" not in page
        return
    drawn = example(page, "Draws it").findings(code in BY_SHEETS)
    assert code in {f.code for f in drawn}, f"drawn instead: {[(f.code, f.message) for f in drawn]}"
    assert all(f.severity == severity for f in drawn if f.code == code)
    mended = example(page, "Mended").findings(code in BY_SHEETS)
    errors = [(f.code, f.message) for f in mended if f.severity == "error"]
    assert code not in {f.code for f in mended} and not errors, errors


def test_no_page_is_left_over() -> None:
    pages = {path.stem for path in (DOCS / "findings").glob("CP*.md")}
    assert pages - set(CODES) == set()


def test_pages_made_from_tables_are_fresh() -> None:
    """`python docs/build.py` would write what is there."""
    spec = importlib.util.spec_from_file_location("docs_build", DOCS / "build.py")
    assert spec is not None and spec.loader is not None
    build = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(build)
    for name, text in build.pages().items():
        assert (DOCS / name).read_text(encoding="utf-8") == text, f"{name}: run `python docs/build.py`"
