"""The report as PDF and the sheets as PNG, read back with a reader that is not ours."""

from __future__ import annotations

import hashlib
import io
import json
import os
import struct
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from test_report_examples import EXAMPLES, compiled

from copperplate import drawing, report
from copperplate.model.results import Design
from copperplate.report import typesetting

typst = pytest.importorskip("typst")
pypdf = pytest.importorskip("pypdf")

POINT = 25.4 / 72
ATTACK = "#panic(1) $x$ <section-1> @here \\u{41} [a] *b* _c_ // d /* e #let f = 1 `g` ~ -- ..."


def printed(design: Design, stem: str) -> bytes:
    return report.prints(design, drawing.sheets(design), stem, False, "pdf")[f"{stem}.report.pdf"]


def designed(stem: str, change: tuple[str, str] = ("", "")) -> Design:
    design = compiled(next(path for path in EXAMPLES if path.stem == stem), change)
    assert design is not None
    return design


@pytest.fixture(scope="module")
def launch() -> Any:
    return pypdf.PdfReader(io.BytesIO(printed(designed("launch"), "launch")))


@pytest.fixture(scope="module")
def texts(launch: Any) -> list[str]:
    return [page.extract_text() for page in launch.pages]


def size(page: Any) -> tuple[float, float]:
    return round(float(page.mediabox.width) * POINT, 1), round(float(page.mediabox.height) * POINT, 1)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_pages_have_the_size_of_the_paper_and_sheets_their_own(path: Path) -> None:
    """ISO 216 A4 is 210 by 297 mm; ANSI Y14.1 Letter 8.5 by 11 in."""
    design = compiled(path)
    if design is None or not design.system.runs:
        pytest.skip("a file of parts, or a plate that cannot be resolved")
    pages = pypdf.PdfReader(io.BytesIO(printed(design, path.stem))).pages
    paper = {"letter": (215.9, 279.4), "a4": (210.0, 297.0), "a3": (210.0, 297.0)}[design.system.settings.paper]
    sheet = {"letter": (279.4, 215.9), "a4": (297.0, 210.0), "a3": (420.0, 297.0)}[design.system.settings.paper]
    sizes = [size(page) for page in pages]
    assert sizes[0] == paper
    assert set(sizes) == {paper, sheet}
    assert sizes.count(sheet) == len(drawing.sheets(design))
    first = sizes.index(sheet)
    assert sizes[first : first + sizes.count(sheet)] == [sheet] * sizes.count(sheet)


def test_every_font_is_embedded_and_can_be_read_back(launch: Any) -> None:
    fonts = {id(font): font for page in launch.pages for font in map(resolved, page["/Resources"]["/Font"].values())}
    assert fonts
    for font in fonts.values():
        inner = resolved(resolved(font["/DescendantFonts"])[0])
        assert {"/FontFile2", "/FontFile3"} & set(resolved(inner["/FontDescriptor"]))
        assert "/ToUnicode" in font
        assert "SourceSans3" in font["/BaseFont"] or "Arimo" in font["/BaseFont"]


def resolved(value: Any) -> Any:
    return value.get_object() if hasattr(value, "get_object") else value


def test_pages_are_numbered_named_filled_and_legible(launch: Any) -> None:
    """Nothing under 7.8 points on a page of text; no page of text but the last with less than a third used."""
    count = len(launch.pages)
    for n, page in enumerate(launch.pages, 1):
        heights: list[float] = []
        letters: list[float] = []

        text = page.extract_text(visitor_text=seen(heights, letters))
        assert f"page {n} of {count}" in text
        assert "HRN-E-001" in text and "Heron, work launch 30 ft" in text
        height = float(page.mediabox.height)
        if float(page.mediabox.width) < height:
            assert min(letters) >= 7.79, n
            lowest = min(y for y in heights if y > 19 / POINT)
            assert n == count or height - lowest > height / 3, n


def seen(heights: list[float], letters: list[float]) -> Callable[..., None]:
    """Notes where on its page each piece of text stands and how large its letters are, in points."""

    def see(text: str, cm: list[float], tm: list[float], _: Any, points: float) -> None:
        if text.strip():
            heights.append(tm[4] * cm[1] + tm[5] * cm[3] + cm[5])
            letters.append(abs(points * tm[3] * cm[3]))

    return see


