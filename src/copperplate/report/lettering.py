"""Which letters the fonts of the extras have, and where installed packages bring others.

A title may be in any script, and two fonts have no letters for most of them. What they lack is looked for in the fonts
that other installed packages bring along (any package with font files: one of the `fontpkg` family, for example), in
the order of the packages' names, never in the fonts of the machine: the same packages give the same bytes anywhere.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from importlib.metadata import distributions
from importlib.util import find_spec
from pathlib import Path

from copperplate.units import counted

ENDINGS = (".ttf", ".otf", ".ttc")
SHOWN = 12
"""Letters that a message names; of more it gives the number."""


@dataclass(frozen=True, slots=True)
class Lettering:
    """`folders`: where the fonts are. `lacking`: letters that none of them has, in the order of their numbers."""

    folders: tuple[str, ...]
    lacking: tuple[str, ...]


def lettering(text: str, modules: Iterable[str]) -> Lettering:
    """Fonts for a text: those of the named modules, and where they lack letters the first others that have some."""
    folders = [_folder(module) for module in modules]
    wanted = {ord(c) for c in text if not _unseen(c)}
    for own in (file for folder in folders for file in sorted(Path(folder).iterdir())):
        wanted -= letters(str(own)) if own.suffix.lower() in ENDINGS else set()
    for file in _installed() if wanted else ():
        if wanted and (covered := wanted & letters(file)):
            wanted -= covered
            folders.append(str(Path(file).parent))
    return Lettering(tuple(dict.fromkeys(folders)), tuple(chr(code) for code in sorted(wanted)))


def lacking_words(lacking: Iterable[str]) -> str:
    """`电池 (2 letters)`: some of the letters, and how many there are."""
    letters_lacking = list(lacking)
    more = " …" if len(letters_lacking) > SHOWN else ""
    return f"{' '.join(letters_lacking[:SHOWN])}{more} ({counted(len(letters_lacking), 'letter')})"


def _unseen(c: str) -> bool:
    """Controls, spaces, joiners and marks that change a letter without being one: no font needs a shape for them."""
    return unicodedata.category(c) in ("Cc", "Cf", "Zs", "Zl", "Zp", "Cs") or "\ufe00" <= c <= "\ufe0f"


def _folder(module: str) -> str:
    spec = find_spec(module)
    if spec is None or spec.origin is None:
        raise ImportError(f"{module} is not installed")
    return str(Path(spec.origin).parent / "files")


@cache
def _installed() -> tuple[str, ...]:
    """Font files of every installed package, by the package's name and then by their own."""
    fonts: dict[tuple[str, str], str] = {}
    for package in distributions():
        for file in package.files or ():
            if file.suffix.lower() in ENDINGS and (path := Path(str(package.locate_file(file)))).is_file():
                fonts.setdefault((package.metadata["Name"].lower(), str(file)), str(path))
    return tuple(fonts[key] for key in sorted(fonts))


@cache
def letters(file: str) -> frozenset[int]:
    """Code points for which a font file has a shape. None where it cannot be read as a font."""
    from fontTools.ttLib import TTCollection, TTFont, TTLibError

    try:
        fonts = TTCollection(file, lazy=True).fonts if file.endswith(".ttc") else [TTFont(file, lazy=True)]
        return frozenset(code for font in fonts for code in font.getBestCmap() or ())
    except (OSError, TTLibError):
        return frozenset()
