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
