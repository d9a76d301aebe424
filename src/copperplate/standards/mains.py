"""Mains supplies as they are usual: what a plate need not say of one."""

from __future__ import annotations

from typing import NamedTuple

from copperplate.standards.tables import table


class Mains(NamedTuple):
    """The volts of a line to neutral, and the frequency."""

    line_v: float
    frequency_hz: float


def mains(ac: str) -> Mains:
    """The supply that a plate calls "120", "230" or "120/240"; KeyError for another."""
    rows = {row["ac"]: row for row in table("practice/mains").records}
    return Mains(float(rows[ac]["line_v"]), float(rows[ac]["frequency_hz"]))
