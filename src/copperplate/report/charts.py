"""Charts of the report: views of a table's own cells as small SVGs.

Colours stand in the attributes for paper; the classes let a page's style turn them for a dark ground.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from html import escape

from copperplate.report.blocks import Cell, Table

INK, MUTED, LINE, ACCENT, AMBER, RED = "#111111", "#4B5258", "#E3E6E9", "#0B4F8A", "#8A5A00", "#B3121D"
WIDTH, HEIGHT, LOW = 720.0, 240.0, 176.0
LEFT, RIGHT, TOP, BOTTOM = 54.0, 112.0, 24.0, 74.0
FONTS = "Liberation Sans, Arimo, sans-serif"
"""The pen of the sheets; a page of HTML puts its own in its place."""
SWATCHES = {
    "BK": "#1B1B1B", "BN": "#6B3F1D", "RD": "#C0202A", "OG": "#E07B1A", "YE": "#E8C11C", "GN": "#1E8A3C",
    "BU": "#1F5FB4", "VT": "#7A3FA0", "GY": "#8C9196", "WH": "#FFFFFF", "PK": "#E79AB5",
    "GNYE": "linear-gradient(135deg,#1E8A3C 50%,#E8C11C 50%)",
}  # fmt: skip
"""Colours of conductors by their letters (IEC 60757), as a page shows them."""
LETTER = 6.4
"""Width of a letter of the chart's 12 px text, on the safe side."""


def number_in(cell: Cell) -> float | None:
    """The number that a cell shows."""
    try:
        return float(cell.text)
    except ValueError:
        return None


def column(table: Table, head: str) -> list[float | None] | None:
    """The numbers of the column whose head begins so; None where there is no such column."""
    place = next((i for i, cell in enumerate(table.head) if cell.text.rpartition(", ")[0] == head), None)
    return None if place is None else [number_in(row[place]) for row in table.cells]


@dataclass(frozen=True)
class Bars:
    """A column with bars: what a full one stands for, and whether 100 is a limit."""

    column: int
    full: float
    limited: bool


def bars(table: Table) -> Bars | None:
    """`bar` draws in the last column, `bar 2` in the second: of 100 where it is percent, else of the largest. `plain`:
    100 is no limit."""
    name, *argument = table.chart.split() or [""]
    place = int(argument[0]) - 1 if argument and argument[0].isdigit() else len(table.head) - 1
    if name != "bar" or not 0 <= place < len(table.head):
        return None
    percent = table.head[place].text.endswith(", %")
    values = [value for row in table.cells if (value := number_in(row[place])) is not None]
    limited = percent and "plain" not in argument
    return Bars(place, 100.0 if percent else max(values, default=0.0), limited)


def filled(value: float, whole: float, limited: bool) -> tuple[float, str]:
    """The share of its track that a bar fills, and its colour. `limited`: amber from 90 % on, red past 100."""
    share = max(0.0, min(1.0, value / whole)) if whole > 0 else 0.0
    return share, RED if limited and value > 100 else AMBER if limited and value >= 90 else ACCENT


def bar(value: float, whole: float, limited: bool) -> str:
    """A bar of a table's row, as wide as `value` of `whole`."""
    share, fill = filled(value, whole, limited)
    name = {RED: "full", AMBER: "near"}.get(fill, "")
    style = f' class="{name}"' if name else ""
    return (
        '<svg class="bar" viewBox="0 0 100 8" width="100" height="8" preserveAspectRatio="none" aria-hidden="true">'
        f'<rect class="track" width="100" height="8" fill="{LINE}"/>'
        f'<rect{style} width="{100 * share:.1f}" height="8" fill="{fill}"/></svg>'
    )


def picture(table: Table, low: bool = False) -> str:
    """The chart that stands below a table, as SVG; "" where it has none. `low`: where there is little room."""
    return (
        path(table, LOW if low else HEIGHT) if table.chart == "path" else cases(table) if table.chart == "cases" else ""
    )


TINTS = (("#0B4F8A", "#FFFFFF"), ("#8FB1CF", INK), ("#3F75A5", "#FFFFFF"), ("#C6D8E8", INK))
"""Fill and lettering of the pieces of a bar, in turn: neighbours differ in grey too."""
NAMED, TOTAL, PITCH, THICK = 110.0, 90.0, 30.0, 18.0
"""Room of the names at the left and of the totals at the right; from bar to bar; a bar's height."""