def test_words_of_report_and_sheets_are_found(texts: list[str]) -> None:
    text = " ".join(" ".join(texts).split())
    for said in ("Issued for review, not for installation", "fridge+", "Bilge pump", "CP313", "DC circuits, cabin",
                 "33 CFR 183", "V lost", "mm²", "Designed by", "Contents"):  # fmt: skip
        assert said in text, said


def test_sections_are_bookmarks(launch: Any) -> None:
    titles = [entry["/Title"] for entry in launch.outline if not isinstance(entry, list)]
    assert [title.split()[0] for title in titles] == [str(n) for n in range(1, 16)]


def test_a_table_repeats_its_head_on_every_page(texts: list[str]) -> None:
    wiring = [text for text in texts if "Pulled" in text]
    assert len(wiring) >= 2
    assert all("Protected by" in text for text in wiring)


def test_text_of_a_plate_is_data() -> None:
    design = designed("launch", ('"Bilge pump"', '"' + ATTACK.replace("\\", "\\\\") + '"'))
    pages = pypdf.PdfReader(io.BytesIO(printed(design, "launch"))).pages
    assert any("".join(ATTACK.split()) in "".join(page.extract_text().split()) for page in pages)


def test_what_changed_brings_its_drawing(tmp_path: Path) -> None:
    from click.testing import CliRunner

    from copperplate.cli.build import build

    path = next(path for path in EXAMPLES if path.stem == "launch")
    old = tmp_path / "old.plate"
    old.write_text(path.read_text(encoding="utf-8").replace("5 ft -- wiper", "9 ft -- wiper"), encoding="utf-8")
    made = CliRunner().invoke(build, [str(path), "--since", str(old), "--pdf", "-o", str(tmp_path / "out")])
    assert made.exit_code == 0, made.output
    pages = pypdf.PdfReader(tmp_path / "out" / "launch.report.pdf").pages
    assert "Changes since old.plate" in " ".join(pages[1].extract_text().split())
    drawn = next(page for page in pages if size(page)[1] > 297)
    assert "CHANGED" in drawn.extract_text()


@settings(max_examples=40, deadline=None)
@given(st.text(st.characters(exclude_categories=("Cs", "Cc"))))
def test_a_literal_is_read_back_as_the_same_text(value: str) -> None:
    source = f"#metadata({typesetting._string(value)}) <it>"
    assert json.loads(typst.query(source.encode(), "<it>", field="value", one=True)) == value


def test_same_bytes_under_another_hash_seed() -> None:
    script = (
        "import sys; sys.path[:0] = ['tests/report']; import hashlib; from test_report_pdf import *;"
        "print(hashlib.sha256(printed(designed('camper'), 'camper')).hexdigest())"
    )
    made = {
        subprocess.run(
            [sys.executable, "-c", script],
            env={**os.environ, "PYTHONHASHSEED": seed},
            cwd=Path(__file__).parents[2],
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    }
    made.add(hashlib.sha256(printed(designed("camper"), "camper")).hexdigest() + "\n")
    assert len(made) == 1


def test_a_sheet_as_png_has_150_dots_per_inch() -> None:
    """Width and height stand in the IHDR chunk (ISO/IEC 15948, 11.2.1)."""
    pytest.importorskip("resvg_py")
    sheet = report.named(drawing.sheets(designed("camper")), "camper")[0]
    made = report.png(sheet)
    assert made == report.png(sheet)
    width, height = struct.unpack(">II", made[16:24])
    assert (width, height) == (round(297 / 25.4 * 150), round(210 / 25.4 * 150)) or (width, height) == (1650, 1275)


def test_an_extra_that_is_not_installed_is_named(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    from click.testing import CliRunner

    from copperplate.cli.build import build
    from copperplate.report import printing

    monkeypatch.setattr(printing, "find_spec", lambda name: None)
    path = next(path for path in EXAMPLES if path.stem == "camper")
    for extra in ("pdf", "png"):
        done = CliRunner().invoke(build, [str(path), "-o", str(tmp_path / "out"), f"--{extra}"])
        assert done.exit_code == 2 and f"copperplate[{extra}]" in done.output
    assert not (tmp_path / "out").exists()
