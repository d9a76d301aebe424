"""The report in Markdown: its tables say what the design says, a change moves few rows, a plate's text is data."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any, get_args

import pytest
from invented_design import design, partial
from invented_sheets import sheets
from markdown_it import MarkdownIt

from copperplate import schema
from copperplate.report import document, markdown
from copperplate.report.blocks import Mark, Table

HOSTILE = (
    "<script>alert(1)</script>", "| a | b |", "`code` **bold** _em_ [x](y) ![i](j) &lt; &#60;", "<!-- page -->",
    "[ ]", "# heading", "1. one", "\u202egnp.exe", "line\nbreak\ttab", "~~~", "$x$", "\\", "=1+1", "ﺗﺠﺮﺑﺔ 試験 ✓",
)  # fmt: skip


def tables(text: str) -> dict[str, list[dict[str, str]]]:
    """The captioned tables of a report by the words of their caption, rows by head, without the headings among the
    rows; read without our reader."""
    found: dict[str, list[dict[str, str]]] = {}
    caption = ""
    head: list[str] = []
    for line in text.splitlines():
        if line.startswith("Table "):
            caption = line.split(". ", 1)[1]
            head = []
        elif line.startswith("| "):
            cells = [cell.strip() for cell in re.split(r"(?<!\\)\|", line)[1:-1]]
            if not head:
                head = [f"{name} {n}" if cells.index(name) < n else name for n, name in enumerate(cells)]
            elif not set(line) <= set("|-: ") and not is_group(cells):
                found.setdefault(caption, []).append(dict(zip(head, cells, strict=True)))
        elif line:
            caption, head = "", []
    return found


def is_group(cells: list[str]) -> bool:
    """Whether a row is a heading among others: one cell in bold, and nothing else."""
    held = [cell for cell in cells if cell]
    return len(held) == 1 and held[0].startswith("**") and len(cells) > 2


def named(text: str, start: str) -> list[dict[str, str]]:
    return next(rows for caption, rows in tables(text).items() if caption.startswith(start))


@pytest.fixture(scope="module")
def report() -> str:
    made = design()
    return markdown(document(made, sheets(made)))


@pytest.fixture(scope="module")
def public() -> dict[str, Any]:
    return json.loads(schema.to_text(design()))


def by_id(items: list[dict[str, Any]]) -> dict[str, dict[str, Any]]:
    return {item["id"]: item for item in items}


SECTIONS = {
    "Client": [
        "To settle first", "Who does what", "What it is", "What it can do", "Care", "Accepted deviations", "Agreed",
        "Wiring diagram",
    ],
    "Installer": ["Sheets", "Wiring", "Bars", "Cut list", "Labels", "Materials"],
    "Inspector": ["Protection", "Isolate, in this order", "Before power", "With power"],
    "Engineer": [
        "Words, and what it rests on", "Reasons", "Volts at the loads", "Loading", "Faults", "Energy", "Assumptions",
        "Sources",
    ],
}  # fmt: skip


def test_every_section_stands_once_and_in_order(report: str) -> None:
    found: dict[str, list[str]] = {}
    for line in report.splitlines():
        if line.startswith("## "):
            found[line[3:]] = []
        elif line.startswith("### "):
            found[list(found)[-1]].append(line[4:])
    assert found == SECTIONS


def test_what_is_not_covered_stands_under_the_verdict(report: str) -> None:
    assert "> **Notice.**" in report.split("### To settle first")[0].split("## Client")[1]


def test_comments_are_of_the_closed_list_and_alone_on_their_lines(report: str) -> None:
    comments = re.findall(r"^.*<!--.*-->.*$", report, re.MULTILINE)
    assert comments
    allowed = "|".join(get_args(Mark))
    assert all(re.fullmatch(rf"<!-- ({allowed}|chart [a-z0-9 ]+) -->", line) for line in comments)


def test_two_circuits_give_their_reasons_and_all_with_detail(report: str) -> None:
    made = design()
    assert report.count("Sizes tried for") == 2
    assert markdown(document(made, detail=True)).count("Sizes tried for") == len(made.runs)


def test_one_changed_length_changes_the_rows_of_its_circuit_only(report: str) -> None:
    made = design({"plotter": 3.0})
    before, after = report.splitlines(), markdown(document(made, sheets(made))).splitlines()
    assert len(before) == len(after)
    changed = [(old, new) for old, new in zip(before, after, strict=True) if old != new]
    assert 0 < len(changed) <= 12
    whole = "\n".join(old for old, _ in changed)
    assert all(
        "plotter" in old.lower() or "mm²" in old or "AWG" in old or "km of" in old or "Wire" in old
        for old, _ in changed
    ), whole


def test_a_long_title_moves_only_its_own_rows(report: str) -> None:
    made = design(titles={"plotter": "Chart plotter with a title that is far wider than any column of this report"})
    before, after = report.splitlines(), markdown(document(made, sheets(made))).splitlines()
    assert all("plotter" in old.lower() for old, new in zip(before, after, strict=True) if old != new)


@pytest.mark.parametrize("words", HOSTILE)
def test_text_of_a_plate_is_data(words: str) -> None:
    """As CommonMark reads it: the words are there as they are, and no element more than without them."""
    from copperplate.report.words import plain

    made = design(titles={"fridge": words}, title=words)
    text, clean = (markdown(document(d, sheets(d))) for d in (made, design()))
    tokens, before = (MarkdownIt("commonmark", {"html": False}).enable("table").parse(t) for t in (text, clean))
    assert [token.type for token in tokens] == [token.type for token in before]
    shown = ["".join(t.content for t in token.children or ()) for token in tokens if token.type == "inline"]
    assert shown[0] == plain(words) and shown.count(plain(words)) >= 3
    ticks = [cell for b in document(made) if isinstance(b, Table) for row in b.cells for cell in row if cell.tick]
    assert all(cell.words == "[ ]" for cell in ticks) and (plain(words) == "[ ]") <= (text.count("\\[ \\]") >= 3)
    assert "\u202e" not in text


def test_a_design_with_errors_can_be_read_too() -> None:
    text = markdown(document(partial()))
    assert "> **Cannot be built as drawn.**" in text
    assert re.findall(r"^## (\w+)", text, re.MULTILINE) == list(SECTIONS)


def test_the_same_text_under_any_hash_seed() -> None:
    script = (
        "from invented_design import design; from invented_sheets import drawn; from copperplate.report import pack;"
        "import hashlib; d = design(); p = pack(d, drawn(d), 'dunlin');"
        "print(hashlib.sha256(repr(p).encode()).hexdigest())"
    )
    prints = {
        subprocess.run(
            [sys.executable, "-c", script],
            env={**os.environ, "PYTHONHASHSEED": seed},
            cwd=Path(__file__).parent,
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(prints) == 1
