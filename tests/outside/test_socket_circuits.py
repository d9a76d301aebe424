"""Socket outlets against the published rules of their circuits: how many fit, what stands before them, the least
conductor of a mains circuit and residual-current protection."""

from __future__ import annotations

import pytest

from copperplate.design import compile_plate
from copperplate.findings import Finding
from copperplate.model.results import Design
from copperplate.text import Source

PLATE = """system "Sockets"
  nominal 12 V
  rules {rules}
shore dock 50 A, {volts} V, fault-current 3 kA, earth-loop 0.2 ohm, bonds-neutral
panel mains breaker, ways 4, ac, breaks 6 kA, curve c
load sockets {draw}, ac
dock -///- 1 m -- [main: breaker 50 A, poles 2, breaks 6 kA, curve c{residual}] -- 2 m -- mains
mains.1 -///- [poles 2] -- 5 m{size} -- sockets
"""


def built(draw: str, rules: str = "nec", volts: int = 120, residual: str = ", residual 30 mA", size: str = ""):
    text = PLATE.format(draw=draw, rules=rules, volts=volts, residual=residual, size=size)
    design, findings = compile_plate(Source("sockets.plate", text), lambda name: None)
    assert design is not None
    return design, findings


def codes(found: tuple[Design, tuple[Finding, ...]]) -> set[str]:
    return {f.code for f in found[1] if f.severity == "error"}


@pytest.mark.parametrize(("outlets", "breaker_a"), [(10, 15), (13, 20)])
def test_as_many_outlets_fit_as_their_load_allows(outlets: int, breaker_a: int) -> None:
    """NEC 220.14(I), 180 VA each: 10 on 15 A and 13 on 20 A at 120 V, 1800 and 2400 VA; not multiplied by 1.25."""
    found = built(f"outlets {outlets}")
    assert found[0].devices["mains.1"].rating.rating_a == breaker_a and not codes(found)
    assert found[0].devices["mains.1"].rating.needs_a.value == pytest.approx(180 * outlets / 120)


def test_more_outlets_ask_for_another_circuit() -> None:
    """NEC 210.21(B)(3): receptacles on a 20 A circuit are 15 or 20 A."""
    assert codes(built("outlets 14")) == {"CP731"}
    assert codes(built("6000 W, outlets 4", volts=240)) == {"CP731"}
    assert not codes(built("6000 W, outlets 1, max-fuse 50 A", volts=240))  # 210.21(B)(1): its own circuit


@pytest.mark.parametrize("rules", ["iec-60364", "iso-13297"])
def test_sockets_of_16_amperes_and_national_circuits(rules: str) -> None:
    """16 A sockets (common practice, no source); BS 7671 appendix 15: 32 A on a radial circuit of 4 mm²."""
    assert codes(built("5000 W, outlets 4", rules, 230)) == {"CP731"}
    assert not codes(built("5000 W, outlets 4, max-fuse 32 A", rules, 230))
    assert not codes(built("2500 W, outlets 4", rules, 230))


@pytest.mark.parametrize("rules", ["iec-60364", "iso-13297"])
def test_least_conductor_of_a_mains_circuit(rules: str) -> None:
    """IEC 60364-5-52 Table 52.2: 1.5 mm² for power and lighting."""
    assert "CP304" in codes(built("outlets 2", rules, 230, size=", 1 mm2"))
    assert "CP304" not in codes(built("outlets 2", rules, 230, size=", 1.5 mm2"))


def test_least_conductor_of_a_mains_circuit_on_a_boat_of_the_us() -> None:
    """16 AWG, US small-craft practice, from memory."""
    assert "CP304" in codes(built("outlets 1", "cfr-183", size=", 18 AWG"))
    assert "CP304" not in codes(built("outlets 1", "cfr-183", size=", 16 AWG"))


@pytest.mark.parametrize(("rules", "law"), [("iec-60364", True), ("iso-13297", True), ("cfr-183", False)])
def test_residual_protection_of_sockets_is_law_or_practice(rules: str, law: bool) -> None:
    """IEC 60364-4-41 411.3.3; ISO 13297 from memory; in the US a practice for the whole boat."""
    found = built("outlets 2", rules, 120 if rules == "cfr-183" else 230, residual="")
    assert ("CP732" in codes(found)) is law
    assert ("CP706" in {f.code for f in found[1]}) is not law
    assert "CP732" not in codes(built("500 W", rules, 120 if rules == "cfr-183" else 230, residual=""))
