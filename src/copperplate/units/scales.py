"""Slope and offset of every unit of the list, as pint makes them of `definitions.txt`.

They are kept here because loading pint costs a third of a whole `check`; a test makes them anew and compares."""

from __future__ import annotations

SCALES: dict[str, tuple[float, float]] = {
    "V": (1.0, 0.0), "mV": (0.001, 0.0), "kV": (1000.0, 0.0),
    "A": (1.0, 0.0), "mA": (0.001, 0.0), "kA": (1000.0, 0.0),
    "W": (1.0, 0.0), "mW": (0.001, 0.0), "kW": (1000.0, 0.0),
    "Wh": (1.0, 0.0), "kWh": (1000.0, 0.0), "Ah": (1.0, 0.0), "mAh": (0.001, 0.0),
    "ohm": (1.0, 0.0), "mohm": (0.001, 0.0), "uohm": (1e-06, 0.0), "kohm": (1000.0, 0.0),
    "m": (1.0, 0.0), "cm": (0.01, 0.0), "mm": (0.001, 0.0), "km": (1000.0, 0.0),
    "ft": (0.3048, 0.0), "in": (0.0254, 0.0), "mm2": (1.0, 0.0),
    "degC": (1.0, 0.0), "degF": (0.5555555555555557, -17.777777777777743),
    "%": (0.01, 0.0), "%/K": (0.01, 0.0), "%/degC": (0.01, 0.0),
    "h": (1.0, 0.0), "min": (0.016666666666666666, 0.0), "s": (0.0002777777777777778, 0.0),
    "Hz": (1.0, 0.0), "kHz": (1000.0, 0.0), "Nm": (1.0, 0.0), "kg": (1.0, 0.0), "g": (0.001, 0.0),
}  # fmt: skip
"""By unit: what takes a value in it to the unit that the model counts its dimension in."""
