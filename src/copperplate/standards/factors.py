"""Factors on a table ampacity: air, engine space, way of laying, bundle, terminals.

Each profile names its own rules with the base they belong to; nothing is taken from two bundle rules or two air
rules at once.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import cache
from typing import TYPE_CHECKING, Any

from copperplate.model import Size, Traced
from copperplate.standards.ampacity import column_of, columns, look_up, row_of
from copperplate.standards.conductors import area_mm2
from copperplate.standards.tables import OutsideTable, table
from copperplate.units import exceeds

if TYPE_CHECKING:
    from copperplate.standards.profile import Profile


@cache
def apply(
    profile: Profile,
    size: Size,
    insulation_c: float,
    ambient_c: float,
    engine_space: bool,
    nominal_v: float,
    loaded_conductors: int,
    laid: str,
) -> tuple[Traced, ...]:
    """The factors in order; see `Profile.factors`."""
    column = column_of(profile, insulation_c)
    found = [
        _air(profile, column, ambient_c, engine_space),
        _conduit(profile, size, column, laid),
        _bundle(profile, nominal_v, loaded_conductors, laid),
    ]
    kept = [f for f in found if f is not None]
    terminals = _terminals(profile, size, insulation_c, kept)
    return tuple([*kept, terminals] if terminals else kept)


def thermal(insulation_c: float, ambient_c: float, base_c: float) -> float:
    """sqrt((Tc - Ta) / (Tc - Tb)): current falls with the root of the temperature rise that is left.

    Tc the insulation's temperature, Ta the air, Tb the air that the ampacity table is for, all degC. The same
    formula stands behind NEC 310.15(B) equation and the IEC 60364-5-52 ambient factors. OutsideTable at or above
    the insulation's temperature."""
    if ambient_c >= insulation_c:
        raise OutsideTable(f"insulation rated {insulation_c:g} °C cannot work in air of {ambient_c:g} °C")
    return math.sqrt((insulation_c - ambient_c) / (insulation_c - base_c))


def _air(profile: Profile, column: float, ambient_c: float, engine_space: bool) -> Traced | None:
    """One factor for the air: the engine-space table, the ambient table or the thermal formula."""
    space_c = profile.figures["engine-space"].value
    space_table = profile.sheet.get("engine_space", {}).get("table")
    if engine_space and space_table:
        listed = _engine_space(profile, space_table, column)
        if ambient_c <= space_c:
            return listed
        hotter = _by_formula(profile, column, ambient_c)
        return min((listed, hotter), key=lambda f: f.value)
    air_c = max(ambient_c, space_c) if engine_space else ambient_c
    if profile.sheet["ambient"]["rule"] == "table":
        return _by_table(profile, column, air_c)
    return _by_formula(profile, column, air_c) if air_c > profile.sheet["ambient"]["base_c"] else None


def _by_formula(profile: Profile, column: float, ambient_c: float) -> Traced:
    base_c = profile.sheet["ambient"]["base_c"]
    return Traced(
        thermal(column, ambient_c, base_c), "", "ambient factor", "sqrt((Tc - Ta) / (Tc - Tb))",
        (("insulation Tc", column, "degC"), ("air Ta", ambient_c, "degC"), ("table's air Tb", base_c, "degC")),
        profile.sheet["ambient"]["source"], "computed",
    )  # fmt: skip


def _by_table(profile: Profile, column: float, ambient_c: float) -> Traced | None:
    """The row of the next hotter air listed; none needed at the table's own air."""
    read = table(profile.sheet["ambient"]["table"])
    heading = columns(read.header, "factor_").get(column)
    for cells in read.records:
        if ambient_c <= float(cells["ambient_max_c"]):
            if not heading or not cells[heading]:
                break
            if float(cells[heading]) == 1.0:
                return None
            return Traced(
                float(cells[heading]), "", "ambient factor", "table",
                (("insulation", column, "degC"), ("air", ambient_c, "degC")),
                f"{read.clause}, {column:g} °C, air to {cells['ambient_max_c']} °C",
                cells.get(f"status_{column:g}c") or cells["status"],
            )  # fmt: skip
    raise OutsideTable(f"{read.clause} gives no factor for insulation of {column:g} °C in air of {ambient_c:g} °C")


