"""What can be on or off, and the cases that every plate has."""

from __future__ import annotations

from collections.abc import Container, Mapping
from dataclasses import dataclass
from functools import cached_property

from copperplate.model import Case, Converter, Inverter, Part
from copperplate.resolve.circuits import Circuits
from copperplate.resolve.reach import Supply
from copperplate.resolve.reading import Reading


@dataclass(frozen=True)
class Actors:
    """What can be on or off, in the order of the plate: consumers, sources that charge, AC supplies. Something may
    be in two of them. `supply` holds who feeds whom."""

    parts: Mapping[str, Part]
    supply: Supply
    consumers: dict[str, None]
    chargers: dict[str, None]
    supplies: dict[str, None]

    @cached_property
    def names(self) -> dict[str, None]:
        """All of them."""
        return {**self.consumers, **self.chargers, **self.supplies}

    @cached_property
    def batteries(self) -> tuple[str, ...]:
        """The banks, which are on unless a switch takes them out."""
        return tuple(part.id for part in self.parts.values() if part.roles.stores)

    def add_suppliers(
        self, case: str, chosen: dict[str, float], off: Container[str], reading: Reading
    ) -> list[tuple[str, str]]:
        """Turns on what alone feeds something that is on; an inverter that a supply passes through feeds nothing
        itself where the case has that supply on. Returns the (source, consumer) pairs that the case itself keeps
        apart: the source is in `off`."""
        apart: list[tuple[str, str]] = []
        queue = list(chosen)
        for consumer in queue:
            sources = self.supply.by.get(consumer, ())
            handed = [s for s in sources if any(m in chosen for m in self.supply.by.get(f"{s}.ac-in", ()))]
            if not sources or handed or any(s in self.batteries or s in chosen for s in sources):
                continue
            source = next((s for s in sources if s not in off), None)
            if source is None:
                apart.append((sources[0], consumer))
                continue
            chosen[source] = 1.0
            queue.append(source)
            reading.assume(case, f"`{source}` is on, for it feeds `{consumer}`")
        return apart


def sort_actors(circuits: Circuits, supply: Supply) -> Actors:
    """Sorts the connected parts by what they do in a case. A converter consumes, or charges where it is stated to; with
    a battery on its output and no such statement it counts as both. An inverter consumes, and is both where it charges
    too."""
    consumers: dict[str, None] = {}
    chargers: dict[str, None] = {}
    supplies: dict[str, None] = {}
    parts = circuits.parts
    for part in (part for part in parts.values() if part.id in circuits.reached_parts):
        fed = bool(supply.by.get(part.id))
        if part.id in supply.by and not fed:
            continue
        if part.roles.mains and not part.roles.consumes:
            supplies[part.id] = None
        elif part.roles.pushes_current and not part.holds_voltage:
            chargers[part.id] = None
        elif part.roles.consumes and fed:
            consumers[part.id] = None
            if isinstance(part, Converter):
                zone = circuits.zone_of(f"{part.id}.out.pos")
                if zone and parts[zone].roles.stores:
                    chargers[part.id] = None
                    text = f"runs in every case, for it may charge `{zone}` while loads are on"
                    circuits.reading.assume(part.id, text)
            elif isinstance(part, Inverter) and part.charges_a is not None and supply.by.get(f"{part.id}.ac-in", True):
                chargers[part.id] = None
    return Actors(parts, supply, consumers, chargers, supplies)


def implied_cases(actors: Actors, declared: bool, reading: Reading) -> tuple[Case, ...]:
    """`everything`: all consumers on, sources off, but for an AC supply that some load has none beside;
    `charging`: all sources at their rating, consumers off, but for what feeds a charger. Declared cases take the
    place of the first."""
    by, parts = actors.supply.by, actors.parts
    needed = {
        source
        for name in actors.consumers
        for source in by.get(name, ())
        if source in actors.supplies and not any(isinstance(parts[other], Inverter) for other in by[name])
    }
    on = (*actors.consumers, *(name for name in actors.supplies if name in needed))
    everything = Case("everything", "Everything on", "load", dict.fromkeys(on, 1.0), frozenset(), True, None)
    sources = dict.fromkeys((*actors.chargers, *actors.supplies), 1.0)
    actors.add_suppliers("charging", sources, (), reading)
    charging = Case("charging", "Everything charging", "charge", sources, frozenset(), True, None)
    return (charging,) if declared else (everything, charging)
