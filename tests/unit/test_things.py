"""What a load is: its word gives the symbol and the class of the budget."""

from __future__ import annotations

import pytest
from plates import compiled
from resolving import resolved, sound

from copperplate.drawing import symbols, things
from copperplate.model import Budget, Load
from copperplate.model.things import SYMBOLS, THINGS

PLATE = """system "Things"
  nominal 12 V
  rules iso-13297
  conductors mm2
  drop 4 %
  drop lights 2 %
  drop motors 10 %
  drop heat 0.6 V
battery house 12 V, 100 Ah, agm, range 12..14.4 V, fault-current 0.9 kA
bus minus negative, 100 A
panel cabin blade, ways 8, return minus
load shade "Pump of a fountain" lamp, 1 A
load mast nav-light, 1 A, critical
load bilge pump, 5 A, critical
load draw pump, 5 A, drop 5 %
load oven heater, 5 A
load hooter horn, 2 A
load plain 1 A
house.pos -- [main: fuse] -- 1 m -- cabin
house.neg -- 1 m -- minus
cabin -//- 3 m -- shade
cabin -//- 3 m -- mast
cabin -//- 3 m -- bilge
cabin -//- 3 m -- draw
cabin -//- 3 m -- oven
cabin -//- 3 m -- hooter
cabin -//- 3 m -- plain
"""


@pytest.mark.parametrize(
    ("load", "percent"),
    [
        ("shade", 2.0),  # lights
        ("mast", 2.0),  # lights: below the 3 % of what is critical
        ("bilge", 3.0),  # motors, and critical: 3 % at most
        ("draw", 5.0),  # its own wins
        ("oven", 5.0),  # heat: 0.6 of 12 V
        ("hooter", 4.0),  # no class
        ("plain", 4.0),
    ],
)
def test_a_budget_is_that_of_the_class_unless_the_load_states_its_own(load: str, percent: float) -> None:
    design, findings = compiled(PLATE)
    assert design.loads[load].budget_percent == pytest.approx(percent)
    assert design.loads[load].drop_percent <= percent
    assert not [f for f in findings if f.code.startswith("CP59")]


def test_every_word_has_a_symbol_of_its_own_and_none_is_larger_than_the_plain_box() -> None:
    for word in SYMBOLS:
        part = sound(PLATE.replace("plain 1 A", f"plain 1 A, symbol {word}")).parts["plain"]
        drawn = symbols.part_symbol(part)
        assert drawn.items != things.PLAIN, word
        for item in drawn.items:
            for x, y in getattr(item, "points", ()):
                assert drawn.left <= x <= drawn.right and drawn.top <= y <= drawn.bottom, word


def test_the_word_gives_the_symbol_whatever_the_title_says() -> None:
    system = sound(PLATE)
    lamp, pump = (symbols.part_symbol(system.parts[name]) for name in ("shade", "bilge"))
    assert lamp != pump and symbols.part_symbol(system.parts["plain"]) is not None
    assert symbols.part_symbol(system.parts["draw"]) == pump
    assert symbols.part_symbol(system.parts["plain"]).items == things.PLAIN


def test_a_kind_of_thing_may_be_a_name_too() -> None:
    part = sound(PLATE.replace("load plain 1 A", "load lamp lamp, 1 A").replace("-- plain", "-- lamp")).parts["lamp"]
    assert isinstance(part, Load) and part.thing == THINGS["lamp"]


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        ("drop lights 2 %", "drop lihgts 2 %", "CP128"),
        ("drop lights 2 %", "drop lights", "CP124"),
        ("drop lights 2 %", "drop lights 2", "CP104"),
        ("drop lights 2 %", "drop motors 2 %", "CP205"),
        ("plain 1 A", "plain 1 A, symbol antena", "CP128"),
        ("lamp, 1 A", "lamp, pump, 1 A", "CP205"),
    ],
)
def test_what_is_no_class_or_is_said_twice_is_one_finding(old: str, new: str, code: str) -> None:
    _, findings = resolved(PLATE.replace(old, new))
    assert [f.code for f in findings if f.severity == "error"] == [code]


def test_an_array_and_what_sources_push_have_budgets_of_their_own() -> None:
    text = PLATE.replace("drop 4 %", "drop 4 %\n  drop charging 3 %\n  drop array 2 %")
    text += "solar roof 100 W, voc 22 V, isc 6 A, vmp 18 V, imp 5.6 A, drop 1 %\n"
    system = sound(text)
    drops = system.settings.drops
    assert drops["charging"] == Budget(share=0.03) and drops["array"] == Budget(share=0.02)
    assert system.parts["roof"].drop == Budget(share=0.01)
