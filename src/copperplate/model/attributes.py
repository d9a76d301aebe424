"""What a kind of statement may say: attributes, and the makers that write them as fields of a type.

A kind of component is a frozen dataclass (`model/parts.py`) whose fields are made here. A field's name is the key of
the attribute, with the unit in it, and its metadata the rest of the row: the word that a plate writes, the dimension,
the meaning. The checker, completion, hover and the reference pages read the rows by `attributes_of`.
"""

from __future__ import annotations

import inspect
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field, fields
from typing import Any, Literal

Form = Literal[
    "quantity", "window", "budget", "number", "count", "flag", "choice", "word", "reference", "text",
    "size", "share", "terminal", "budgets", "advice", "comparable", "voltage-pair", "size-list", "address-list",
    "quantity-or-word", "names", "numbers", "price",
]  # fmt: skip
"""How an attribute's value is written. quantity: one number with a unit of `dimension`; window: `10.5..15 V`;
budget: `3 %` or `0.3 V`; budgets: the same, alone or behind one of `choices`; count: a whole number; flag: the
bare word; choice: one of `choices` (bare where `bare`); reference: the name of another part; voltage-pair: `120
V`, `120/240 V split`; quantity-or-word: the word alone stands for the default; names: words up to the
comma; numbers: the same of numbers; price: an
amount of a currency."""

ROW = "attribute"
"""The key of a field's metadata that holds its row."""


@dataclass(frozen=True, slots=True)
class Attribute:
    """One thing a kind may say.

    `key` is how the model names it, unit included; `word` how the plate does; `bare`: it may stand without its
    word (a quantity is then understood by its dimension, a choice by its words). `default` None: no default,
    the meaning says what then happens. `unit` is the plate's unit shown to readers."""

    key: str
    word: str
    form: Form
    meaning: str
    dimension: str = ""
    unit: str = ""
    bare: bool = False
    choices: Collection[str] = ()
    default: Any = None
    positive: bool = True
    """A quantity must be above zero (False: zero and below are legal too)."""
    most: int = 1000
    """A count is no larger: beyond it is no one thing, but a slip or a load on whoever draws and lists it."""
    open: bool = False
    """It may be left open: `? m`."""
    also: str = ""
    """Another word that it is read by."""


def says(word: str, form: Form, meaning: str, *, key: str = "", default: Any = None, **more: Any) -> Any:
    """A field that a plate writes as `word`. `key` where the model's key is not the field's name."""
    return field(default=default, metadata={ROW: (key, word, form, meaning, default, more)})


def quantity(word: str, dimension: str, unit: str, meaning: str, **more: Any) -> Any:
    """A field that holds one number in SI, which a plate writes with a unit of `dimension`."""
    return says(word, "quantity", meaning, dimension=dimension, unit=unit, **more)


def attributes_of(kind: type, above: type = object) -> tuple[Attribute, ...]:
    """The rows of a type in the order in which it declares them, those that it inherits first; `above` is the type
    whose rows are left out with those that it inherits itself."""
    return tuple(row for _, row in rows_of(kind, above))


def rows_of(kind: type, above: type = object) -> Iterator[tuple[str, Attribute]]:
    """Each field of a type that a plate may state: its name and its row. See `attributes_of`."""
    final = {each.name: each for each in fields(kind)}
    skipped = set(above.__mro__)
    for owner in reversed(kind.__mro__):
        declared = vars(owner).get("__dataclass_fields__", {})
        for name in inspect.get_annotations(owner) if owner not in skipped else ():
            if name in declared and ROW in declared[name].metadata:
                key, word, form, meaning, default, more = final[name].metadata[ROW]
                yield name, Attribute(key or name, word, form, meaning, default=default, **more)


def fields_of(kind: type, values: Mapping[str, Any]) -> dict[str, Any]:
    """Values by the keys of the table, by the names of the type's fields instead. KeyError for a key of another
    kind."""
    names = {row.key: name for name, row in rows_of(kind)}
    return {names[key]: value for key, value in values.items()}
