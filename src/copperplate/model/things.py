"""What a load is: the words that say it, the class of its voltage-drop budget and the symbol that it is drawn with."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Thing:
    """What a load may be. `budget` is the class of its voltage-drop budget, "" for none; `turns`: it is a motor;
    `cranks`: it starts an engine."""

    word: str
    meaning: str
    budget: str = ""
    turns: bool = False
    cranks: bool = False


def _of(budget: str, *things: tuple[str, str], turns: bool = False, cranks: bool = False) -> tuple[Thing, ...]:
    return tuple(Thing(word, meaning, budget, turns, cranks) for word, meaning in things)


THINGS: dict[str, Thing] = {
    thing.word: thing
    for thing in (
        *_of("lights", ("lamp", "a lamp or several"), ("nav-light", "a navigation light")),
        *_of(
            "motors",
            ("motor", "a motor"), ("pump", "a pump"), ("fan", "a fan"), ("blower", "a bilge or cabin blower"),
            ("winch", "a winch or windlass"), ("thruster", "a thruster"), ("compressor", "a compressor"),
            turns=True,
        ),
        *_of("motors", ("starter", "the starter of an engine"), turns=True, cranks=True),
        *_of("heat", ("heater", "a heater"), ("glow-plug", "the glow plugs of an engine")),
        *_of(
            "electronics",
            ("electronics", "an electronic device"), ("radio", "a radio"), ("gauge", "a gauge or display"),
            ("alarm", "an alarm or buzzer"), ("sender", "a sender or sensor"),
        ),
        *_of("sockets", ("socket", "a socket outlet")),
        *_of("", ("horn", "a horn"), ("solenoid", "a solenoid or valve")),
    )
}  # fmt: skip
"""By the word that a load says bare."""
SYMBOLS = (*THINGS, "antenna", "switch", "plug")
"""The symbols that a load may state: those of things, and of what is no consumer."""
LOAD_CLASSES = tuple(dict.fromkeys(thing.budget for thing in THINGS.values() if thing.budget))
SOURCE_CLASSES = ("charging", "array")
BUDGET_CLASSES = (*LOAD_CLASSES, *SOURCE_CLASSES)
"""The classes of voltage-drop budgets: of loads by what they are, and of the runs that sources push through: of what
charges, and of arrays as far as their controllers."""
