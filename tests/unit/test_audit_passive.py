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
    assert [(f.code, f.subject) for f in resized(LINKED, "house.link", Size("14", "AWG"))] == [("CP593", "house.link")]


@pytest.mark.parametrize(("size", "caught"), [("10", False), ("12", True)])
def test_an_earth_below_its_table_is_caught(size, caught):
    """NEC Table 250.122: 10 AWG copper for devices up to 60 A; the largest here is 50 A."""
    assert ("CP593" in {f.code for f in resized(EARTHED, "minus.run", Size(size, "AWG"))}) is caught
