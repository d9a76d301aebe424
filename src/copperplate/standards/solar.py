"""Open-circuit voltage of a solar string in the cold, where the module's own coefficient is not known."""

from __future__ import annotations

from copperplate.model import Traced
from copperplate.standards.profile import Profile
from copperplate.standards.tables import OutsideTable, table

RATED_AT_C = 25.0
"""Temperature of a module's ratings (standard test conditions, IEC 60904-3)."""


def cold_voc_factor(coldest_c: float, name: str = "nec/690-7-a") -> Traced:
    """Factor on the open-circuit voltage of crystalline silicon by the table of this name. 1.0 from 25 °C, the
    temperature of the rating; between whole degrees the colder row; OutsideTable below the last one."""
    read = table(name)
    if coldest_c >= RATED_AT_C:
        return Traced(1.0, "", "cold voltage factor", "none needed", (), read.clause, read.records[0]["status"])
    for row in read.records:
        if coldest_c >= float(row["ambient_min_c"]):
            return Traced(
                float(row["voc_factor"]), "", "cold voltage factor", "table", (("coldest", coldest_c, "degC"),),
                f"{read.clause}, {row['ambient_min_c']} to {row['ambient_max_c']} °C", row["status"],
            )  # fmt: skip
    raise OutsideTable(f"{read.clause} ends at {read.records[-1]['ambient_min_c']} °C; state the module's coefficient")


def cold_string_v(
    profile: Profile, voc_v: float, series: int, coefficient_per_k: float | None, coldest_c: float | None
) -> Traced:
    """Open-circuit volts of a string of `series` modules at its coldest: Voc (1 + coefficient (T - 25 °C)) each, or
    Voc times the factor of the profile's table where the module's coefficient is not known (NEC 690.7(A) asks for the
    coefficient where there is one). `coldest_c` None, or colder than that table: the profile's coldest."""
    taken_c = profile.figures["coldest"].value
    coldest = taken_c if coldest_c is None else coldest_c
    inputs: tuple[tuple[str, float | str, str], ...] = (("voc", voc_v, "V"), ("in series", float(series), ""))
    if coefficient_per_k is not None:
        warmer = 1 + coefficient_per_k * (coldest - RATED_AT_C)
        return Traced(
            voc_v * series * max(1.0, warmer), "V", "string voltage at its coldest", "n Voc (1 + b (T - 25))",
            (*inputs, ("b", coefficient_per_k * 100, "%/K"), ("T", coldest, "degC")),
            profile.clauses["solar-voltage"], "verified",
        )  # fmt: skip
    name = profile.sheet["solar"]["table"]
    try:
        factor = cold_voc_factor(coldest, name)
    except OutsideTable:
        coldest, factor = taken_c, cold_voc_factor(taken_c, name)
    return Traced(
        voc_v * series * factor.value, "V", "string voltage at its coldest", "n Voc x cold factor",
        (*inputs, ("factor", factor.value, ""), ("T", coldest, "degC")), factor.source, factor.status,
    )  # fmt: skip
