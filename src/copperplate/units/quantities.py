"""Figures as quantities of pint, for programs that compute on with a design. The only module that imports pint, and
only when a quantity is asked for."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pint import Quantity

ENDINGS: dict[str, str] = {
    "mm2_m": "millimeter ** 2 * meter",
    "a2s": "ampere ** 2 * second",
    "per_k": "1 / kelvin",
    "percent": "percent",
    "share": "dimensionless",
    "days": "day",
    "mm2": "millimeter ** 2",
    "ohm": "ohm",
    "kg": "kilogram",
    "ah": "ampere_hour",
    "wh": "watt_hour",
    "v": "volt",
    "a": "ampere",
    "w": "watt",
    "m": "meter",
    "c": "degree_Celsius",
    "h": "hour",
    "s": "second",
}
"""What a figure is counted in, by how the name of its field ends, as pint names it; longer endings first."""


class Measured:
    """A value whose fields are figures with the unit in the name."""

    def quantity(self, figure: str, at: str = "") -> Quantity:
        """A figure with its unit, in the registry that the whole program uses (`pint.get_application_registry`).

        `figure` is the field's name, and `at` the key where it holds several: `load.quantity("drop_v")`,
        `device.quantity("current_a", "in use")`, `source.quantity("limits", "max_charge_a")`. Raises AttributeError
        for no field, KeyError for no key, ValueError for no figure with a unit or one that is not known."""
        from pint import get_application_registry

        unit = _unit(figure) or _unit(at)
        value = getattr(self, figure)
        if isinstance(value, Mapping):
            value = value[at]
        if unit is None or not isinstance(value, (int, float)):
            raise ValueError(f"{figure} is {'not known' if unit else 'no figure with a unit'}")
        return get_application_registry().Quantity(value, unit)


def _unit(name: str) -> str | None:
    return next((unit for ending, unit in ENDINGS.items() if f"_{name}".endswith(f"_{ending}")), None)
