"""Units: the closed list, conversion, numbers as readers see them, quantities of pint. Floor 0."""

from copperplate.units.conversion import clean, from_si, to_si
from copperplate.units.names import SIZE_SYSTEMS, UNITS, Unit, converted, dimension_of, is_price, local, normal, suggest
from copperplate.units.printing import beside, counted, enough, number, show, symbol
from copperplate.units.quantities import Measured
from copperplate.units.tolerance import NOISE, TOLERANCE, exceeds, suffices

__all__ = [
    "NOISE", "SIZE_SYSTEMS", "TOLERANCE", "UNITS", "Measured", "Unit", "beside", "clean", "converted",
    "counted", "dimension_of", "enough", "exceeds", "from_si", "is_price", "local", "normal", "number", "show",
    "suffices", "suggest", "symbol", "to_si",
]  # fmt: skip
