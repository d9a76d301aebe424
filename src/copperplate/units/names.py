"""The closed list of units, their dimensions, and the unit that a reader probably meant."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit: `name` as plates write it, its `dimension` in our words, its name in the definition file."""

    name: str
    dimension: str
    definition: str


UNITS: dict[str, Unit] = {
    name: Unit(name, dimension, definition)
    for dimension, units in {
        "voltage": {"V": "volt", "mV": "millivolt", "kV": "kilovolt"},
        "current": {"A": "ampere", "mA": "milliampere", "kA": "kiloampere"},
        "power": {"W": "watt", "mW": "milliwatt", "kW": "kilowatt"},
        "energy": {"Wh": "watt_hour", "kWh": "kilowatt_hour"},
        "charge": {"Ah": "ampere_hour", "mAh": "milliampere_hour"},
        "resistance": {"ohm": "ohm", "mohm": "milliohm", "uohm": "microohm", "kohm": "kiloohm"},
        "length": {
            "m": "meter", "cm": "centimeter", "mm": "millimeter", "km": "kilometer", "ft": "foot", "in": "inch",
        },
        "area": {"mm2": "square_millimeter"},
        "temperature": {"degC": "degree_Celsius", "degF": "degree_Fahrenheit"},
        "share": {"%": "percent"},
        "share-per-kelvin": {"%/K": "percent / kelvin", "%/degC": "percent / kelvin"},
        "time": {"h": "hour", "min": "minute", "s": "second"},
        "frequency": {"Hz": "hertz", "kHz": "kilohertz"},
        "torque": {"Nm": "newton_meter"},
        "mass": {"kg": "kilogram", "g": "gram"},
    }.items()
    for name, definition in units.items()
}  # fmt: skip
"""Every unit by its name. Case counts: `mA` is one, `MA` is none."""

INTERNAL: dict[str, str] = {
    "voltage": "V",
    "current": "A",
    "power": "W",
    "energy": "Wh",
    "charge": "Ah",
    "resistance": "ohm",
    "length": "m",
    "area": "mm2",
    "temperature": "degC",
    "share": "",
    "share-per-kelvin": "",
    "time": "h",
    "frequency": "Hz",
    "torque": "Nm",
    "mass": "kg",
}
"""The unit that the model counts each dimension in; "" is a plain ratio (0.03 for 3 %)."""

SIZE_SYSTEMS: tuple[str, ...] = ("AWG", "SAE", "mm2")
"""What stands behind the number of a conductor size. They are names of sizes, not units to convert."""

_SPELLINGS: dict[str, str] = {
    "mm²": "mm2", "sqmm": "mm2", "mm^2": "mm2", "°C": "degC", "ºC": "degC", "℃": "degC", "°F": "degF",
    "ºF": "degF", "℉": "degF", "%/°C": "%/degC", "%/ºC": "%/degC", "%/℃": "%/degC",
    "Ω": "ohm", "mΩ": "mohm", "µΩ": "uohm", "μΩ": "uohm", "kΩ": "kohm",
}  # fmt: skip
# The Greek letter, the sign for ohm and the micro sign have look-alikes with other code points.
_SPELLINGS |= {name.replace("\u03a9", "\u2126"): unit for name, unit in _SPELLINGS.items()}

_MEANT: dict[str, str] = {
    "volt": "V", "volts": "V", "vdc": "V", "vac": "V", "amp": "A", "amps": "A", "ampere": "A", "amperes": "A",
    "adc": "A", "milliamp": "mA", "milliamps": "mA", "watt": "W", "watts": "W", "kilowatt": "kW",
    "kilowatts": "kW", "w/h": "Wh", "a/h": "Ah", "amp-hours": "Ah", "ohms": "ohm", "milliohm": "mohm",
    "milliohms": "mohm", "r": "ohm", "metre": "m", "metres": "m", "meter": "m", "meters": "m", "mtr": "m",
    "millimetre": "mm", "millimetres": "mm", "millimeter": "mm", "millimeters": "mm", "foot": "ft",
    "feet": "ft", "'": "ft", "′": "ft", "’": "ft", "inch": "in", "inches": "in", '"': "in", "″": "in", "”": "in",
    "c": "degC", "celsius": "degC", "°": "degC", "º": "degC", "deg": "degC", "f": "degF", "fahrenheit": "degF",
    "percent": "%", "pct": "%", "%/c": "%/K", "hour": "h", "hours": "h", "hr": "h", "hrs": "h", "minute": "min",
    "minutes": "min", "mins": "min", "sec": "s", "second": "s", "seconds": "s", "hertz": "Hz", "cycles": "Hz",
    "n-m": "Nm", "kilo": "kg", "kilos": "kg", "gauge": "AWG", "ga": "AWG", "gage": "AWG", "sq": "mm2",
    "mmsq": "mm2", "qmm": "mm2",
}  # fmt: skip


_OTHERS: dict[str, tuple[float, str, str]] = {
    "hp": (745.6999, "W", "at the shaft; a motor draws more: state what it draws"),
    "ps": (735.4988, "W", "at the shaft; a motor draws more: state what it draws"),
    "va": (1.0, "W", "at a power factor of 1: state what it draws"),
    "kva": (1000.0, "W", "at a power factor of 1: state what it draws"),
    "btu/h": (0.2930711, "W", ""),
    "mile": (1609.344, "m", ""),
    "yard": (0.9144, "m", ""),
    "yd": (0.9144, "m", ""),
    "mi": (1609.344, "m", ""),
}
"""Units that plates do not count in: how many of the unit beside, and what to know of it. The foot, the yard and the
mile by definition; the horsepower of 550 ft lbf/s and the metric one; the BTU of the international table."""


def converted(number: float, unit: str) -> tuple[float, str, str] | None:
    """A number of a unit that plates do not count in, in one that they do, with a remark: (1609.344, "m", "") for one
    mile; None for any other word."""
    lower = unit.lower()
    factor, name, remark = _OTHERS.get(lower) or _OTHERS.get(lower.removesuffix("s")) or (0.0, "", "")
    return (number * factor, name, remark) if name else None


def normal(unit: str) -> str:
    """`unit` in the spelling of the list: `mm²` -> `mm2`, `°C` -> `degC`; anything else as it is."""
    return _SPELLINGS.get(unit, unit)


def dimension_of(unit: str) -> str | None:
    """The dimension of a unit of the list ("voltage", "length", ...), or None for any other word."""
    entry = UNITS.get(unit)
    return entry.dimension if entry else None


def suggest(unit: str) -> str | None:
    """The unit or size system that the reader probably meant: `MA` -> `mA`, `amps` -> `A`, `awg` -> `AWG`."""
    lower = unit.lower()
    if lower in _MEANT:
        return _MEANT[lower]
    for name in (*UNITS, *SIZE_SYSTEMS):
        if name.lower() == lower:
            return name
    return None
