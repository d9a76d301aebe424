"""The report as one self-contained HTML file: made of its blocks and the sheets, with nothing from elsewhere."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from importlib.resources import files

from copperplate.report.blocks import (
    READERS,
    Block,
    Break,
    Callout,
    Heading,
    Label,
    Labels,
    Picture,
    Points,
    Reader,
    Table,
    documents,
    foot,
    plain_text,
    title_block,
    title_of,
)
from copperplate.report.grids import Links, drawn, figures, terms
from copperplate.report.markup import scrolled, tag, words
from copperplate.report.sheets import Sheet, conductors, homes, inline, size_mm

_POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data:; connect-src 'self'; "
    "base-uri 'none'; form-action 'none'"
)
"""Nothing is fetched from elsewhere, whatever the page holds. `connect-src 'self'` is for a local preview."""


def html(blocks: Sequence[Block], sheets: Sequence[Sheet] = ()) -> str:
    """The page of a report: its documents as tabs, which are chapters without script. `sheets` are those that it
    names, in the same order."""
    links = Links.between(blocks, homes(sheets), conductors(sheets))
    parts = documents(blocks)
    front = blocks[: next((n for n, b in enumerate(blocks) if isinstance(b, Heading) and b.level == 2), len(blocks))]
    title, entries = title_of(blocks), title_block(blocks)
    head = "\n".join(
        [
            '<meta charset="utf-8">',
            f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">',
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            '<meta name="color-scheme" content="light dark">',
            '<link rel="icon" href="data:,">',
            tag("title", escape(f"{title}: design report")),
            tag("style", "\n", _resource("page.css"), _paper(sheets, title, foot(blocks))),
        ]
    )
    body = "\n".join(
        [
            '<a class="skip" href="#report">To the report</a>',
            _bar(title, entries, list(parts)),
            '<main id="report">',
            _front(front, sheets, links),
            *(_document(reader, part, sheets, links) for reader, part in parts.items()),
            "</main>",
            tag("script", "\n", _resource("page.js")),
        ]
    )
    whole = tag("body", "\n", body, "\n", data_pack=title)
    return f'<!DOCTYPE html>\n<html lang="en">\n<head>\n{head}\n</head>\n{whole}\n</html>\n'


def _resource(name: str) -> str:
    return files("copperplate.report").joinpath(name).read_text(encoding="utf-8")


def _paper(sheets: Sequence[Sheet], title: str, foot: str) -> str:
    """Page boxes for print: a named page for each sheet at its true size, and the running words."""
    rules: list[str] = []
    letter = False
    empty = "".join(f"@{place}{{content:none}}" for place in ("top-left", "bottom-left", "bottom-right"))
    for n, sheet in enumerate(sheets, 1):
        width, height = size_mm(sheet)
        rules.append(f"@page sheet{n}{{size:{width:g}mm {height:g}mm;margin:0;{empty}}}\n")
        rules.append(f"#sheet-{n}{{page:sheet{n}}}\n")
        letter = letter or 279.4 in (width, height)
    small = "font:8pt sans-serif;color:#4B5258"
    lying = "279.4mm 215.9mm" if letter else "297mm 210mm"
    rules.append(
        f"@page{{size:{'letter' if letter else 'A4'};margin:16mm 15mm 18mm;"
        f'@top-left{{content:"{_css(title)}";{small}}}@bottom-left{{content:"{_css(foot)}";{small}}}'
        f'@bottom-right{{content:"page " counter(page) " of " counter(pages);{small}}}}}\n'
    )
    rules.append(f"@page wide{{size:{lying};margin:14mm 12mm 16mm}}\n.wide{{page:wide}}\n")
    return "".join(rules)


def _css(value: str) -> str:
    """Words inside a CSS string: what is no plain letter, digit or space is written by its number."""
    return "".join(c if c == " " or (c.isascii() and c.isalnum()) else f"\\{ord(c):x} " for c in value)


def _bar(title: str, entries: dict[str, str], readers: Sequence[Reader]) -> str:
    revision = entries.get("Revision", "").split(",")[0]
    marks = (entries.get("Document", ""), f"rev {revision}" if revision else "", entries.get("Status", ""))
    status = escape(", ".join(word for word in marks if word))
    tabs = (tag("a", reader.capitalize(), href=f"#{reader}") for reader in readers)
    nav = tag("nav", *tabs, aria_label="Documents") if readers else ""
    return tag("header", tag("strong", escape(title)), tag("span", status), nav, class_="bar")


def _front(front: Sequence[Block], sheets: Sequence[Sheet], links: Links) -> str:
    """The words above the title block."""
    intro = "\n".join(_block(block, sheets, links) for block in front if not isinstance(block, Table))
    blocks = (terms(block) for block in front if isinstance(block, Table) and "titleblock" in block.marks)
    return tag("div", tag("div", intro), *blocks, class_="front")


def _document(reader: Reader, blocks: Sequence[Block], sheets: Sequence[Sheet], links: Links) -> str:
    """A document with its sections; on paper each begins a page."""
    sections: list[list[Block]] = [[]]
    for block in blocks[1:]:
        if isinstance(block, Heading) and block.level == 3:
            sections.append([])
        sections[-1].append(block)
    heads = [part[0] for part in sections if part and isinstance(part[0], Heading)]
    contents = (tag("a", words(head.words), href=f"#{head.name}") for head in heads)
    inside = [
        tag("h2", escape(READERS[reader]), id_=reader),
        tag("nav", *contents, class_="contents", aria_label=f"Sections {READERS[reader].lower()}"),
        *(_section(part, sheets, links) for part in sections if part),
    ]
    return tag("article", "\n".join(inside), class_="doc", data_reader=reader, aria_labelledby=reader)


def _section(blocks: list[Block], sheets: Sequence[Sheet], links: Links) -> str:
    head = blocks[0]
    if not isinstance(head, Heading):
        return "\n".join(_block(block, sheets, links) for block in blocks)
    inside = "\n".join(_block(block, sheets, links) for block in blocks)
    return tag("section", inside, aria_labelledby=head.name, class_="wide" if head.wide else "")


def _block(block: Block, sheets: Sequence[Sheet], links: Links) -> str:
    match block:
        case str():
            return tag("p", words(block))
        case Heading(level, text):
            return tag(f"h{level}", words(text), id_=block.name)
        case Callout("verdict", text):
            kind = "ready" if "Ready to install." in text else ""
            return tag("div", tag("p", words(text)), class_=f"callout verdict {kind}".strip(), role="note")
        case Labels(title, labels):
            held = tag("div", *map(_label, labels), class_="labels")
            return tag("h4", escape(title)) + tag("details", tag("summary", f"{len(labels)} at true scale"), held)
        case Callout(kind, text):
            head = tag("p", tag("strong", kind.capitalize()), " ", words(text))
            return tag("div", head, class_=f"callout {kind}", role="note")
        case Points(ordered, items):
            return tag("ol" if ordered else "ul", *(tag("li", words(item)) for item in items), class_="points")
        case Picture(source, title):
            return _picture(source, plain_text(title), sheets, links)
        case Break():
            return tag("div", class_="break")
        case Table(marks=marks):
            return figures(block) if "figures" in marks else drawn(block, links)


def _picture(source: str, title: str, sheets: Sequence[Sheet], links: Links) -> str:
    for n, sheet in enumerate(sheets, 1):
        if sheet.filename == source:
            paper = scrolled(inline(sheet, n, links.rows), title, "paper")
            return tag("figure", tag("figcaption", escape(title)), paper, class_="sheet", id_=f"sheet-{n}")
    return tag("p", escape(f"{title}: {source}"), class_="muted")


def _label(label: Label) -> str:
    first, *others = label.lines
    kind = "sleeve" if label.lines == (first, first) else "card" if len(label.lines) > 2 else "plate"
    return tag("div", tag("strong", escape(first)), *(tag("span", escape(line)) for line in others), class_=kind)
