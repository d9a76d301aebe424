"""`language-server`: for editors."""

from __future__ import annotations

import gc

import click

from copperplate.cli import plates as reading


@click.command(name="language-server")
def language_server() -> int:
    """Serve an editor on standard input and output (language server protocol): findings as you type, what a word
    means, why a run has its size, names, completion and the one style."""
    from copperplate import editor

    if editor.lacking():
        install = "pip install 'copperplate[editor]'"
        raise click.UsageError(f"language-server needs the extra `editor`, which is not installed: {install}")
    gc.enable()  # this command lives long
    return editor.serve(reading.inside)
