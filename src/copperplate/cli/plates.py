"""Plates from the disk or from standard input, compiled; and what their findings mean for the exit code."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import click

from copperplate.cli import printing
from copperplate.findings import Finding
from copperplate.findings.terminal import closing, counts, render
from copperplate.text import Source

if TYPE_CHECKING:
    from copperplate.model.results import Design

STDIN = "-"
LARGEST = 64 * 1024 * 1024
"""No plate is larger, in bytes; an endless device must not fill the memory."""

PLATES = click.argument("plates", nargs=-1, required=True, metavar="PLATE...", type=click.Path())
PLATE = click.argument("plate", metavar="PLATE", type=click.Path())


@dataclass(frozen=True)
class Compiled:
    """One plate with its design. `name` is the path as the user typed it; `folder` what stands before the names
    of sources (which are relative to the plate's folder, so that a pack does not depend on where it was built)."""

    name: str
    folder: str
    files: tuple[str, ...]
    design: Design | None
    findings: tuple[Finding, ...]
    runs: int | None = None
    """Runs of the plate, and devices; None where it makes no system."""
    devices: int | None = None


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


Fetch = Callable[[str], bytes | None]
"""Gives the bytes of a file that a plate names by `use`, or None where there is none."""


def compile_path(path: str, data: bytes | None = None, fetch: Fetch | None = None) -> Compiled:
    """The design and the findings of the plate at `path` ("-": standard input). `fetch` finds the files that it
    uses; without it they lie in the folder of the plate or below."""
    from copperplate.design import compile_plate
    from copperplate.syntax import read

    content = read_bytes(path) if data is None else data
    name = "stdin" if path == STDIN else os.path.basename(path)
    folder = "" if path == STDIN else path[: len(path) - len(name)]
    root = Path(folder or ".")
    files = [folder + name]

    def read_other(other: str) -> Source | None:
        found = inside(root, other) if fetch is None else fetch(other)
        if found is None:
            return None
        files.append(folder + other)
        source, problems = read(found, other)
        if source is None:
            unreadable[other] = problems
        return source

    unreadable: dict[str, tuple[Finding, ...]] = {}
    source, reading = read(content, name)
    if source is None:
        return Compiled(path, folder, tuple(files), None, reading)
    design, findings = compile_plate(source, read_other)
    # A file that is there and is no text is not missing: what is wrong with it is said instead.
    missing = {f for f in findings if f.code == "CP211" and any(f"`{name}`" in f.message for name in unreadable)}
    told = [f for f in findings if f not in missing]
    broken = [f for problems in unreadable.values() for f in problems]
    read_files, found = tuple(dict.fromkeys(files)), (*broken, *told)
    if design is None:
        return Compiled(path, folder, read_files, None, found)
    runs = sum(run.role == "run" for run in design.system.runs.values())
    return Compiled(path, folder, read_files, design, found, runs, len(design.system.devices))


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


def print_findings(compiled: Compiled) -> None:
    """The findings that nobody accepted, with a blank line between them, and the closing line."""
    width, paint = printing.width(), printing.paint()
    shown = [f for f in compiled.findings if f.accepted is None]
    for finding in shown:
        printing.write(render(finding, width, compiled.folder, paint) + "\n")
    printing.write(closing(compiled.findings, compiled.name, compiled.runs, compiled.devices) + "\n")


def summary(plates: Sequence[Compiled]) -> str:
    """The last line of a call with many plates."""
    found = counts(f for plate in plates for f in plate.findings if f.accepted is None)
    return f"{len(plates)} plates: {found or 'nothing to say'}"


def report_errors(compiled: Compiled) -> int:
    """For commands that show something else: where errors stand, one line says so; gives the exit code."""
    code = exit_code(compiled.findings)
    if code:
        line = closing(compiled.findings, compiled.name, compiled.runs, compiled.devices)
        printing.say(f"{line}: what is shown may be partial, see `copperplate check {compiled.name}`")
    return code
