"""Small plates reckoned by hand from published tables: conductor, device and drop of each circuit.

33 CFR 183.425 Table 5, ISO 8820-3, ASTM B258 and NEC Tables 310.16 and 8 as read on public pages; the constant 10.75 of
the circular-mil formula is US small-craft practice; ampacities of IEC 60364-5-52 as the product states their status.
"""

from __future__ import annotations

import pytest

from copperplate.design import compile_plate
from copperplate.text import Source

FOOT_M = 0.3048
BANK = 'battery house "Bank" 12.8 V, 100 Ah, agm, range 12..14.4 V, full 14.4 V, fault-current 0.9 kA\n'


def design(rules: str, text: str):
    source = Source("hand.plate", f'system "By hand"\n  nominal 12 V\n  rules {rules}\n{BANK}{text}')
    found, findings = compile_plate(source, lambda name: None)
    assert found is not None and not [f.code for f in findings if f.severity == "error"]
    return found


def test_a_fridge_and_a_pump_of_a_boat() -> None:
    """60 W at 12 V less 3 % are 60 / 11.64 = 5.15 A; x 1.25 = 6.44 A, next blade 7.5 A. 10.75 x 5.15 A x 40 ft / 0.36 V
    = 6,160 circular mils: 12 AWG has 6,530 (ASTM B258), 14 AWG 4,110. The pump's 8 A run for minutes: no factor, 10 A;
    10.75 x 8 x 26.9 / 0.36 = 6,430: 12 AWG."""
    found = design(
        "cfr-183",
        "load fridge 60 W, drop 3 %, works 9..16 V\nload pump 8 A, intermittent, drop 3 %, works 9..16 V\n"
        "house -//- 0.1 m -- [ff: fuse blade] -- 6 m -- fridge\nhouse -//- 0.1 m -- [fp: fuse blade] -- 4 m -- pump\n",
    )
    for load, device, amperes, metres, rating in (
        ("fridge", "ff", 60 / 11.64, 6.1, 7.5),
        ("pump", "fp", 8.0, 4.1, 10.0),
    ):
        run = found.runs[found.loads[load].run]
        assert run.design_current.value == pytest.approx(amperes, rel=1e-3)
        assert found.devices[device].rating.rating_a == rating
        assert run.size is not None and run.size.key == "12 AWG"
        feet = 2 * metres / FOOT_M
        assert 4110 < 10.75 * amperes * feet / 0.36 <= 6530
        assert run.drop_v == pytest.approx(10.75 * amperes * feet / 6530, rel=2e-3)


def test_a_heater_of_a_cabin_under_the_nec() -> None:
    """20 A for long: 25 A by 210.20(A), a rating of 240.6(A). Conductor: 125 % against the 60 °C column of 110.14(C),
    where 12 AWG has 20 A and 10 AWG 30 A (Table 310.16), and 240.4(D) lets 10 AWG have 30 A."""
    found = design(
        "nec",
        "load heater 20 A, drop 10 %, works 9..16 V\n"
        "house -//- 0.1 m -- [fh: breaker, voltage 32 V, breaks 5 kA] -- 2 m -- heater\n",
    )
    run = found.runs[found.loads["heater"].run]
    assert found.devices["fh"].rating.rating_a == 25
    assert run.size is not None and run.size.key == "10 AWG"


def test_a_lamp_circuit_under_iec_60364() -> None:
    """433.1: Ib = 10 A <= In = 10 A <= Iz, without a factor; 1.5 mm² is the least of Table 52.2 and carries more."""
    found = design(
        "iec-60364",
        "load lamp 10 A, drop 10 %, works 9..16 V\nhouse -//- 0.1 m -- [fl: fuse blade] -- 2 m -- lamp\n",
    )
    run = found.runs[found.loads["lamp"].run]
    assert found.devices["fl"].rating.rating_a == 10
    assert run.size is not None and run.size.key == "1.5 mm2"
    assert run.ampacity is not None and run.ampacity.value >= 10
