"""Waiting for a plate, or a file that it uses, to be saved."""

from __future__ import annotations

from collections.abc import Iterator
from importlib.util import find_spec
from pathlib import Path

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
    """Once for every time that `plate`, or another plate in its folder or below, is saved. `seen`: the stamp of
    what is shown already, for a save may come before the watch begins."""
    from watchfiles import Change, watch

    def wanted(_: Change, path: str) -> bool:
        return path.endswith(".plate") or Path(path).name == plate.name

    began = False
    for changes in watch(
        plate.parent, watch_filter=wanted, debounce=SETTLE_MS, step=10, rust_timeout=BEGIN_MS, yield_on_timeout=True
    ):
        if changes or (not began and stamp(plate) != seen):
            yield
        began = True
