"""Units: the closed list, conversion, and numbers as readers see them. Floor 0; the only importer of pint."""

from copperplate.units.conversion import from_si, to_si
from copperplate.units.names import INTERNAL, SIZE_SYSTEMS, UNITS, Unit, converted, dimension_of, normal, suggest
from copperplate.units.printing import beside, enough, number, show

__all__ = [
    "INTERNAL",
    "SIZE_SYSTEMS",
    "UNITS",
    "Unit",
    "beside",
    "converted",
    "dimension_of",
    "enough",
    "from_si",
    "normal",
    "number",
    "show",
    "suggest",
    "to_si",
]
