"""Facts of two designs in words: what a value was and is, in the units of the plate's reader."""

from __future__ import annotations

import math
from typing import Any

from copperplate.model.kinds import Attribute
from copperplate.units import from_si, local, number, show, symbol

Json = dict[str, Any]

MOST_DIGITS = 12


def differ(old: Any, new: Any) -> bool:
    """Whether two values of a design say different things; the last digits of a number do not."""
    if isinstance(old, bool) or isinstance(new, bool):
        return old is not new
    if isinstance(old, (int, float)) and isinstance(new, (int, float)):
        return not math.isclose(old, new, rel_tol=1e-7, abs_tol=1e-9)
    if isinstance(old, dict) and isinstance(new, dict):
        return old.keys() != new.keys() or any(differ(old[key], new[key]) for key in old)
    if isinstance(old, list) and isinstance(new, list):
        return len(old) != len(new) or any(map(differ, old, new))
    return bool(old != new)


def shown_differ(old: float | None, new: float | None) -> bool:
    """Whether readers see two numbers as different, to three digits."""
    if old is None or new is None:
        return old is not new
    return number(old) != number(new) and differ(old, new)


def pair(old: float, new: float, unit: str) -> str:
    """`2.1 -> 3.4 %`: two values counted as the model counts, with as many digits as tell them apart."""
    before, after = from_si(old, unit), from_si(new, unit)
    digits = 3
    while number(before, digits) == number(after, digits) and digits < MOST_DIGITS:
        digits += 1
    return f"{number(before, digits)} -> {number(after, digits)} {symbol(unit)}"


def size_label(key: str | None, parallel: int = 1) -> str:
    """`10 AWG`, `2 in parallel of 35 mm²`."""
    if key is None:
        return "no size"
    label = key.replace("mm2", "mm²")
    return label if parallel == 1 else f"{parallel} in parallel of {label}"


def size_pair(old: tuple[str | None, int], new: tuple[str | None, int]) -> str:
    """`14 -> 12 AWG`; both in full where they are counted differently."""
    before, after = size_label(*old), size_label(*new)
    if old[1] == new[1] == 1 and before.split(" ")[-1] == after.split(" ")[-1]:
        before = before.rpartition(" ")[0]
    return f"{before} -> {after}"


def changed_value(attribute: Attribute, old: Any, new: Any, units: str) -> str:
    """One attribute that changed, in the word of the plate: `power 60 -> 80 W`, `now critical`."""
    word = attribute.word
    if attribute.form == "flag":
        return f"now {word}" if new else f"no longer {word}"
    if old is None:
        return f"{word} {value(attribute, new, units)} stated"
    if new is None:
        return f"{word} no longer stated (was {value(attribute, old, units)})"
    unit = _shown_unit(attribute, units)
    if attribute.form in ("quantity", "share") and attribute.dimension != "share-per-kelvin":
        return f"{word} {pair(old, new, unit)}"
    if attribute.form == "budget" and (old["share"] is None) == (new["share"] is None):
        key, unit = ("volts", "V") if old["share"] is None else ("share", "%")
        return f"{word} {pair(old[key], new[key], unit)}"
    return f"{word} {value(attribute, old, units)} -> {value(attribute, new, units)}"


def _shown_unit(attribute: Attribute, units: str) -> str:
    """Insulation is named by its degrees Celsius everywhere."""
    return attribute.unit if attribute.key == "insulation_c" else local(attribute.unit, units)


def value(attribute: Attribute, stated: Any, units: str) -> str:
    """A value as a plate would write it."""
    unit = _shown_unit(attribute, units)
    if stated is None:
        return "none"
    if attribute.form in ("quantity", "share") and attribute.dimension != "share-per-kelvin":
        return show(stated, unit, 6)
    if attribute.form == "budget" and isinstance(stated, dict):
        return show(stated["share"], "%", 6) if stated["share"] is not None else show(stated["volts"], "V", 6)
    if attribute.form == "window" and isinstance(stated, dict):
        return f"{number(from_si(stated['low'], unit), 6)}..{show(stated['high'], unit, 6)}"
    if attribute.form == "flag":
        return "yes" if stated else "no"
    return plain(stated)


def plain(stated: Any) -> str:
    """Any other value, on one line."""
    if isinstance(stated, bool):
        return "yes" if stated else "no"
    if isinstance(stated, float):
        return number(stated, 6)
    if isinstance(stated, dict):
        return ", ".join(f"{key} {plain(item)}" for key, item in stated.items() if item not in (None, ""))
    if isinstance(stated, list):
        return ", ".join(plain(item) for item in stated) or "none"
    return "none" if stated in (None, "") else " ".join(str(stated).split())


def terminal(landing: Json | None) -> str:
    """`stud M8`, `clamp 18..10 AWG`, `lead 14 AWG`."""
    if landing is None:
        return "none"
    if landing["form"] == "stud":
        return f"stud {landing['stud']}"
    if landing["form"] == "lead":
        return f"lead {size_label(landing['largest'])}"
    smallest, largest = landing["smallest"], landing["largest"]
    if smallest is None:
        return f"clamp up to {size_label(largest)}"
    return f"clamp {smallest.split(' ')[0]}..{size_label(largest)}"
