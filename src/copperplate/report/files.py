"""The files of a pack, by name, in a stable order."""

from __future__ import annotations

from collections.abc import Iterable

from copperplate import schema
from copperplate.model.results import Design
from copperplate.report import lists
from copperplate.report.changes import Changes
from copperplate.report.document import document
from copperplate.report.markdown import markdown
from copperplate.report.page import html
from copperplate.report.printing import pdf, png
from copperplate.report.sheets import Drawn, named


def prints(
    design: Design, drawn: Iterable[Drawn], stem: str, detail: bool, extra: str, since: Changes | None = None
) -> dict[str, bytes]:
    """What an extra adds to the pack of `stem`: the report as PDF, or every sheet as PNG beside its SVG. ImportError
    where the extra is not installed."""
    sheets = named(drawn, stem)
    marked = (since.drawing,) if since is not None else ()
    if extra == "pdf":
        return {f"{stem}.report.pdf": pdf(document(design, sheets, detail, since), (*sheets, *marked))}
    return {f"{sheet.filename.removesuffix('.svg')}.png": png(sheet) for sheet in (*sheets, *marked)}


def pack(
    design: Design, drawn: Iterable[Drawn], stem: str, detail: bool = False, since: Changes | None = None
) -> dict[str, str]:
    """Text of every file of the pack of `stem`: report, sheets under their own names, lists, design; with
    `since` the marked drawing too. The same design gives the same texts."""
    sheets = named(drawn, stem)
    report = document(design, sheets, detail, since)
    marked = (since.drawing,) if since is not None else ()
    return {
        f"{stem}.report.md": markdown(report),
        f"{stem}.report.html": html(report, (*sheets, *marked)),
        **{sheet.filename: sheet.svg for sheet in (*sheets, *marked)},
        f"{stem}.circuits.csv": lists.circuits(design),
        f"{stem}.materials.csv": lists.materials(design),
        f"{stem}.cuts.csv": lists.cuts(design),
        f"{stem}.labels.csv": lists.labels(design),
        f"{stem}.design.json": schema.to_text(design),
    }
