"""Raw changes between two JSON values, in the form of RFC 6902 (JSON Patch): `apply(patch(a, b), a) == b`.

Items of lists that carry an `id` are matched by it, so that one circuit more does not touch those behind it.
"""

from __future__ import annotations

from collections.abc import Iterator
from copy import deepcopy
from difflib import SequenceMatcher
from typing import Any

Operation = dict[str, Any]


def patch(old: Any, new: Any) -> list[Operation]:
    """The operations `add`, `remove` and `replace` that turn `old` into `new`, in the order to apply them."""
    return list(_changes(old, new, ""))


def apply(operations: list[Operation], value: Any) -> Any:
    """`value` with the operations done to a copy of it. Raises KeyError, IndexError or ValueError where an
    operation does not fit the value."""
    result = deepcopy(value)
    for operation in operations:
        content = deepcopy(operation.get("value"))
        keys = _keys(operation["path"])
        if not keys:
            result = content
            continue
        place = result
        for key in keys[:-1]:
            place = place[int(key)] if isinstance(place, list) else place[key]
        _do(operation["op"], place, keys[-1], content)
    return result


def _do(verb: str, place: Any, key: str, content: Any) -> None:
    if verb not in ("add", "remove", "replace"):
        raise ValueError(f"no operation is called {verb!r} here")
    if isinstance(place, list):
        at = len(place) if key == "-" else int(key)
        if verb == "add":
            if at > len(place):
                raise IndexError(key)
            place.insert(at, content)
        elif verb == "remove":
            del place[at]
        else:
            place[at] = content
        return
    if verb != "add" and key not in place:
        raise KeyError(key)
    if verb == "remove":
        del place[key]
    else:
        place[key] = content


def _keys(pointer: str) -> list[str]:
    """The keys of a JSON pointer (RFC 6901); none for the whole."""
    return [key.replace("~1", "/").replace("~0", "~") for key in pointer.split("/")[1:]]


def _joined(pointer: str, key: str | int) -> str:
    return f"{pointer}/{str(key).replace('~', '~0').replace('/', '~1')}"


def _changes(old: Any, new: Any, at: str) -> Iterator[Operation]:
    if isinstance(old, dict) and isinstance(new, dict):
        yield from _in_object(old, new, at)
    elif isinstance(old, list) and isinstance(new, list):
        yield from _in_list(old, new, at)
    elif type(old) is not type(new) or repr(old) != repr(new):  # 0.0 and -0.0 are two texts
        yield {"op": "replace", "path": at, "value": new}


def _in_object(old: dict[str, Any], new: dict[str, Any], at: str) -> Iterator[Operation]:
    kept = [key for key in old if key in new]
    if kept != [key for key in new if key in old] or list(new)[: len(kept)] != kept:
        # The order of keys is part of a design (it is the order of the plate): written anew where it changed.
        yield from ({"op": "remove", "path": _joined(at, key)} for key in old)
        yield from ({"op": "add", "path": _joined(at, key), "value": value} for key, value in new.items())
        return
    for key, value in old.items():
        if key not in new:
            yield {"op": "remove", "path": _joined(at, key)}
        else:
            yield from _changes(value, new[key], _joined(at, key))
    for key, value in new.items():
        if key not in old:
            yield {"op": "add", "path": _joined(at, key), "value": value}


def _in_list(old: list[Any], new: list[Any], at: str) -> Iterator[Operation]:
    """Matched by identity from the end on, so that the places before an operation hold."""
    steps = SequenceMatcher(None, _names(old), _names(new), autojunk=False).get_opcodes()
    for verb, start, end, new_start, new_end in reversed(steps):
        both = min(end - start, new_end - new_start) if verb in ("equal", "replace") else 0
        for place in reversed(range(start + both, end)):
            yield {"op": "remove", "path": _joined(at, place)}
        for item in reversed(new[new_start + both : new_end]):
            yield {"op": "add", "path": _joined(at, start + both), "value": item}
        for place in reversed(range(both)):
            yield from _changes(old[start + place], new[new_start + place], _joined(at, start + place))


def _names(items: list[Any]) -> list[str]:
    """What tells the items of a list apart: their id, or all that they say."""
    return [str(item["id"]) if isinstance(item, dict) and "id" in item else repr(item) for item in items]
