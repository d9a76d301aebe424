"""Heating of a conductor by a fault too short to lose heat: I²t not above k²S²."""

from __future__ import annotations

import math

from copperplate.model import Traced
from copperplate.standards.tables import table


def adiabatic_k(insulation_c: float) -> Traced:
    """k in A s^½/mm² of a copper conductor that is at its insulation's temperature when the fault begins.

    IEC 60364-5-54 annex A for copper: k = 226 sqrt(ln(1 + (final - initial) / (234.5 + initial))). The plate says
    what temperature the insulation is for and not what it is made of, so the final temperature is the lowest of
    those in use.
    """
    final_c = final_temperature_c(insulation_c)
    # Insulation said to be for more than any final temperature known here is credited with no fault at all.
    rise_c = max(final_c - insulation_c, 0.0)
    value = 226.0 * math.sqrt(math.log1p(rise_c / (234.5 + insulation_c)))
    return Traced(
        value, "A s^0.5/mm2", "adiabatic k", "226 sqrt(ln(1 + (final - initial) / (234.5 + initial)))",
        (("initial", float(insulation_c), "degC"), ("final", final_c, "degC")),
        "IEC 60364-5-54 annex A", "computed",
    )  # fmt: skip


def brief_a(insulation_c: float, area_mm2: float, seconds: float) -> float:
    """The current that a conductor at its insulation's temperature may carry for so long, amperes: kS/sqrt(t)."""
    return adiabatic_k(insulation_c).value * area_mm2 / math.sqrt(seconds)


def carries_a(ampacity_a: float, parallel: int, insulation_c: float, area_mm2: float, brief_s: float | None) -> float:
    """What a run of several conductors in parallel carries, amperes: its ampacity, or where it carries loads for
    `brief_s` seconds what it may carry for so long, if that is more."""
    briefly_a = parallel * brief_a(insulation_c, area_mm2, brief_s) if brief_s is not None else 0.0
    return max(ampacity_a, briefly_a)


def final_temperature_c(insulation_c: float) -> float:
    """Temperature that insulation of this class stands at the end of a fault, °C; see `adiabatic_k`."""
    rows = table("iec/60364-5-54-final").records
    return next(float(r["final_c"]) for r in rows if insulation_c <= float(r["insulation_to_c"] or "inf"))
