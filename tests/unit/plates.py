"""Plates through the whole compiler, for tests of rooms that need sizes."""

from __future__ import annotations

from copperplate.design import compile_plate
from copperplate.findings import Finding
from copperplate.model.results import Design
from copperplate.text import Source

BOAT = """system "Small boat"
  nominal 12 V
  rules cfr-183
  conductors awg
battery house "Bank" 12.8 V, 100 Ah, lifepo4
  range 12.0..14.4 V
  fault-current 3 kA
bus plus "Positive bus" positive, 150 A
bus minus "Negative bus" negative, 150 A
load lamp "Lamp" 2 A, works 10.5..15 V

house.pos -- 0.3 m -- [main: fuse class-t, 50 A] -- 0.5 m -- plus
house.neg -- 0.8 m -- minus
plus -- [lamp-fuse: fuse class-t] -- 3 m -- lamp.pos
lamp.neg -- 3 m -- minus
"""
"""One lamp behind a main fuse and its own: no error, no warning."""


LAMP_RUN = "plus -- [lamp-fuse: fuse class-t] -- 3 m -- lamp.pos\nlamp.neg -- 3 m -- minus\n"
SECOND = """battery second "Second" 12.8 V, 100 Ah, lifepo4
  range 12.0..14.4 V
  fault-current 2 kA
bus plus"""
"""Stands in for `bus plus`: another battery before it."""
THICK = (("0.3 m --", "0.3 m, 2 AWG --"), ("0.5 m --", "0.5 m, 2 AWG --"), ("0.8 m --", "0.8 m, 2 AWG --"))
"""The feeders of the boat in 2 AWG."""


def changed(*pairs: tuple[str, str], plate: str = BOAT) -> str:
    """A plate with words replaced; each must be there."""
    for old, new in pairs:
        assert old in plate, old
        plate = plate.replace(old, new)
    return plate


def compiled(plate: str = BOAT) -> tuple[Design, tuple[Finding, ...]]:
    """The design and its findings; the plate must be read and resolved without an error."""
    design, findings = compile_plate(Source("test.plate", plate), lambda name: None)
    misread = [f.message for f in findings if f.severity == "error" and f.code[2] in "12"]
    assert design is not None and not misread, misread
    return design, findings


def of_code(code: str, findings: tuple[Finding, ...]) -> list[Finding]:
    return [f for f in findings if f.code == code]


def codes(plate: str) -> set[str]:
    return {f.code for f in compiled(plate)[1]}