def cases(table: Table) -> str:
    """One bar a column of numbers, each row a piece of it with its name where there is room. "" where nothing is
    drawn by it."""
    columns = [
        (
            (head.text.rpartition(", ") if ", " in head.text else (head.text, "", "")),
            [number_in(row[i]) or 0.0 for row in table.cells],
        )
        for i, head in enumerate(table.head)
        if table.numeric[i]
    ]
    most = max((sum(values) for _, values in columns), default=0.0)
    if most <= 0 or len(table.cells) < 2:
        return ""
    scale = (WIDTH - NAMED - TOTAL) / most
    parts: list[str] = []
    for n, ((name, _, unit), values) in enumerate(columns):
        y, x = 8 + n * PITCH, NAMED
        room = math.floor((NAMED - 12) / LETTER)
        shown = name if len(name) <= room else name[: room - 1] + "…"
        parts.append(_text(NAMED - 8, y + THICK - 5, shown, INK, "end", "ink"))
        for row, value in enumerate(values):
            wide = value * scale
            fill, letters = TINTS[row % len(TINTS)]
            if wide >= 0.5:
                parts.append(
                    f'<rect x="{x:.1f}" y="{y:.1f}" width="{max(0.5, wide - 0.8):.1f}" height="{THICK:.0f}" '
                    f'fill="{fill}"/>'
                )
            label = table.cells[row][0].text
            if len(label) * LETTER + 6 <= wide:
                parts.append(_text(x + 4, y + THICK - 5, label, letters, "start", "on"))
            x += wide
        parts.append(_text(x + 6, y + THICK - 5, _total(values, unit), INK, "start", "ink b"))
    summary = "; ".join(f"{name}: {_total(values, unit)}" for (name, _, unit), values in columns)
    return _drawn("cases", math.ceil(len(columns) * PITCH + 4), f"{summary}.", parts)


def _total(values: list[float], unit: str) -> str:
    total = sum(values)
    return f"{total:.{0 if total >= 100 else 1}f} {unit}".strip()


def path(table: Table, height: float = HEIGHT) -> str:
    """Voltage lost along a path, out and back, to scale: warm, by rule, and the budget of the last row. "" where the
    table has no such columns."""
    lengths, warm, by_rule = (column(table, head) for head in ("Length", "So far, warm", "So far, by rule"))
    if lengths is None or warm is None or by_rule is None or len(table.cells) < 3:
        return ""
    points: list[tuple[str, float, float, float]] = []
    metres = 0.0
    for row, length, y, z in zip(table.cells, lengths, warm, by_rule, strict=True):
        metres += length or 0.0
        if y is not None and z is not None:
            points.append((row[0].text, metres, y, z))
    budget = by_rule[-1]
    if len(points) < 2 or budget is None:
        return ""
    far = max(x for _, x, _, _ in points) or 1.0
    step = _step(max(budget, *(max(y, z) for _, _, y, z in points)))
    top = step * math.ceil(max(budget, *(max(y, z) for _, _, y, z in points)) / step + 0.05)

    def across(x: float) -> float:
        return LEFT + x / far * (WIDTH - LEFT - RIGHT)

    def up(y: float) -> float:
        return height - BOTTOM - y / top * (height - TOP - BOTTOM)

    unit = next((cell.text.split(", ")[-1] for cell in table.head if cell.text.startswith("Length")), "m")
    parts = [
        _text(LEFT - 8, TOP - 14, "V lost", MUTED, "end", "muted"),
    ]
    for n in range(round(top / step) + 1):
        y = up(n * step)
        parts.append(_line(LEFT, y, WIDTH - RIGHT, y, LINE, "rule"))
        parts.append(_text(LEFT - 8, y + 4, f"{n * step:.{_decimals(step)}f}", MUTED, "end", "muted"))
    for _, x, y, _ in points[1:]:
        parts.append(_line(across(x), up(y), across(x), up(0), LINE, "rule", "2 3"))
    parts.append(_line(LEFT, up(budget), WIDTH - RIGHT, up(budget), AMBER, "near", "9 5", 1.5))
    parts.append(_polyline([(across(x), up(z)) for _, x, _, z in points], ACCENT, "accent", "6 4", 1.5))
    parts.append(_polyline([(across(x), up(y)) for _, x, y, _ in points], INK, "ink", "", 2.0))
    parts += [
        f'<circle cx="{across(x):.1f}" cy="{up(y):.1f}" r="3.2" fill="#FFFFFF" stroke="{INK}" stroke-width="1.6"/>'
        for _, x, y, _ in points
    ]
    ends = [
        ("warm", points[-1][2], INK, "ink b"),
        ("budget", budget, AMBER, "near"),
        ("by rule", points[-1][3], ACCENT, "accent"),
    ]
    parts += _labels([(up(value), f"{name} {value:.2f} V", fill, style) for name, value, fill, style in ends])
    names, below = _names([(across(x), name) for name, x, _, _ in points], up(0) + 16)
    parts += names
    middle = LEFT + (WIDTH - LEFT - RIGHT) / 2
    parts.append(
        _text(middle, below + 18, f"path from the source and back, {unit}, to scale", MUTED, "middle", "muted")
    )
    return _drawn("path", math.ceil(below + 24), _alternative(points, budget), parts)


