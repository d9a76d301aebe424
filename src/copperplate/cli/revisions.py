"""Plates of earlier revisions, read from a git repository. Nothing is ever checked out."""

from __future__ import annotations

import os
import posixpath
import subprocess
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from copperplate.cli import plates as reading

if TYPE_CHECKING:
    from copperplate.making import Made


def compile_any(name: str, beside: str | None = None) -> Made:
    """The plate at a path, or at `REVISION:path` of the git repository around the working folder (`:path` is the
    one that is staged). What it uses is read from the same revision, or from the folder `beside` where that is given.

    A file of that very name goes first. Raises click.ClickException, with the reason, where there is nothing."""
    revision, colon, path = name.partition(":")
    if name == reading.STDIN or os.path.exists(name) or not colon or not path:
        if beside is None:
            return reading.compile_path(name)
        folder = Path(beside)
        return reading.compile_path(name, others=lambda other: reading.inside(folder, other))
    if revision.startswith("-"):
        raise click.ClickException(f"cannot read {name}: no revision is called {revision}")
    data = _blob(revision, path)
    if data is None:
        raise click.ClickException(f"cannot read {name}: {_why_not(revision, path)}")
    folder_of_plate = posixpath.dirname(path)
    # A path that begins with a dot counts from the working folder, and joining must not lose that.
    return reading.compile_path(name, data, lambda other: _below(revision, folder_of_plate, other))


def compare(before: Made, after: Made, old: str, new: str) -> dict[str, Any]:
    """What changed between two plates, as `diff.compare` says it; `old` and `new` are what readers call them."""
    from copperplate import diff

    earlier, later = (diff.as_json(side.design, side.findings) for side in (before, after))
    return diff.compare(earlier, later, old, new)


def _below(revision: str, folder: str, other: str) -> bytes | None:
    """A file in the folder of the plate or below, at the same revision."""
    plain = posixpath.normpath(other)
    if plain.startswith(("/", "../")) or plain == "..":
        return None
    return _blob(revision, f"{folder}/{plain}" if folder else plain)


def _blob(revision: str, path: str) -> bytes | None:
    """The bytes of one file of a revision; None where there is none."""
    size = _git("cat-file", "-s", f"{revision}:{path}")
    if size is None or not size.strip().isdigit():
        return None
    if int(size) > reading.LARGEST:
        raise click.ClickException(f"cannot read {revision}:{path}: larger than any plate")
    return _git("cat-file", "blob", f"{revision}:{path}")


def _why_not(revision: str, path: str) -> str:
    if _git("rev-parse", "--git-dir") is None:
        return "no such file, and this is no git repository"
    if revision and _git("rev-parse", "--verify", "--quiet", f"{revision}^{{tree}}") is None:
        return f"no revision is called {revision}"
    where = f"revision {revision}" if revision else "what is staged"
    if _git("rev-parse", "--verify", "--quiet", f"{revision}:{path}") is not None:
        return f"{where} names {path}, but this copy of the repository lacks its content, and nothing is fetched here"
    return f"{where} has no {path} (paths count from the top of the repository, ./{path} from here)"


def _git(*arguments: str) -> bytes | None:
    """What git writes; None where it fails or where there is none.

    Whatever the repository's own settings say, nothing of it is run: no transport, no fetch of what is missing, no
    hook, no watcher of files, no filter, no question to the user."""
    settings = ("protocol.allow=never", "core.fsmonitor=false", f"core.hooksPath={os.devnull}")
    command = ["git", *(word for line in settings for word in ("-c", line))]
    environment = {
        **{name: value for name, value in os.environ.items() if name not in ("GIT_EXTERNAL_DIFF", "GIT_ASKPASS")},
        "GIT_ALLOW_PROTOCOL": "none",
        "GIT_NO_LAZY_FETCH": "1",
        "GIT_TERMINAL_PROMPT": "0",
        "GIT_OPTIONAL_LOCKS": "0",
    }
    try:
        done = subprocess.run(
            [*command, *arguments], capture_output=True, check=False, stdin=subprocess.DEVNULL, env=environment
        )
    except (OSError, ValueError):
        return None
    return done.stdout if done.returncode == 0 else None
