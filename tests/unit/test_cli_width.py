"""What is printed keeps to the width of the terminal, and loses nothing by it."""

from __future__ import annotations

from pathlib import Path

import pytest
from command import run

from copperplate.cli.explain import BLOCKS

ROOT = Path(__file__).resolve().parents[2]
PLATES = ["launch", "camper", "cabin"]


@pytest.mark.parametrize(
    "arguments",
    [
        *(("check", f"{name}.plate") for name in PLATES),
        *(("show", f"{name}.plate") for name in PLATES),
        ("why", "launch.plate", "nav"),
        ("why", "cabin.plate", "inv.pos.run"),
        ("explain", "CP311"),
        ("tables",),
        ("stock", "launch.plate"),
    ],
    ids=" ".join,
)
def test_72_columns_hold_everything(arguments: tuple[str, ...], monkeypatch: pytest.MonkeyPatch) -> None:
    """Where words can be broken: the lines of a plate in an example of `explain` are shown as they are."""
    monkeypatch.setenv("COLUMNS", "72")
    folder = ROOT / "examples" / next((a.removesuffix(".plate") for a in arguments if a.endswith(".plate")), "launch")
    narrow = run(*arguments, cwd=folder).stdout.splitlines()
    assert [line for line in narrow if len(line) > 72 and not line.startswith("load ")] == []
    monkeypatch.setenv("COLUMNS", "120")
    wide = run(*arguments, cwd=folder).stdout
    if arguments[0] in ("show", "explain", "tables"):
        marks = str.maketrans("", "", "│├└─ ")
        assert " ".join(narrow).translate(marks).split() == "".join(wide.splitlines()).translate(marks).split()


def test_the_pages_of_findings_come_through_whole() -> None:
    for path in (ROOT / "docs" / "findings").glob("CP*.md"):
        page = path.read_text(encoding="utf-8")
        assert "".join(BLOCKS.findall(page)) == page, path.name