def _drawn(style: str, height: float, summary: str, parts: list[str]) -> str:
    """A chart's parts as one SVG; `summary` is what it shows in words."""
    return (
        f'<svg class="{style}" viewBox="0 0 {WIDTH:.0f} {height:.0f}" width="{WIDTH:.0f}" height="{height:.0f}" '
        f'role="img" aria-label="{escape(summary, quote=True)}" font-family="{FONTS}" font-size="12">'
        + "".join(parts)
        + "</svg>"
    )


def _alternative(points: list[tuple[str, float, float, float]], budget: float) -> str:
    end = points[-1]
    return f"Voltage lost along the path: warm {end[2]:.2f} V, by rule {end[3]:.2f} V, budget {budget:.2f} V."


def _step(largest: float) -> float:
    """A round step that divides the axis into about four."""
    if largest <= 0:
        return 0.1
    power = 10.0 ** math.floor(math.log10(largest / 4))
    return next(power * m for m in (1, 2, 2.5, 5, 10) if power * m >= largest / 4 * 0.99)


def _decimals(step: float) -> int:
    return len(f"{step:.6f}".rstrip("0").split(".")[1])


def _labels(ends: list[tuple[float, str, str, str]]) -> list[str]:
    """Labels of the lines at their right ends, moved apart where they would touch."""
    placed: list[str] = []
    last = -math.inf
    for y, words, fill, style in sorted(ends, key=lambda end: end[0]):
        last = max(y, last + 15)
        placed.append(_text(WIDTH - RIGHT + 8, last + 4, words, fill, "start", style))
    return placed


def _names(points: list[tuple[float, str]], y: float) -> tuple[list[str], float]:
    """Names of the points below the axis, on the first of three lines that has room, and the baseline of
    the last line; one without room is left to the table."""
    ends = [-math.inf] * 3
    placed: list[str] = []
    for x, name in points:
        half = len(name) * LETTER / 2
        middle = min(max(x, half + 2), WIDTH - half - 2)
        for line, end in enumerate(ends):
            if middle - half > end + 6:
                ends[line] = middle + half
                placed.append(_text(middle, y + 14 * line, name, INK, "middle", "ink"))
                break
    used = sum(end > -math.inf for end in ends)
    return placed, y + 14 * (used - 1)


def _text(x: float, y: float, words: str, fill: str, anchor: str, style: str) -> str:
    bold = ' font-weight="600"' if style.endswith(" b") else ""
    return (
        f'<text class="{style}" x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" fill="{fill}"{bold}>'
        f"{escape(words, quote=False)}</text>"
    )


def _line(
    x1: float, y1: float, x2: float, y2: float, stroke: str, style: str, dashes: str = "", width: float = 1.0
) -> str:
    dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
    return (
        f'<line class="{style}" x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" stroke="{stroke}" '
        f'stroke-width="{width}"{dashed}/>'
    )


def _polyline(points: list[tuple[float, float]], stroke: str, style: str, dashes: str, width: float) -> str:
    dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
    places = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
    return (
        f'<polyline class="{style}" points="{places}" fill="none" stroke="{stroke}" stroke-width="{width}" '
        f'stroke-linejoin="round"{dashed}/>'
    )
