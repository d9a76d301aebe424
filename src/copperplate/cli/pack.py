"""Writing a pack: all of it or nothing, so that a failed build leaves the last good pack as it was."""

from __future__ import annotations

import os
import re
import shutil
import tempfile
from collections.abc import Mapping
from pathlib import Path

import click


def write_pack(folder: Path, stem: str, files: Mapping[str, bytes]) -> None:
    """Write `files` (name -> bytes) into `folder`, each replaced in one step once all of them are on the disk,
    and remove the sheets, the PDF and the marked drawing of an earlier pack of `stem` that this one has no more:
    they would show another design.

    Raises click.ClickException where the folder cannot be written; nothing has changed then."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        waiting = Path(tempfile.mkdtemp(prefix=f".{stem}.", dir=folder))
    except OSError as problem:
        raise click.ClickException(f"cannot write into {folder}: {problem.strerror}") from None
    try:
        for name, content in files.items():
            (waiting / name).write_bytes(content)
            if (folder / name).is_dir():
                raise click.ClickException(f"cannot write {folder / name}: it is a folder")
        for name in files:
            os.replace(waiting / name, folder / name)
    except OSError as problem:
        raise click.ClickException(f"cannot write into {folder}: {problem.strerror}") from None
    finally:
        shutil.rmtree(waiting, ignore_errors=True)
    earlier = re.compile(re.escape(stem) + r"\.(sheet-\d+-[a-z0-9-]+\.(svg|png)|report\.pdf|changes\.svg)")
    for path in folder.iterdir():
        if earlier.fullmatch(path.name) and path.name not in files:
            path.unlink()
