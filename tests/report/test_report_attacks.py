"""One hostile plate through everything that is written, each read back by a reader that is not ours: text of a plate
is data wherever it goes."""

from __future__ import annotations

import csv
import io
import json
from collections import Counter
from html.parser import HTMLParser
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from markdown_it import MarkdownIt

from copperplate import drawing, report
from copperplate.design import compile_plate
from copperplate.diff import as_json, compare, markdown
from copperplate.findings import sarif
from copperplate.text import Source

LAUNCH = (Path(__file__).parents[2] / "examples" / "launch" / "launch.plate").read_text(encoding="utf-8")
ATTACKS = {
    "Heron, work launch 30 ft": "<script>alert(1)</script> ]]> --> {{x}}",
    "House bank": "=cmd|' /C calc'!A1",
    "Refrigerator": "@SUM(1+1)*cmd|x",
    "Bilge pump": "-2+3 | a | `b` | \\",
    "Cabin lights": "+1 <img src=x onerror=alert(1)>",
    "Horn": "#panic(1) $x^2$ <section-1> @here // /* */ #set page()",
    "Radio": "[a](javascript:alert(1)) ![b](http://x.invalid/y) <http://x.invalid>",
    "Cabin fan": "&lt;b&gt; &amp; &#60; <!-- page --> *a* _b_ ~~c~~ # d",
    "USB sockets": "'; DROP TABLE x; --",
    "Heater blower": "x\u200dy{{7*7}}${7*7}<%= 7*7 %>",
    "Windscreen wiper": "Σκεύος Гермес 电池 قرن 🔋",
    "Harbour works department": "</svg><svg onload=alert(1)>",
    "Slip 3, boat shed": "\\L node \\N {rank=same} -> b;",
}


def quoted(words: str) -> str:
    return words.replace("\\", "\\\\").replace('"', '\\"')


@pytest.fixture(scope="module")
def attacked() -> Any:
    text = LAUNCH
    for old, new in ATTACKS.items():
        assert f'"{old}"' in text, old
        text = text.replace(f'"{old}"', f'"{quoted(new)}"')
    return compile_plate(Source("launch.plate", text), lambda _: None)


@pytest.fixture(scope="module")
def clean() -> Any:
    return compile_plate(Source("launch.plate", LAUNCH), lambda _: None)


@pytest.fixture(scope="module")
def files(attacked: Any) -> dict[str, str]:
    design, _ = attacked
    return report.pack(design, drawing.sheets(design), "x", detail=True)


@pytest.fixture(scope="module")
def clean_files(clean: Any) -> dict[str, str]:
    design, _ = clean
    return report.pack(design, drawing.sheets(design), "x", detail=True)


class Elements(HTMLParser):
    """What a browser would find: elements with the names of their attributes, scripts, and the words."""

    def __init__(self) -> None:
        super().__init__()
        self.found: Counter[str] = Counter()
        self.unsafe: list[str] = []
        self.words = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found[tag] += 1
        self.unsafe += [f"{tag} {name}" for name, _ in attrs if name.startswith("on")]
        links = [value or "" for name, value in attrs if name in ("href", "src", "xlink:href")]
        self.unsafe += [value for value in links if not value.startswith(("#", "data:"))]

    def handle_data(self, data: str) -> None:
        self.words += data


def read_html(text: str) -> Elements:
    reader = Elements()
    reader.feed(text)
    reader.close()
    return reader


def test_html_has_no_element_more(files: dict[str, str], clean_files: dict[str, str]) -> None:
    made, plain = (read_html(pages["x.report.html"]) for pages in (files, clean_files))
    assert made.unsafe == [] and made.found["script"] == 1
    assert set(made.found) == set(plain.found)
    for tag in ("table", "caption", "tr", "th", "td", "h1", "h2", "h3", "li", "dt", "dd", "nav", "img", "iframe", "b"):
        assert made.found[tag] == plain.found[tag], tag
    for words in ("<script>alert(1)</script>", "<img src=x onerror=alert(1)>", "</svg><svg onload=alert(1)>"):
        assert words in made.words, words


