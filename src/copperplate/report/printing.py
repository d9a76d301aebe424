"""The report as PDF and the sheets as PNG: what needs more than the package itself (extras `pdf` and `png`).

Lettering comes from two fonts that the extras bring along, and for letters that these lack from fonts of other
installed packages, never from the machine: the same report gives the same bytes anywhere with the same versions.
"""

from __future__ import annotations

from collections.abc import Sequence
from importlib.util import find_spec

from copperplate.report.blocks import Block, Callout, Heading, Reader
from copperplate.report.lettering import Lettering, lettering
from copperplate.report.markdown import markdown
from copperplate.report.packing import packed
from copperplate.report.sheets import Sheet
from copperplate.report.typesetting import typst

NEEDS: dict[str, tuple[str, ...]] = {
    "pdf": ("typst", "fontTools", "fontpkg_source_sans_3", "fontpkg_arimo"),
    "png": ("resvg_py", "fontTools", "fontpkg_arimo"),
}
"""By extra: the modules that it brings."""
FONTS: dict[str, tuple[str, ...]] = {
    extra: tuple(module for module in modules if module.startswith("fontpkg_")) for extra, modules in NEEDS.items()
}
"""By extra: those of them that are fonts."""
DOTS_PER_INCH = 150
NAMED = 8
"""Letters that the notice at the front names; of more it gives the number."""


def lacking(extra: str) -> tuple[str, ...]:
    """Modules of an extra that are not installed."""
    return tuple(module for module in NEEDS[extra] if find_spec(module) is None)


def unwritten(extra: str, text: str, sheets: Sequence[Sheet]) -> tuple[str, ...]:
    """Letters of a report (in Markdown) and its sheets that no font at hand can draw in what this extra makes."""
    return _lettering(extra, *([text] if extra == "pdf" else []), *(sheet.svg for sheet in sheets)).lacking


def _lettering(extra: str, *texts: str) -> Lettering:
    return lettering("".join(texts), FONTS[extra])


def pdf(blocks: Sequence[Block], sheets: Sequence[Sheet], reader: Reader) -> bytes:
    """One document of a report as PDF: pages of the plate's paper, the sheets as pages of their own at true scale.
    Letters that our fonts lack may be empty boxes (Typst brings a few of its own), and the document says so. Needs the
    extra `pdf` (ImportError where it is not installed)."""
    from typst import Compiler, Fonts

    letters = _lettering("pdf", markdown(blocks), *(sheet.svg for sheet in sheets))
    fonts = Fonts(include_system_fonts=False, font_paths=list(letters.folders))
    source = typst(_owned(blocks, letters.lacking), sheets, reader).encode()
    made = Compiler(source, font_paths=fonts, ignore_system_fonts=True).compile(format="pdf")
    if not isinstance(made, bytes):
        raise TypeError("one document was typeset, and no bytes came of it")
    return packed(made)


def _owned(blocks: Sequence[Block], lacking: Sequence[str]) -> list[Block]:
    """The report with a notice at the head of each document of the letters that are not to be seen in it."""
    codes = ", ".join(f"U+{ord(letter):04X}" for letter in lacking[:NAMED])
    more = f" and {len(lacking) - NAMED} more" if len(lacking) > NAMED else ""
    notice = Callout(
        "notice",
        f"The fonts at hand lack the letters {codes}{more}. They may be empty boxes in this PDF; the report's HTML and"
        " Markdown have them.",
    )
    made: list[Block] = []
    for block in blocks:
        made += [block, notice] if lacking and isinstance(block, Heading) and block.level == 2 else [block]
    return made


def png(sheet: Sheet) -> bytes:
    """A sheet as a picture of 150 dots per inch on white. Needs the extra `png` (ImportError where it is not
    installed)."""
    from resvg_py import svg_to_bytes

    made = svg_to_bytes(
        svg_string=sheet.svg,
        background="#ffffff",
        skip_system_fonts=True,
        font_dirs=list(_lettering("png", sheet.svg).folders),
        sans_serif_family="Arimo",
        dpi=DOTS_PER_INCH,
    )
    return bytes(made)
