"""What goes to the terminal: width, colour only where a terminal shows it, closed pipes taken quietly."""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from textwrap import wrap
from threading import Event, Thread
from typing import IO

from copperplate.findings.terminal import Paint, coloured, harmless, plain

ASCII = str.maketrans("─│├└▕▏█░…·²°", "-|+`[]#.~-2 ")
"""Marks of ours for a terminal that has none but ASCII."""

BAR_AFTER_S = 1.0
"""A progress bar is drawn only for what lasts longer."""


def write(text: str) -> None:
    """Text to standard output. Where nobody reads any more the rest is dropped and the work goes on: the exit
    code still tells the truth."""
    if not sys.stdout.encoding.lower().startswith("utf"):
        text = text.translate(ASCII)
    try:
        sys.stdout.write(text)
        sys.stdout.flush()
    except BrokenPipeError:
        drop_output()


def tell(line: str) -> None:
    """One line to standard output, in which nothing of an argument or a file's name may steer a terminal."""
    write(harmless(line) + "\n")


def say(text: str) -> None:
    """Lines to standard error, in which nothing of an argument or a file's name may steer a terminal."""
    try:
        sys.stderr.write("".join(harmless(line) + "\n" for line in text.split("\n")))
        sys.stderr.flush()
    except BrokenPipeError:
        sys.stderr = open(os.devnull, "w")  # noqa: SIM115 - stays open until the process ends


def difference(path: str, before: bytes, after: bytes) -> str:
    """What would change in a file, as a patch that a terminal may show."""
    from difflib import unified_diff

    was, now = (content.decode("utf-8", "replace").splitlines() for content in (before, after))
    return "".join(harmless(line) + "\n" for line in unified_diff(was, now, path, path, lineterm=""))


def drop_output() -> None:
    """Send what is still to come nowhere, so that neither we nor the interpreter's last flush complain."""
    sink = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(sink, sys.stdout.fileno())
    except (OSError, ValueError):
        sys.stdout = open(os.devnull, "w")  # noqa: SIM115 - stays open until the process ends
    finally:
        os.close(sink)


def width() -> int:
    """Columns to write in: those of the terminal (or of COLUMNS), from 60 to 120."""
    return min(max(shutil.get_terminal_size((100, 24)).columns, 60), 120)


def hanging(head: str, text: str) -> str:
    """`text` behind `head`, in lines of the width that stand under each other; ends with a line break."""
    return (
        "\n".join(
            wrap(
                text, width(), initial_indent=head, subsequent_indent=" " * len(head), break_long_words=False,
                break_on_hyphens=False,
            )
        )
        + "\n"
    )  # fmt: skip


def is_terminal(stream: IO[str]) -> bool:
    return stream.isatty() and os.environ.get("TERM") != "dumb"


def paint() -> Paint:
    """Colour for standard output, or none: on a terminal only, and NO_COLOR is honoured."""
    return coloured if is_terminal(sys.stdout) and not os.environ.get("NO_COLOR") else plain


@contextmanager
def progress(words: str) -> Iterator[None]:
    """A bar on standard error while the body runs, when it lasts longer than a second and somebody looks."""
    if not is_terminal(sys.stderr):
        yield
        return
    done = Event()

    def draw() -> None:
        if done.wait(BAR_AFTER_S):
            return
        from rich.console import Console
        from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

        columns = (TextColumn("{task.description}"), BarColumn(pulse_style="default"), TimeElapsedColumn())
        with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
            bar.add_task(words, total=None)
            done.wait()

    drawer = Thread(target=draw, daemon=True)
    drawer.start()
    try:
        yield
    finally:
        done.set()
        drawer.join()
