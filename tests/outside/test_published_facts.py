"""Figures of published rules through the whole compiler: branch circuits, cold strings, alternators, outlets."""

from __future__ import annotations

import pytest

from copperplate.design import compile_plate
from copperplate.findings import Finding
from copperplate.model.results import Design
from copperplate.text import Source

MAINS = """system "Branches"
  nominal 12 V
  rules nec
  conductors awg
  ac 120 V
  insulation 75 degC
shore dock 100 A, 120 V, bonds-neutral
panel mains ac, breaker, ways 6
load one {what}, ac, drop 5 %
dock.ac-out -///- 2 m -- [main: breaker poles 2, residual 30 mA] -- 1 m -- mains
mains.1 -///- {device}4 m -- one
"""
SUN = """system "Sun"
  nominal 24 V
  rules nec
  conductors awg
  insulation 90 degC
battery bank 25.6 V, 200 Ah, lifepo4
  range 24..28.8 V
  fault-current 4 kA
bus plus positive, 300 A
bus minus negative, 300 A
solar array 400 W, voc 49.5 V, isc 10.2 A, vmp 41.5 V, imp 9.65 A{coefficient}
  series 3
  parallel 2
  coldest -25 degC
controller mppt 60 A, max-input 150 V, output 28.8 V
bank.pos -- 0.1 m -- [main: fuse class-t] -- 0.5 m -- plus
bank.neg -- 0.6 m -- minus
plus -- [fuse class-t] -- 1 m -- mppt.pos
mppt.neg -- 1 m -- minus
array -//- 10 m -- mppt.pv
"""
ENGINE = """system "Engine"
  nominal 12 V
  rules cfr-183
  conductors awg
battery house 12.8 V, 100 Ah, lifepo4
  range 12..14.4 V
  fault-current 5 kA
bus plus positive, 300 A
bus minus negative, 300 A
alternator alt 100 A, 14.4 V{limiting}
house.pos -- 0.1 m -- [main: fuse class-t] -- 0.5 m -- plus
house.neg -- 0.6 m -- minus
plus -- 0.7 m, 2 AWG -- [own: fuse class-t, {rating} A] -- 0.1 m, 2 AWG -- alt.pos
alt.neg -- 0.9 m, 2 AWG -- minus
"""


def compiled(text: str) -> tuple[Design, tuple[Finding, ...]]:
    design, findings = compile_plate(Source("facts.plate", text), lambda name: None)
    assert design is not None
    return design, findings


@pytest.mark.parametrize(("breaker_a", "awg", "load_a"), [(15, "14", 11), (20, "12", 15), (30, "10", 22)])
def test_branch_circuits_by_their_breaker(breaker_a: int, awg: str, load_a: int) -> None:
    """NEC 240.4(D): 15 A on 14 AWG, 20 A on 12, 30 A on 10; NEC 210.20(A): 125 % of the continuous load."""
    design, _ = compiled(MAINS.format(what=f"{load_a} A", device=""))
    assert design.devices["mains.1"].rating.rating_a == breaker_a
    size = design.runs["one.run"].size
    assert not design.errors and size is not None and size.label == f"{awg} AWG"


def test_socket_outlets_count_180_va_each() -> None:
    """NEC 220.14(I): 4 outlets at 120 V are 6 A, in what sizes and in what is solved."""
    design, _ = compiled(MAINS.format(what="outlets 4", device=""))
    assert not design.errors
    assert design.runs["one.run"].design_current.value == pytest.approx(4 * 180 / 120)
    assert design.loads["one"].current_a == pytest.approx(4 * 180 / 120)


@pytest.mark.parametrize(
    ("coefficient", "volts"),
    [
        # NEC table 690.7(A): 1.20 from -21 to -25 °C for crystalline silicon.
        ("", 3 * 49.5 * 1.20),
        # NEC 690.7(A)(1): the module's own coefficient, here 50 K below 25 °C.
        (", temp-coefficient -0.27 %/K", 3 * 49.5 * (1 + 0.0027 * 50)),
    ],
)
def test_a_string_on_the_coldest_day(coefficient: str, volts: float) -> None:
    _, findings = compiled(SUN.format(coefficient=coefficient))
    (found,) = [f for f in findings if f.code == "CP603"]
    assert f"{volts:.0f} V" in found.message and "150 V" in found.message


def test_conductors_of_an_array_carry_156_percent() -> None:
    """NEC 690.8(A)(1) and (B)(1): 125 % of the short-circuit current, and 125 % of that."""
    design, _ = compiled(SUN.format(coefficient="").replace("series 3", "series 2"))
    run = design.runs["mppt.pv.run"]
    assert run.design_current.value == pytest.approx(2 * 10.2)
    assert run.ampacity is not None and run.ampacity.value >= 2 * 10.2 * 1.25 * 1.25


@pytest.mark.parametrize(
    ("limiting", "rating", "refused"),
    [("", 110, False), ("", 125, True), ("", 150, True), (", self-limiting", 150, False)],
)
def test_the_device_of_an_alternator_that_is_not_self_limiting(limiting: str, rating: int, refused: bool) -> None:
    """33 CFR 183.460(b), from memory: at most 120 % of its rated output."""
    _, findings = compiled(ENGINE.format(limiting=limiting, rating=rating))
    assert bool([f for f in findings if f.code == "CP428" and f.subject == "own"]) is refused


def test_two_supplies_without_a_transfer_switch_are_refused() -> None:
    """Common practice, no source: sources of alternating current supply one at a time."""
    second = "generator gen 3000 W\nfar: gen.ac-out -///- [gm: breaker poles 2, residual 30 mA] -- {way}2 m -- mains\n"
    plain = MAINS.format(what="8 A", device="").replace("dock.ac-out -///-", "near: dock.ac-out -///-")
    assert "CP712" in {f.code for f in compiled(plain + second.format(way=""))[1]}
    parted = plain + second.format(way="1 m -- [sel: selector 30 A, poles 2] -- ")
    parted = parted.replace("gen 3000 W", "gen 3000 W, bonds-neutral")
    codes = {f.code for f in compiled(parted)[1]}
    assert not codes & {"CP703", "CP704", "CP712"}
