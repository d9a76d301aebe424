"""Open-circuit voltage of a solar string in the cold, where the module's own coefficient is not known."""

from __future__ import annotations

from copperplate.model import Traced
from copperplate.standards.tables import OutsideTable, table


def cold_voc_factor(coldest_c: float) -> Traced:
    """Factor on the open-circuit voltage of crystalline silicon: NEC Table 690.7(A). 1.0 from 25 °C, the
    temperature of the rating; between whole degrees the colder row; OutsideTable below -40 °C."""
    read = table("nec/690-7-a")
    if coldest_c >= 25.0:
        return Traced(1.0, "", "cold voltage factor", "none needed", (), read.clause, read.records[0]["status"])
    for row in read.records:
        if coldest_c >= float(row["ambient_min_c"]):
            return Traced(
                float(row["voc_factor"]), "", "cold voltage factor", "table", (("coldest", coldest_c, "degC"),),
                f"{read.clause}, {row['ambient_min_c']} to {row['ambient_max_c']} °C", row["status"],
            )  # fmt: skip
    raise OutsideTable(f"{read.clause} ends at {read.records[-1]['ambient_min_c']} °C; state the module's coefficient")


RATED_AT_C = 25.0
"""Temperature of a module's ratings (standard test conditions, IEC 60904-3)."""


def cold_string_v(voc_v: float, series: int, coefficient_per_k: float | None, coldest_c: float) -> Traced:
    """Open-circuit volts of a string of `series` modules at its coldest: Voc (1 + coefficient (T - 25 °C)) each, or
    Voc times the factor of NEC Table 690.7(A) where the module's coefficient is not known (NEC 690.7(A) asks for
    the coefficient where there is one). OutsideTable below -40 °C without a coefficient."""
    inputs: tuple[tuple[str, float | str, str], ...] = (("voc", voc_v, "V"), ("in series", float(series), ""))
    if coefficient_per_k is not None:
        warmer = 1 + coefficient_per_k * (coldest_c - RATED_AT_C)
        return Traced(
            voc_v * series * max(1.0, warmer), "V", "string voltage at its coldest", "n Voc (1 + b (T - 25))",
            (*inputs, ("b", coefficient_per_k * 100, "%/K"), ("T", coldest_c, "degC")), "NEC 690.7(A)", "verified",
        )  # fmt: skip
    factor = cold_voc_factor(coldest_c)
    return Traced(
        voc_v * series * factor.value, "V", "string voltage at its coldest", "n Voc x cold factor",
        (*inputs, ("factor", factor.value, ""), ("T", coldest_c, "degC")), factor.source, factor.status,
    )  # fmt: skip
