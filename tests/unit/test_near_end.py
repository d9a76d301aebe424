"""Shorts right behind a device, and shorts so far away that they do not reach its rating."""

from __future__ import annotations

import math

import pytest
from small_plates import compiled

HEAD = """system "Small"
  nominal 12 V
  rules cfr-183
battery house 12.8 V, 100 Ah, lifepo4, fault-current {amperes} A, full 14.4 V, range 12..14.4 V
load lamp 10 A, works 8..16 V, drop 10 %
house.pos -- [main: {device}] -- {metres} m, 16 AWG -- lamp.pos
lamp.neg -- {metres} m -- house.neg
"""


def of_code(code: str, device: str, amperes: int = 16000, metres: float = 2):
    _, findings = compiled("", HEAD.format(device=device, amperes=amperes, metres=metres))
    return [f for f in findings if f.code == code]


def test_a_breaker_passes_more_than_a_thin_conductor_stands() -> None:
    """16 kA for 10 ms are 2.56e6 A²s (common practice, no source: half a cycle); 16 AWG of 1.31 mm² (ASTM B258) stands
    k²S² with k of IEC 60364-5-54 from 105 to 160 °C (PVC), 226 sqrt(ln(1 + 55/339.5)) = 87.6: 1.3e4 A²s."""
    (found,) = of_code("CP447", "breaker 25 A, breaks 20 kA, voltage 32 V")
    k = 226 * math.sqrt(math.log(1 + (160 - 105) / (234.5 + 105)))
    passes, stands = (float(word) for word in _figures(found.notes[0]))
    assert passes == pytest.approx(16000**2 * 0.01 / 1000, rel=0.01)
    assert stands == pytest.approx((k * 1.309) ** 2 / 1000, rel=0.01)


def _figures(note: str) -> list[str]:
    return [word for word, unit in zip(note.split(), note.split()[1:], strict=False) if unit.startswith("kA²s")]


@pytest.mark.parametrize(
    ("device", "amperes", "told"),
    [
        ("fuse class-t 25 A", 16000, False),  # cuts the current off below its peak: its maker's to tell
        ("fuse blade 20 A", 900, False),  # ISO 8820-3: its curve ends at 600 %, 0.1 s: 120² x 0.1 = 1440 A²s
        ("breaker 25 A, breaks 20 kA, voltage 32 V", 1100, False),  # 1100² x 0.01 = 1.2e4 A²s
        ("breaker 25 A, breaks 20 kA, voltage 32 V", 3000, True),  # 3000² x 0.01 = 9e4 A²s
    ],
)
def test_what_limits_the_current_or_meets_little_is_not_told_of(device: str, amperes: int, told: bool) -> None:
    assert bool(of_code("CP447", device, amperes)) is told


def test_a_short_below_the_rating_does_not_open_the_device() -> None:
    """12 V through 2 x 40 m of 16 AWG in hot copper (13.2 mohm/m at 20 °C) and 100 mohm: 8 A, below 25 A."""
    plate = HEAD.replace("fault-current {amperes} A", "internal-resistance 100 mohm").replace("lamp 10 A", "lamp 1 A")
    _, findings = compiled("", plate.format(device="fuse class-t 25 A", amperes=0, metres=40))
    codes = {f.code for f in findings if f.subject == "main"}
    assert "CP412" in codes and not codes & {"CP417", "CP418"}
    (found,) = [f for f in findings if f.code == "CP412"]
    assert "need not open it" in found.message
