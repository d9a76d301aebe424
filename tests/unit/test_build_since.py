"""`build --since OLD`: what changed stands in the pack, and without the option nothing of the pack is other."""

from __future__ import annotations

import re
from pathlib import Path
from xml.etree import ElementTree

import pytest
from command import run, write
from comparing import BOAT, edited
from test_diff_command import git

OLD = edited(BOAT, ("  nominal 12 V\n", '  nominal 12 V\n  revision "A"\n  date "2026-03-01"\n'))
NEW = edited(
    OLD,
    ('revision "A"', 'revision "B"'),
    ("2026-03-01", "2026-04-02"),
    ("3 m -- fridge", "6 m -- fridge"),
    ('load pump "Pump" 5 A, intermittent, drop 10 %\n', 'load heater "Heater" 3 A, drop 10 %, daily 6 h\n'),
    ("cabin.4 -//- 4 m -- pump", "cabin.5 -//- 4 m -- heater"),
)
SVG = "{http://www.w3.org/2000/svg}"


def pack(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> tuple[dict[str, bytes], dict[str, bytes], str]:
    """The pack without the option, the one with it, and what the command said of it."""
    folder = tmp_path_factory.mktemp("since")
    write(folder, NEW, "boat.plate")
    (folder / "issued").mkdir()
    write(folder / "issued", OLD, "old.plate")
    assert run("build", "boat.plate", "-o", "plain", cwd=folder).returncode == 0
    done = run("build", "boat.plate", "-o", "since", "--since", "issued/old.plate", cwd=folder)
    assert done.returncode == 0, done.stderr
    return pack(folder / "plain"), pack(folder / "since"), done.stdout


def section(report: str) -> str:
    """What the engineer's document tells of the changes: all that stands behind their heading."""
    return report.partition("\nChanges since ")[2]


def test_the_section_says_what_the_edits_were(built: tuple[dict[str, bytes], dict[str, bytes], str]) -> None:
    found = section(built[1]["boat.report.md"].decode())
    assert found.startswith("`old.plate`.\n")
    assert "From revision A to revision B." in found
    rows = {cells[2]: cells for line in found.splitlines() if len(cells := [c.strip() for c in line.split("|")]) == 5}
    assert rows["`fridge.run`"][1] == "changed" and "3 m longer" in rows["`fridge.run`"][3]
    assert rows["`heater.run`"][1] == "added" and "cabin.5" in rows["`heater.run`"][3]
    assert rows["`pump.run`"][1] == "removed" and "cabin.4 is spare" in rows["`pump.run`"][3]
    assert "3 circuits differ: 1 added, 1 changed, 1 removed." in found


def test_nothing_else_of_the_report_moves(built: tuple[dict[str, bytes], dict[str, bytes], str]) -> None:
    plain, since = (files["boat.report.md"].decode() for files in built[:2])
    assert since.partition("\n### Revisions\n")[0].rstrip() == plain.rstrip()
    assert "Changes since" not in plain


def test_the_marked_drawing_is_a_file_and_stands_in_the_page(
    built: tuple[dict[str, bytes], dict[str, bytes], str],
) -> None:
    files = built[1]
    svg = files["boat.changes.svg"].decode()
    marks = {rect.get("data-mark") for rect in ElementTree.fromstring(svg).iter(f"{SVG}rect")} - {None}
    assert marks == {"added", "changed", "removed"}
    page = files["boat.report.html"].decode()
    assert "Changes since" in page and re.search(r'<rect\b[^>]*data-mark="added"', page)
    identities = re.findall(r'\bid="([^"]*)"', page)
    assert len(identities) == len(set(identities))
    sheets = sum(".sheet-" in name for name in files)
    assert f"{sheets} sheets, report, marked drawing, 5 lists" in built[2]


def test_pages_of_the_marked_drawing_keep_their_size_in_the_page(
    built: tuple[dict[str, bytes], dict[str, bytes], str],
) -> None:
    """The page's rules stretch a drawing to its width; a page within the drawing must not be one."""
    page = built[1]["boat.report.html"].decode()
    for drawing in re.findall(r"<svg\b.*?</svg>", page, re.DOTALL):
        assert drawing.count("<svg") == 1


def test_the_strip_names_the_issue_before(built: tuple[dict[str, bytes], dict[str, bytes], str]) -> None:
    plain, since = ({n: f for n, f in files.items() if ".sheet-" in n} for files in built[:2])
    assert list(plain) == list(since)
    for name, sheet in since.items():
        assert b"issue before: Rev A, 2026-03-01" in sheet and b">B</text>" in sheet and b">2026-04-02<" in sheet, name
        assert b"issue before" not in plain[name]


def test_the_same_pack_in_every_other_file(built: tuple[dict[str, bytes], dict[str, bytes], str]) -> None:
    plain, since, _ = built
    assert set(since) - set(plain) == {"boat.changes.svg"} and not set(plain) - set(since)
    for name in plain:
        if ".sheet-" not in name and ".report." not in name and name != "boat.pack.json":  # which tells them all
            assert plain[name] == since[name], name


def test_built_again_without_it_the_pack_is_the_one_before(tmp_path: Path) -> None:
    """A marked drawing that was left behind would show another comparison than the pack."""
    write(tmp_path, NEW, "boat.plate")
    write(tmp_path, OLD, "old.plate")
    run("build", "boat.plate", "-o", "out", cwd=tmp_path)
    before = pack(tmp_path / "out")
    run("build", "boat.plate", "-o", "out", "--since", "old.plate", cwd=tmp_path)
    assert "boat.changes.svg" in pack(tmp_path / "out")
    run("build", "boat.plate", "-o", "out", cwd=tmp_path)
    assert pack(tmp_path / "out") == before


def test_a_revision_of_the_repository_and_nothing_changed(tmp_path: Path) -> None:
    git(tmp_path, "init", "-q")
    write(tmp_path, OLD, "boat.plate")
    git(tmp_path, "add", ".")
    git(tmp_path, "commit", "-qm", "A")
    done = run("build", "boat.plate", "-o", "out", "--since", "HEAD:boat.plate", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    found = section((tmp_path / "out" / "boat.report.md").read_text(encoding="utf-8"))
    assert found.startswith("`HEAD:boat.plate`.\n") and "No circuit differs." in found and "| --" not in found
    write(tmp_path, NEW, "boat.plate")
    run("build", "boat.plate", "-o", "out", "--since", "HEAD:boat.plate", cwd=tmp_path)
    assert "3 m longer" in section((tmp_path / "out" / "boat.report.md").read_text(encoding="utf-8"))


def test_an_old_plate_with_errors_is_compared_as_far_as_it_goes(tmp_path: Path) -> None:
    write(tmp_path, NEW, "boat.plate")
    write(tmp_path, OLD.replace("cabin.1 -//-", "cabin.1 -//- 900 m, 16 AWG --"), "old.plate")
    write(tmp_path, "nonsense\n", "worse.plate")
    for name in ("old.plate", "worse.plate"):
        assert run("build", "boat.plate", "-o", "out", "--since", name, cwd=tmp_path).returncode == 0
        found = section((tmp_path / "out" / "boat.report.md").read_text(encoding="utf-8"))
        assert re.search(rf"> \*\*Notice\.\*\* {name} has \d+ errors?: ", found), found


def test_what_cannot_be_compared_is_refused_before_anything_is_written(tmp_path: Path) -> None:
    write(tmp_path, NEW, "boat.plate")
    write(tmp_path, OLD, "old.plate")
    for arguments in (("boat.plate", "--since", "none.plate"), ("boat.plate", "old.plate", "--since", "old.plate")):
        done = run("build", *arguments, "-o", "out", cwd=tmp_path)
        assert done.returncode == 2 and done.stderr.startswith("copperplate: ")
    assert run("build", "-", "--since", "-", "-o", "out", cwd=tmp_path, stdin=NEW.encode()).returncode == 2
    assert not (tmp_path / "out").exists()
