"""Devices in hot air: shares of a rating as makers' examples have them, and what follows for a plate."""

from __future__ import annotations

import pytest
from small_plates import compiled

from copperplate.standards import fuses

PLATE = """system "Launch"
  nominal 12 V
  rules cfr-183
route bay "Engine bay", 3 m, {bay}
battery house 12.8 V, 100 Ah, agm, fault-current 0.9 kA, full 14.4 V, range 12..14.4 V
bus plus positive, 100 A
bus minus negative, 100 A
load blower 8 A, works 8..16 V, drop 10 %{load}
house.pos -- 0.4 m, sheath -- [main: fuse single-bolt 50 A] -- 0.4 m -- plus
house.neg -- 0.8 m -- minus
plus -- 0.1 m via bay -- [f: {device}] -- 2.9 m via bay -- blower.pos
blower.neg -- 3 m via bay -- minus
"""


@pytest.mark.parametrize(
    ("family", "air", "share"),
    [
        # A maker's example of ISO 8820-3 type E, a part of 40 A: 34 A at 65 °C, 30 A at 85, 25 A at 110, 22 A at 125.
        ("high-blade", 65, 34 / 40),
        ("high-blade", 85, 30 / 40),
        ("high-blade", 110, 25 / 40),
        ("blade", 125, 22 / 40),
        ("blade", 50, 0.90),  # on the line between 1 at 20 °C and 0.85 at 65 °C
        ("gg", 60, 1 - 20 * 0.005),  # IEC 60269 gG, a maker's page: 0.5 % for each kelvin above 40 °C
        ("breaker", 50, 0.90),  # the lowest of makers' examples
        ("breaker", 60, 0.82),
    ],
)
def test_shares_of_a_rating(family: str, air: float, share: float) -> None:
    found = fuses.in_air(family, air)
    assert found is not None and found.value == pytest.approx(share)


def test_nothing_is_told_beyond_the_last_example() -> None:
    assert fuses.in_air("breaker", 71) is None and fuses.in_air("blade", 126) is None


def blower(device: str, bay: str = "engine-space", load: str = ""):
    design, findings = compiled("", PLATE.format(device=device, bay=bay, load=load))
    return design.devices["f"].rating, [f for f in findings if f.code == "CP448"]


def test_a_rating_that_is_left_out_carries_its_load_in_hot_air() -> None:
    """8 A for long: 10 A by the factor of 1.25, and 10 / 0.90 = 11.1 A in the 50 °C of an engine space (33 CFR 183.425
    Table 5 note 1): the next blade is 15 A."""
    rating, told = blower("fuse blade")
    assert rating.rating_a == 15 and not told
    assert rating.carries_a == pytest.approx(13.5)
    assert blower("fuse blade", "ambient 40 degC")[0].rating_a == 10


def test_a_stated_rating_is_told_of() -> None:
    rating, (told,) = blower("fuse blade 10 A")
    assert rating.rating_a == 10 and "9 A of its 10 A" in told.message and "15 A" in (told.help or "")
    assert not blower("fuse blade 15 A")[1]


def test_what_its_maker_allows_keeps_the_smaller_rating() -> None:
    rating, (told,) = blower("fuse blade", load=", max-fuse 10 A")
    assert rating.rating_a == 10 and "15 A" not in (told.help or "")


def test_a_device_at_the_edge_of_the_hot_place_is_mounted_outside() -> None:
    for cool in ("plus -- [f: fuse blade] -- 3 m via bay", "plus -- 0.1 m -- [f: fuse blade] -- 2.9 m via bay"):
        plate = PLATE.replace("plus -- 0.1 m via bay -- [f: {device}] -- 2.9 m via bay", cool)
        design, _ = compiled("", plate.format(bay="engine-space", load=""))
        assert design.devices["f"].rating.rating_a == 10
