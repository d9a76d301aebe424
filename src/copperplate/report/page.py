"""The report as one self-contained HTML file: made of its blocks and the sheets, with nothing from elsewhere."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from importlib.resources import files

from copperplate.report.blocks import (
    Block,
    Break,
    Callout,
    Heading,
    Picture,
    Points,
    Table,
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
    """The page of a report. `sheets` are those that it names, in the same order."""
    links = Links.between(blocks, homes(sheets), conductors(sheets))
    front, sections = _split(blocks)
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
            _bar(title, entries),
            '<div class="frame">',
            _contents(blocks),
            '<main id="report">',
            _front(front, sheets, links),
            *(_section(section, sheets, links) for section in sections),
            "</main>\n</div>",
            tag("script", "\n", _resource("page.js")),
        ]
    )
    return f'<!DOCTYPE html>\n<html lang="en">\n<head>\n{head}\n</head>\n<body>\n{body}\n</body>\n</html>\n'


def _resource(name: str) -> str:
    return files("copperplate.report").joinpath(name).read_text(encoding="utf-8")


def _split(blocks: Sequence[Block]) -> tuple[list[Block], list[list[Block]]]:
    """What stands before the first section, and the sections."""
    front: list[Block] = []
    sections: list[list[Block]] = []
    for block in blocks:
        if isinstance(block, Heading) and block.level == 2:
            sections.append([block])
        else:
            (sections[-1] if sections else front).append(block)
    return front, sections


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
    rules.append(
        f"@page{{size:{'letter' if letter else 'A4'};margin:16mm 15mm 18mm;"
        f'@top-left{{content:"{_css(title)}";{small}}}@bottom-left{{content:"{_css(foot)}";{small}}}'
        f'@bottom-right{{content:"page " counter(page) " of " counter(pages);{small}}}}}\n'
    )
    return "".join(rules)


def _css(value: str) -> str:
    """Words inside a CSS string: what is no plain letter, digit or space is written by its number."""
    return "".join(c if c == " " or (c.isascii() and c.isalnum()) else f"\\{ord(c):x} " for c in value)


def _bar(title: str, entries: dict[str, str]) -> str:
    revision = entries.get("Revision", "").split(",")[0]
    marks = (entries.get("Document", ""), f"rev {revision}" if revision else "", entries.get("Status", ""))
    status = escape(", ".join(word for word in marks if word))
    return tag("header", tag("strong", escape(title)), tag("span", status), class_="bar")


def _contents(blocks: Sequence[Block]) -> str:
    items = (
        tag(
            "li",
            tag("a", tag("span", block.number), tag("span", words(block.words)), href="#" + block.name),
            class_=f"l{block.level}",
        )
        for block in blocks
        if isinstance(block, Heading) and block.number
    )
    inside = tag("summary", "Contents") + tag("ol", *items)
    return tag("nav", f"<details open>{inside}</details>", aria_label="Contents")


def _front(front: list[Block], sheets: Sequence[Sheet], links: Links) -> str:
    """The words at the left, the title block at the right."""
    intro = "\n".join(_block(block, sheets, links) for block in front if not isinstance(block, Table))
    blocks = (terms(block) for block in front if isinstance(block, Table) and "titleblock" in block.marks)
    return tag("div", tag("div", intro), *blocks, class_="front")


def _section(blocks: list[Block], sheets: Sequence[Sheet], links: Links) -> str:
    head = blocks[0]
    name = head.name if isinstance(head, Heading) else ""
    # On paper a sheet has a page of its own; the drawing of what changed stands behind the summary that tells of it.
    apart = [block for block in blocks if isinstance(block, Picture)] if name == "section-1" else []
    inside = "\n".join(_block(block, sheets, links) for block in blocks if block not in apart)
    section = tag("section", inside, aria_labelledby=name)
    return section + "".join(tag("section", _block(block, sheets, links)) for block in apart)


def _block(block: Block, sheets: Sequence[Sheet], links: Links) -> str:
    match block:
        case str():
            return tag("p", words(block))
        case Heading(level, number, text):
            shown = tag("span", number, class_="no") + " " if number else ""
            return tag(f"h{level}", shown, tag("span", words(text)), id_=block.name)
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
