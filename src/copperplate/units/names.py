"""The closed list of units, their dimensions, and the unit that a reader probably meant."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from importlib.resources import files
from io import StringIO


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit: `name` as plates write it, its `dimension` in our words, and the straight line that takes a value in it
    to the unit that the model counts its dimension in."""

    name: str
    dimension: str
    slope: float
    offset: float = 0.0


UNITS: dict[str, Unit] = {
    name: Unit(name, dimension, slope)
    for dimension, units in {
        "voltage": {"V": 1.0, "mV": 0.001, "kV": 1000.0},
        "current": {"A": 1.0, "mA": 0.001, "kA": 1000.0},
        "power": {"W": 1.0, "mW": 0.001, "kW": 1000.0},
        "energy": {"Wh": 1.0, "kWh": 1000.0},
        "charge": {"Ah": 1.0, "mAh": 0.001},
        "resistance": {"ohm": 1.0, "mohm": 0.001, "uohm": 1e-6, "kohm": 1000.0},
        "length": {"m": 1.0, "cm": 0.01, "mm": 0.001, "km": 1000.0, "ft": 0.3048, "in": 0.0254},
        "area": {"mm2": 1.0},
        "temperature": {"degC": 1.0, "degF": 5 / 9},
        "share": {"%": 0.01, "min/h": 1 / 60},
        "share-per-kelvin": {"%/K": 0.01, "%/degC": 0.01},
        "time": {"h": 1.0, "min": 1 / 60, "s": 1 / 3600},
        "frequency": {"Hz": 1.0, "kHz": 1000.0},
        "torque": {"Nm": 1.0},
        "mass": {"kg": 1.0, "g": 0.001},
    }.items()
    for name, slope in units.items()
}
"""Every unit by its name. Case counts: `mA` is one, `MA` is none. The foot and the inch: international yard and pound
agreement of 1959."""
UNITS["degF"] = replace(UNITS["degF"], offset=-160 / 9)

SIZE_SYSTEMS: tuple[str, ...] = ("AWG", "SAE", "mm2")
"""What stands behind the number of a conductor size. They are names of sizes, not units to convert."""


_CURRENCY = re.compile("[A-Z]{3}(/(m|ft))?")


def _rows(name: str) -> Iterator[list[str]]:
    """The rows of a table beside this module, without its head."""
    rows = csv.reader(StringIO((files("copperplate.units") / f"{name}.csv").read_text("utf-8")))
    next(rows)
    return rows


_WORDS = list(_rows("words"))
_READ: dict[str, dict[str, str]] = {
    reading: {word: unit for word, unit, own in _WORDS if own == reading}
    for reading in ("as it stands", "certain", "likely")
}
"""Words in place of a unit: symbols as they stand (of the Greek letter, the sign for ohm and the micro sign there are
look-alikes with other code points); words in small letters that leave no doubt; and those that may stand for a unit,
and for something else."""
_OTHERS: dict[str, tuple[float, str, str]] = {
    word: (float(factor), unit, remark) for word, factor, unit, remark in _rows("others")
}
"""Units that plates do not count in: how many of the unit beside, and what to know of it. The foot, the yard and the
mile by definition; the horsepower of 550 ft lbf/s and the metric one; the BTU of the international table."""


def converted(number: float, unit: str) -> tuple[float, str, str] | None:
    """A number of a unit that plates do not count in, in one that they do, with a remark: (1609.344, "m", "") for one
    mile; None for any other word."""
    lower = unit.lower()
    factor, name, remark = _OTHERS.get(lower) or _OTHERS.get(lower.removesuffix("s")) or (0.0, "", "")
    return (number * factor, name, remark) if name else None


_SMALL = {name.lower(): name for name in (*UNITS, *SIZE_SYSTEMS) if name != "Nm"}
"""Units by their small letters, where capitals make no other one: `MA` is no mA, and `H`, `S`, `G` have meanings of
their own."""


def normal(unit: str) -> str:
    """`unit` in the spelling of the list: `mm²` -> `mm2`, `°C` -> `degC`, `amps` -> `A`, `awg` -> `AWG`; anything else
    as it is."""
    if unit in UNITS:
        return unit
    spelled = _READ["as it stands"].get(unit) or _READ["certain"].get(unit.lower())
    if spelled is None and unit[:1] not in ("M", "H", "S", "G"):
        spelled = _SMALL.get(unit.lower())
    return spelled or unit


def is_price(unit: str) -> bool:
    """Whether a unit is a currency of three capitals, or one by the length: `EUR`, `EUR/m`."""
    return _CURRENCY.fullmatch(unit) is not None and unit not in SIZE_SYSTEMS


def dimension_of(unit: str) -> str | None:
    """The dimension of a unit of the list ("voltage", "length", ...), or None for any other word."""
    if is_price(unit):
        return "price"
    entry = UNITS.get(unit)
    return entry.dimension if entry else None


def suggest(unit: str) -> str | None:
    """The unit or size system that the reader probably meant: `MA` -> `mA`, `amps` -> `A`, `awg` -> `AWG`."""
    lower, known = unit.lower(), normal(unit)
    return known if known in UNITS or known in SIZE_SYSTEMS else _READ["likely"].get(lower) or _SMALL.get(lower)


def local(unit: str, units: str) -> str:
    """The unit that readers of a plate see for one of ours: feet for metres where `units` are "us"."""
    return {"m": "ft", "degC": "degF"}.get(unit, unit) if units == "us" else unit
