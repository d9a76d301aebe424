"""`diff` and `stock` as a user runs them: revisions, formats, exit codes, widths."""

from __future__ import annotations

import json
import os
import subprocess
from pathlib import Path

import pytest
from command import run, write
from comparing import BOAT, PLATES, compared, document, edited
from markdown_it import MarkdownIt

from copperplate import diff
from copperplate.findings.terminal import columns

LONGER = edited(BOAT, ("3 m -- fridge", "6 m -- fridge"))
TYPES = "part bulb load, 2 A\n"
USING = BOAT.replace('"Lights" 2 A', '"Lights" part bulb') + 'use "parts/types.plate"\n'
SAMPLE = (
    ("3 m -- fridge", "6 m -- fridge"),
    ("fridge", "icebox"),
    ('load pump "Pump" 5 A, intermittent, drop 10 %\n', 'load heater "Heater" 3 A, drop 10 %, daily 6 h\n'),
    ("cabin.4 -//- 4 m -- pump", "cabin.5 -//- 4 m -- heater"),
    ("cabin.2 -//- via", "cabin.2 -//- [10 A] -- via"),
)
"""The revision that docs/revisions.md shows."""


def git(folder: Path, *arguments: str) -> str:
    environment = os.environ | {
        "GIT_AUTHOR_NAME": "A", "GIT_AUTHOR_EMAIL": "a@example.org", "GIT_COMMITTER_NAME": "A",
        "GIT_COMMITTER_EMAIL": "a@example.org", "GIT_CONFIG_GLOBAL": os.devnull, "GIT_CONFIG_NOSYSTEM": "1",
    }  # fmt: skip
    done = subprocess.run(["git", *arguments], cwd=folder, env=environment, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.fixture
def repository(tmp_path: Path) -> Path:
    """Two revisions of a plate in a folder of its own, with a parts library that changed as well."""
    git(tmp_path, "init", "-q")
    (tmp_path / "boats" / "parts").mkdir(parents=True)
    write(tmp_path / "boats", USING, "boat.plate")
    write(tmp_path / "boats" / "parts", TYPES, "types.plate")
    git(tmp_path, "add", ".")
    git(tmp_path, "commit", "-qm", "A")
    write(tmp_path / "boats", USING.replace("3 m -- fridge", "6 m -- fridge"), "boat.plate")
    write(tmp_path / "boats" / "parts", TYPES.replace("2 A", "3 A"), "types.plate")
    git(tmp_path, "add", ".")
    git(tmp_path, "commit", "-qm", "B")
    return tmp_path


def test_revisions_are_read_with_all_that_they_use(repository: Path) -> None:
    found = run("diff", "HEAD~1:boats/boat.plate", "HEAD:boats/boat.plate", cwd=repository).stdout
    assert "3 m longer" in found and "current 2 -> 3 A" in found
    inside = run("diff", "HEAD~1:./boat.plate", "boat.plate", cwd=repository / "boats").stdout
    assert inside == found
    head = git(repository, "rev-parse", "HEAD~1").strip()[:10]
    assert run("diff", f"{head}:boats/boat.plate", "boats/boat.plate", cwd=repository).stdout == found


def test_the_staged_plate_and_a_clean_tree(repository: Path) -> None:
    plate = repository / "boats" / "boat.plate"
    plate.write_text(USING)
    git(repository, "add", ".")
    plate.write_text("nonsense")
    assert "3 m shorter" in run("diff", "HEAD:boats/boat.plate", ":boats/boat.plate", cwd=repository).stdout
    before = git(repository, "status", "--porcelain"), plate.read_text()
    run("diff", "HEAD~1:boats/boat.plate", "HEAD:boats/boat.plate", cwd=repository)
    assert (git(repository, "status", "--porcelain"), plate.read_text()) == before, "nothing is ever checked out"


def test_use_does_not_leave_the_folder_of_the_plate(repository: Path) -> None:
    write(repository, TYPES, "outside.plate")
    write(repository / "boats", USING.replace("parts/types.plate", "../outside.plate"), "boat.plate")
    git(repository, "add", ".")
    git(repository, "commit", "-qm", "C")
    done = run("diff", "HEAD:boats/boat.plate", "boats/boat.plate", "--format", "json", cwd=repository)
    found = json.loads(done.stdout)
    assert found["old"]["errors"] == found["new"]["errors"] > 0


@pytest.mark.parametrize(
    "name", ["no:boat.plate", "HEAD:no.plate", "HEAD:boats", "-x:boats/boat.plate", "no.plate", "--help:x"]
)
def test_what_cannot_be_read_is_said_in_one_line(name: str, repository: Path) -> None:
    done = run("diff", "--", name, "boats/boat.plate", cwd=repository)
    assert done.returncode == 2 and done.stderr.count("\n") == 1 and not done.stdout


def test_outside_a_repository(tmp_path: Path) -> None:
    write(tmp_path, BOAT)
    done = run("diff", "HEAD:a.plate", "a.plate", cwd=tmp_path)
    assert done.returncode == 2 and "no git repository" in done.stderr


def test_exit_codes(tmp_path: Path) -> None:
    for text, name in (
        (BOAT, "a.plate"),
        (LONGER, "b.plate"),
        (BOAT + "# words\n", "c.plate"),
        ("system\n", "d.plate"),
    ):
        write(tmp_path, text, name)
    assert run("diff", "a.plate", "b.plate", cwd=tmp_path).returncode == 0
    assert run("diff", "a.plate", "b.plate", "--exit-code", cwd=tmp_path).returncode == 1
    assert run("diff", "a.plate", "c.plate", "--exit-code", cwd=tmp_path).returncode == 0
    assert run("diff", "a.plate", "d.plate", cwd=tmp_path).returncode == 0, "a comparison answers whatever stands there"
    assert "3 m shorter" in run("diff", "-", "a.plate", cwd=tmp_path, stdin=LONGER.encode()).stdout


@pytest.mark.parametrize("width", [72, 100])
def test_lines_keep_to_the_width(width: int) -> None:
    for name, text in PLATES.items():
        lines = [line for line in text.splitlines() if "-//-" in line]
        changed = (
            text.replace(lines[0] + "\n", "").replace("12 V", "12.1 V", 1).replace(" ft", "1 ft").replace(" m ", "1 m ")
        )
        for line in diff.text(compared((text, changed), text=text), width).splitlines():
            assert columns(line) <= width, (name, line)


def test_the_sample_of_the_page_is_what_is_printed() -> None:
    page = (Path(__file__).resolve().parents[2] / "docs" / "revisions.md").read_text(encoding="utf-8")
    shown = page.split("<!-- sample -->\n```\n", 1)[1].split("```", 1)[0]
    assert shown.split("\n", 1)[1] == diff.text(compared(*SAMPLE))


def test_text_and_markdown_are_made_of_the_document_alone() -> None:
    found = compared(("3 m -- fridge", "6 m -- fridge"))
    printed = json.loads(json.dumps(found))
    assert diff.text(printed) == diff.text(found) and diff.markdown(printed) == diff.markdown(found)
    assert found["format"] == "copperplate-diff/1"


def test_markdown_shows_words_of_a_plate_as_words() -> None:
    hostile = "<img src=x> @all | **b** [l](http://x) `c` # 1"
    found = compared(
        ("  conductors awg", f'  conductors awg\n  revision "{hostile}"'),
        ('"Pump"', f'"{hostile}"'),
        ("cabin.4 -//- 4 m -- pump", f'cabin.4 -//- 4 m -- pump\nnote "{hostile}"'),
    )
    text = diff.markdown(found)
    html = MarkdownIt("commonmark").enable("table").render(text)
    assert "<img" not in html.replace("&lt;img", "") and "<strong>b" not in html and "<a " not in html
    assert "@" not in text
    rows = [line for line in text.splitlines() if line.startswith("| ")]
    assert rows and all(line.replace("\\|", "").count("|") == 4 for line in rows)


def test_the_same_document_on_every_run(tmp_path: Path) -> None:
    write(tmp_path, BOAT, "a.plate")
    write(tmp_path, edited(LONGER, ("cabin.4", "cabin.5"), ("lights", "lamps")), "b.plate")
    outputs = {run("diff", "a.plate", "b.plate", "--format", form, cwd=tmp_path).stdout for form in ("json",) * 2}
    assert len(outputs) == 1


def test_stock_by_the_copper_of_each_shelf(tmp_path: Path) -> None:
    """The boat's runs on fewer sizes: every row costs more than the one above, and the last line of --at-most adds up
    the runs that move."""
    write(tmp_path, BOAT)
    done = run("stock", "a.plate", cwd=tmp_path)
    rows = [line.split() for line in done.stdout.splitlines()[1:]]
    copper = [float(row[1]) for row in rows]
    assert done.returncode == 0 and len(rows) > 1 and copper == sorted(copper)
    assert [int(row[0]) for row in rows] == sorted((int(row[0]) for row in rows), reverse=True)
    fewer = run("stock", "a.plate", "--at-most", rows[-1][0], cwd=tmp_path).stdout
    moved = [float(line.split("+")[1].split()[0]) for line in fewer.splitlines() if line.endswith(" kg")]
    assert sum(moved) == pytest.approx(copper[-1] - copper[0], abs=0.011)
    write(tmp_path, BOAT + f"stock at-most {rows[-1][0]}\n", "b.plate")
    assert run("stock", "b.plate", cwd=tmp_path).stdout == done.stdout, "counted from the free choice"
    sizes = {found["size"] for found in document((tmp_path / "b.plate").read_text())["runs"] if found["size"]}
    assert len(sizes) == int(rows[-1][0])


def test_stock_that_no_shelf_serves(tmp_path: Path) -> None:
    write(tmp_path, edited(BOAT, ("4 m -- pump", "4 m, 14 AWG -- pump"), ("3 m -- fridge", "3 m, 10 AWG -- fridge")))
    done = run("stock", "a.plate", "--at-most", "1", cwd=tmp_path)
    assert done.returncode == 2 and "at least" in done.stderr
    assert run("stock", "a.plate", "--at-most", "0", cwd=tmp_path).returncode == 2
