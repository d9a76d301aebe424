"""What returns and bonds bear of a short until it is cleared, by the turns of its devices."""

from __future__ import annotations

import pytest
from plates import compiled, of_code

from copperplate.protection.disconnection import withstand

VAN = """system "Van"
  nominal 12 V
  rules cfr-183
  conductors mm2
battery house "Bank" 12.8 V, 40 Ah, lifepo4, range 12.0..14.4 V, fault-current 0.9 kA
bus plus "Positive bar" positive, 200 A
bus minus "Negative bar" negative, 200 A
earth body "Chassis" conducts, 1 mohm
load lamp "Lamp" 2 A, works 10.5..15 V
house.neg -- 0.8 m, 50 mm2 -- minus
plus -- [lamp-fuse: fuse blade 3 A] -- 3 m, 1.5 mm2 -- lamp.pos
lamp.neg -- 0.3 m, 1.5 mm2 -- body
"""
ONE_MAIN = "house.pos -- 0.1 m, 50 mm2 -- [main: fuse high-blade 80 A] -- 0.5 m, 50 mm2 -- plus\n"
TWO_WAYS = """bus first "First bar" positive, 200 A
house.pos -- 0.1 m, 50 mm2 -- first
near: first -- [small: fuse high-blade 40 A] -- 1 m, 25 mm2 -- plus
far: first -- [large: fuse high-blade 80 A] -- 1 m, 25 mm2 -- plus
"""


def heated(ways, bond):
    """(passes, stands) of the finding on a bond of this size; None where there is none."""
    _, findings = compiled(f"{VAN}{ways}bond: minus -- 1 m, {bond} -- body\n")
    found = [f for f in of_code("CP436", findings) if f.subject == "bond"]
    return (found[0].measure.found, found[0].measure.limit) if found else None


def test_a_bond_behind_one_fuse():
    """ISO 8820-3 type E opens within 1 s at 600 %: 480 A for 1 s, and more current melts it with no more heat (12 V
    drive above 700 A through 15 mohm of bank and some metres). IEC 60364-4-43 434.5.2 with k by the formula of
    60364-5-54: 105 °C thermoplastic bears 88 A/mm² for 1 s, so that 4 mm² stand 352 A and 6 mm² 528 A for that time."""
    passes, stands = heated(ONE_MAIN, "4 mm2")
    assert passes == pytest.approx(480**2 * 1.0)
    assert stands == pytest.approx((88 * 4) ** 2, rel=0.02)
    assert heated(ONE_MAIN, "6 mm2") is None
    assert 88 * 4 < 480 < 88 * 6


def test_what_the_turns_pass_adds_up():
    """Two equal ways of 40 A and 80 A share a short. The 40 A opens first, with half of it: the bond bears twice its
    current as long, four times its 240 A for 1 s. Then the 80 A with all of it: 480 A for 1 s more. 6 mm² (528 A for
    1 s) would stand each by itself, and not both."""
    passes, stands = heated(TWO_WAYS, "6 mm2")
    assert passes == pytest.approx(4 * 240**2 + 480**2)
    assert stands == pytest.approx((88 * 6) ** 2, rel=0.02)
    assert max(4 * 240**2, 480**2) < stands
    assert heated(TWO_WAYS, "10 mm2") is None


def test_a_fuse_without_a_curve_proves_nothing():
    """Class T has no published curve here: its shorts are not proven, which has its own finding."""
    assert heated(ONE_MAIN.replace("high-blade", "class-t"), "4 mm2") is None


@pytest.mark.parametrize("seconds", [0.1, 0.4, 1.0, 5.0])
def test_the_densities_that_copper_stands(seconds):
    """k / sqrt(t) of 105 °C thermoplastic, IEC 60364-5-54 formula: 278, 139, 88 and 39 A/mm²."""
    density = {0.1: 278, 0.4: 139, 1.0: 88, 5.0: 39}[seconds]
    assert (withstand(1.0, 105.0) / seconds) ** 0.5 == pytest.approx(density, rel=0.01)
