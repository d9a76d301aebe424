"""Batteries by chemistry: the defaults taken where a plate leaves a figure out. Each is an assumption that the
report lists; a battery's own data sheet goes before any of them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from copperplate.model import Battery, Traced
from copperplate.standards.tables import table

DEFAULT_CHEMISTRY = "flooded"
"""Taken for a battery whose plate names none: the lowest voltage in use and the highest while charging."""
DEFAULT_V = 12.0
"""Nominal voltage of a battery whose plate states none."""


@dataclass(frozen=True, slots=True)
class Chemistry:
    """Figures of a battery of some nominal voltage.

    `low_v` terminal voltage at the low end of use, `high_v` the highest (while charging), `full_v` at the end of
    charging, `charge_low_v` the lowest voltage that charges it fully, `emf_full_v` e.m.f. fully charged; shares
    of 1. `block_v` is the nominal voltage of a 12 V block; `fault_range` says what is usual in words, for the help of a
    finding."""

    id: str
    title: str
    nominal_v: float
    block_v: float
    low_v: Traced
    high_v: Traced
    full_v: Traced
    charge_low_v: Traced
    emf_full_v: Traced
    usable_share: Traced
    charge_efficiency: Traced
    fault_range: str
    top_a_per_ah: float
    """The top of that range for each ampere-hour of capacity; `top_a` that of a block without a stated capacity."""
    top_a: float

    def fault_top_a(self, capacity_ah: float | None) -> float:
        """The top of the usual range of the fault current of one battery: what is taken until its maker answers."""
        return max(self.top_a, self.top_a_per_ah * (capacity_ah or 0.0))


def chemistry_of(battery: Battery) -> Chemistry:
    """Figures of the chemistry of one battery of a bank."""
    return chemistry(battery.chemistry or DEFAULT_CHEMISTRY, battery.voltage_v or DEFAULT_V)


def nominal_voltages() -> tuple[float, ...]:
    """The nominal voltages that batteries have, ascending."""
    return tuple(float(row["nominal_v"]) for row in table("batteries/nominal").records)


@cache
def chemistry(name: str, nominal_v: float = 12.0) -> Chemistry:
    """Figures of chemistry `name` for one battery of `nominal_v`; KeyError for an unknown name.

    Voltages scale with the number of cells: a multiple of 12 V has 6 lead or 4 LiFePO4 cells to each 12 V (what
    is sold as 48 V then has 16, the more usual and higher in voltage); any other voltage the nearest whole number
    of cells of 2.0 or 3.2 V."""
    rows = {r["quantity"]: r for r in table("batteries/chemistry").records if r["chemistry"] == name}
    block_v = float(rows["block_v"]["value"])
    cells = int(rows["cells"]["value"])
    blocks = nominal_v / 12.0
    if nominal_v % 12.0 != 0.0:
        blocks = max(round(nominal_v / block_v * cells), 1) / cells

    def figure(quantity: str, words: str, scale: float) -> Traced:
        row = rows[quantity]
        inputs: tuple[tuple[str, float | str, str], ...] = ()
        if row["unit"] == "V":
            inputs = (("a block", float(row["value"]), "V"), ("blocks", blocks, ""))
        return Traced(
            float(row["value"]) * scale, row["unit"], words, row["basis"], inputs,
            f"{rows['title']['value']}: {row['basis']}", row["status"],
        )  # fmt: skip

    full_v = figure("full_v", "voltage at the end of charging", blocks)
    return Chemistry(
        name,
        rows["title"]["value"],
        nominal_v,
        block_v,
        figure("low_v", "terminal voltage, low end of use", blocks),
        full_v,
        full_v,
        figure("charge_low_v", "lowest voltage that charges fully", blocks),
        figure("emf_full_v", "e.m.f. fully charged", blocks),
        figure("usable_share", "usable share of the capacity", 1.0),
        figure("charge_efficiency", "charge efficiency", 1.0),
        rows["fault_range"]["value"],
        float(rows["fault_top"]["value"]),
        float(rows["fault_top_least"]["value"]),
    )
