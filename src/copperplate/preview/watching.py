"""Waiting for a plate, or a file that it uses, to be saved."""

from __future__ import annotations

from collections.abc import Iterator
from importlib.util import find_spec
from pathlib import Path
from time import sleep

SETTLE_MS = 50
"""An editor may write a file in several steps; what comes so close together is one save."""
BEGIN_MS = 300
"""The watch is known to have begun when so much time has passed in it."""


def lacking() -> bool:
    """Whether the extra `preview` is not installed."""
    return find_spec("watchfiles") is None


def stamp(plate: Path) -> int | None:
    """When the plate was last written, in nanoseconds; None where it is gone."""
    try:
        return plate.stat().st_mtime_ns
    except OSError:
        return None


def saved(plate: Path, seen: int | None) -> Iterator[None]:
    """Once for every time that `plate`, or another plate in its folder or below, is saved or goes, also where its
    folder goes and is made anew. `seen`: the stamp of what is shown already, for a save may come before the watch
    begins."""
    from watchfiles import Change, watch

    def wanted(_: Change, path: str) -> bool:
        return path.endswith(".plate") or Path(path).name == plate.name

    while True:
        folder, began = _identity(plate.parent), False
        changes_of = (
            watch(
                plate.parent, watch_filter=wanted, debounce=SETTLE_MS, step=10, rust_timeout=BEGIN_MS,
                yield_on_timeout=True,
            )
            if folder is not None
            else ()
        )  # fmt: skip
        for changes in changes_of:
            if changes or (not began and stamp(plate) != seen):
                seen = stamp(plate)
                yield
            began = True
            if _identity(plate.parent) != folder:
                break
        if stamp(plate) != seen:
            seen = stamp(plate)
            yield
        while _identity(plate.parent) is None:
            sleep(BEGIN_MS / 1000)


def _identity(folder: Path) -> tuple[int, int] | None:
    """Which folder it is, None where there is none."""
    try:
        found = folder.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino
