"""The marked drawing: every change on the new sheets, nothing moved, readable in grey."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest
from comparing import BOAT, PLATES, edited

from copperplate import diff, drawing
from copperplate.design import compile_plate
from copperplate.diff.marks import STYLES, marked
from copperplate.diff.sheets import Box, overlap, read_sheet
from copperplate.model.results import Design
from copperplate.text import Source

SVG = "{http://www.w3.org/2000/svg}"
CHANGED = edited(
    BOAT,
    ("3 m -- fridge", "6 m -- fridge"),
    ('load pump "Pump" 5 A, intermittent, drop 10 %\n', 'load heater "Heater" 3 A, drop 10 %\n'),
    ("cabin.4 -//- 4 m -- pump", "cabin.5 -//- 4 m -- heater"),
)


def designed(text: str) -> Design:
    design, findings = compile_plate(Source("a.plate", text), lambda name: None)
    assert design is not None and not design.errors, findings
    return design


def drawn(old: str, new: str) -> tuple[str, tuple[drawing.Sheet, ...]]:
    before, after = designed(old), designed(new)
    document = diff.compare(diff.as_json(before, before.findings), diff.as_json(after, after.findings), "old", "new")
    sheets = drawing.sheets(after)
    return marked(document, drawing.sheets(before), sheets), sheets


def pages(svg: str) -> list[ElementTree.Element]:
    return [page for page in ElementTree.fromstring(svg) if page.tag == f"{SVG}svg"]


def outlines(page: ElementTree.Element) -> list[tuple[str, Box]]:
    found = []
    for rect in page.iter(f"{SVG}rect"):
        if "data-mark" in rect.attrib and "under" in "".join(
            g.attrib.get("data-marks", "") for g in page.iter(f"{SVG}g") if rect in list(g)
        ):
            x, y, w, h = (float(rect.attrib[key]) for key in ("x", "y", "width", "height"))
            found.append((rect.attrib["data-mark"], (x, y, x + w, y + h)))
    return found


def test_added_changed_and_removed_stand_on_the_sheet_of_the_panel() -> None:
    svg, sheets = drawn(BOAT, CHANGED)
    panel = next(sheet for sheet in sheets if "circuits" in sheet.slug)
    page = next(page for page in pages(svg) if page.attrib["data-sheet"] == f"sheet-{panel.number}")
    marks = outlines(page)
    assert {word for word, _ in marks} >= {"added", "changed", "removed"}
    at = {group.address: group.box for group in read_sheet(panel.slug, panel.title, panel.svg).groups}
    for address, word in (("fridge.run+", "changed"), ("heater.run+", "added")):
        box = at[address]
        assert box is not None
        assert any(kind == word and kept[1] <= box[1] and box[3] <= kept[3] for kind, kept in marks), address
    words = [" ".join(text.itertext()) for text in page.iter(f"{SVG}text")]
    assert any("CHANGED, was 12 AWG, 3 m" in text for text in words)
    assert any(text.endswith("ADDED") for text in words) and any(text.endswith("REMOVED") for text in words)
    ghosts = next(g for g in page.iter(f"{SVG}g") if g.attrib.get("class") == "ghost")
    assert any("pump+" in "".join(text.itertext()) for text in ghosts.iter(f"{SVG}text"))


@pytest.mark.parametrize("name", ["launch", "cabin"])
def test_nothing_on_a_sheet_moves(name: str) -> None:
    run = [line for line in PLATES[name].splitlines() if "-//-" in line and " ft --" in line][-1]
    svg, sheets = drawn(PLATES[name], PLATES[name].replace(run, run.replace(" ft --", ".5 ft --")))
    assert len(pages(svg)) > 1
    for sheet in sheets:
        body = sheet.svg[sheet.svg.index('<g class="layer-') : sheet.svg.rindex("</svg>")]
        if f'data-sheet="sheet-{sheet.number}"' in svg:
            assert body in svg, sheet.slug


def test_words_of_marks_touch_nothing() -> None:
    svg, sheets = drawn(BOAT, CHANGED)
    for page in pages(svg)[1:]:
        number = page.attrib["data-sheet"].removeprefix("sheet-")
        sheet = next(sheet for sheet in sheets if str(sheet.number) == number)
        over = next(g for g in page.iter(f"{SVG}g") if g.attrib.get("data-marks") == "over")
        taken = [box for g in read_sheet("", "", sheet.svg).groups for box in (*g.boxes, *g.texts)]
        for text in (item for item in over if item.tag == f"{SVG}text"):
            x, y, size = (float(text.attrib[key]) for key in ("x", "y", "font-size"))
            box = (x, y - 0.74 * size, x + 0.45 * size * len("".join(text.itertext())), y)
            assert size >= 2.8 and not any(overlap(box, other) for other in taken), "".join(text.itertext())


def test_the_list_names_every_change_by_its_number() -> None:
    svg, _ = drawn(BOAT, CHANGED)
    first = pages(svg)[0]
    words = ["".join(text.itertext()) for text in first.iter(f"{SVG}text")]
    for address in ("fridge.run", "heater.run", "pump.run"):
        assert address in words
    assert any("3 m longer" in text for text in words)


def test_styles_differ_without_colour() -> None:
    assert len({style.dashes for style in STYLES.values()}) == len({style.word for style in STYLES.values()}) == 3


def luminance(colour: str) -> float:
    """WCAG 2.1, relative luminance."""
    channels = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_words_can_be_read_on_their_tints() -> None:
    """Contrast of at least 4.5 to 1 (WCAG 2.1, 1.4.3)."""
    for style in STYLES.values():
        lighter, darker = luminance(style.tint), luminance(style.ink)
        assert (lighter + 0.05) / (darker + 0.05) >= 4.5, style.word


def test_words_of_a_plate_are_data() -> None:
    hostile = BOAT.replace('"Small boat"', '"<script>alert(1)</script> & co"')
    svg, _ = drawn(BOAT, hostile.replace("3 m -- fridge", "6 m -- fridge"))
    ElementTree.fromstring(svg)
    assert "<script" not in svg


def test_equal_plates_have_a_list_alone_and_the_same_bytes() -> None:
    svg, _ = drawn(BOAT, BOAT)
    assert len(pages(svg)) == 1 and "No circuit differs." in svg
    assert re.sub(r"\s", "", drawn(BOAT, CHANGED)[0]) == re.sub(r"\s", "", drawn(BOAT, CHANGED)[0])
