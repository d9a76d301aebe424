"""Conductor sizes: the series, cross-sections, resistance and weight of copper.

AWG: ASTM B258, diameter 0.127 mm x 92^((36 - n)/39), a solid of that diameter (a stranded conductor has the same
metal area). SAE: the published minimum areas, 3 to 11 % below AWG of the same number. mm²: IEC 60228, whose class
5 (flexible) resistances rule and not the nominal area.
"""

from __future__ import annotations

import math
from functools import cache

from copperplate.model import Size, SizeSystem
from copperplate.standards.tables import table

SYSTEMS: dict[str, SizeSystem] = {"awg": "AWG", "sae": "SAE", "mm2": "mm2"}

FOOT_M = 0.3048
CIRCULAR_MIL_MM2 = math.pi / 4 * 0.0254**2
"""Area of a circle of one thousandth of an inch, in mm² (definition)."""

RESISTIVITY_20C = 1 / 58
"""Annealed copper of 100 % IACS at 20 °C, ohm mm²/m: NBS Handbook 100 (1966), IEC 60028."""
TEMPERATURE_COEFFICIENT = 0.00393
"""Of that copper, referred to 20 °C, per kelvin: NBS Handbook 100, IEC 60028."""
DENSITY = 8.89
"""Of that copper, g/cm³, which is also kg per 1000 mm²·m: NBS Handbook 100."""


def awg_number(number: str) -> int:
    """The n of the gauge formula: "12" -> 12, "1/0" -> 0, "4/0" -> -3."""
    return 1 - int(number[:-2]) if number.endswith("/0") else int(number)


@cache
def series_sizes(series: str) -> tuple[Size, ...]:
    """Every size of "awg", "sae" or "mm2" that a table here knows, by ascending area."""
    system = SYSTEMS[series]
    name = {"awg": "astm/b258", "sae": "sae/conductor-area", "mm2": "iec/60228"}[series]
    return tuple(Size(row[0], system) for row in table(name).rows)


LARGEST: dict[str, Size] = {"awg": Size("4/0", "AWG"), "sae": Size("4/0", "SAE"), "mm2": Size("150", "mm2")}
"""The largest size of each series that is shipped."""


@cache
def area_mm2(size: Size) -> float:
    """Cross-section of the copper in mm²; KeyError for an SAE size that no table holds."""
    if size.system == "mm2":
        return float(size.number)
    if size.system == "AWG":
        diameter_mm = 0.127 * 92 ** ((36 - awg_number(size.number)) / 39)
        return math.pi / 4 * diameter_mm**2
    return _sae_circular_mil()[size.number] * CIRCULAR_MIL_MM2


def circular_mil(size: Size) -> float:
    """Cross-section in circular mil."""
    return area_mm2(size) / CIRCULAR_MIL_MM2


def ohm_per_m(size: Size, temperature_c: float = 20.0, tinned: bool = False) -> float:
    """Physical DC resistance of one conductor, ohm per metre at `temperature_c`.

    AWG and SAE: 1/58 ohm mm²/m over the area, and for tinned strands the ratio of coated to uncoated copper in
    NEC chapter 9 table 8. mm²: IEC 60228 class 5, plain or tinned. Sizes in mm² outside IEC 60228 by their area.
    """
    warm = 1 + TEMPERATURE_COEFFICIENT * (temperature_c - 20.0)
    if size.system == "mm2" and size.number in _iec_60228():
        return _iec_60228()[size.number][tinned] * warm
    cold = RESISTIVITY_20C / area_mm2(size)
    return cold * warm * (tinned_ratio(size) if tinned else 1.0)


@cache
def tinned_ratio(size: Size) -> float:
    """Resistance of tinned over plain copper: NEC chapter 9 table 8, coated over uncoated, stranded.

    A size between rows takes the ratio of the next thinner row, whose share of tin is larger; one thinner than
    18 AWG takes that of 18 AWG."""
    rows = [r for r in table("nec/chapter-9-table-8").records if int(r["strands"]) > 1]
    fitting = [r for r in rows if float(r["area_circular_mil"]) <= 1.005 * circular_mil(size)] or rows[:1]
    return float(fitting[-1]["coated_ohm_per_kft"]) / float(fitting[-1]["uncoated_ohm_per_kft"])


def kg_per_m(size: Size) -> float:
    """Weight of the copper of one metre, kilograms, without insulation."""
    return area_mm2(size) * DENSITY / 1000.0


def size_from(number: str, system: str) -> Size | None:
    """The size that a plate calls `number` of `system` ("AWG", "SAE", "mm2"; case and 0, 00 tolerated), or None
    where no such size exists. "2.50 mm2" is 2.5 mm²."""
    series = system.lower().replace("mm²", "mm2")
    if series not in SYSTEMS:
        return None
    number = number.strip()
    if series == "mm2":
        try:
            number = f"{float(number):g}"
        except ValueError:
            return None
    elif number and set(number) == {"0"}:
        number = f"{len(number)}/0"
    return next((size for size in series_sizes(series) if size.number == number), None)


@cache
def _sae_circular_mil() -> dict[str, float]:
    return {row["sae"]: float(row["area_circular_mil"]) for row in table("sae/conductor-area").records}


@cache
def _iec_60228() -> dict[str, tuple[float, float]]:
    """Ohm per metre at 20 °C by nominal area, class 5: (plain, tinned)."""
    return {
        row["area_mm2"]: (float(row["class5_plain_ohm_per_km"]) / 1000, float(row["class5_tinned_ohm_per_km"]) / 1000)
        for row in table("iec/60228").records
    }
