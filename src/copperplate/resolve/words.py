"""What the kinds table says, arranged for reading a plate, and the words that messages use for it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache

from copperplate.model import Part
from copperplate.model.kinds import COMMON, DEVICE, DEVICE_KINDS, KINDS, SEGMENT, Attribute

DIMENSION_WORDS: Mapping[str, str] = {
    "voltage": "a voltage", "current": "a current", "power": "a power", "energy": "an energy",
    "charge": "a capacity", "resistance": "a resistance", "length": "a length", "area": "an area",
    "temperature": "a temperature", "share": "a share", "share-per-kelvin": "a change per kelvin",
    "time": "a time", "frequency": "a frequency", "torque": "a torque", "mass": "a mass",
}  # fmt: skip
_SAMPLES: Mapping[str, str] = {
    "voltage": "12", "current": "10", "power": "60", "charge": "100", "resistance": "2", "length": "4.5",
    "temperature": "30", "share": "90", "share-per-kelvin": "-0.27", "time": "10", "frequency": "50", "mass": "20",
}  # fmt: skip


SAMPLE_LENGTHS: Mapping[str, Mapping[str, str]] = {
    "m": {"run": "4.5 m", "route": "2 m"},
    "ft": {"run": "15 ft", "route": "6 ft"},
}
"""By the unit of a plate's lengths: how it would write one, for messages."""


@dataclass(frozen=True)
class Table:
    """The attributes of one kind, by the ways in which a plate may write them."""

    kind: str
    attributes: Mapping[str, Attribute]
    """By the word of each."""
    bare: Mapping[str, tuple[Attribute, ...]]
    """By dimension: attributes whose quantity may stand without its word ("size" for a conductor size)."""
    choices: Mapping[str, Attribute]
    """By bare word: `lifepo4`, `positive`, `blade`."""
    keyed: Mapping[str, tuple[Attribute, ...]]
    """By dimension: attributes whose quantity needs its word."""

    @property
    def type(self) -> type[Part] | None:
        """The type of the components that such a statement declares."""
        return KINDS[self.kind].type if self.kind in KINDS else None

    @property
    def titled(self) -> bool:
        """Whether a title may stand in such a statement."""
        return self.kind in KINDS and KINDS[self.kind].titled

    @cached_property
    def ports(self) -> tuple[str, ...]:
        """The words that may name a terminal of such a component, for `terminal` and `advised-wire`."""
        ports = [port for port in KINDS[self.kind].ports if port] if self.kind in KINDS else []
        groups = [port.split(".")[0] for port in ports if "." in port]
        return tuple(dict.fromkeys([*ports, *groups, *(["way"] if "ways" in self.attributes else [])]))

    @cached_property
    def known(self) -> tuple[str, ...]:
        """Every word that may stand in such a statement."""
        return (*self.attributes, *self.choices)


def _table(kind: str, attributes: tuple[Attribute, ...]) -> Table:
    bare: dict[str, tuple[Attribute, ...]] = {}
    keyed: dict[str, tuple[Attribute, ...]] = {}
    choices: dict[str, Attribute] = {}
    for attribute in attributes:
        dimension = "size" if attribute.form == "size" else attribute.dimension
        if attribute.form in ("quantity", "size"):
            target = bare if attribute.bare else keyed
            target[dimension] = (*target.get(dimension, ()), attribute)
        if attribute.form == "choice" and attribute.bare:
            choices.update(dict.fromkeys(attribute.choices, attribute))
    by_word = {word: a for a in attributes for word in (a.word, a.also) if word}
    return Table(kind, by_word, bare, choices, keyed)


@lru_cache(maxsize=64)
def table(kind: str, in_line: bool = False) -> Table:
    """The table of a kind of statement, of a device in a line ("fuse", ...), or of a stretch of a run ("run"). Where a
    word is both a kind of statement and one of device, `in_line` tells that the device is meant."""
    if kind == "run":
        return _table(kind, SEGMENT)
    if in_line or kind == "device" or (kind in DEVICE_KINDS and kind not in KINDS):
        return _table(kind, DEVICE)
    entry = KINDS[kind]
    return _table(kind, (*entry.attributes, *COMMON) if entry.component else entry.attributes)


def sample(attribute: Attribute, length_unit: str = "m") -> str:
    """How a plate writes this attribute: `works 10.5..15 V`, `60 W`, `ways 12`."""
    unit = length_unit if attribute.dimension == "length" else attribute.unit
    value = {
        "quantity": f"{_SAMPLES.get(attribute.dimension, '1')} {unit}",
        "window": "10.5..15 V",
        "budget": "3 %",
        "budgets": "3 %",
        "number": "0.9",
        "count": "2",
        "choice": " or ".join(attribute.choices),
        "word": "NAME",
        "reference": "NAME",
        "text": '"..."',
        "size": "10 AWG",
        "share": "90 %",
        "terminal": "stud M8",
        "advice": f"16 mm2 to 4 {length_unit}",
        "comparable": '6 mm2 "what it was read from"',
        "voltage-pair": "120 V",
        "size-list": "14 AWG",
        "address-list": "fridge",
        "names": "up down",
        "numbers": "1 2",
        "price": "12.50 EUR",
        "quantity-or-word": f"{_SAMPLES.get(attribute.dimension, '1')} {attribute.unit}",
    }.get(attribute.form, "")
    return f"{attribute.word} {value}".strip()


def plural(kind: str) -> str:
    """`loads`, `batteries`, `buses`, `switches`."""
    if kind.endswith("y") and kind[-2] not in "aeiou":
        return f"{kind[:-1]}ies"
    return f"{kind}es" if kind.endswith(("s", "ch")) else f"{kind}s"
