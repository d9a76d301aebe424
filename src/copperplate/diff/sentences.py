"""The sentences that text and Markdown share, made from a comparison document."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from copperplate.diff import words
from copperplate.units import counted, show

Json = dict[str, Any]

MARKS = {"added": "+", "removed": "-", "changed": "~", "renamed": ">", "pinned": "=", "follows": " "}
FOLDED_FROM = 4
"""So many lines of a kind that ask nothing of the reader become one."""
LEAST = 0.005
"""Energy that moves by a smaller share goes unsaid; the document has it."""


def sentence(change: Json) -> str:
    """`4 ft longer: drop 2.1 -> 3.4 % of 3 %, so 14 -> 12 AWG`."""
    if change["words"]:
        return str(change["words"])
    causes = ", ".join(fact["words"] for fact in change["causes"])
    effects = ", ".join(fact["words"] for fact in change["consequences"]).removeprefix("so ")
    return f"{causes}: {effects}" if causes and effects else causes or effects


def lines(document: Json) -> Iterator[tuple[str, str, str]]:
    """(mark, address, sentence) of every change in the order of reading; what only follows, and what was only
    pinned, is folded where it is many."""
    changes = document["changes"]
    pinned = [change for change in changes if change["change"] == "pinned"]
    drops = [change for change in changes if change["change"] == "follows" and _only_drop(change)]
    folded = [group for group in (pinned, drops) if len(group) >= FOLDED_FROM]
    hidden = {id(change) for group in folded for change in group}
    for change in changes:
        if id(change) not in hidden:
            yield MARKS[change["change"]], change["address"], sentence(change)
    for group in folded:
        if group is pinned:
            yield "=", counted(len(pinned), "circuit"), "what was chosen is now stated, and is the same"
        else:
            yield " ", counted(len(drops), "circuit"), _drops(drops)


def _only_drop(change: Json) -> bool:
    return all(fact["fact"] in ("drop", "same size") for fact in change["consequences"])


def _drops(changes: list[Json]) -> str:
    """The drops that moved because of others: by how much, and which comes nearest to its budget."""
    facts = [fact for change in changes for fact in change["consequences"] if fact["fact"] == "drop"]
    moves = [fact["new"] - fact["old"] for fact in facts]
    least, most = min(moves), max(moves)
    worst = max(facts, key=lambda fact: fact["new"] / fact["limit"] if fact["limit"] else 0.0)
    if least >= 0 or most <= 0:
        ends = sorted((abs(least), abs(most)))
        shown = [show(end, "%", 2) for end in ends]
        span = shown[0] if shown[0] == shown[1] else f"{shown[0].removesuffix(' %')} to {shown[1]}"
        moved = f"drop {span} {'more' if least >= 0 else 'less'}"
    else:
        moved = f"drop {show(abs(least), '%', 2)} less to {show(most, '%', 2)} more"
    reached, budget = show(worst["new"], "%").removesuffix(" %"), show(worst["limit"], "%")
    nearest = f"{reached} of {budget} at {worst['subject']}"
    return f"{moved} because of others, at most {nearest}"


def totals(document: Json) -> Iterator[str]:
    """What it comes to: copper, energy, findings."""
    copper = document["materials"]["copper_kg"]
    by = copper["new"] - copper["old"]
    if document["comparable"] and words.shown_differ(copper["old"], copper["new"]):
        yield f"{show(abs(by), 'kg', 2)} of copper {'more' if by > 0 else 'less'}"
    yield from (fact["words"] for fact in document["energy"] if abs(fact["new"] - fact["old"]) > LEAST * fact["old"])
    new, gone, moved = (len(document["findings"][key]) for key in ("new", "gone", "figures"))
    if new or gone:
        came = f"{counted(new, 'finding')} new" if new else "none new"
        left = f"{counted(gone, 'finding')} gone" if gone else "none gone"
        yield f"{left}, {came}" if gone else f"{came}, {left}"
    if moved:
        yield f"{counted(moved, 'finding')} with other figures"
    assumed = document["assumptions"]
    counts = [(len(assumed["new"]), "new"), (len(assumed["gone"]), "gone")]
    if any(count for count, _ in counts):
        yield ", ".join(f"{counted(count, 'assumption')} {what}" for count, what in counts if count)


def closing(document: Json) -> str:
    """`3 circuits differ: 1 added, 1 changed, 1 removed. 28 unchanged.`"""
    old, new = document["old"], document["new"]
    if old["absent"] != new["absent"]:
        here, what = (new, "new") if old["absent"] else (old, "gone")
        return f"{here['name']} is {what}: {counted(here['circuits'], 'circuit')}."
    if not document["comparable"]:
        return "Only the findings are compared."
    counts = document["counts"]
    own = [(counts[what], what) for what in ("added", "changed", "removed") if counts[what]]
    total = sum(count for count, _ in own)
    parts = [_differ(total, own)]
    if counts["renamed"]:
        parts.append(f"{counts['renamed']} renamed.")
    if counts["pinned"]:
        parts.append(f"{counts['pinned']} now stated as chosen.")
    if counts["others"]:
        parts.append(f"{counted(counts['others'], 'other change')}.")
    parts.append(f"{counts['unchanged'] + counts['follows']} unchanged.")
    return " ".join(parts)


def _differ(total: int, own: Iterable[tuple[int, str]]) -> str:
    if not total:
        return "No circuit differs."
    verb = "differs" if total == 1 else "differ"
    return f"{counted(total, 'circuit')} {verb}: {', '.join(f'{count} {what}' for count, what in own)}."


def partial(document: Json) -> Iterator[str]:
    """A line for each side whose errors leave its figures in doubt."""
    for side in ("old", "new"):
        summary = document[side]
        if summary["errors"]:
            figures = "its figures may be partial" if document["comparable"] else "no system to compare"
            yield f"{summary['name']} has {counted(summary['errors'], 'error')}: {figures}"


def register(document: Json) -> Iterator[str]:
    """Changes of the register of accepted findings."""
    accepted = document["accepted"]
    for entry in accepted["new"]:
        yield f"accepted {entry['code']} {entry['subject']}: “{entry['reason']}”"
    for entry in accepted["gone"]:
        yield f"no longer accepted {entry['code']} {entry['subject']}: “{entry['reason']}”"
    for entry in accepted["reason"]:
        reasons = f"“{entry['reason']}”, was “{entry['was']}”"
        yield f"accepted {entry['code']} {entry['subject']} for another reason: {reasons}"
