"""Two designs side by side, for the tests of the comparison."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from copperplate import diff
from copperplate.design import compile_plate
from copperplate.text import Source

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
PLATES = {
    name: (EXAMPLES / name / f"{name}.plate").read_text(encoding="utf-8") for name in ("cabin", "camper", "launch")
}

BOAT = """system "Small boat"
  nominal 12 V
  rules cfr-183
  conductors awg
battery house "Bank" 12.8 V, 100 Ah, lifepo4
  range 12.0..14.4 V
  full 14.4 V
  fault-current 3 kA
bus minus "Negative bus" negative, 100 A
panel cabin "Fuse block" blade, ways 8, 60 A, return minus
route locker "Locker" 1 m
load fridge "Fridge" 60 W, daily 10 h
load lights "Lights" 2 A, drop 10 %, daily 4 h
load pump "Pump" 5 A, intermittent, drop 10 %
house.pos -- 0.3 m -- [main: fuse class-t] -- 0.9 m -- cabin
house.neg -- 1.2 m -- minus
cabin.1 -//- 3 m -- fridge
cabin.2 -//- via locker, 5 m -- lights
cabin.4 -//- 4 m -- pump
"""


def document(text: str, name: str = "boat.plate") -> dict[str, Any]:
    """The design of a plate as JSON, with its findings; what it uses stands with the examples."""

    def read(other: str) -> Source | None:
        found = next(EXAMPLES.glob(f"*/{other}"), None)
        return None if found is None else Source(other, found.read_text(encoding="utf-8"))

    design, findings = compile_plate(Source(name, text), read)
    return diff.as_json(design, findings)


def edited(text: str, *pairs: tuple[str, str]) -> str:
    for old, new in pairs:
        assert old in text, old
        text = text.replace(old, new)
    return text


def compared(*pairs: tuple[str, str], text: str = BOAT) -> dict[str, Any]:
    """The comparison of a plate with itself after the replacements."""
    return diff.compare(document(text), document(edited(text, *pairs)), "old.plate", "new.plate")


def of(found: dict[str, Any], address: str) -> dict[str, Any]:
    """The one change of an address."""
    changes = [change for change in found["changes"] if change["address"] == address]
    assert len(changes) == 1, [(c["change"], c["address"]) for c in found["changes"]]
    return changes[0]


def facts(change: dict[str, Any]) -> dict[str, tuple[Any, Any]]:
    """Fact -> (old, new) of a change, causes and consequences together."""
    return {fact["fact"]: (fact["old"], fact["new"]) for fact in (*change["causes"], *change["consequences"])}