def _engine_space(profile: Profile, name: str, column: float) -> Traced:
    read = table(name)
    cells: Mapping[str, str] | None = next((r for r in read.records if float(r["insulation_c"]) == column), None)
    space_c = profile.figures["engine-space"].value
    if cells is None:
        raise OutsideTable(f"{read.clause} gives no engine-space factor for insulation of {column:g} °C")
    return Traced(
        float(cells["factor"]), "", "engine-space factor", "table",
        (("insulation", column, "degC"), ("air", space_c, "degC")), f"{read.clause}, {column:g} °C", cells["status"],
    )  # fmt: skip


def _conduit(profile: Profile, size: Size, column: float, laid: str) -> Traced | None:
    """Where the ampacity table is for conductors on a surface, those in conduit carry less: the ratio of the
    two methods' figures for the row."""
    name = profile.sheet["ampacity"].get("conduit_table")
    row = row_of(profile, size)
    if laid != "conduit" or not name or row is None:
        return None
    read, surface = table(name), look_up(profile, row, column)
    cells = next((r for r in read.records if r["area_mm2"] == row.number), None)
    if cells is None:
        raise OutsideTable(f"{read.clause} has no row for {row.label}")
    enclosed_a = float(cells[f"ampacity_{column:g}c_a"])
    return Traced(
        enclosed_a / surface.value, "", "conduit factor", "ampacity in conduit / ampacity on a surface",
        (("in conduit", enclosed_a, "A"), ("on a surface", surface.value, "A")),
        f"{read.clause}, {row.label}, {column:g} °C", cells["status"],
    )  # fmt: skip


def _bundle(profile: Profile, nominal_v: float, loaded: int, laid: str) -> Traced | None:
    rule = profile.sheet["bundle"]
    if nominal_v < rule.get("from_v", 0.0):
        return None
    if laid == "free-air" and not rule.get("free_air"):
        return None
    read = table(rule["table"])
    if rule["counts"] == "circuits":
        circuits = math.ceil(loaded / 2)
        arrangement = rule["free_air"] if laid == "free-air" else "bunched"
        if circuits < 2:
            return None
        cells = next(
            (r for r in read.records if r["arrangement"] == arrangement and int(r["circuits"]) >= circuits), None
        )
        inputs = (("circuits", float(circuits), ""), ("arrangement", arrangement, ""))
        where = f"{arrangement}, {circuits} circuits"
    else:
        cells = next((r for r in read.records if not r["conductors_max"] or int(r["conductors_max"]) >= loaded), None)
        inputs = (("loaded conductors", float(loaded), ""), ("laid", laid or "not stated", ""))
        where = f"{loaded} conductors"
    if cells is None:
        raise OutsideTable(f"{read.clause} has no row for {where}: part them into several routes")
    if float(cells["factor"]) == 1.0:
        return None
    return Traced(
        float(cells["factor"]), "", "bundle factor", "table", inputs, f"{read.clause}, {where}", cells["status"]
    )


def _terminals(profile: Profile, size: Size, insulation_c: float, applied: list[Traced]) -> Traced | None:
    """Terminals: the corrected ampacity, whatever the insulation and however cold the air, may not exceed the
    figure of the terminals' own column. Given as a last factor, so that the product is that figure."""
    found = _terminals_limit(profile, size)
    if found is None:
        return None
    rule, column, limit = found
    corrected_a = look_up(profile, size, insulation_c).value
    for factor in applied:
        corrected_a *= factor.value
    if corrected_a <= limit.value:
        return None
    ratio = limit.value / corrected_a
    while corrected_a * ratio < limit.value:
        ratio = math.nextafter(ratio, 2.0)
    return Traced(
        ratio, "", "terminal factor", "ampacity in the terminals' column / corrected ampacity",
        (("terminals", column, "degC"), ("limit", limit.value, "A"), ("corrected", corrected_a, "A")),
        f"{rule['source']}; {limit.source}", rule["status"],
    )  # fmt: skip


def _terminals_limit(profile: Profile, size: Size) -> tuple[Mapping[str, Any], float, Traced] | None:
    """The rule of terminals, their column and its ampacity; None where the profile has no such rule."""
    rule = profile.sheet.get("terminals")
    row = row_of(profile, size)
    if not rule or row is None:
        return None
    small = not exceeds(area_mm2(row), area_mm2(Size(rule["small_to"], "AWG")))
    column = float(rule["small_c"] if small else rule["large_c"])
    return rule, column, look_up(profile, row, column)


def unfactored_a(profile: Profile, size: Size, insulation_c: float) -> float:
    """See `Profile.unfactored_a`."""
    own_a, limit = look_up(profile, size, insulation_c).value, _terminals_limit(profile, size)
    return own_a if limit is None else min(own_a, limit[2].value)
