"""The report as PDF and the sheets as PNG, read back with a reader that is not ours."""

from __future__ import annotations

import hashlib
import io
import json
import os
import re
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
from copperplate.report import packing, printing, typesetting
from copperplate.report.lettering import lettering

typst = pytest.importorskip("typst")
pypdf = pytest.importorskip("pypdf")

POINT = 25.4 / 72
LETTERS = "Ωא电ت"
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


ISO_216 = {(297.0, 210.0), (420.0, 297.0), (594.0, 420.0), (841.0, 594.0)}
ANSI_Y14_1 = {(279.4, 215.9), (431.8, 279.4), (558.8, 431.8), (863.6, 558.8)}
"""Lying sheets, millimetres."""


def millimetres(svg: str) -> tuple[float, float]:
    """Width and height that a drawing states of itself."""
    found = re.search(r'<svg[^>]* width="([\d.]+)mm" height="([\d.]+)mm"', svg)
    assert found
    return float(found[1]), float(found[2])


def size(page: Any) -> tuple[float, float]:
    return round(float(page.mediabox.width) * POINT, 1), round(float(page.mediabox.height) * POINT, 1)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_pages_have_the_size_of_the_paper_and_sheets_their_own(path: Path) -> None:
    """ISO 216 A4 is 210 by 297 mm; ANSI Y14.1 Letter 8.5 by 11 in. Sheets lie on these or larger ones of their series,
    in the PDF as in the drawing."""
    design = compiled(path)
    if design is None or not design.system.runs:
        pytest.skip("a file of parts, or a plate that cannot be resolved")
    sizes = [size(page) for page in pypdf.PdfReader(io.BytesIO(printed(design, path.stem))).pages]
    american = design.system.settings.paper == "letter"
    paper = (215.9, 279.4) if american else (210.0, 297.0)
    drawn = [millimetres(sheet.svg) for sheet in drawing.sheets(design)]
    assert sizes[0] == paper and set(sizes) == {paper, *drawn}
    assert set(drawn) <= (ANSI_Y14_1 if american else ISO_216)
    first = next(number for number, each in enumerate(sizes) if each != paper)
    assert sizes[first : first + len(drawn)] == drawn and set(sizes[:first] + sizes[first + len(drawn) :]) == {paper}


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


@pytest.fixture(scope="module")
def detailed() -> Any:
    design = designed("launch")
    return pypdf.PdfReader(io.BytesIO(report.prints(design, drawing.sheets(design), "l", True, "pdf")["l.report.pdf"]))


def test_every_circuit_has_its_page(detailed: Any) -> None:
    """With `--detail` the reasons of a load, from its path to its margins, stand on one page; one that tries more
    sizes than a page holds goes on to the next."""
    texts = [" ".join(page.extract_text().split()) for page in detailed.pages]
    paths = [text for text in texts if "Voltage lost along the path of" in text]
    assert len(paths) >= 15
    assert all(text.count("Voltage lost along the path of") == 1 for text in paths)
    assert sum("Margins." not in text for text in paths) <= 1


@pytest.mark.parametrize("name", ["launch", "cabin"])
def test_no_page_is_under_a_third_full(name: str, request: pytest.FixtureRequest) -> None:
    """With the reasons of every run, and with those of a few where little stands before them."""
    made = (
        request.getfixturevalue("detailed")
        if name == "launch"
        else pypdf.PdfReader(io.BytesIO(printed(designed(name), name)))
    )
    for n, page in enumerate(made.pages[:-1], 1):
        heights: list[float] = []
        page.extract_text(visitor_text=seen(heights, []))
        height = float(page.mediabox.height)
        if float(page.mediabox.width) < height:
            assert height - min(y for y in heights if y > 19 / POINT) > height / 3, n


def seen(heights: list[float], letters: list[float]) -> Callable[..., None]:
    """Notes where on its page each piece of text stands and how large its letters are, in points."""

    def see(text: str, cm: list[float], tm: list[float], _: Any, points: float) -> None:
        if text.strip():
            heights.append(tm[4] * cm[1] + tm[5] * cm[3] + cm[5])
            letters.append(abs(points * tm[3] * cm[3]))

    return see


