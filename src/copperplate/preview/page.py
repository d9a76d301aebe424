"""The page of a preview: the report with what is wrong beside it, and a script that follows."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from importlib.resources import files

from copperplate.report import Heading, html

MAIN = '<main id="report">'
END = "</body>"


def page(report: str | None, closing: str, findings: Sequence[str], number: int) -> str:
    """One page. `report` is the HTML of the report or of a draft, None where nothing could be resolved; `closing` the
    closing line of the check and `findings` its findings as the terminal shows them, numbered as a draft is marked;
    `number` tells this state from the one before."""
    shown = report if report is not None else html([Heading(1, "Nothing to draw yet"), "The plate has errors."])
    listed = "".join(f"<li><pre>{escape(text)}</pre></li>" for text in findings)
    strip = f'<aside class="findings" aria-label="Findings"><p>{escape(closing)}</p><ol>{listed}</ol></aside>'
    style = _resource("preview.css")
    script = _resource("preview.js")
    followed = f'<script data-state="{number}">\n{script}</script>\n'
    shown = shown.replace(MAIN, f"<style>\n{style}</style>\n{strip}\n{MAIN}", 1)
    before, _, after = shown.rpartition(END)
    return f"{before}{followed}{END}{after}"


def _resource(name: str) -> str:
    return files("copperplate.preview").joinpath(name).read_text(encoding="utf-8")
