"""Starts against devices and supplies: curves where they are known, and what is told where they are not."""

from __future__ import annotations

import pytest
from small_plates import compiled

from copperplate.standards import fuses

PUMP = """system "Small"
  nominal 12 V
  rules cfr-183
battery house 12.8 V, 100 Ah, lifepo4, range 12..14.4 V, full 14.4 V, fault-current 0.9 kA
load pump 8 A, intermittent, inrush {inrush} A, works 9..16 V, drop 10 %
house -//- 0.1 m -- [f: {device}] -- 1 m -- pump
"""


@pytest.mark.parametrize(
    ("curve", "times", "closed"),
    [
        # IEC 60898-1: types B, C and D stay closed for 0.1 s up to 3, 5 and 10 times the rating.
        ("b", 3, True), ("b", 3.1, False),
        ("c", 5, True), ("c", 5.1, False),
        ("d", 10, True), ("d", 10.1, False),
        ("", 4, None), ("", 1, True),
    ],
)  # fmt: skip
def test_bands_of_breakers(curve: str, times: float, closed: bool | None) -> None:
    of = fuses.family("breaker")
    assert fuses.stays_closed(of, 10, 10 * times, 0.1, curve) is closed
    if closed and times > 1:
        assert fuses.stays_closed(of, 10, 10 * times, 5, curve) is None  # the band tells of 0.1 s alone


def test_curves_of_fuses() -> None:
    """ISO 8820-3 type C: from 0.15 s at 200 %, from 0.08 s at 350 % (read once, from memory)."""
    blade, class_t = fuses.family("blade"), fuses.family("class-t")
    assert fuses.stays_closed(blade, 10, 20, 0.1) is True
    assert fuses.stays_closed(blade, 10, 35, 0.1) is False
    assert fuses.stays_closed(blade, 10, 20, 5) is False
    assert fuses.stays_closed(class_t, 100, 150, 0.1) is None


@pytest.mark.parametrize(
    ("device", "inrush", "told"),
    [
        ("breaker 10 A, voltage 32 V, breaks 1 kA", 30, "CP452"),
        ("breaker 10 A, voltage 32 V, breaks 1 kA, curve b", 35, "CP410"),
        ("breaker 10 A, voltage 32 V, breaks 1 kA, curve c", 50, ""),
        ("fuse class-t 10 A", 30, "CP452"),
        ("fuse blade 10 A", 40, "CP410"),
        ("fuse blade 10 A", 20, ""),
    ],
)
def test_what_is_told_of_a_start(device: str, inrush: int, told: str) -> None:
    _, findings = compiled("", PUMP.format(device=device, inrush=inrush))
    assert [f.code for f in findings if f.code in ("CP410", "CP452")] == ([told] if told else [])


def test_a_breaker_is_chosen_that_lets_its_motor_start() -> None:
    """35 A at a start: type B of 10 A stays closed to 30 A, and the next rating of NEC 240.6(A), 15 A, to 45 A."""
    design, _ = compiled("", PUMP.format(device="breaker, voltage 32 V, breaks 1 kA, curve b", inrush=35))
    assert design.devices["f"].rating.rating_a == 15


GENERATOR = "generator set 3000 W, 120 V, fault-current 0.4 kA, bonds-neutral"
SHORE = "shore set 30 A, 120 V, fault-current 3 kA, earth-loop 0.2 ohm, bonds-neutral"
SAW = """system "Workshop"
  nominal 12 V
  rules cfr-183
  ac 120 V
{supply}
load saw 6 A, ac, inrush {inrush} A
panel board ac, breaker, ways 4
set.ac-out -///- [m: breaker 25 A, poles 2, residual 30 mA, breaks 10 kA, curve d] -- 1 m -- board
load lamp 2 A, ac
board.1 -///- [breaker 15 A, poles 2, breaks 10 kA, curve d] -- 5 m -- saw
board.2 -///- [breaker 15 A, poles 2, breaks 10 kA, curve d] -- 5 m -- lamp
"""


@pytest.mark.parametrize(
    ("supply", "inrush", "told"),
    [
        # By hand: 22 A x 120 V beside the lamp's 240 W are 2880 W, 24 A 3120 W, of 3000 W.
        (GENERATOR, 22, ""),
        (GENERATOR, 24, "CP720"),
        (GENERATOR + ", surge 5000 W", 39, ""),  # 4920 W
        (GENERATOR + ", surge 5000 W", 40, "CP709"),  # 5040 W
        (SHORE, 27, ""),  # 3480 W of 3600 W
        (SHORE, 29, "CP720"),  # 3720 W
    ],
)
def test_a_start_against_its_supply(supply: str, inrush: int, told: str) -> None:
    _, findings = compiled("", SAW.format(supply=supply, inrush=inrush))
    assert [f.code for f in findings if f.code in ("CP709", "CP720")] == ([told] if told else [])
