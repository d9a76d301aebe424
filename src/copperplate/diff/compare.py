"""The comparison of two designs as one document, `copperplate-diff/1`. Text, Markdown and marks are made from it.

It works on the JSON of two designs and on addresses: the lines of a plate, their order, their spacing and the units
they are written in make no difference.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import Any

from copperplate.diff import circuits, parts, words
from copperplate.diff.change import WEIGHTS, Change
from copperplate.diff.circuit import circuits_of
from copperplate.diff.patch import patch
from copperplate.diff.renames import Rename, find
from copperplate.standards.conductors import DENSITY
from copperplate.units import show

Json = dict[str, Any]
FORMAT = "copperplate-diff/1"
SERIOUS = ("error", "warning")


def compare(old: Json, new: Json, old_name: str = "", new_name: str = "") -> Json:
    """What changed from one design to the other. `old` and `new` are designs as JSON (see `schema.to_json`), the
    names what their readers call them. `apply(document["patch"], old) == new`."""
    renames, seen = find(old, new)
    units = new["system"].get("units", "metric")
    comparable = "units" in new["system"] and "units" in seen["system"]
    findings = _findings(seen, new)
    accepted = _accepted(seen, new)
    changes: list[Change] = []
    unchanged = 0
    if comparable:
        changes, unchanged = _changes(seen, new, renames, units)
    changes = [_with_findings(change, findings["new"], accepted) for change in changes]
    changes.sort(key=lambda change: WEIGHTS.index(change.weight))
    energy = list(_energy(seen.get("energy", {}), new.get("energy", {}))) if comparable else []
    document = {
        "format": FORMAT,
        "old": _side(old, old_name),
        "new": _side(new, new_name),
        "units": units,
        "comparable": comparable,
        "differs": bool(changes or findings["new"] or findings["gone"] or any(accepted.values()) or energy),
        "changes": [change.as_json() for change in changes],
        "findings": findings,
        "accepted": accepted,
        "materials": _materials(seen, new),
        "energy": energy,
        "assumptions": _assumptions(seen, new),
        "counts": _counts(changes, unchanged),
        "patch": patch(old, new),
    }
    return document


def _side(design: Json, name: str) -> Json:
    system = design["system"]
    return {
        "name": name or system.get("source", ""),
        "title": system.get("title", ""),
        "revision": system.get("revision", ""),
        "source_sha256": system.get("source_sha256", ""),
        "absent": not system and not design["findings"],
        "circuits": sum(run["role"] == "run" for run in design.get("runs", ())),
        "errors": sum(finding["severity"] == "error" for finding in design["findings"]),
    }


def _changes(old: Json, new: Json, renames: Iterable[Rename], units: str) -> tuple[list[Change], int]:
    """Every change in the order of the new plate, what is gone behind it, and how many circuits are the same."""
    before, after = circuits_of(old), circuits_of(new)
    folded = {c.part["id"] for side in (before, after) for c in side.values() if c.part is not None}
    changes = [_renamed(rename) for rename in renames]
    changes += parts.system_changes(old, new, units)
    shared = parts.inherited(old, new)
    unchanged = 0
    for name, circuit in after.items():
        if name not in before:
            changes.append(circuits.added(circuit, units))
            continue
        change = circuits.changed(before[name], circuit, units, shared)
        unchanged += change is None and circuit.run["role"] == "run"
        changes += [change] if change is not None else []
    changes += [circuits.removed(circuit, new, after) for name, circuit in before.items() if name not in after]
    changes += parts.part_changes(old, new, folded, units)
    changes += parts.route_changes(old, new, units)
    changes += parts.lead_changes(old, new, units)
    changes += parts.case_changes(old, new)
    return changes, unchanged


def _renamed(rename: Rename) -> Change:
    kinds = {"route": "route", "case": "case", "run": "circuit"}
    kind = kinds.get(rename.kind, "part")
    text = f"was called {rename.old}: same ends, same facts"
    return Change("renamed", kind, rename.new, "", "words", words=text, was=rename.old, addresses=(rename.new,))  # type: ignore[arg-type]


def _with_findings(change: Change, appeared: Iterable[Json], accepted: Json) -> Change:
    """The change with safety first where a new warning or error, or a new acceptance, stands on it."""
    subjects = {f["subject"] for f in appeared if f["severity"] in SERIOUS}
    subjects |= {entry["subject"] for entry in accepted["new"]}
    if change.what not in ("follows", "pinned", "renamed") and subjects.intersection(change.addresses):
        return replace(change, weight="safety")
    return change


def _finding_key(finding: Json) -> tuple[str, str, str]:
    return finding["code"], finding["severity"], finding["subject"]


def _findings(old: Json, new: Json) -> dict[str, list[Json]]:
    """Open findings that are new, that are gone, and that still stand with other figures. One that was accepted is
    not gone, and one that is no longer accepted is not new: the register tells."""
    before, after = list(old["findings"]), list(new["findings"])
    left = [_finding_key(finding) for finding in before]
    still: list[Json] = []
    appeared: list[Json] = []
    messages: dict[tuple[str, str, str], list[str]] = {}
    for finding in before:
        messages.setdefault(_finding_key(finding), []).append(finding["message"])
    for finding in after:
        key = _finding_key(finding)
        if key in left:
            left.remove(key)
            message = messages[key].pop(0)
            if message != finding["message"] and finding["accepted"] is None:
                still.append({**_short(finding), "was": message})
        elif finding["accepted"] is None:
            appeared.append(_short(finding))
    known = [_finding_key(finding) for finding in after]
    gone = []
    for finding in before:
        key = _finding_key(finding)
        if key in known:
            known.remove(key)
        elif finding["accepted"] is None:
            gone.append(_short(finding))
    return {"new": appeared, "gone": gone, "figures": still}


def _short(finding: Json) -> Json:
    return {key: finding[key] for key in ("code", "severity", "subject", "message", "help")}


def _accepted(old: Json, new: Json) -> dict[str, list[Json]]:
    """The register of accepted findings: entries new, gone, and with another reason."""
    before, after = ({(a["code"], a["subject"]): a for a in side["system"].get("accepts", ())} for side in (old, new))
    return {
        "new": [entry for key, entry in after.items() if key not in before],
        "gone": [entry for key, entry in before.items() if key not in after],
        "reason": [
            {**entry, "was": before[key]["reason"]}
            for key, entry in after.items()
            if key in before and before[key]["reason"] != entry["reason"]
        ],
    }


def _copper_kg(design: Json) -> float:
    """The copper of all conductors as they lie, without slack."""
    return sum(run["copper_mm2_m"] or 0.0 for run in design.get("runs", ())) * DENSITY / 1000.0


def _materials(old: Json, new: Json) -> Json:
    """Copper as it lies, and the lines to buy that differ."""
    sides = [{(m["group"], m["item"], m["unit"]): m["quantity"] for m in d.get("materials", ())} for d in (old, new)]
    lines = [
        {"group": key[0], "item": key[1], "unit": key[2], "old": sides[0].get(key, 0), "new": sides[1].get(key, 0)}
        for key in dict.fromkeys((*sides[1], *sides[0]))
        if words.differ(sides[0].get(key, 0), sides[1].get(key, 0))
    ]
    return {"copper_kg": {"old": _copper_kg(old), "new": _copper_kg(new)}, "lines": lines}


def _energy(old: Json, new: Json) -> Iterator[Json]:
    """Per bank: what a day takes, how long it lasts, and how long charging takes, where these moved."""
    for bank, now in new.items():
        was = old.get(bank)
        if was is None:
            continue
        figures = [
            ("daily", "Wh", was["daily_wh"], now["daily_wh"], "a day takes"),
            ("usable", "Wh", was["usable_wh"], now["usable_wh"], "usable energy"),
            ("autonomy", "h", _hours(was["autonomy_days"]), _hours(now["autonomy_days"]), "autonomy"),
        ]
        charging = {entry["source"]: entry["hours"] for entry in was["recharge"]}
        figures += [
            (f"recharge from {entry['source']}", "h", charging.get(entry["source"]), entry["hours"],
             f"charging from {entry['source']}")
            for entry in now["recharge"]
        ]  # fmt: skip
        for fact, unit, before, after, noun in figures:
            if before is None or after is None or not words.shown_differ(before, after):
                continue
            by = show(abs(after - before), unit, 2)
            more = ("longer", "shorter") if unit == "h" else ("more", "less")
            text = f"{noun} {by} {more[0] if after > before else more[1]}"
            yield {"bank": bank, "fact": fact, "unit": unit, "old": before, "new": after, "words": text}


def _hours(days: float | None) -> float | None:
    return None if days is None else days * 24.0


def _assumptions(old: Json, new: Json) -> dict[str, list[Json]]:
    before, after = ({(a["subject"], a["text"]): a for a in side.get("assumptions", ())} for side in (old, new))
    return {
        "new": [a for key, a in after.items() if key not in before],
        "gone": [a for key, a in before.items() if key not in after],
    }


def _counts(changes: Iterable[Change], unchanged: int) -> dict[str, int]:
    """Circuits by what became of them; one that only follows counts as unchanged in itself. `others`: changes of
    anything else."""
    listed = list(changes)
    own = [change.what for change in listed if change.kind == "circuit"]
    return {
        "added": own.count("added"),
        "changed": own.count("changed"),
        "removed": own.count("removed"),
        "renamed": sum(change.what == "renamed" for change in listed),
        "pinned": own.count("pinned"),
        "follows": own.count("follows"),
        "unchanged": unchanged,
        "others": sum(change.kind != "circuit" and change.what != "renamed" for change in listed),
    }
