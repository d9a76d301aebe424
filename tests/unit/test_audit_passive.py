"""The re-check of links and earths."""

from __future__ import annotations

from dataclasses import replace

import pytest
from plates import changed, compiled

from copperplate import audit
from copperplate.model import Size
from copperplate.standards import conductors

LINKED = changed(("lifepo4\n", "lifepo4, parallel 2, link 0.3 m\n"))
EARTHED = changed(("cfr-183", "nec"), ("load lamp", "earth ground\nload lamp")) + "minus -- 2 m -- ground\n"


def resized(plate, run, size):
    design, _ = compiled(plate)
    assert design.rechecked
    found = replace(design.runs[run], size=size, area_mm2=conductors.area_mm2(size))
    return audit.recheck(replace(design, runs={**design.runs, run: found}))


def test_a_link_smaller_than_its_lead_is_caught():
    """The last link of a bank carries the whole current of its lead (Kirchhoff's first law)."""
    found = [f.subject for f in resized(LINKED, "house.link", Size("14", "AWG")) if f.code == "CP593"]
    assert found == ["house.link"]


@pytest.mark.parametrize(("size", "caught"), [("10", False), ("12", True)])
def test_an_earth_below_its_table_is_caught(size, caught):
    """NEC Table 250.122: 10 AWG copper for devices up to 60 A; the largest here is 50 A."""
    assert ("CP593" in {f.code for f in resized(EARTHED, "minus.run", Size(size, "AWG"))}) is caught


BESIDE = changed(
    ("cfr-183", "iec-60364"), ("conductors awg", "conductors mm2"), ("load lamp", "earth ground\nload lamp"),
    plate=changed(("0.8 m -- minus", "0.8 m, 50 mm2 -- minus")),
) + "minus -- 2 m -- ground\n"  # fmt: skip


@pytest.mark.parametrize(("size", "caught"), [("25", False), ("16", True)])
def test_an_earth_below_half_of_its_line_is_caught(size, caught):
    """IEC 60364-5-54 table 54.2: half of a line conductor above 35 mm²; 25 mm² beside 50 mm²."""
    assert ("CP593" in {f.code for f in resized(BESIDE, "minus.run", Size(size, "mm2"))}) is caught
