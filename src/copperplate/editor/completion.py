"""What may come next, from the statement that the pointer stands in. It reads the text and not the tree, for the
statement at hand is seldom whole."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from copperplate.model.kinds import COMMON, DEVICE, DEVICE_KINDS, FAMILIES, KINDS, SEGMENT, Attribute, Kind

Sort = Literal["kind", "attribute", "choice", "name"]
NAMES_OF: dict[str, tuple[str, ...]] = {
    "via": ("route",),
    "part": ("part",),
    "return": ("bus",),
    "on": (), "off": (), "share": (), "backed-by": (),
}  # fmt: skip
"""After these words comes a name of these kinds; of any kind where none stands here."""
_LAST = re.compile(r"(?:^|[\s,\[])([^\s,\[\]]*)$")
_WORD = re.compile(r"[^\W\d][\w-]*")


@dataclass(frozen=True, slots=True)
class Proposal:
    """One word that may come next, with what it means."""

    word: str
    sort: Sort
    meaning: str


def proposals(before: str, named: Mapping[str, str]) -> list[Proposal]:
    """What may stand at the end of `before`, the text of the plate up to the pointer. `named`: the names that are
    given, with the kind of each (`run` and `device` for those). What is already begun is not filtered."""
    statement = _statement(before)
    if "#" in statement.rpartition("\n")[2] or statement.count('"') % 2:
        return []
    typed = _LAST.search(statement)
    head = statement[: typed.start(1)] if typed else statement
    words = _WORD.findall(head)
    last = words[-1] if words and not head.rstrip().endswith((",", "[", "--", "-//-", "-///-", "-////-")) else ""
    if last in NAMES_OF:
        kinds = NAMES_OF[last]
        return [Proposal(name, "name", kind) for name, kind in named.items() if not kinds or kind in kinds]
    if not head.strip():
        kind_words = [Proposal(kind.word, "kind", kind.meaning) for kind in KINDS.values()]
        return [*kind_words, *_ends(named)]
    if "--" in head or "-/" in head:
        return list(_in_run(head, named))
    kind = KINDS.get(words[0]) if words else None
    if kind is None:
        return []
    if kind.word == "case":
        return [*_attributes(kind.attributes), *(Proposal(name, "name", of) for name, of in named.items())]
    if kind.word == "part":
        part = KINDS.get(words[2]) if len(words) > 2 else None
        if part is None:
            return [Proposal(k.word, "kind", k.meaning) for k in KINDS.values() if k.component]
        return list(_of_kind(part))
    return list(_of_kind(kind))


def _statement(before: str) -> str:
    """The last statement of a text: from the last line that begins in the first column."""
    lines = before.split("\n")
    start = len(lines) - 1
    while start > 0 and lines[start][:1] in (" ", "\t"):
        start -= 1
    return "\n".join(lines[start:])


def _of_kind(kind: Kind) -> Iterator[Proposal]:
    yield from _attributes(kind.attributes)
    if kind.component:
        yield from _attributes(COMMON)


def _attributes(attributes: tuple[Attribute, ...]) -> Iterator[Proposal]:
    for attribute in attributes:
        yield Proposal(attribute.word, "attribute", meaning(attribute))
        for choice in attribute.choices if attribute.bare else ():
            yield Proposal(choice, "choice", attribute.meaning)


def _in_run(head: str, named: Mapping[str, str]) -> Iterator[Proposal]:
    if head.rfind("[") > head.rfind("]"):
        yield from (Proposal(kind, "kind", f"a {kind} in the line") for kind in DEVICE_KINDS)
        yield from (Proposal(family, "choice", "family of the device") for family in FAMILIES)
        yield from _attributes(tuple(a for a in DEVICE if not a.choices))
        return
    yield from _attributes(SEGMENT)
    yield from _ends(named)


def _ends(named: Mapping[str, str]) -> Iterator[Proposal]:
    for name, word in named.items():
        kind = KINDS.get(word)
        if kind is not None and kind.component:
            yield Proposal(name, "name", word)
            yield from (Proposal(f"{name}.{port}", "name", f"{word}, {port}") for port in kind.ports if port)


def meaning(attribute: Attribute) -> str:
    """What an attribute says, with its unit, its choices and its default."""
    words = [attribute.meaning]
    if attribute.unit:
        words.append(f"in {attribute.unit}")
    if attribute.choices:
        words.append("one of " + ", ".join(attribute.choices))
    if attribute.default not in (None, "", False):
        words.append(f"default {attribute.default}")
    return "; ".join(words)
