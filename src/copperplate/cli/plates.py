"""Plates from the disk or from standard input, compiled; and what their findings mean for the exit code."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from copperplate.cli import printing
from copperplate.findings import Finding
from copperplate.findings.terminal import counts, render

if TYPE_CHECKING:
    from copperplate.making import Made

STDIN = "-"
LARGEST = 64 * 1024 * 1024
"""No plate is larger, in bytes; an endless device must not fill the memory."""

PLATES = click.argument("plates", nargs=-1, required=True, metavar="PLATE...", type=click.Path())
PLATE = click.argument("plate", metavar="PLATE", type=click.Path())


def read_bytes(path: str) -> bytes:
    """The bytes of a plate. Raises click.ClickException, with the reason, where there is none to read."""
    try:
        if path == STDIN and sys.stdin is None:
            data = b""
        elif path == STDIN:
            data = sys.stdin.buffer.read(LARGEST + 1)
        else:
            with open(path, "rb") as file:
                data = file.read(LARGEST + 1)
    except OSError as problem:
        raise click.ClickException(f"cannot read {path}: {(problem.strerror or str(problem)).lower()}") from None
    except ValueError:
        raise click.ClickException(f"cannot read {path!r}: no file has such a name") from None
    if len(data) > LARGEST:
        raise click.ClickException(f"cannot read {path}: larger than {LARGEST // 1024**2} MB, which no plate is")
    return data


def read_each(paths: Sequence[str]) -> tuple[list[tuple[str, bytes]], bool]:
    """Every plate that there is to read, with its bytes, and whether all are. The others are named on standard error,
    and do not keep what can be said of the rest."""
    contents: list[tuple[str, bytes]] = []
    for path in paths:
        try:
            contents.append((path, read_bytes(path)))
        except click.ClickException as problem:
            printing.say(f"copperplate: {problem.format_message()}")
    return contents, len(contents) == len(paths)


Others = Callable[[str], bytes | None]
"""Gives the bytes of a file that a plate names by `use`, or None where there is none."""


@dataclass(frozen=True)
class Files:
    """A plate that was read, and the files that it uses, each read when it is asked for."""

    name: str
    data: bytes
    others: Others

    def get(self, name: str, /) -> bytes | None:
        return self.data if name == self.name else self.others(name)


def compile_path(path: str, data: bytes | None = None, others: Others | None = None) -> Made:
    """What comes of the plate at `path` ("-": standard input). `others` gives the files that it uses; without it they
    lie in the folder of the plate or below."""
    from copperplate.making import make

    content = read_bytes(path) if data is None else data
    name = "stdin" if path == STDIN else os.path.basename(path)
    folder = "" if path == STDIN else path[: len(path) - len(name)]
    return make(Files(name, content, others or partial(inside, Path(folder))), name, folder, called=path)


def inside(root: Path, name: str) -> bytes | None:
    """The bytes of a file below `root`; None where there is none, or where it would lie outside."""
    try:
        path = (root / name).resolve()
        if not path.is_relative_to(root.resolve()) or not path.is_file():
            return None
        return read_bytes(str(path))
    except (OSError, ValueError, click.ClickException):
        return None


def exit_code(findings: Iterable[Finding], strict: bool = False) -> int:
    """1 where an error stands (strict: or a warning that nobody accepted), else 0."""
    weights = {"error", "warning"} if strict else {"error"}
    return int(any(f.severity in weights and f.accepted is None for f in findings))


def print_findings(made: Made) -> None:
    """The findings that nobody accepted, with a blank line between them, and the closing line."""
    width, paint = printing.width(), printing.paint()
    for finding in made.open_findings:
        printing.write(render(finding, width, made.folder, paint) + "\n")
    printing.write(made.closing + "\n")


def summary(plates: Sequence[Made]) -> str:
    """The last line of a call with many plates."""
    standing = counts(f for made in plates for f in made.open_findings)
    return f"{len(plates)} plates: {standing or 'nothing to say'}"


def report_errors(made: Made) -> int:
    """For commands that show something else: where errors stand, one line says so; gives the exit code."""
    code = exit_code(made.findings)
    if code:
        printing.say(f"{made.closing}: what is shown may be partial, see `copperplate check {made.called}`")
    return code
