"""Circuits added, removed and changed, each with what caused it and what follows."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from copperplate.diff import words
from copperplate.diff.causes import device_causes, part_causes, pins, run_causes
from copperplate.diff.change import Change, Fact, Kind, What
from copperplate.diff.circuit import Circuit, area_mm2, rating_words, size_of
from copperplate.diff.consequences import consequences
from copperplate.model import PROTECTIVE
from copperplate.units import local, show

Json = dict[str, Any]
Inherited = frozenset[tuple[str, Any, Any]]
"""(fact, old, new) that many runs share because the system or a route says so."""


def kind_of(circuit: Circuit) -> Kind:
    """The links inside a bank are laid like a run and are none of the plate's."""
    return "part" if circuit.run["role"] == "link" else "circuit"


def added(circuit: Circuit, units: str) -> Change:
    run = circuit.run
    place = f"on {run['from']}" if circuit.part is not None else f"from {run['from']} to {run['to']}"
    return Change(
        "added", kind_of(circuit), run["id"], _title(circuit), "circuit",
        words=f"new {place}: {', '.join(_described(circuit, units))}",
        addresses=circuit.addresses,
    )  # fmt: skip


def removed(circuit: Circuit, new: Json, now: dict[str, Circuit]) -> Change:
    """A circuit that is gone, and what became of the way that it left by."""
    text = "gone"
    for device in circuit.devices:
        if device["way"] is not None:
            taken = [other.run for other in now.values() if other.run["from"] == device["id"]]
            panel = any(part["id"] == device["panel"] for part in new.get("parts", ()))
            if taken:
                text += f", {device['id']} now feeds {taken[0]['to']}"
            elif panel:
                text += f", {device['id']} is spare"
    if not any(device["way"] is not None for device in circuit.devices):
        text += f": it led from {circuit.run['from']} to {circuit.run['to']}"
    return Change(
        "removed", kind_of(circuit), circuit.run["id"], _title(circuit), "circuit", words=text,
        addresses=circuit.addresses,
    )  # fmt: skip


def changed(old: Circuit, new: Circuit, units: str, inherited: Inherited = frozenset()) -> Change | None:
    """What changed in a circuit that both designs have; None where nothing did. What it has from the system or from
    its routes is no cause of its own: those changes stand for themselves."""
    of_run = [fact for fact in run_causes(old, new, units) if (fact.fact, fact.old, fact.new) not in inherited]
    causes = (*of_run, *device_causes(old, new), *part_causes(old, new, units))
    effects = tuple(consequences(old, new, bool(causes)))
    stated = tuple(pins(old, new))
    if not (causes or effects or stated):
        return None
    facts = {fact.fact for fact in effects}
    what: What = "changed"
    if not causes and not facts & {"size", "rating", "family"}:
        what = "pinned" if stated else "follows"
    return Change(
        what, kind_of(new), new.run["id"], _title(new), _weight(old, new, causes, facts, what), (*causes, *stated),
        effects, addresses=new.addresses,
    )  # fmt: skip


def _title(circuit: Circuit) -> str:
    return str(circuit.part["title"]) if circuit.part is not None else ""


def _described(circuit: Circuit, units: str) -> Iterator[str]:
    run = circuit.run
    if run["design_current_a"]:
        yield show(run["design_current_a"], "A")
    yield show(run["length_m"], local("m", units))
    yield words.size_label(*size_of(run))
    for device in circuit.devices:
        yield rating_words(device)
    load = circuit.load
    if load is not None and load["budget_percent"]:
        yield f"drop {show(load['drop_percent'] / 100, '%')} of {show(load['budget_percent'] / 100, '%')}"


def _weight(old: Circuit, new: Circuit, causes: tuple[Fact, ...], facts: set[str], what: What) -> str:
    if what in ("pinned", "follows"):
        return "words" if what == "pinned" else "figure"
    if any(_risky(old, new, fact) for fact in causes):
        return "safety"
    named = {fact.fact for fact in causes}
    if "size" in facts or "stated size" in named or "parallel" in named:
        return "conductor"
    if facts & {"rating", "family"} or named & {"stated rating", "device", "kind", "breaks", "voltage", "backed-by"}:
        return "protection"
    if facts & {"drop", "current"}:
        return "voltage"
    return "words" if named <= {"title"} else "fact"


def _risky(old: Circuit, new: Circuit, fact: Fact) -> bool:
    """What a person decided against protection: thinner by statement, a rating raised by statement, a device gone."""
    if fact.fact == "stated size" and new.run["stated"] and new.run["size"] and old.run["size"]:
        return area_mm2(new.run) < area_mm2(old.run) * 0.999
    if fact.fact == "stated rating" and fact.old is not None and fact.new is not None:
        protective = {device["id"] for device in new.devices if device["kind"] in PROTECTIVE}
        return bool(fact.new > fact.old) and fact.subject in protective
    if fact.fact in ("device", "kind"):
        return fact.old in PROTECTIVE and fact.new not in PROTECTIVE
    return fact.fact == "critical" and fact.new is False
