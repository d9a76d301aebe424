"""The report as PDF and the sheets as PNG, read back with a reader that is not ours."""

from __future__ import annotations

import hashlib
import io
import json
import math
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


READERS = ("client", "installer", "inspector", "engineer")


def printed(design: Design, stem: str, detail: bool = False) -> dict[str, Any]:
    """The documents of a design by their readers."""
    made = report.prints(design, drawing.sheets(design), stem, detail, "pdf")
    assert list(made) == [f"{stem}.{reader}.pdf" for reader in READERS]
    return {reader: pypdf.PdfReader(io.BytesIO(made[f"{stem}.{reader}.pdf"])) for reader in READERS}


def designed(stem: str, change: tuple[str, str] = ("", "")) -> Design:
    design = compiled(next(path for path in EXAMPLES if path.stem == stem), change)
    assert design is not None
    return design


@pytest.fixture(scope="module")
def launch() -> dict[str, Any]:
    return printed(designed("launch"), "launch")


@pytest.fixture(scope="module")
def texts(launch: dict[str, Any]) -> list[str]:
    return [page.extract_text() for made in launch.values() for page in made.pages]


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
    if design is None or not design.system.runs or design.errors:
        pytest.skip("a file of parts, or a plate that is refused")
    paper = (215.9, 279.4) if design.system.settings.paper == "letter" else (210.0, 297.0)
    sheets = [millimetres(sheet.svg) for sheet in drawing.sheets(design)]
    assert set(sheets) <= (ANSI_Y14_1 if design.system.settings.paper == "letter" else ISO_216)
    drawn = {"client": sheets[:1], "installer": sheets}
    for reader, made in printed(design, path.stem).items():
        sizes = [size(page) for page in made.pages]
        assert sizes[0] == (paper if reader != "installer" else paper[::-1])
        mine = drawn.get(reader, [])
        assert set(sizes[: len(sizes) - len(mine)]) <= {paper, paper[::-1]}
        assert sizes[len(sizes) - len(mine) :] == mine


def test_every_font_is_embedded_and_can_be_read_back(launch: dict[str, Any]) -> None:
    pages = [page for made in launch.values() for page in made.pages]
    fonts = {id(font): font for page in pages for font in map(resolved, page["/Resources"]["/Font"].values())}
    assert fonts
    for font in fonts.values():
        inner = resolved(resolved(font["/DescendantFonts"])[0])
        assert {"/FontFile2", "/FontFile3"} & set(resolved(inner["/FontDescriptor"]))
        assert "/ToUnicode" in font
        assert "SourceSans3" in font["/BaseFont"] or "Arimo" in font["/BaseFont"]


def resolved(value: Any) -> Any:
    return value.get_object() if hasattr(value, "get_object") else value


def test_pages_are_numbered_named_and_legible(launch: dict[str, Any]) -> None:
    """Nothing under 7.8 points on a page of text."""
    for made in launch.values():
        for n, page in enumerate(made.pages, 1):
            letters: list[float] = []
            text = page.extract_text(visitor_text=seen([], letters))
            assert f"page {n} of {len(made.pages)}" in text
            assert "HRN-E-001" in text and "Heron, work launch 30 ft" in text
            if size(page) == (215.9, 279.4):
                assert min(letters) >= 7.79, n


@pytest.mark.parametrize("name", ["launch", "cabin", "camper"])
def test_no_page_is_under_two_fifths_full(name: str) -> None:
    """From the first line of a page of text to the last; the last page of a document's text may be less."""
    for reader, made in printed(designed(name), name).items():
        drawn = {"client": 1, "installer": len(drawing.sheets(designed(name)))}.get(reader, 0)
        pages = made.pages[: len(made.pages) - drawn]
        for n, page in enumerate(pages[:-1], 1):
            heights: list[float] = []
            page.extract_text(visitor_text=seen(heights, []))
            height = float(page.mediabox.height)
            lying = size(pages[n]) != size(page)
            assert lying or height - min(y for y in heights if y > 19 / POINT) > 0.4 * height, (reader, n)


def test_documents_keep_their_page_budgets() -> None:
    """The launch has 30 runs: drawing sheets apart, at most what the paper of the pack allows for 25 and 60 runs, as
    the number of runs lies between them."""
    budget = {"client": (4, 5), "installer": (5, 9), "inspector": (2, 3)}
    design = designed("launch")
    documents = printed(design, "launch")
    for reader, (few, many) in budget.items():
        made = documents[reader]
        drawn = {"client": 0, "installer": len(drawing.sheets(design))}.get(reader, 0)
        most = few + (many - few) * (len(design.system.runs) - 25) / 35
        assert len(made.pages) - drawn <= math.ceil(most), reader


