"""Resistance by which a profile judges voltage drop: its own convention, beside the physical figure."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

from copperplate.model import Size, Traced
from copperplate.standards.conductors import FOOT_M, area_mm2, circular_mil, tinned_ratio
from copperplate.standards.tables import table

if TYPE_CHECKING:
    from copperplate.standards.profile import Profile


@cache
def ohm_per_m(profile: Profile, size: Size, tinned: bool) -> Traced:
    """Ohm per metre of one conductor by the profile's rule; see `Profile.judged_ohm_per_m`.

    Circular mil: K / CM per foot. Area: constant / mm². Table: the building code's figure at 75 °C, coated copper
    for tinned wire; a size without a row by the constant K that the table itself amounts to."""
    rule = profile.sheet["judged"]["rule"]
    constant = profile.figures["judged"]
    if rule == "area":
        return Traced(
            constant.value / area_mm2(size), "ohm/m", "judged resistance", "constant / area",
            (("constant", constant.value, constant.unit), ("area", area_mm2(size), "mm2")),
            constant.source, constant.status,
        )  # fmt: skip
    if rule == "table" and size.system == "AWG":
        read = table(profile.sheet["judged"]["table"])
        cells = next((r for r in reversed(read.records) if r["awg"] == size.number), None)
        if cells is not None:
            heading = "coated_ohm_per_kft" if tinned else "uncoated_ohm_per_kft"
            return Traced(
                float(cells[heading]) / (1000 * FOOT_M), "ohm/m", "judged resistance", "table",
                (("table", float(cells[heading]), "ohm/kft"),),
                f"{read.clause}, {size.label}, {cells['strands']} strands, {'coated' if tinned else 'uncoated'}",
                cells["status"],
            )  # fmt: skip
    ratio = tinned_ratio(size) if tinned and rule == "table" else 1.0
    return Traced(
        ratio * constant.value / circular_mil(size) / FOOT_M, "ohm/m", "judged resistance", "K / circular mil",
        (("K", constant.value, constant.unit), ("area", circular_mil(size), "cmil")),
        constant.source, constant.status,
    )  # fmt: skip