def test_markdown_has_no_block_more(files: dict[str, str], clean_files: dict[str, str]) -> None:
    """By a CommonMark reader with tables and HTML on, as a repository shows it: nothing is HTML but our comments, no
    picture but the sheets and no link but to sections."""
    reader = MarkdownIt("commonmark", {"html": True}).enable("table")
    made, plain = (reader.parse(pages["x.report.md"]) for pages in (files, clean_files))
    # Long names may ask for another sheet: that is a picture more, a paragraph of its own.
    kinds, plain_kinds = (
        Counter(t.type for t in tokens if not t.type.startswith("paragraph") and t.type != "inline")
        for tokens in (made, plain)
    )
    assert kinds == plain_kinds
    assert all(t.content.strip().startswith("<!--") for t in made if t.type == "html_block")
    inside = [child for token in made for child in token.children or ()]
    assert not [t for t in inside if t.type == "html_inline"]
    assert all(str(t.attrs["href"]).startswith("#") for t in inside if t.type == "link_open")
    assert {str(t.attrs["src"]) for t in inside if t.type == "image"} == {n for n in files if n.endswith(".svg")}
    words = "".join(t.content for t in inside)
    for attack in ("<img src=x onerror=alert(1)>", "[a](javascript:alert(1))", "&lt;b&gt; &amp; &#60; <!-- page -->"):
        assert attack in words, attack


def test_sheets_are_well_formed_and_hold_no_script(files: dict[str, str]) -> None:
    shown = ""
    for name, svg in files.items():
        if name.endswith(".svg"):
            for element in ElementTree.fromstring(svg).iter():
                assert element.tag.split("}")[-1] not in ("script", "foreignObject", "image", "iframe"), name
                assert not [key for key in element.attrib if key.startswith("on")], name
                shown += element.text or ""
    assert "<script>alert(1)" in shown


def test_no_cell_of_a_list_is_a_formula(files: dict[str, str], clean_files: dict[str, str]) -> None:
    """What a spreadsheet would reckon begins with one of = + - @ or a tab or return (OWASP, CSV injection). A number
    and a bare dash are none."""
    for name in (name for name in files if name.endswith(".csv")):
        made, plain = (list(csv.reader(io.StringIO(pages[name]))) for pages in (files, clean_files))
        assert [len(row) for row in made] == [len(row) for row in plain], name
        for cell in (cell for row in made for cell in row):
            if cell[:1] in ("=", "+", "-", "@", "\t", "\r"):
                assert cell.replace(".", "", 1).removeprefix("-").isdigit() or cell == "-", (name, cell)


def test_json_and_sarif_hold_the_words_as_they_are(files: dict[str, str], attacked: Any) -> None:
    said = json.loads(files["x.design.json"])
    titles = {part["title"] for part in said["parts"]} | {said["system"]["title"], said["system"]["client"]}
    missing = set(ATTACKS.values()) - titles - {said["system"]["site"]}
    assert not missing
    _, findings = attacked
    results = json.loads(sarif.document([(finding, "", ()) for finding in findings], "0"))["runs"][0]["results"]
    assert [result["ruleId"] for result in results] == [finding.code for finding in findings]


def test_typst_reads_it_as_words(attacked: Any) -> None:
    pypdf = pytest.importorskip("pypdf")
    pytest.importorskip("typst")
    design, _ = attacked
    made = report.prints(design, drawing.sheets(design), "x", False, "pdf")
    readers = [pypdf.PdfReader(io.BytesIO(document)) for document in made.values()]
    text = "".join("".join(page.extract_text().split()) for reader in readers for page in reader.pages)
    for attack in ("#panic(1)$x^2$<section-1>@here///**/#setpage()", "<script>alert(1)</script>"):
        assert attack in text, attack


def test_a_comparison_for_a_review_holds_no_markup(attacked: Any, clean: Any) -> None:
    document = compare(as_json(*clean), as_json(*attacked), "a|b`<i>", "new")
    tokens = MarkdownIt("commonmark", {"html": True}).enable("table").parse(markdown(document))
    inside = [child for token in tokens for child in token.children or ()]
    assert not [t for t in inside if t.type in ("html_inline", "link_open", "image")]
    blocks = [t.content for t in tokens if t.type == "html_block"]
    assert all(block.startswith(("<details><summary>", "</details>")) for block in blocks)
