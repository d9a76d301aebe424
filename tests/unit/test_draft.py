"""A plate with errors is drawn as a draft: what is wrong is seen, and nobody can take it for a pack."""

from __future__ import annotations

import json
import re
from pathlib import Path
from xml.etree import ElementTree

import pytest
from command import run

from copperplate.making import make

ROOT = Path(__file__).parents[2]
CLEAN = """\
system "Heron"
  nominal 12 V
  rules cfr-183
battery house "House bank" 12.8 V, 280 Ah, lifepo4, fault-current 5 kA, range 12.0..14.4 V
bus minus "Negative bus" negative, 300 A
panel cabin "Cabin fuse block" blade, ways 12, return minus
load fridge "Fridge" 60 W
load lights "Cabin lights" 2 A, drop 10 %
house.pos -- 0.15 m -- [main: fuse class-t] -- 0.9 m -- cabin
house.neg -- 0.5 m -- minus
cabin.1 -//- 4.5 m -- fridge
cabin.3 -//- 7 m -- lights
"""
TWO_ERRORS = CLEAN.replace("7 m -- lights", "70 m, 12 AWG -- lights").replace("4.5 m -- fridge", "4.5 m -- fridg")


def build(folder: Path, text: str) -> tuple[int, str, dict[str, bytes]]:
    (folder / "heron.plate").write_text(text)
    done = run("build", "heron.plate", cwd=folder)
    out = folder / "build"
    return done.returncode, done.stdout, {p.name: p.read_bytes() for p in out.iterdir()} if out.is_dir() else {}


def test_a_draft_stands_beside_the_issued_pack_and_goes_with_the_next_clean_build(tmp_path: Path) -> None:
    code, _, issued = build(tmp_path, CLEAN)
    assert code == 0 and "heron.pack.json" in issued
    code, said, both = build(tmp_path, TWO_ERRORS)
    assert code == 1 and "a draft, no pack" in said
    drafts = sorted(both.keys() - issued.keys())
    assert {name: both[name] for name in issued} == issued
    assert next(name for name in drafts if name.endswith(".svg")).startswith("heron.draft.sheet-1-")
    assert {"heron.draft.report.md", "heron.draft.report.html"} < set(drafts)
    assert all(re.fullmatch(r"heron\.draft\.(sheet-\d+-[a-z0-9-]+\.svg|report\.(md|html))", name) for name in drafts)
    assert not any(name in json.loads(both["heron.pack.json"])["files"] for name in drafts)
    assert run("verify", "build", cwd=tmp_path).returncode == 0
    code, _, after = build(tmp_path, CLEAN)
    assert code == 0 and after == issued


def test_every_page_says_draft_and_every_error_has_its_number_on_the_drawing_and_in_the_report() -> None:
    made = make({"heron.plate": TWO_ERRORS.encode()}, "heron.plate")
    errors = [f for f in made.findings if f.severity == "error"]
    assert [f.code for f in errors] == ["CP202", "CP310"]
    files = {name: text.decode() for name, text in made.files().items()}
    sheets = [text for name, text in files.items() if name.endswith(".svg")]
    for svg in sheets:
        words = "".join(ElementTree.fromstring(svg).itertext())
        assert "Draft with 2 errors" in words and "Draft, 2 errors" in words
    marked = {number for svg in sheets for number in re.findall(r'data-draft="(\d+)"', svg)}
    assert marked == {"1", "2"}
    report = files["heron.draft.report.md"]
    assert report.startswith("# Draft: Heron") and "**Draft, 2 errors**" in report
    for number, f in enumerate(errors, 1):
        assert re.search(rf"^{number}\. ", report, re.M), f.message
    for bought in ("Materials", "Cut list", "Copper to buy"):
        assert bought not in report
    assert "Draft, 2 errors" in files["heron.draft.report.html"]


def test_an_error_at_a_thing_that_is_not_drawn_is_named_at_the_head() -> None:
    made = make({"heron.plate": (CLEAN + "lamp spare 3 W\n").encode()}, "heron.plate")
    sheets = [text.decode() for name, text in made.files().items() if name.endswith(".svg")]
    assert sheets and all("at things that are not drawn: 1" in svg for svg in sheets)


def test_nothing_is_written_where_nothing_can_be_resolved(tmp_path: Path) -> None:
    code, said, files = build(tmp_path, "?????\n")
    assert code == 1 and "nothing could be drawn" in said and files == {}


def test_an_old_draft_goes_where_nothing_can_be_resolved_any_more(tmp_path: Path) -> None:
    assert any(".draft." in name for name in build(tmp_path, TWO_ERRORS)[2])
    assert build(tmp_path, "?????\n")[2] == {}


def plates_with_errors() -> list[tuple[str, str]]:
    found = []
    for page in sorted((ROOT / "docs" / "findings").glob("CP*.md")):
        for n, text in enumerate(re.findall(r"```plate\n(.*?)```", page.read_text(encoding="utf-8"), re.DOTALL)):
            found.append((f"{page.stem}-{n}", text))
    return found


@pytest.mark.parametrize("part", range(4))
def test_whatever_is_wrong_is_drawn(part: int) -> None:
    drafts = 0
    for name, text in plates_with_errors()[part::4]:
        made = make({"x.plate": text.encode()}, "x.plate")
        errors = sum(f.severity == "error" for f in made.findings)
        if not errors or made.draft is None:
            continue
        drafts += 1
        sheets = [data.decode() for file, data in made.files().items() if file.endswith(".svg")]
        told = set()
        for svg in sheets:
            told |= set(re.findall(r'data-draft="(\d+)"', svg))
            head = re.search(r"at things that are not drawn: ([\d, ]+)", svg)
            told |= set(head[1].split(", ")) if head else set()
        assert sheets and told == {str(n) for n in range(1, errors + 1)}, name
    assert drafts > 20
