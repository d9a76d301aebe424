"""What goes on the ends of conductors: ring lugs by size and stud, ferrules by DIN 46228-4, studs."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from copperplate.model import Size
from copperplate.standards.conductors import area_mm2
from copperplate.standards.tables import table


@dataclass(frozen=True, slots=True)
class Stud:
    """A stud: thread and lug hole in mm, torque in N·m as its table prints it ("" where none was read), and the
    current that a clamped stud of a terminal block is given (None where none was read)."""

    name: str
    diameter_mm: float
    lug_hole_mm: float
    torque_brass_nm: str
    torque_steel_nm: str
    clamped_current_a: float | None
    status: str


@cache
def studs() -> dict[str, Stud]:
    """Every stud by the name that a plate gives it: "M8", "no-10", "3/8 in"."""
    return {
        r["stud"]: Stud(
            r["stud"],
            float(r["diameter_mm"]),
            float(r["lug_hole_mm"]),
            r["torque_brass_nm"],
            r["torque_steel_8_8_nm"],
            float(r["clamped_current_a"]) if r["clamped_current_a"] else None,
            r["status"],
        )
        for r in table("practice/studs").records
    }


def stud_names() -> tuple[str, ...]:
    """The names of studs, as plates write them."""
    return tuple(studs())


def stud_diameter_mm(name: str) -> float:
    """Thread diameter; KeyError for an unknown stud."""
    return studs()[name].diameter_mm


def lug(size: Size, stud: str) -> str:
    """The ring lug for a conductor on a stud: "ring lug 2/0 AWG, M10". Without a stud nothing is known of the terminal,
    and its maker tells which of both it takes: "lug or ferrule 2/0 AWG"."""
    return f"ring lug {size.label}, {stud}" if stud else f"lug or ferrule {size.label}"


def ferrule(size: Size) -> str:
    """The insulated ferrule for a conductor in a clamp: "ferrule 2.5 mm², 8 mm, blue"; "" where DIN 46228-4 has
    none so large. The smallest sleeve whose area is not below the conductor's."""
    for row in table("din/46228-4").records:
        if float(row["area_mm2"]) >= area_mm2(size) * 0.9999:
            return f"ferrule {row['area_mm2']} mm², {row['length_mm']} mm, {row['colour']}"
    return ""
