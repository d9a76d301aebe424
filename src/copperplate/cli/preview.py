"""`preview PLATE`: drawing and report in a browser, updated on save."""

from __future__ import annotations

import gc
import os
from pathlib import Path
from typing import TYPE_CHECKING

import click

from copperplate.cli import plates as reading
from copperplate.cli import printing
from copperplate.findings.terminal import render

if TYPE_CHECKING:
    from copperplate.making import Made
    from copperplate.preview import Shown

WIDTH = 72
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
    report = _show(_compiled(plate), shown)
    try:
        with room.serving(shown, port) as address:
            printing.tell(f"{address} shows {plate} and follows it; Ctrl+C ends")
            if not no_browser:
                import webbrowser

                webbrowser.open(address)
            for _ in room.saved(Path(plate), seen):
                try:
                    report = _show(_compiled(plate), shown)
                except click.ClickException as problem:  # gone for now: an editor may put it back
                    printing.say(problem.format_message())
                    closing = f"{problem.format_message()}; this is what it said last"
                    shown.show(room.page(report, closing, (), shown.number + 1))
    except KeyboardInterrupt:
        pass
    return 0


def _compiled(plate: str) -> Made:
    """What comes of the plate. Raises click.ClickException where it is gone, or is no file: a pipe or a device gives
    its bytes once or for ever and cannot be followed."""
    if os.path.exists(plate) and not os.path.isfile(plate):
        raise click.ClickException(f"cannot follow {plate}: no file, but a folder, pipe or device")
    return reading.compile_path(plate)


def _show(made: Made, shown: Shown) -> str | None:
    """Show the plate as it is now, a draft where it has errors; gives its report."""
    from copperplate.preview import page

    drawn = made.drawn()
    report = next((text.decode() for name, text in drawn.files().items() if name.endswith(".report.html")), None)
    findings = [render(f, WIDTH, drawn.folder) for f in drawn.open_findings]
    shown.show(page(report, drawn.closing, findings, shown.number + 1))
    printing.write(drawn.closing + "\n")
    return report
