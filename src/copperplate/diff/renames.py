"""Which addresses of an old design go by another name in the new one: same ends and same facts.

Designs are compared by address. A part, run, device, route or operating state that only got another name is found
here, and the old design is read under the new names, so that a rename is one change and not thirty.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Hashable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

Json = dict[str, Any]

ADDRESS_KEYS = frozenset(
    (
        "id", "run", "runs", "from", "to", "conductor_ids", "devices", "routes", "route", "protected_by", "from_node",
        "to_node", "panel", "legs", "backed_by", "protects", "source", "return", "open_devices", "subject", "part",
        "marker", "where", "conductor", "node", "from_end", "to_end", "reached", "through",
    )
)  # fmt: skip
"""Keys of a design whose values are addresses."""
KEYED_BY_ADDRESS = frozenset(("nodes", "energy", "shares"))
"""Keys of a design whose objects have addresses for keys."""


@dataclass(frozen=True)
class Rename:
    """One thing of `kind` ("part", "run", "device", "route", "case") that was called `old` and is called `new`."""

    kind: str
    old: str
    new: str


def find(old: Json, new: Json) -> tuple[tuple[Rename, ...], Json]:
    """The renames between two designs, and the old design under its new names. Only what has one possible partner
    is taken for renamed."""
    renames: list[Rename] = []
    while True:
        # Each name found may make the ends of another thing equal.
        more = _next(old, new, {rename.new for rename in renames})
        if not more:
            return tuple(renames), old
        renames += more
        old = renamed(old, {rename.old: rename.new for rename in more})


def renamed(design: Json, names: Mapping[str, str]) -> Json:
    """The design under the new names of its addresses."""
    longest_first = "|".join(re.escape(name) for name in sorted(names, key=lambda name: (-len(name), name)))
    pattern = re.compile(rf"({longest_first})(?=$|[./:]|[+-](?:$|/))")

    def address(text: str) -> str:
        match = pattern.match(text)
        return names[match[1]] + text[match.end() :] if match else text

    def walk(value: Any, is_address: bool) -> Any:
        if isinstance(value, str):
            return address(value) if is_address else value
        if isinstance(value, list):
            return [walk(item, is_address) for item in value]
        if isinstance(value, dict):
            return {key: entry(key, item) for key, item in value.items()}
        return value

    def entry(key: str, item: Any) -> Any:
        if key in KEYED_BY_ADDRESS and isinstance(item, dict):
            return {address(name): walk(under, False) for name, under in item.items()}
        return walk(item, key in ADDRESS_KEYS)

    result = walk(design, False)
    assert isinstance(result, dict)
    return result


def _next(old: Json, new: Json, taken: set[str]) -> list[Rename]:
    """The renames that can be told now, of the first kind that has any: parts name runs, and runs name devices."""
    old_ends, new_ends = _ends(old), _ends(new)
    steps: tuple[tuple[str, str, Callable[[Json, Json], Hashable]], ...] = (
        ("part", "parts", lambda d, p: (_part_facts(p), (old_ends if d is old else new_ends).get(p["id"], ()))),
        ("part", "parts", lambda d, p: (_part_facts(p), p["title"]) if p["title"] else None),
        ("run", "runs", lambda d, r: (r["from"], r["to"], r["conductors"], round(r["length_m"], 6))),
        ("device", "devices", _device_facts),
        ("route", "routes", lambda d, r: (r["title"], *_route_facts(r))),
        ("route", "routes", lambda d, r: (*r["runs"], *_route_facts(r)) if r["runs"] else None),
        ("case", "cases", lambda d, c: None if c["implied"] else (c["kind"], str(sorted(c["shares"].items())))),
    )
    for kind, section, facts in steps:
        before = {item["id"]: facts(old, item) for item in _only_in(old, new, section)}
        after = {item["id"]: facts(new, item) for item in _only_in(new, old, section) if item["id"] not in taken}
        pairs = [
            Rename(kind, name, partner)
            for name, fact in before.items()
            if fact is not None
            and list(before.values()).count(fact) == 1
            and (partner := _alone(after, fact)) is not None
        ]
        if pairs:
            return pairs
    return []


def _alone(names: Mapping[str, Hashable], fact: Hashable) -> str | None:
    """The only name of that fact, or None."""
    sharing = [name for name, other in names.items() if other == fact]
    return sharing[0] if len(sharing) == 1 else None


def _only_in(design: Json, other: Json, section: str) -> Iterable[Json]:
    known = {item["id"] for item in other.get(section, ())}
    return (item for item in design.get(section, ()) if item["id"] not in known)


def _part_facts(part: Json) -> Hashable:
    return str((part["kind"], sorted(part["values"].items(), key=lambda pair: pair[0]), part["terminals"]))


def _device_facts(design: Json, device: Json) -> Hashable:
    if device["panel"]:
        return None
    stated = device["rating_a"] if device["stated"] else None
    return (device["run"], device["kind"], device["family"], stated, device["poles"])


def _route_facts(route: Json) -> tuple[Hashable, ...]:
    return tuple(route[key] for key in ("length_m", "ambient_c", "engine_space", "laid", "sheath"))


def _ends(design: Json) -> dict[str, tuple[Hashable, ...]]:
    """By part: its ports in use, each with what the run from there leads to."""
    ends_of: dict[str, list[tuple[str, str]]] = {}
    for run in design.get("runs", ()):
        for near, far in ((run["from"], run["to"]), (run["to"], run["from"])):
            part, _, port = near.partition(".")
            ends_of.setdefault(part, []).append((port, far))
    return {part: tuple(sorted(ends)) for part, ends in ends_of.items()}
