"""The report as one HTML file: closed in itself, linked both ways with the sheets, a plate's text as data."""

from __future__ import annotations

import re
from dataclasses import replace
from html.parser import HTMLParser

import pytest
from invented_design import design, partial
from invented_sheets import sheets
from test_report_markdown import HOSTILE, named

from copperplate.report import Sheet, document, html, markdown
from copperplate.report.blocks import Table

VOID = {"meta", "link", "br", "img", "input", "hr"}


class Reader(HTMLParser):
    """Collects ids, links and what an element holds; fails where tags do not nest."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.ids: list[str] = []
        self.links: list[str] = []
        self.fetched: list[str] = []
        self.elements: list[tuple[str, dict[str, str]]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        self.elements.append((tag, given))
        if "id" in given:
            self.ids.append(given["id"])
        if "href" in given:
            (self.fetched if tag == "link" else self.links).append(given["href"])
        self.fetched += [given[name] for name in ("src", "srcset", "action", "poster") if name in given]
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.open.pop()

    def handle_endtag(self, tag: str) -> None:
        assert self.open and self.open.pop() == tag, (tag, self.open[-3:])


def read_page(page: str) -> Reader:
    reader = Reader()
    reader.feed(page)
    reader.close()
    assert reader.open == []
    return reader


@pytest.fixture(scope="module")
def page() -> str:
    made = design()
    return html(document(made, sheets(made)), sheets(made))


def test_no_id_twice_and_no_dead_link(page: str) -> None:
    reader = read_page(page)
    assert len(reader.ids) == len(set(reader.ids))
    assert reader.links and all(link.startswith("#") and link[1:] in reader.ids for link in reader.links)


def test_nothing_is_fetched_from_elsewhere(page: str) -> None:
    assert read_page(page).fetched == ["data:,"]
    assert "@import" not in page and not re.search(r"url\((?!#)", page)
    assert not re.search(r"https?://(?!www\.w3\.org/)", page)


def test_every_wiring_row_and_its_conductor_lead_to_each_other(page: str) -> None:
    reader = read_page(page)
    conductors = list(design().system.conductors)
    rows = {
        given["data-at"]: given["id"]
        for tag, given in reader.elements
        if tag == "tr" and given.get("data-key", "").startswith("wire.")
    }
    assert sorted(rows) == sorted([*conductors, "house.link/1", "house.link/2"])
    for conductor in conductors:
        assert f'<a href="#s2-{conductor}">' in page
        assert f'href="#{rows[conductor]}"' in page.split('<figure class="sheet" id="sheet-2"')[1].split("</figure>")[0]


def test_sheets_are_inlined_once_each(page: str) -> None:
    assert page.count('<figure class="sheet"') == 2
    assert page.count('data-sheet="overview"') == 1 and page.count('data-sheet="circuits"') == 1


def test_tables_carry_the_cells_of_the_markdown(page: str) -> None:
    made = design()
    blocks = document(made, sheets(made))
    text = markdown(blocks)
    assert page.count("<caption>") == len(re.findall(r"^Table \d+\. ", text, re.MULTILINE))
    volts = [row["At load, V"] for row in named(text, "Voltage at every load")]
    table = next(part for part in page.split("<table") if "Voltage at every load" in part)
    assert re.findall(r'data-head="At load, V"[^>]*>([\d.]+)<', table) == volts


def test_charts_are_drawn_of_the_table_above(page: str) -> None:
    made = design()
    blocks = document(made, sheets(made))
    assert page.count('<svg class="path"') == markdown(blocks).count("<!-- chart path -->") == 2
    budgets = [
        replace(b, rows=(*b.rows[:-1], (*b.rows[-1][:-2], "0.99", "")))
        if isinstance(b, Table) and b.chart == "path" and b.rows[-1][-2] == "0.36"
        else b
        for b in blocks
    ]
    changed = html(budgets, sheets(made))
    assert "budget 0.99 V" in changed and "budget 0.99 V" not in page
    bars = re.findall(
        r'<span>(\d+)</span><svg class="bar"[^>]*><rect[^>]*></rect>|<span>(\d+)</span><svg class="bar"', page
    )
    assert len(bars) > 20


@pytest.mark.parametrize("words", HOSTILE)
def test_text_of_a_plate_becomes_no_element(words: str) -> None:
    made = design(titles={"fridge": words, "house": words}, title=words)
    clean, attacked = (read_page(html(document(d, sheets(d)), sheets(d))) for d in (design(), made))
    # A chart writes a name where there is room for it: that a short one is a text more is no harm.
    tags = [[tag for tag, _ in page.elements if tag != "text"] for page in (clean, attacked)]
    assert tags[0] == tags[1]


def test_a_broken_sheet_or_none_at_all_breaks_no_page() -> None:
    made = design()
    broken = (Sheet("dunlin.sheet-1-overview.svg", "Overview", "<svg"),)
    read_page(html(document(made, broken), broken))
    read_page(html(document(made)))
    read_page(html(document(partial())))


def test_no_script_in_a_sheet_survives_as_ours() -> None:
    made = design()
    sheet = Sheet(
        "dunlin.sheet-1-a.svg", "A", '<svg xmlns="http://www.w3.org/2000/svg"><g data-part="fridge" id="fridge"/></svg>'
    )
    page = html(document(made, (sheet,)), (sheet,))
    assert page.count("<script>") == 1
