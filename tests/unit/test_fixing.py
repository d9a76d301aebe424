"""Edits that mend a finding: each holds, and one that is made without asking gives back what was meant."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path

import pytest
from command import GOOD, run, write
from comparing import EXAMPLES

from copperplate import make
from copperplate.findings import CODES
from copperplate.findings.entry import alternatives, slots
from copperplate.fixing import fixed, fixes
from copperplate.making import Made

BROKEN = EXAMPLES / "rescue" / "broken.plate"
NAME = re.compile(r"(?<=-- )[a-z]{4,}(?=$)|(?<=\n)(?:battery|panel|load)\b", re.MULTILINE)


def compiled(text: str) -> tuple[Made, dict[str, bytes]]:
    texts = {"a.plate": text.encode()}
    return make(texts, "a.plate"), texts


@pytest.mark.parametrize("code", [code for code in CODES if CODES[code].edit])
def test_an_edit_of_a_row_asks_for_figures_that_its_words_know(code: str) -> None:
    entry = CODES[code]
    texts = (entry.message, entry.help, *(note for note in entry.notes if isinstance(note, str | tuple)))
    known = {name for text in texts for alternative in alternatives(text) for name in slots(alternative)}
    known |= {name for text in texts for each in alternatives(text) for name in re.findall(r"\{(\w+)", each)}
    for edit in entry.edit:
        assert set(slots(edit)) <= known | {"larger"}, edit


def test_the_rescue_plate_is_mended_in_its_writing_and_no_figure_is_touched(tmp_path: Path) -> None:
    """Of its six errors two are slips of the pen, and what was meant stands in the mended plate beside it."""
    path = tmp_path / "broken.plate"
    shutil.copy(BROKEN, path)
    shown = run("check", "--diff", path.name, cwd=tmp_path)
    assert shown.returncode == 1 and path.read_bytes() == BROKEN.read_bytes()
    meant = (BROKEN.parent / "mended.plate").read_text().splitlines()
    put = [line[1:] for line in shown.stdout.splitlines() if line.startswith("+") and not line.startswith("+++")]
    assert put == [line for line in meant if line.startswith(("helm.1 ", "helm.4 "))]
    done = run("check", "--fix", path.name, cwd=tmp_path)
    assert done.returncode == 1 and "2 edits made" in done.stdout and "CP310" in done.stdout
    assert sorted(set(path.read_text().splitlines()) - set(BROKEN.read_text().splitlines())) == sorted(put)
    assert "0 edits made" in run("check", "--fix", path.name, cwd=tmp_path).stdout


def test_sizes_and_ratings_are_offered_and_hold(tmp_path: Path) -> None:
    texts = {"broken.plate": BROKEN.read_bytes()}
    made = make(texts, "broken.plate")
    found = {finding.code: offered for finding, offered in fixes(made, texts)}
    assert {"CP104", "CP202", "CP310", "CP404"} == set(found)
    assert {code for code, offered in found.items() if any(fix.safe for fix in offered)} == {"CP104", "CP202"}
    for code in ("CP310", "CP404"):
        after = make({"broken.plate": found[code][0].applied().encode()}, "broken.plate")
        assert code not in {f.code for f in after.findings}


def test_where_two_things_may_be_meant_none_is_taken() -> None:
    """12" is twelve inches on one bench and a slip for 12 V on another."""
    made, texts = compiled(
        GOOD.replace("load fridge", "load fan 4 A\nload far 4 A\nload fridge").replace("-- fridge", "-- fa")
    )
    assert {f.code for f in made.findings} & {"CP202"}
    assert not [fix for _, found in fixes(made, texts) for fix in found if fix.safe and fix.text not in ("fan", "far")]
    mended = fixed(*compiled(GOOD.replace("fridge 50 W", "fridge 50")))
    assert not mended.changed


def test_what_is_mended_without_asking_is_what_was_meant() -> None:
    """Slips planted in a clean plate, each a letter dropped from a name or from a statement's word: nothing is edited,
    or the text is again what it was. Most are mended."""
    places = list(NAME.finditer(GOOD))
    mended = 0
    for place in places:
        for cut in range(1, len(place.group())):
            slip = place.group()[:cut] + place.group()[cut + 1 :]
            done = fixed(*compiled(GOOD[: place.start()] + slip + GOOD[place.end() :]))
            assert not done.done or done.changed["a.plate"].text == GOOD, slip
            mended += bool(done.done)
    assert len(places) > 3 and mended > sum(len(place.group()) - 1 for place in places) * 0.8


def test_line_ends_standard_input_and_one_line_a_finding(tmp_path: Path) -> None:
    slip = GOOD.replace("-- fridge", "-- frige")
    path = write(tmp_path, slip.replace("\n", "\r\n"))
    run("check", "--fix", path.name, cwd=tmp_path)
    assert path.read_bytes() == GOOD.replace("\n", "\r\n").encode()
    piped = run("check", "--fix", "-", cwd=tmp_path, stdin=slip.encode())
    assert piped.stdout.startswith(GOOD)
    lines = run("check", "--format", "line", "-", cwd=tmp_path, stdin=slip.encode()).stdout.splitlines()
    number = GOOD[: GOOD.index("block.1")].count("\n") + 1
    column = len("block.1 -//- 3.5 m -- ") + 1
    assert f"stdin:{number}:{column}: error CP202 nothing is called `frige`" in lines


def test_edits_stand_in_the_machine_form(tmp_path: Path) -> None:
    write(tmp_path, GOOD.replace("-- fridge", "-- frige"))
    found = json.loads(run("check", "--format", "json", "a.plate", cwd=tmp_path).stdout)["findings"]
    (offered,) = [f["fixes"] for f in found if f["code"] == "CP202"]
    assert [(fix["text"], fix["safe"], fix["span"]["file"]) for fix in offered] == [("fridge", True, "a.plate")]
