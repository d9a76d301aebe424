"""Which letters the fonts of the extras have, and where installed packages bring others.

A title may be in any script, and two fonts have no letters for most of them. What they lack is looked for in the fonts
that other installed packages bring along (any package with font files: one of the `fontpkg` family, for example), in
the order of the packages' names, never in the fonts of the machine: the same packages give the same bytes anywhere.
"""

from __future__ import annotations

import struct
import unicodedata
from collections.abc import Iterable, Iterator
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
    """Code points for which a font file has a shape: its `cmap` tables of formats 4 and 12 (ISO/IEC 14496-22). None
    where the file cannot be read as a font."""
    try:
        data = Path(file).read_bytes()
        return frozenset(code for start in _fonts(data) for code in _mapped(data, start))
    except (OSError, struct.error, IndexError):
        return frozenset()


def _fonts(data: bytes) -> tuple[int, ...]:
    """Where the fonts of a file begin; a collection holds several."""
    if data[:4] == b"ttcf":
        return struct.unpack_from(f">{struct.unpack_from('>I', data, 8)[0]}I", data, 12)
    return (0,)


def _mapped(data: bytes, start: int) -> Iterator[int]:
    for n in range(struct.unpack_from(">H", data, start + 4)[0]):
        name, _, at, _ = struct.unpack_from(">4sIII", data, start + 12 + 16 * n)
        if name == b"cmap":
            for m in range(struct.unpack_from(">H", data, at + 2)[0]):
                table = at + struct.unpack_from(">HHI", data, at + 4 + 8 * m)[2]
                kind = struct.unpack_from(">H", data, table)[0]
                yield from _segments(data, table) if kind == 4 else _groups(data, table) if kind == 12 else ()


def _segments(data: bytes, table: int) -> Iterator[int]:
    """Format 4: segments of the first 65536 code points."""
    count = struct.unpack_from(">H", data, table + 6)[0] // 2
    ends = struct.unpack_from(f">{count}H", data, table + 14)
    starts, deltas, offsets = (
        struct.unpack_from(f">{count}H", data, table + 16 + 2 * count * (n + 1)) for n in range(3)
    )
    for n, (first, last) in enumerate(zip(starts, ends, strict=True)):
        for code in range(first, min(last, 0xFFFE) + 1):
            glyph = code
            if offsets[n]:
                place = table + 16 + 2 * count * 3 + 2 * n + offsets[n] + 2 * (code - first)
                glyph = struct.unpack_from(">H", data, place)[0]
            if (glyph + deltas[n]) % 65536 if not offsets[n] else glyph:
                yield code


def _groups(data: bytes, table: int) -> Iterator[int]:
    """Format 12: groups of code points that follow one another."""
    for n in range(struct.unpack_from(">I", data, table + 12)[0]):
        first, last, glyph = struct.unpack_from(">III", data, table + 16 + 12 * n)
        yield from range(first if glyph else first + 1, last + 1)
