"""`explain CODE`: the page of a finding."""

from __future__ import annotations

import re

import click
from click.shell_completion import CompletionItem

from copperplate.cli import printing, shipped
from copperplate.findings import CODES, FAMILIES
from copperplate.text import nearest

BLOCKS = re.compile(r"```[\s\S]*?\n```\n|(?:[^\n]+\n)+|\n")
"""The blocks of a page: plates with their fences, paragraphs, empty lines."""


def _complete(ctx: click.Context, param: click.Parameter, incomplete: str) -> list[CompletionItem]:
    return [
        CompletionItem(code, help=entry.title) for code, entry in CODES.items() if code.startswith(incomplete.upper())
    ]


@click.command()
@click.argument("code", required=False, shell_complete=_complete)
def explain(code: str | None) -> int:
    """Print the page of a finding CODE, or without one the list of all codes."""
    if code is None:
        printing.write(contents())
        return 0
    code = code.upper()
    if code not in CODES:
        near = nearest(code, CODES)
        raise click.UsageError(f"no finding has the code {code}" + (f"; {near} is the nearest" if near else ""))
    page = shipped.pages() / f"{code}.md"
    paint = printing.paint()
    for block in BLOCKS.findall(page.read_text(encoding="utf-8")):
        if block.startswith(("```", "|", "- ")):
            printing.write(block)
        elif block.startswith("#"):
            printing.write(paint(printing.hanging("", block).rstrip("\n"), "strong") + "\n")
        else:
            printing.write(printing.hanging("", block) if block.strip() else block)
    return 0


def contents() -> str:
    """Every code with its severity and title, by family."""
    paint = printing.paint()
    lines = []
    for digit, family in FAMILIES.items():
        entries = [(code, entry) for code, entry in sorted(CODES.items()) if code[2] == digit]
        if entries:
            lines.append(paint(f"{digit}xx {family}", "strong"))
            lines += [f"  {code}  {entry.severity:<8} {entry.title}" for code, entry in entries]
    return "\n".join(lines) + "\n"
