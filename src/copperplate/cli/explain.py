"""`explain CODE`: the page of a finding."""

from __future__ import annotations

import click
from click.shell_completion import CompletionItem

from copperplate.cli import printing, shipped
from copperplate.findings import CODES, FAMILIES
from copperplate.text import nearest


def _complete(ctx: click.Context, param: click.Parameter, incomplete: str) -> list[CompletionItem]:
    return [
        CompletionItem(code, help=title)
        for code, (_, title) in CODES.items()
        if code.startswith(incomplete.upper())
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
    lines = page.read_text(encoding="utf-8").splitlines()
    printing.write("".join((paint(line, "strong") if line.startswith("#") else line) + "\n" for line in lines))
    return 0


def contents() -> str:
    """Every code with its severity and title, by family."""
    paint = printing.paint()
    lines = []
    for digit, family in FAMILIES.items():
        entries = [(code, entry) for code, entry in sorted(CODES.items()) if code[2] == digit]
        if entries:
            lines.append(paint(f"{digit}xx {family}", "strong"))
            lines += [f"  {code}  {severity:<8} {title}" for code, (severity, title) in entries]
    return "\n".join(lines) + "\n"
