"""The page of a preview: the report with what is wrong above it, and a script that follows."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from importlib.resources import files

from copperplate.report import Heading, html

MAIN = '<main id="report">'
END = "</body>"


def page(report: str | None, closing: str, findings: Sequence[str], number: int, kept: bool = False) -> str:
    """One page. `report` is the HTML of the report, None where there is none yet; `closing` the closing line of the
    check and `findings` its findings as the terminal shows them; `number` tells this state from the one before.
    `kept`: the plate has errors, and the report is that of its last state without."""
    shown = report if report is not None else html([Heading(1, "", "Nothing to draw yet"), "The plate has errors."])
    stale = '<p class="kept">What is drawn below is the last state without errors.</p>' if kept else ""
    listed = "".join(f"<pre>{escape(text)}</pre>" for text in findings)
    strip = f'<aside class="findings" aria-label="Findings"><p>{escape(closing)}</p>{stale}{listed}</aside>'
    style = _resource("preview.css")
    script = _resource("preview.js")
    followed = f'<script data-state="{number}">\n{script}</script>\n'
    shown = shown.replace(MAIN, f"{MAIN}\n<style>\n{style}</style>\n{strip}", 1)
    before, _, after = shown.rpartition(END)
    return f"{before}{followed}{END}{after}"


def _resource(name: str) -> str:
    return files("copperplate.preview").joinpath(name).read_text(encoding="utf-8")
