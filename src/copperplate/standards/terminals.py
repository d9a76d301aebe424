"""What goes on the ends of conductors: threads of studs, ring lugs by size and stud, ferrules by DIN 46228-4."""

from __future__ import annotations

from copperplate.model import Size
from copperplate.standards.conductors import area_mm2
from copperplate.standards.tables import table
from copperplate.units import suffices


def threads() -> tuple[str, ...]:
    """Every thread of a stud by the name that a plate gives it: "M8", "no-10", "3/8 in"."""
    return tuple(row["thread"] for row in table("practice/threads").records)


def lug(size: Size, stud: str) -> str:
    """The ring lug for a conductor on a stud: "ring lug 2/0 AWG, M10". Without a stud nothing is known of the terminal,
    and its maker tells which of both it takes: "lug or ferrule 2/0 AWG"."""
    return f"ring lug {size.label}, {stud}" if stud else f"lug or ferrule {size.label}"


def ferrule(size: Size) -> str:
    """The insulated ferrule for a conductor in a clamp: "ferrule 2.5 mm², 8 mm, blue"; "" where DIN 46228-4 has
    none so large. The smallest sleeve whose area is not below the conductor's."""
    for row in table("din/46228-4").records:
        if suffices(float(row["area_mm2"]), area_mm2(size)):
            return f"ferrule {row['area_mm2']} mm², {row['length_mm']} mm, {row['colour']}"
    return ""