def seen(heights: list[float], letters: list[float]) -> Callable[..., None]:
    """Notes where on its page each piece of text stands and how large its letters are, in points."""

    def see(text: str, cm: list[float], tm: list[float], _: Any, points: float) -> None:
        if text.strip():
            heights.append(tm[4] * cm[1] + tm[5] * cm[3] + cm[5])
            letters.append(abs(points * tm[3] * cm[3]))

    return see


def test_words_of_report_and_sheets_are_found(texts: list[str]) -> None:
    text = " ".join(" ".join(texts).split())
    for said in ("Issued for review, not for installation", "fridge+", "Bilge pump", "Not ready to install",
                 "DC circuits, cabin", "33 CFR 183", "V lost", "Prepared by", "Agreed", "House bank"):  # fmt: skip
        assert said in text, said


def test_sections_are_bookmarks(launch: dict[str, Any]) -> None:
    titles = [entry["/Title"] for entry in launch["inspector"].outline if not isinstance(entry, list)]
    assert titles == ["Protection", "Isolate, in this order", "Before power", "With power"]


def test_a_table_repeats_its_head_on_every_page(launch: dict[str, Any]) -> None:
    wiring = [
        text for page in launch["installer"].pages if "Marker" in (text := page.extract_text()) and "Route" in text
    ]
    assert len(wiring) >= 2
    assert all("Protected by" in text for text in wiring)


def test_text_of_a_plate_is_data() -> None:
    design = designed("launch", ('"Bilge pump"', '"' + ATTACK.replace("\\", "\\\\") + '"'))
    pages = [page for made in printed(design, "launch").values() for page in made.pages]
    assert any("".join(ATTACK.split()) in "".join(page.extract_text().split()) for page in pages)


def test_a_packed_document_is_the_same_document_in_a_third_of_its_bytes() -> None:
    """Against the reader: every object says the same, and none is lost; what is no such document stays as it is."""
    design = designed("camper")
    sheets = report.named(drawing.sheets(design), "camper")
    fonts = typst.Fonts(include_system_fonts=False, font_paths=list(lettering("", printing.FONTS["pdf"]).folders))
    source = typesetting.typst(report.document(design, sheets), sheets, "engineer").encode()
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


def test_a_report_is_tagged_for_those_who_hear_it(launch: dict[str, Any]) -> None:
    """ISO 32000-1, 14.8: a marked document with its structure; every table cell is in it."""
    root = launch["client"].trailer["/Root"]
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
    front = " ".join(pypdf.PdfReader(tmp_path / "out" / "boat.client.pdf").pages[0].extract_text().split())
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
    pages = pypdf.PdfReader(tmp_path / "out" / "launch.engineer.pdf").pages
    texts = [" ".join(page.extract_text().split()) for page in pages]
    assert any("Revisions Changes since old.plate" in text and "From revision" in text for text in texts)
    drawn = next(page for page in pages if size(page)[1] > 297)
    assert "CHANGED" in drawn.extract_text()


def test_readers_are_chosen(tmp_path: Path) -> None:
    from click.testing import CliRunner

    from copperplate.cli.build import build

    path = next(path for path in EXAMPLES if path.stem == "camper")
    made = CliRunner().invoke(build, [str(path), "--pdf", "--for", "inspector,client", "-o", str(tmp_path)])
    assert made.exit_code == 0, made.output
    assert sorted(file.name for file in tmp_path.glob("*.pdf")) == ["camper.client.pdf", "camper.inspector.pdf"]
    made = CliRunner().invoke(build, [str(path), "--pdf", "--for", "owner", "-o", str(tmp_path)])
    assert made.exit_code == 2 and "'owner' is none of them" in made.output


@settings(max_examples=40, deadline=None)
@given(st.text(st.characters(exclude_categories=("Cs", "Cc"))))
def test_a_literal_is_read_back_as_the_same_text(value: str) -> None:
    source = f"#metadata({typesetting._string(value)}) <it>"
    assert json.loads(typst.query(source.encode(), "<it>", field="value", one=True)) == value


def digest(stem: str) -> str:
    design = designed(stem)
    made = report.prints(design, drawing.sheets(design), stem, False, "pdf")
    return hashlib.sha256(b"".join(made.values())).hexdigest()


def test_same_bytes_under_another_hash_seed() -> None:
    script = (
        "import sys; sys.path[:0] = ['tests/report']; import hashlib; from test_report_pdf import *;"
        "print(digest('camper'))"
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
    made.add(digest("camper") + "\n")
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
