"""How far devices stand from where their conductors begin."""

from __future__ import annotations

import pytest
from plates import changed, codes, compiled

SHEATHED = ", sheath"


@pytest.mark.parametrize(
    ("metres", "sheath", "fits"),
    [(0.1778, "", True), (0.19, "", False), (1.0, SHEATHED, True), (1.016, SHEATHED, True), (1.03, SHEATHED, False)],
)
def test_a_device_at_a_bar_stands_within_seven_inches_or_forty_in_a_sheath_up_to_it(metres, sheath, fits):
    """33 CFR 183.455(b)(1), (2): 7 in, or 40 in wholly in a sheath up to the device; beyond it none is asked for."""
    plate = changed(("plus -- [lamp-fuse:", f"plus -- {metres} m{sheath}, 16 AWG -- [lamp-fuse:"))
    assert ("CP402" not in codes(plate)) is fits
    assert compiled(plate)[0].rechecked is fits
