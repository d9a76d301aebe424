"""`preview PLATE`: drawing and report in a browser, updated on save."""

from __future__ import annotations

import gc
from pathlib import Path
from typing import TYPE_CHECKING

import click

from copperplate.cli import plates as reading
from copperplate.cli import printing
from copperplate.findings.terminal import closing, render

if TYPE_CHECKING:
    from copperplate.cli.plates import Compiled
    from copperplate.preview import Shown

WIDTH = 110
"""Columns of the findings on the page."""


@click.command()
@reading.PLATE
@click.option("--port", type=click.IntRange(0, 65535), default=0, help="Port to serve on; a free one by default.")
@click.option("--no-browser", is_flag=True, help="Only say the address.")
def preview(plate: str, port: int, no_browser: bool) -> int:
    """Show drawing and report in a browser, on this machine's loopback address, and follow every save."""
    import copperplate.preview as room

    if plate == reading.STDIN:
        raise click.UsageError("standard input cannot be followed; name a file")
    if room.lacking():
        install = "pip install 'copperplate[preview]'"
        raise click.UsageError(f"preview needs the extra `preview`, which is not installed: {install}")
    gc.enable()  # this command lives long
    shown = room.Shown()
    seen = room.stamp(Path(plate))
    report = _show(reading.compile_path(plate), shown, None)
    try:
        with room.serving(shown, port) as address:
            printing.write(f"{address} shows {plate} and follows it; Ctrl+C ends\n")
            if not no_browser:
                import webbrowser

                webbrowser.open(address)
            for _ in room.saved(Path(plate), seen):
                try:
                    report = _show(reading.compile_path(plate), shown, report)
                except click.ClickException as problem:  # gone for now: an editor may put it back
                    printing.say(problem.format_message())
    except KeyboardInterrupt:
        pass
    return 0


def _show(compiled: Compiled, shown: Shown, last: str | None) -> str | None:
    """Show the plate as it is now, with the `last` report where it has errors; gives the report shown."""
    from copperplate import report
    from copperplate.cli.drawn import drawn
    from copperplate.preview import page

    good = compiled.design is not None and not reading.exit_code(compiled.findings)
    if good and compiled.design is not None:
        sheets = report.named(drawn(compiled.design), Path(compiled.name).stem)
        last = report.html(report.markdown(compiled.design, sheets), sheets)
    line = closing(compiled.findings, compiled.name, compiled.runs, compiled.devices)
    findings = [render(f, WIDTH, compiled.folder) for f in compiled.findings if f.accepted is None]
    shown.show(page(last, line, findings, shown.number + 1, kept=not good and last is not None))
    printing.write(line + "\n")
    return last
