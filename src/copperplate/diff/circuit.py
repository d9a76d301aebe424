"""A circuit of a design: a run with its devices and, where it brings one its supply, the consumer at its end."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from copperplate.model.kinds import KINDS
from copperplate.standards import conductors
from copperplate.units import show

Json = dict[str, Any]


@dataclass(frozen=True)
class Circuit:
    """One run of a design and what belongs to it. `load` are its figures, `part` its facts; None where the run
    supplies no consumer."""

    run: Json
    devices: tuple[Json, ...]
    conductors: tuple[Json, ...]
    load: Json | None
    part: Json | None
    others: frozenset[str] = frozenset()
    """Parts of the design, for what their names stand for."""

    @property
    def addresses(self) -> tuple[str, ...]:
        served = () if self.part is None else (self.part["id"],)
        base = self.run["id"].removesuffix(".run")
        named = () if base in self.others else (base,)
        names = (self.run["id"], *named, *served, *(d["id"] for d in self.devices), *(c["id"] for c in self.conductors))
        return tuple(dict.fromkeys(names))


def circuits_of(design: Json) -> dict[str, Circuit]:
    """The circuits of a design by the id of their run, in its order."""
    by_run: dict[str, list[Json]] = {}
    for device in design.get("devices", ()):
        by_run.setdefault(device["run"], []).append(device)
    pieces: dict[str, list[Json]] = {}
    for conductor in design.get("conductors", ()):
        pieces.setdefault(conductor["run"], []).append(conductor)
    loads = {load["run"]: load for load in design.get("loads", ())}
    parts = {part["id"]: part for part in design.get("parts", ())}
    circuits = {}
    for run in design.get("runs", ()):
        load = loads.get(run["id"])
        part = parts.get(load["id"] if load else run["to"].split(".")[0])
        if load is None and part is not None and not _is_load(part):
            part = None
        devices, wires = by_run.get(run["id"], ()), pieces.get(run["id"], ())
        circuits[run["id"]] = Circuit(run, tuple(devices), tuple(wires), load, part, frozenset(parts))
    return circuits


def _is_load(part: Json) -> bool:
    kind = KINDS.get(part["kind"])
    return kind is not None and kind.type is not None and kind.type.roles.is_load


def size_of(run: Json) -> tuple[str | None, int]:
    return run["size"], run["parallel"]


def area_mm2(run: Json) -> float:
    """The area of one pole of a run, all its conductors in parallel."""
    number, _, system = run["size"].partition(" ")
    size = conductors.size_from(number, system)
    return run["parallel"] * (conductors.area_mm2(size) if size else 0.0)


def rating_words(device: Json) -> str:
    """`5 A fuse`, `300 A switch`, `fuse without a rating`."""
    if device["rating_a"] is None:
        return f"{device['kind']} without a rating"
    return f"{show(device['rating_a'], 'A')} {device['kind']}"


def matched(old: Circuit, new: Circuit) -> list[tuple[Json | None, Json | None]]:
    """The devices of a circuit side by side: those of ways with each other, the others by name."""
    before = {"way" if d["way"] is not None else d["id"]: d for d in old.devices}
    after = {"way" if d["way"] is not None else d["id"]: d for d in new.devices}
    return [(before.get(key), after.get(key)) for key in dict.fromkeys((*after, *before))]
