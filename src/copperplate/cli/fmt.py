"""`fmt PLATE...`: the one style."""

from __future__ import annotations

import click

from copperplate.cli import plates as reading
from copperplate.cli import printing
from copperplate.cli.writing import replace_file
from copperplate.findings.terminal import render


@click.command()
@reading.PLATES
@click.option("--check", is_flag=True, help="Write nothing; exit code 1 where a plate is not in the one style.")
@click.option("--diff", is_flag=True, help="Write nothing; print what would change. Exit code as with --check.")
def fmt(plates: tuple[str, ...], check: bool, diff: bool) -> int:
    """Write plates in the one style ("-": from standard input to standard output). Comments are kept, and the
    design never changes; statements with mistakes in them stay as they are."""
    from copperplate.syntax import format, read

    contents, all_read = reading.read_each(plates)
    code = 0
    for path, data in contents:
        source, findings = read(data, path)
        text = ""
        if source is not None:
            text, findings = format(source)
        if findings:
            for finding in findings:
                printing.write(render(finding, printing.width(), paint=printing.paint()))
            code = 1
            continue
        changed = text.encode() != data
        if diff:
            printing.write(printing.difference(path, data, text.encode()))
        elif check and changed:
            printing.tell(f"{path} is not in the one style")
        elif not check and path == reading.STDIN:
            printing.write(text)
        elif not check and changed:
            replace_file(path, text.encode(), data)
            printing.tell(f"formatted {path}")
        if changed and (check or diff):
            code = 1
    return code if all_read else 2
