"""Widths of a table's columns on paper, from an estimate of the lettering of its cells."""

from __future__ import annotations

from copperplate.report.blocks import Cell, Table, inline

POINT = 25.4 / 72
SIZE = 8.2 * POINT
"""Height of the letters of tables, mm."""
INSET = 2.2
"""Left and right of a cell together, mm."""
BAR, BAR_NUMBER = 28.6, 8.4
"""A column with bars, and the room of its numbers, mm."""

_NARROW, _SLIM, _WIDE = frozenset("ijl.,:;|'!I "), frozenset('ftr-()/[]"'), frozenset("mwMW%@")


def _letters(text: str, bold: bool) -> float:
    """Millimetres of one line, rather too many: Source Sans 3 has digits of 0.497 em and few letters wider than
    0.56."""
    ems = 0.0
    for c in text:
        ems += (
            0.27 if c in _NARROW else 0.36 if c in _SLIM else 0.84 if c in _WIDE
            else 0.61 if c.isupper() else 0.53 if c < "\u0250" else 1.0
        )  # fmt: skip
    return ems * SIZE * (1.07 if bold else 1.0)


def _lines(cell: Cell, decimals: int) -> float:
    bold = any(token.type in ("code_inline", "strong_open") for token in inline(cell.words))
    own = cell.decimals
    missing = "" if own is None or own >= decimals else "." * (not own) + "0" * (decimals - own)
    if cell.words.startswith("________"):
        return 19.0 + _letters(cell.words.strip("_ "), False)
    return 3.2 if cell.tick else _letters(cell.text + missing, bold)


def _word(cell: Cell, longest: int = 26) -> float:
    """The longest word that is not broken."""
    bold = any(token.type in ("code_inline", "strong_open") for token in inline(cell.words))
    if cell.words.startswith("________"):
        return _lines(cell, 0)
    words = (piece for word in cell.text.split() for piece in ([word] if len(word) < longest else [word[:12]]))
    return max((_letters(word, bold) for word in words), default=0.0)


def _head(cell: Cell) -> tuple[float, float]:
    """Width of a head on its lines, and of its longest word."""
    name, comma, unit = cell.text.rpartition(", ")
    lines = (name, unit) if comma else (cell.text,)
    words = [word for line in lines for word in line.split()]
    return max(_letters(line, True) for line in lines), max((_letters(word, True) for word in words), default=0.0)


def widths(table: Table, width: float, full: bool, bar: int) -> list[float]:
    """Millimetres of every column, together at most `width`; `full`: together exactly that. Columns that need more
    than there is are narrowed from the widest on, never below their longest word while that is possible."""
    if "points" in table.marks:
        return [9.0, width - 58.0, 49.0]
    wanted: list[float] = []
    least: list[float] = []
    for i, head in enumerate(table.head):
        if i == bar:
            wanted.append(BAR)
            least.append(BAR)
            continue
        line, word = _head(head)
        cells = [row[i] for row in table.cells]
        whole = max((_lines(cell, table.decimals[i]) for cell in cells), default=0.0)
        narrow = whole if table.numeric[i] else max((_word(cell) for cell in cells), default=0.0)
        wanted.append(max(whole, line) + INSET)
        least.append(max(narrow, word) + INSET)
    rest = width - sum(wanted)
    if rest < 0:
        return _narrowed(wanted, least, width)
    if full:
        words = [i for i, numeric in enumerate(table.numeric) if not numeric and i != bar] or list(range(len(wanted)))
        share = sum(wanted[i] for i in words)
        return [w + (rest * w / share if i in words else 0.0) for i, w in enumerate(wanted)]
    return wanted


def _narrowed(wanted: list[float], least: list[float], width: float) -> list[float]:
    """Every column at most as wide as one limit, found by halving; where even the longest words have no room, all
    columns shrink alike."""
    if sum(least) >= width:
        return [w * width / sum(least) for w in least]
    low, high = 0.0, max(wanted)
    for _ in range(40):
        limit = (low + high) / 2
        if sum(max(lo, min(w, limit)) for w, lo in zip(wanted, least, strict=True)) > width:
            high = limit
        else:
            low = limit
    return [max(lo, min(w, low)) for w, lo in zip(wanted, least, strict=True)]
