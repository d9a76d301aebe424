"""The report as PDF and the sheets as PNG: what needs more than the package itself (extras `pdf` and `png`).

Lettering comes from two fonts that the extras bring along, never from the machine, so that the same report gives
the same bytes anywhere with the same versions of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from importlib.util import find_spec
from pathlib import Path

from copperplate.report.sheets import Sheet
from copperplate.report.typesetting import typst

NEEDS: dict[str, tuple[str, ...]] = {
    "pdf": ("typst", "fontpkg_source_sans_3", "fontpkg_arimo"),
    "png": ("resvg_py", "fontpkg_arimo"),
}
"""By extra: the modules that it brings."""
DOTS_PER_INCH = 150


def lacking(extra: str) -> tuple[str, ...]:
    """Modules of an extra that are not installed."""
    return tuple(module for module in NEEDS[extra] if find_spec(module) is None)


def _fonts(*modules: str) -> list[str]:
    specs = (find_spec(module) for module in modules)
    return [str(Path(spec.origin).parent / "files") for spec in specs if spec is not None and spec.origin]


def pdf(markdown: str, sheets: Sequence[Sheet] = ()) -> bytes:
    """The report as PDF: portrait pages, the sheets as pages of their own at true scale. Needs the extra `pdf`
    (ImportError where it is not installed)."""
    from typst import Compiler, Fonts

    fonts = Fonts(include_system_fonts=False, font_paths=_fonts("fontpkg_source_sans_3", "fontpkg_arimo"))
    made = Compiler(typst(markdown, sheets).encode(), font_paths=fonts, ignore_system_fonts=True).compile(format="pdf")
    if not isinstance(made, bytes):
        raise TypeError("one document was typeset, and no bytes came of it")
    return made


def png(sheet: Sheet) -> bytes:
    """A sheet as a picture of 150 dots per inch on white. Needs the extra `png` (ImportError where it is not
    installed)."""
    from resvg_py import svg_to_bytes

    made = svg_to_bytes(
        svg_string=sheet.svg,
        background="#ffffff",
        skip_system_fonts=True,
        font_dirs=_fonts("fontpkg_arimo"),
        sans_serif_family="Arimo",
        dpi=DOTS_PER_INCH,
    )
    return bytes(made)
