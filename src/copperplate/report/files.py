"""The files of a pack, by name, in a stable order."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from copperplate import schema
from copperplate.model.results import Design
from copperplate.report import lists
from copperplate.report.blocks import READERS, Block, Reader
from copperplate.report.changes import Changes
from copperplate.report.document import document
from copperplate.report.markdown import markdown
from copperplate.report.page import html
from copperplate.report.printing import pdf, png
from copperplate.report.sheets import Drawn, Sheet, named


def prints(
    design: Design,
    drawn: Iterable[Drawn],
    stem: str,
    detail: bool,
    extra: str,
    since: Changes | None = None,
    readers: Iterable[Reader] = tuple(READERS),
) -> dict[str, bytes]:
    """What an extra adds to the pack of `stem`: the documents of `readers` as PDF, or every sheet as PNG beside its
    SVG. ImportError where the extra is not installed."""
    sheets = named(drawn, stem)
    marked = (since.drawing,) if since is not None else ()
    if extra == "pdf":
        report = document(design, sheets, detail, since)
        return {f"{stem}.{reader}.pdf": pdf(report, (*sheets, *marked), reader) for reader in readers}
    return {f"{sheet.filename.removesuffix('.svg')}.png": png(sheet) for sheet in (*sheets, *marked)}


def pack(
    design: Design, drawn: Iterable[Drawn], stem: str, detail: bool = False, since: Changes | None = None
) -> dict[str, str]:
    """Text of every file of the pack of `stem`: report, sheets under their own names, lists, design; with
    `since` the marked drawing too. The same design gives the same texts."""
    sheets = named(drawn, stem)
    marked = (since.drawing,) if since is not None else ()
    return {
        **_told(document(design, sheets, detail, since), (*sheets, *marked), stem),
        f"{stem}.circuits.csv": lists.circuits(design),
        f"{stem}.materials.csv": lists.materials(design),
        f"{stem}.cuts.csv": lists.cuts(design),
        f"{stem}.labels.csv": lists.labels(design),
        f"{stem}.tests.csv": lists.tests(design),
        f"{stem}.design.json": schema.to_text(design),
    }


def draft(design: Design, drawn: Iterable[Drawn], stem: str) -> dict[str, str]:
    """Text of every file of a draft: its sheets, and the report with nothing to buy or to cut by."""
    sheets = named(drawn, stem)
    return _told(document(design, sheets), sheets, stem)


def _told(report: Sequence[Block], sheets: Sequence[Sheet], stem: str) -> dict[str, str]:
    return {
        f"{stem}.report.md": markdown(report),
        f"{stem}.report.html": html(report, sheets),
        **{sheet.filename: sheet.svg for sheet in sheets},
    }
