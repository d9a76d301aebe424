"""The report as one self-contained HTML file: made of its Markdown and the sheets, with nothing from elsewhere."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from importlib.resources import files

from copperplate.report.grids import Links, figures, table, title_block
from copperplate.report.markup import scrolled, tag, words
from copperplate.report.reading import (
    Block,
    Break,
    Callout,
    Grid,
    Heading,
    Paragraph,
    Picture,
    Points,
    plain_text,
    read,
)
from copperplate.report.sheets import Sheet, conductors, homes, inline, size_mm

_POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data:; connect-src 'self'; "
    "base-uri 'none'; form-action 'none'"
)
"""Nothing is fetched from elsewhere, whatever the page holds. `connect-src 'self'` is for a local preview."""


def html(markdown: str, sheets: Sequence[Sheet] = ()) -> str:
    """The page of a report. `sheets` are those that the Markdown names, in the same order."""
    blocks = read(markdown)
    links = Links.between(blocks, homes(sheets), conductors(sheets))
    front, sections = _split(blocks)
    title = next((plain_text(block.words) for block in front if isinstance(block, Heading)), "Report")
    entries = _entries(front)
    head = "\n".join(
        [
            '<meta charset="utf-8">',
            f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">',
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            '<meta name="color-scheme" content="light dark">',
            '<link rel="icon" href="data:,">',
            tag("title", escape(f"{title}: design report")),
            tag("style", "\n", _resource("page.css"), _paper(sheets, title, entries)),
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


def _split(blocks: list[Block]) -> tuple[list[Block], list[list[Block]]]:
    """What stands before the first section, and the sections."""
    front: list[Block] = []
    sections: list[list[Block]] = []
    for block in blocks:
        if isinstance(block, Heading) and block.level == 2:
            sections.append([block])
        else:
            (sections[-1] if sections else front).append(block)
    return front, sections


def _entries(front: list[Block]) -> dict[str, str]:
    """The title block as words."""
    block = next((b for b in front if isinstance(b, Grid) and "titleblock" in b.marks), None)
    return {row[0].text: row[1].text for row in block.rows} if block else {}


def _paper(sheets: Sequence[Sheet], title: str, entries: dict[str, str]) -> str:
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
    foot = _css(", ".join(entries[key] for key in ("Document", "Revision", "Date", "Status") if key in entries))
    rules.append(
        f"@page{{size:{'letter' if letter else 'A4'};margin:16mm 15mm 18mm;"
        f'@top-left{{content:"{_css(title)}";{small}}}@bottom-left{{content:"{foot}";{small}}}'
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


def _contents(blocks: list[Block]) -> str:
    items = (
        tag(
            "li",
            tag("a", tag("span", block.number), tag("span", words(block.words)), href="#" + _name(block)),
            class_=f"l{block.level}",
        )
        for block in blocks
        if isinstance(block, Heading) and block.number
    )
    inside = tag("summary", "Contents") + tag("ol", *items)
    return tag("nav", f"<details open>{inside}</details>", aria_label="Contents")


def _front(front: list[Block], sheets: Sequence[Sheet], links: Links) -> str:
    """The words at the left, the title block at the right."""
    intro = "\n".join(_block(block, sheets, links) for block in front if not isinstance(block, Grid))
    blocks = (title_block(block) for block in front if isinstance(block, Grid) and "titleblock" in block.marks)
    return tag("div", tag("div", intro), *blocks, class_="front")


def _section(blocks: list[Block], sheets: Sequence[Sheet], links: Links) -> str:
    head = blocks[0]
    name = _name(head) if isinstance(head, Heading) else ""
    # On paper a sheet has a page of its own; the drawing of what changed stands behind the summary that tells of it.
    apart = [block for block in blocks if isinstance(block, Picture)] if name == "section-1" else []
    inside = "\n".join(_block(block, sheets, links) for block in blocks if block not in apart)
    section = tag("section", inside, aria_labelledby=name)
    return section + "".join(tag("section", _block(block, sheets, links)) for block in apart)


def _name(heading: Heading) -> str:
    """The id of a numbered heading."""
    return "section-" + heading.number.replace(".", "-") if heading.number else ""


def _block(block: Block, sheets: Sequence[Sheet], links: Links) -> str:
    match block:
        case Heading(level, number, inline_words):
            shown = tag("span", number, class_="no") + " " if number else ""
            return tag(f"h{level}", shown, tag("span", words(inline_words)), id_=_name(block))
        case Paragraph(inline_words):
            return tag("p", words(inline_words))
        case Callout(kind, inline_words):
            head = tag("p", tag("strong", kind.capitalize()), words(inline_words))
            return tag("div", head, class_=f"callout {kind}", role="note")
        case Points(ordered, items):
            return tag("ol" if ordered else "ul", *(tag("li", words(item)) for item in items), class_="points")
        case Picture(source, title):
            return _picture(source, title, sheets, links)
        case Break():
            return tag("div", class_="break")
        case Grid(marks=marks):
            return figures(block) if "figures" in marks else table(block, links)


def _picture(source: str, title: str, sheets: Sequence[Sheet], links: Links) -> str:
    for n, sheet in enumerate(sheets, 1):
        if sheet.filename == source:
            drawn = scrolled(inline(sheet, n, links.rows), title, "paper")
            return tag("figure", tag("figcaption", escape(title)), drawn, class_="sheet", id_=f"sheet-{n}")
    return tag("p", escape(f"{title}: {source}"), class_="muted")
