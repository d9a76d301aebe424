"""Reading ampacity tables: which row and which column stand for a conductor, and the tables by device.

Outside a table is `OutsideTable`, never an extrapolation; between rows or columns the lower one is read.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

from copperplate.model import Size, Traced
from copperplate.standards.conductors import area_mm2
from copperplate.standards.tables import OutsideTable, table
from copperplate.units import exceeds

if TYPE_CHECKING:
    from copperplate.standards.profile import Profile


def columns(header: tuple[str, ...], prefix: str) -> dict[float, str]:
    """Temperature columns of a table: {105.0: "ampacity_105c_a"} for the headings that begin with `prefix`."""
    return {
        float(name.removeprefix(prefix).split("c")[0]): name
        for name in header
        if name.startswith(prefix) and name.removeprefix(prefix)[:1].isdigit()
    }


@cache
def _rows(name: str) -> tuple[tuple[Size, dict[str, str]], ...]:
    """(size, cells) by ascending area; the first heading says in which series the sizes are."""
    read = table(name)
    system = "mm2" if read.header[0] == "area_mm2" else "AWG"
    return tuple((Size(r[read.header[0]], system), dict(r)) for r in read.records)  # type: ignore[arg-type]


def row_of(profile: Profile, size: Size) -> Size | None:
    """The row that stands for `size`: its own; for a size of another series the largest row not larger in
    area; None where there is none."""
    return _row_of(profile.sheet["ampacity"]["table"], size)


@cache
def _row_of(name: str, size: Size) -> Size | None:
    rows = [row for row, _ in _rows(name)]
    if size in rows:
        return size
    if size.system == rows[0].system:
        return None
    fitting = [row for row in rows if not exceeds(area_mm2(row), area_mm2(size))]
    return fitting[-1] if fitting else None


def column_of(profile: Profile, insulation_c: float) -> float:
    """The temperature column that stands for this insulation: the largest not above it."""
    read = table(profile.sheet["ampacity"]["table"])
    fitting = [c for c in columns(read.header, "ampacity_") if c <= insulation_c]
    if not fitting:
        least = min(columns(read.header, "ampacity_"))
        raise OutsideTable(
            f"{read.clause} begins at {least:g} °C and has no column for insulation of {insulation_c:g} °C"
        )
    return max(fitting)


@cache
def look_up(profile: Profile, size: Size, insulation_c: float) -> Traced:
    """Table ampacity of one conductor; see `Profile.ampacity`."""
    name = profile.sheet["ampacity"]["table"]
    read = table(name)
    column = column_of(profile, insulation_c)
    row = row_of(profile, size)
    if row is None:
        rows = [r for r, _ in _rows(name)]
        raise OutsideTable(
            f"{read.clause} has no row for {size.label}; it goes from {rows[0].label} to {rows[-1].label}"
        )
    cells = next(cells for r, cells in _rows(name) if r == row)
    heading = columns(read.header, "ampacity_")[column]
    if not cells[heading]:
        raise OutsideTable(f"{read.clause} gives no figure for {row.label} at {column:g} °C")
    return Traced(
        float(cells[heading]),
        "A",
        "table ampacity",
        reading(profile, size, insulation_c) or "table",
        (("size", size.label, ""), ("insulation", float(insulation_c), "degC")),
        f"{read.clause}, {row.label}, {column:g} °C",
        cells.get(f"status_{column:g}c") or cells["status"],
    )


def reading(profile: Profile, size: Size, insulation_c: float) -> str:
    """How the table was read where not at its own row and column, else ""; see `Profile.reading`."""
    row, column = row_of(profile, size), column_of(profile, insulation_c)
    parts = []
    if row is not None and row != size:
        parts.append(f"{_with_area(size)} in the row of {_with_area(row)}, the largest not larger in area")
    if column != insulation_c:
        parts.append(f"insulation of {insulation_c:g} °C in the column of {column:g} °C, the next lower")
    return f"read {' and '.join(parts)}" if parts else ""


def _with_area(size: Size) -> str:
    return size.label if size.system == "mm2" else f"{size.label} ({area_mm2(size):.3g} mm²)"


def device_cap(profile: Profile, size: Size, current: str) -> Traced | None:
    """The small-conductor rule; see `Profile.device_cap`."""
    rule = profile.sheet.get("device_cap", {})
    if current not in rule.get("currents", ()):
        return None
    read = table(rule["table"])
    fitting = [(row, cells) for row, cells in _rows(rule["table"]) if not exceeds(area_mm2(row), area_mm2(size))]
    last = _rows(rule["table"])[-1][0]
    if not fitting or (fitting[-1][0] == last and exceeds(area_mm2(size), area_mm2(last))):
        return None
    row, cells = fitting[-1]
    return Traced(
        float(cells["device_max_a"]), "A", "largest device on a small conductor", "table",
        (("size", size.label, ""),), f"{read.clause}, {row.label}", cells["status"],
    )  # fmt: skip


def earth_size(
    profile: Profile, device_a: float, series: str, current: str, line: Size | None
) -> tuple[Size, Traced] | None:
    """The earth conductor; see `Profile.earth_size`."""
    rule = profile.sheet.get("earth", {})
    if current not in rule.get("currents", ()):
        return None
    read = table(rule["table"])
    if rule["by"] == "line":
        return _earth_by_line(profile, series, line, rule["table"]) if line else None
    for cells in read.records:
        if device_a <= float(cells["device_max_a"]):
            named = Size(cells["awg"], "AWG")
            chosen = named if series == "awg" else profile.at_least(area_mm2(named), series)
            return chosen, Traced(
                area_mm2(chosen), "mm2", "earth conductor", f"{named.label} or larger for a device of {device_a:g} A",
                (("device", device_a, "A"),), f"{read.clause}, to {cells['device_max_a']} A", cells["status"],
            )  # fmt: skip
    raise OutsideTable(f"{read.clause} ends at a device of {read.records[-1]['device_max_a']} A")


def _earth_by_line(profile: Profile, series: str, line: Size, name: str) -> tuple[Size, Traced] | None:
    """IEC 60364-5-54: as the line conductor, 16 mm², or half the line conductor, by its size."""
    area = area_mm2(line)
    for cells in table(name).records:
        if not cells["line_max_mm2"] or not exceeds(area, float(cells["line_max_mm2"])):
            needed = area * float(cells["share"]) if cells["share"] else float(cells["area_mm2"])
            chosen = profile.at_least(needed, series)
            return chosen, Traced(
                area_mm2(chosen), "mm2", "earth conductor", f"{needed:.3g} mm² or larger beside {line.label}",
                (("line conductor", line.label, ""),), table(name).clause, cells["status"],
            )  # fmt: skip
    return None
