"""The name that a reader probably meant."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches


def nearest(word: str, names: Iterable[str]) -> str | None:
    """The one of `names` closest to `word`, or None where none is close."""
    close = get_close_matches(word, list(names), n=1, cutoff=0.6)
    return close[0] if close else None
