"""A pack on the disk is one thing: after a kill at any moment the folder holds a whole pack under its manifest, or none
that `verify` calls whole, and the next build finishes what was begun.

`.NAME.next/` takes the new files, with their manifest `NAME.pack.json` last. Then the manifest that stands moves in
there as well, the files move out one by one (`os.replace`), what the earlier pack had more goes, and the new manifest
moves out. So where `.NAME.next/` holds a manifest, its pack was complete and only the moving is left; where it holds
none, nothing moved.
"""

from __future__ import annotations

import os
import re
import shutil
from collections.abc import Collection, Iterable, Iterator, Mapping
from contextlib import contextmanager
from hashlib import sha256
from pathlib import Path
from typing import Any

import click

from copperplate import __version__
from copperplate.text import json_text

try:
    import fcntl
except ImportError:  # a system without it: two builds into one folder at once are not kept apart there
    fcntl = None  # type: ignore[assignment]

FORMAT = "copperplate-pack/1"
EARLIER = "earlier.json"
"""The name of the manifest that stood, while its files give way; and of the new one until it is whole."""
OF_A_PACK = r"\.(sheet-\d+-[a-z0-9-]+\.(svg|png)|(report|client|installer|inspector|engineer)\.pdf|changes\.svg)"
"""How files are named, after the plate, that would show another design where they do not belong to the pack."""
OF_A_DRAFT = r"\.draft\.(sheet-\d+-[a-z0-9-]+\.svg|report\.(md|html))"


def manifest(plate: str, sources: Mapping[str, str], files: Mapping[str, bytes]) -> bytes:
    """`NAME.pack.json`: the plate and all that it used, and the files of its pack, each with its SHA-256."""
    entry = {
        "format": FORMAT,
        "plate": plate,
        "version": __version__,
        "sources": dict(sorted(sources.items())),
        "files": {name: sha256(content).hexdigest() for name, content in sorted(files.items())},
    }
    return json_text(entry).encode()


def write_pack(folder: Path, stem: str, plate: str, sources: Mapping[str, str], files: Mapping[str, bytes]) -> None:
    """Write `files` (name -> bytes) and their manifest into `folder` in place of an earlier pack of `stem`. `sources`
    are the SHA-256 of the texts that it was made of, by name.

    Raises click.ClickException where the folder cannot be written; what stood there stands then, or is finished by the
    next build."""
    waiting = folder / f".{stem}.next"
    last = f"{stem}.pack.json"
    with _complaining(folder):
        folder.mkdir(parents=True, exist_ok=True)
        with _alone(folder):
            _settle(folder, stem)
            _no_folders(folder, (*files, last))
            try:
                waiting.mkdir()
                for name, content in files.items():
                    _write(waiting / name, content)
                _write(waiting / EARLIER, manifest(plate, sources, files))
                os.replace(waiting / EARLIER, waiting / last)
                _keep(waiting)
            except OSError:
                shutil.rmtree(waiting, ignore_errors=True)
                raise
            _move(folder, stem)
            _sweep_draft(folder, stem, ())


def write_draft(folder: Path, stem: str, files: Mapping[str, bytes]) -> None:
    """Write the `files` of a draft into `folder` in place of an earlier draft of `stem`; without files that one goes.
    The pack that stands there stays. Raises click.ClickException where the folder cannot be written."""
    with _complaining(folder):
        if files:
            folder.mkdir(parents=True, exist_ok=True)
        elif not folder.is_dir():
            return
        with _alone(folder):
            _no_folders(folder, files)
            _sweep_draft(folder, stem, files)
            for name, content in files.items():
                waiting = folder / f".{name}.next"
                waiting.unlink(missing_ok=True)
                _write(waiting, content)
                os.replace(waiting, folder / name)


def _no_folders(folder: Path, names: Iterable[str]) -> None:
    for name in names:
        if (folder / name).is_dir():
            raise click.ClickException(f"cannot write {folder / name}: it is a folder")


def _sweep_draft(folder: Path, stem: str, kept: Collection[str]) -> None:
    """Remove the files of a draft of `stem` but those to be kept."""
    for path in list(folder.iterdir()):
        if path.name not in kept and re.fullmatch(re.escape(stem) + OF_A_DRAFT, path.name) and not path.is_dir():
            path.unlink()


def settle(folder: Path, stem: str) -> None:
    """Finish a build of `stem` into `folder` that was killed while its files moved, and sweep one that was killed
    before. Raises click.ClickException where the folder cannot be written."""
    if (folder / f".{stem}.next").is_dir():
        with _complaining(folder), _alone(folder):
            _settle(folder, stem)


def _settle(folder: Path, stem: str) -> None:
    waiting = folder / f".{stem}.next"
    if (waiting / f"{stem}.pack.json").exists():
        _move(folder, stem)
    elif waiting.is_dir():
        shutil.rmtree(waiting)


def _move(folder: Path, stem: str) -> None:
    """Move a complete pack out of its waiting folder. Done again from the start, it ends in the same."""
    waiting, last = folder / f".{stem}.next", f"{stem}.pack.json"
    if (folder / last).exists():
        os.replace(folder / last, waiting / EARLIER)
        _keep(folder)
    for path in sorted(waiting.iterdir()):
        if path.name not in (last, EARLIER):
            os.replace(path, folder / path.name)
    kept, earlier = _files_of(waiting / last), _files_of(waiting / EARLIER)
    for path in list(folder.iterdir()):
        if path.name not in kept and (path.name in earlier or re.fullmatch(re.escape(stem) + OF_A_PACK, path.name)):
            path.unlink()
    _keep(folder)
    os.replace(waiting / last, folder / last)
    _keep(folder)
    shutil.rmtree(waiting)


def _files_of(path: Path) -> dict[str, str]:
    """The files that a manifest names, with their SHA-256; none where there is none."""
    entry = read_manifest(path.read_bytes()) if path.exists() else None
    return entry["files"] if entry else {}


def read_manifest(content: bytes) -> dict[str, Any] | None:
    """A manifest's JSON; None where it is no manifest of ours."""
    import json

    try:
        entry = json.loads(content)
    except (ValueError, RecursionError):
        return None
    plain = isinstance(entry, dict) and entry.get("format") == FORMAT and isinstance(entry.get("plate"), str)
    if not plain or not isinstance(entry.get("files"), dict):
        return None
    texts = all(isinstance(item, str) and os.path.basename(item) == item for item in entry["files"])
    return entry if texts and all(isinstance(item, str) for item in entry["files"].values()) else None


def _write(path: Path, content: bytes) -> None:
    """A new file whose bytes are on the disk when this returns."""
    with open(path, "xb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def _keep(folder: Path) -> None:
    """Bring what a folder lists onto the disk."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


@contextmanager
def _alone(folder: Path) -> Iterator[None]:
    """One build at a time moves files in a folder; the lock ends with the process."""
    if fcntl is None:
        yield
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)


@contextmanager
def _complaining(folder: Path) -> Iterator[None]:
    """What the disk refuses, as a sentence."""
    try:
        yield
    except OSError as problem:
        raise click.ClickException(f"cannot write into {folder}: {problem.strerror or problem}") from None
