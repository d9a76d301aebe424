"""The file of a rule profile: read, joined to the practice of the trade, and held to what a profile must say."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from importlib.resources.abc import Traversable
from typing import Any

from copperplate.model.folders import FOLDERS
from copperplate.standards.conductors import size_from
from copperplate.standards.figures import ENTRIES, FIGURES, FORMS, Entry
from copperplate.standards.tables import STATUSES, table

JOINED = ("clauses", "constants", "disconnection", "fuses", "publications", "solar")
"""Sections that a profile takes from the practice of the trade where it says nothing of its own."""


class IncompleteProfile(ValueError):
    """A file that is no whole profile. The message is fit for a reader: which file, what it lacks, what that is for."""


def read_sheet(path: Traversable) -> Mapping[str, Any]:
    """The sections of the profile in this file; IncompleteProfile where something is missing or cannot be."""
    try:
        own = _toml(path)
    except (OSError, ValueError) as error:
        raise IncompleteProfile(f"{path} cannot be read: {error}") from error
    odd = [name for name in JOINED if not isinstance(own.get(name, {}), dict)]
    if odd:
        raise IncompleteProfile(f"{path} says `{odd[0]} = ...` where a section `[{odd[0]}]` is meant")
    practice = _toml(FOLDERS[0] / "practice.toml")
    sheet = own | {name: _joined(own, practice, name) for name in JOINED} | {"stated": tuple(own.get("constants", ()))}
    lacks = tuple(_lacks(sheet))
    if lacks:
        more = f", and {len(lacks) - 1} more" if len(lacks) > 1 else ""
        raise IncompleteProfile(f"{path} {lacks[0]}{more}")
    return sheet


def _toml(path: Traversable) -> dict[str, Any]:
    return tomllib.loads(path.read_text("utf-8"))


def _joined(own: Mapping[str, Any], practice: Mapping[str, Any], name: str) -> Mapping[str, Any]:
    """A section of the profile, its own words first."""
    stated = own.get(name, {})
    return stated | {key: value for key, value in practice.get(name, {}).items() if key not in stated}


def _lacks(sheet: Mapping[str, Any]) -> Iterator[str]:
    """What a sheet lacks, a phrase each."""
    for path, entry in ENTRIES.items():
        if not _asked(sheet, entry):
            continue
        value = _at(sheet, path)
        if value is None and not entry.optional:
            yield f"does not say `{path}`, {entry.purpose}"
        elif value is not None and (wanted := _misfit(value, entry)):
            yield f"says {wanted} for `{path}`, {entry.purpose}"
    for name, figure in FIGURES.items():
        if name not in sheet["constants"] and not figure.optional:
            yield f"has no figure `{name}`, {figure.quantity}"
    for name, constant in sheet["constants"].items():
        if not isinstance(constant, dict) or not _is_number(constant.get("value")):
            yield f"gives no number for the figure `{name}`"
        elif name not in FIGURES and not isinstance(constant.get("quantity"), str):
            yield f"does not say in `quantity` what the figure `{name}` is"
        elif missing := _unsourced(constant):
            yield f"gives no {missing} for the figure `{name}`"


def _asked(sheet: Mapping[str, Any], entry: Entry) -> bool:
    path, _, value = entry.beside.partition("=")
    return not path or (_at(sheet, path) == value if value else _at(sheet, path) is not None)


def _at(sheet: Mapping[str, Any], path: str) -> Any:
    """What stands at a path, or None."""
    section, _, key = path.partition(".")
    found = sheet.get(section)
    return found if not key else found.get(key) if isinstance(found, dict) else None


def _misfit(value: Any, entry: Entry) -> str:
    """What it says instead of a value of the entry's form, or ""."""
    form = entry.form
    if form not in FORMS:
        return "" if value in form.split("|") else f"none of {form.replace('|', ', ')}"
    if form == "number":
        return "" if _is_number(value) else "no number"
    if form == "size":
        return "" if _is_size(value) else "no size with its source and status"
    if form == "colour":
        sound = isinstance(value, dict) and isinstance(value.get("letters"), str) and not _unsourced(value)
        return "" if sound else "no letters with their source and status"
    if form == "texts":
        return "" if isinstance(value, list) and all(isinstance(text, str) for text in value) else "no list of texts"
    if not isinstance(value, str):
        return "no text"
    return _lacking_columns(value, entry.columns) if form == "table" else ""


def _is_size(value: Any) -> bool:
    """Whether it is a size with its source, and another of that sort where it asks for one `below` a voltage `v`."""
    if not isinstance(value, dict) or _unsourced(value):
        return False
    named, below = str(value.get("size")).split(), value.get("below")
    lower = below is None or (isinstance(below, dict) and _is_number(below.get("v")) and _is_size(below))
    return len(named) == 2 and size_from(*named) is not None and lower and _is_number(value.get("outside_m", 0.0))


def _lacking_columns(name: str, columns: tuple[str, ...]) -> str:
    """What a table lacks, or ""."""
    try:
        read = table(name)
        cells = [row[column] for column in columns for row in read.records if row[column]]
    except KeyError as error:
        missing = error.args[0]
        return f"`{name}`, which is no table of any folder," if missing == name else f"`{name}`, without `{missing}`,"
    odd = next((cell for cell in cells if not _reads(cell)), None)
    return f"`{name}`, where `{odd}` is no number," if odd is not None else ""


def _reads(cell: str) -> bool:
    try:
        float(cell)
    except ValueError:
        return False
    return True


def _unsourced(entry: Mapping[str, Any]) -> str:
    """What is missing of source and status, or ""."""
    if not isinstance(entry.get("source"), str) or not entry["source"]:
        return "source"
    return "" if entry.get("status") in STATUSES else f"status ({', '.join(STATUSES)})"


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)
