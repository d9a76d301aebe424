"""What makers ask of the conductors that land on their devices."""

from __future__ import annotations

from dataclasses import dataclass

from copperplate.model import Advice, Part, Run, Size, System
from copperplate.standards import OutsideTable, Profile, conductors
from copperplate.units import NOISE, exceeds


@dataclass(frozen=True)
class MakersSize:
    """What a maker asks of one run's conductors: the size as he writes it, and the area of the smallest of the ladder
    that is not smaller. `advice` None where it comes from a comparable device, read from `leaflet`; `applies` False
    beyond its length."""

    part: Part
    size: Size
    area_mm2: float
    advice: Advice | None
    applies: bool
    leaflet: str = ""


def makers_sizes(system: System, profile: Profile, run: Run) -> tuple[MakersSize, ...]:
    """Advice and comparable sizes of the parts at the ends of a run, each for the terminals that the run reaches. What
    a part with terminals of both currents says without a port is meant for those of direct current."""
    makers: list[MakersSize] = []
    done: set[str] = set()
    for conductor in (system.conductors[c] for c in run.conductor_ids):
        for node in (conductor.from_node, conductor.to_node):
            part = system.parts.get(system.nodes[node].part)
            if part is None or part.id in done or not (part.advised or part.comparable):
                continue
            done.add(part.id)
            port = node.removeprefix(part.id).lstrip(".")
            whole = run.current == "dc" or all(current == "ac" for _, current in part.groups)
            advice = part.advised.get(port) or part.advised.get(port.rpartition(".")[0])
            advice = advice or (part.advised.get("") if whole else None)
            if advice is not None:
                applies = advice.to_length_m is None or not exceeds(run.length_m, advice.to_length_m, NOISE)
                area = _on_ladder(profile, system, advice.size)
                makers.append(MakersSize(part, advice.size, area, advice, applies))
            if part.comparable is not None and whole:
                size, leaflet = part.comparable
                makers.append(MakersSize(part, size, _on_ladder(profile, system, size), None, True, leaflet))
    return tuple(makers)


def _on_ladder(profile: Profile, system: System, size: Size) -> float:
    """Area of the smallest size of the plate's series that is not smaller; the size's own above the ladder."""
    area = conductors.area_mm2(size)
    try:
        return conductors.area_mm2(profile.at_least(area, system.settings.conductors))
    except OutsideTable:
        return area
