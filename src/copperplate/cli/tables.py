"""`tables [NAME]`: a table of a standard as it is used, with its source."""

from __future__ import annotations

import click
from click.shell_completion import CompletionItem

from copperplate.cli import printing
from copperplate.text import nearest


def _complete(ctx: click.Context, param: click.Parameter, incomplete: str) -> list[CompletionItem]:
    from copperplate import standards

    return [CompletionItem(t.name, help=t.title) for t in standards.tables() if t.name.startswith(incomplete)]


@click.command()
@click.argument("name", required=False, shell_complete=_complete)
def tables(name: str | None) -> int:
    """Print the table NAME of a standard with its source, or without one the list of all tables."""
    from copperplate import standards

    by_name = {table.name: table for table in standards.tables()}
    if name is None:
        widest = max(map(len, by_name))
        for table in by_name.values():
            head = f"{table.name:<{widest}}  "
            printing.write(printing.hanging(head, f"{table.clause}: {table.title}"))
        return 0
    if name not in by_name:
        near = nearest(name, by_name)
        raise click.UsageError(f"no table is called {name}" + (f"; did you mean {near}?" if near else ""))
    table = by_name[name]
    paint = printing.paint()
    printing.write(f"{paint(table.title, 'strong')}\n{table.clause}; {table.edition}\n{table.status}\n")
    if table.rounding:
        printing.write(f"{table.rounding}\n")
    printing.write("\n" + columns(table.header, table.rows))
    return 0


def columns(header: tuple[str, ...], rows: tuple[tuple[str, ...], ...]) -> str:
    """A table in plain columns under its header: numbers to the right, words to the left."""
    lines = [header, *rows]
    widths = [max(len(line[i]) for line in lines) for i in range(len(header))]
    numeric = [all(_is_number(row[i]) for row in rows) for i in range(len(header))]
    text = ""
    for line in lines:
        cells = [
            f"{cell:>{width}}" if right else f"{cell:<{width}}"
            for cell, width, right in zip(line, widths, numeric, strict=True)
        ]
        text += "  ".join(cells).rstrip() + "\n"
    return text


def _is_number(cell: str) -> bool:
    return cell in ("", "-") or cell.replace(".", "", 1).replace("-", "", 1).isdigit()
