"""AC supplies as sources of fault current: volts, the most that each drives, and what it gives for long."""

from __future__ import annotations

from dataclasses import dataclass

from copperplate.model import Generator, Inverter, Part, Shore, System
from copperplate.model.graph import Graph
from copperplate.standards import Profile


@dataclass(frozen=True, slots=True)
class Supply:
    """An AC source in a short. `volts` from a line to neutral, `split` where it has two lines.

    `outside`: it comes from the shore. `most_a` is the largest current at its terminals; `stated` where the plate
    tells it. `limited` sources give it whatever the fault, the others behind an impedance. `lasting_a` is what a
    limited source gives for long, `loop_ohm` the impedance of a source that is not limited in its weakest state. `how`
    says where the figures come from."""

    part: str
    outside: bool
    volts: float
    split: bool
    most_a: float
    stated: bool
    limited: bool
    lasting_a: float
    loop_ohm: float
    how: str
    guessed: bool = False
    """Whether nothing in the plate tells of the loop outside a shore supply."""


def supplies(system: System, profile: Profile, net: Graph) -> dict[str, Supply]:
    """Every AC source with an output that is wired, and what is taken for it where the plate is silent."""
    found: dict[str, Supply] = {}
    for name, ends in net.outputs.items():
        if ends.current != "ac" or ends.nominal_v <= 0.0:
            continue
        between = system.nodes[ends.neg].pole == "l2"  # No neutral is wired: `nominal_v` is from line to line.
        volts = ends.nominal_v / 2 if between else ends.nominal_v
        supply = _supply(profile, system.parts[name], volts, between or bool(ends.third))
        if supply is not None:
            found[name] = supply
    return found


def _supply(profile: Profile, part: Part, volts: float, split: bool) -> Supply | None:
    figures, stated = profile.figures, part.fault_current_a
    highest = figures["fault-voltage-highest"].value
    if isinstance(part, Shore):
        loop = part.earth_loop_ohm or (highest * volts / stated if stated else figures["shore-loop"].value)
        how = "as stated" if stated else "taken, for it states none"
        guessed = not stated and not part.earth_loop_ohm
        most = stated or figures["shore-fault"].value
        return Supply(part.id, True, volts, split, most, bool(stated), False, 0.0, loop, how, guessed)
    rated = _rated(part, volts, split) or ((stated, stated) if stated else None)
    if rated is None:
        return None
    least, largest = rated
    if stated:
        most, how = stated, "as stated"
    elif isinstance(part, Inverter):
        times = figures["inverter-fault"].value
        most = max(times * largest, (part.surge_w or 0.0) / volts)
        how = f"the larger of {times:g} times its output and its surge, taken"
    elif part.self_limiting:
        most, how = largest, "its rating, which it cannot exceed"
    else:
        reactance = part.subtransient if isinstance(part, Generator) else None
        share = reactance or figures["subtransient"].value
        most = highest * largest / share
        taken = "" if reactance else ", which is taken"
        how = f"its rating over a sub-transient reactance of {100 * share:g} %{taken}"
    limited = part.roles.limited or part.self_limiting
    return Supply(part.id, False, volts, split, most, bool(stated), limited, min(least, most), 0.0, how)


def _rated(part: Part, volts: float, split: bool) -> tuple[float, float] | None:
    """(smallest, largest) reading of the rated current: all of the power on one line, or shared by two."""
    readings = [part.current_a] if part.current_a else []
    if part.power_w:
        readings += [part.power_w / volts, part.power_w / volts / (2 if split else 1)]
    return (min(readings), max(readings)) if readings else None