def test_words_of_report_and_sheets_are_found(texts: list[str]) -> None:
    text = " ".join(" ".join(texts).split())
    for said in ("Issued for review, not for installation", "fridge+", "Bilge pump", "DC circuits, cabin",
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


def test_a_packed_document_is_the_same_document_in_a_third_of_its_bytes() -> None:
    """Against the reader: every object says the same, and none is lost; what is no such document stays as it is."""
    design = designed("camper")
    sheets = report.named(drawing.sheets(design), "camper")
    fonts = typst.Fonts(include_system_fonts=False, font_paths=list(lettering("", printing.FONTS["pdf"]).folders))
    source = typesetting.typst(report.document(design, sheets), sheets).encode()
    plain = typst.Compiler(source, font_paths=fonts, ignore_system_fonts=True).compile(format="pdf")
    made = packing.packed(plain)
    assert len(made) < len(plain) / 2
    before, after = (pypdf.PdfReader(io.BytesIO(data), strict=True) for data in (plain, made))
    assert [p.extract_text() for p in before.pages] == [p.extract_text() for p in after.pages]
    for number in range(1, before.trailer["/Size"]):
        one, other = (reader.get_object(pypdf.generic.IndirectObject(number, 0, reader)) for reader in (before, after))
        assert str(one) == str(other).replace(str(id(after)), str(id(before))), number
        if isinstance(one, pypdf.generic.StreamObject):
            assert one.get_data() == other.get_data(), number
    assert packing.packed(made) == made
    assert packing.packed(b"%PDF-1.7 and no more") == b"%PDF-1.7 and no more"


def test_a_report_is_tagged_for_those_who_hear_it(launch: Any) -> None:
    """ISO 32000-1, 14.8: a marked document with its structure; every table cell is in it."""
    root = launch.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"] and root["/StructTreeRoot"] is not None and root["/Lang"]


def test_letters_that_no_font_has_are_owned_up_to(tmp_path: Path) -> None:
    from click.testing import CliRunner

    from copperplate.cli.build import build

    path = tmp_path / "boat.plate"
    launch = next(path for path in EXAMPLES if path.stem == "launch").read_text(encoding="utf-8")
    path.write_text(launch.replace('"Radio"', '"Ράδιο \u0e9b\U0001f50b"'), encoding="utf-8")
    made = CliRunner().invoke(build, [str(path), "--pdf", "--png", "-o", str(tmp_path / "out")])
    assert made.exit_code == 0, made.output
    assert made.output.count("the fonts at hand lack \u0e9b \U0001f50b (2 letters)") == 2
    front = " ".join(pypdf.PdfReader(tmp_path / "out" / "boat.report.pdf").pages[0].extract_text().split())
    assert "Notice The fonts at hand lack the letters U+0E9B, U+1F50B." in front
    written = (tmp_path / "out" / "boat.report.md").read_text(encoding="utf-8")
    assert "U+0E9B" not in written and "\u0e9b\U0001f50b" in written


def test_letters_of_a_font_are_those_that_the_standard_table_says() -> None:
    """What the fonts' makers state: Arimo has Latin, Greek, Cyrillic and Hebrew; neither has Chinese or Arabic."""
    sans, arimo = (lettering(LETTERS, [module]) for module in printing.FONTS["pdf"])
    assert not lettering("Aé Ωψ Жя ŁőŞ ²°Ω≤", printing.FONTS["pdf"]).lacking
    assert "א" in sans.lacking or len(sans.folders) > 1
    assert "א" not in arimo.lacking and {"电", "ت"} & set(arimo.lacking) == {"电", "ت"} - set(brought(arimo))


def brought(found: Any) -> list[str]:
    """Letters that fonts of other packages in this environment bring."""
    return [] if len(found.folders) == 1 else [c for c in LETTERS if c not in found.lacking]


def test_what_changed_brings_its_drawing(tmp_path: Path) -> None:
    from click.testing import CliRunner

    from copperplate.cli.build import build

    path = next(path for path in EXAMPLES if path.stem == "launch")
    old = tmp_path / "old.plate"
    old.write_text(path.read_text(encoding="utf-8").replace("5 ft -- wiper", "9 ft -- wiper"), encoding="utf-8")
    made = CliRunner().invoke(build, [str(path), "--since", str(old), "--pdf", "-o", str(tmp_path / "out")])
    assert made.exit_code == 0, made.output
    pages = pypdf.PdfReader(tmp_path / "out" / "launch.report.pdf").pages
    texts = [" ".join(page.extract_text().split()) for page in pages]
    assert any("1.1 Changes since old.plate" in text and "From revision" in text for text in texts)
    assert any("Contents" in text and "1.1 Changes since old.plate ." in text for text in texts)
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
    assert (width, height) == tuple(round(mm / 25.4 * 150) for mm in millimetres(sheet.svg))


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
