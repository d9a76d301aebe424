"""What runs are called."""

from __future__ import annotations

from typing import Any

from copperplate import units
from copperplate.model import DEVICE_ROLES, Bus, Earth, Junction, Load, Panel
from copperplate.resolve.addresses import Ends, Target, part_of
from copperplate.resolve.brackets import InLine
from copperplate.resolve.landings import Landing
from copperplate.resolve.legs import Leg
from copperplate.text import Span

STOPS = (Bus, Junction, Earth)
"""Types of parts that many runs end at: a run to one of them is called by its other end."""


def run_base(leg: Leg, near: Landing, far: Landing, start: Target, stop: Target) -> str:
    """The address of a run without `.run`: its name, or that of the end that tells it from other runs.

    That is the far end, or the near one where the far end is a bar, splice or earth. A way does not tell: its
    number may be chosen by the compiler, and addresses must not depend on that. Nor does a component that the
    same statement has just reached: the leg before is called by it."""
    name = leg.statement.name
    if name is not None:
        return name.text if leg.of == 1 else f"{name.text}-{leg.number + 1}"
    just_reached = leg.number > 0 and not isinstance(start.part, STOPS)
    if isinstance(stop.part, STOPS) and near.way is None and not just_reached:
        return near.address
    return far.address


def by_both_ends(near: Landing, far: Landing) -> str:
    """The address, without `.run`, of a run that both its ends tell: of a way, whose number the compiler may choose,
    only the panel."""
    return "-".join(end.part if end.way is not None else end.address for end in (near, far))


def asks_for_a_name(near: Landing, far: Landing, ends: Ends) -> bool:
    """Whether a second run of one address is rather a mistake: of an AC source, which takes turns with another, and of
    a load that is drawn towards its panel."""
    start, stop = ends.parts[near.part], ends.parts[far.part]
    return start.roles.mains or (isinstance(start, Load) and isinstance(stop, Panel))


def _taking_turns(leg: Leg) -> dict[str, Any]:
    """The repair where a second AC source feeds what a first one feeds already: a name, and a selector in each."""
    devices = [thing for thing in leg.line if isinstance(thing, InLine)]
    opening = f"from-{part_of(leg.near.text)}: {leg.near.text} {leg.stroke.text}"
    if any(device.kind is not None and DEVICE_ROLES[device.kind].chooses for device in devices):
        return {"opening": opening}
    most_a = max((device.facts.values.get("rating_a") or 0.0 for device in devices), default=0.0)
    return {"opening": opening, "rating": units.show(most_a, "A") if most_a else "RATING", "far": leg.far.text}


def run_id(leg: Leg, base: str, taken: dict[str, Span], ends: Ends) -> str:
    """The id of the run; a second run of the same address is a finding and gets a number."""
    id_ = base if leg.statement.name is not None else f"{base}.run"
    first = taken.get(id_) or (ends.reading.names.spans.get(id_) if leg.of > 1 else None)
    if first is None:
        taken[id_] = leg.span
        return id_
    opening = "-".join(word.text.replace(".", "-") for word in (leg.near, leg.far))
    about: dict[str, Any] = {"opening": f"{opening}: {leg.near.text} {leg.stroke.text}"}
    start, stop = (ends.parts[part_of(word.text)] for word in (leg.near, leg.far))
    if start.roles.mains:
        about = _taking_turns(leg)
    elif isinstance(start, Load) and isinstance(stop, Panel):
        about |= {"panel": leg.far.text, "stroke": leg.stroke.text, "near": leg.near.text}
    if id(leg.statement.name) not in ends.reading.names.twice:
        ends.reading.report("CP207", id_, leg.span, **about, at={"first": first})
    number = 2
    while f"{id_}-{number}" in taken:
        number += 1
    taken[f"{id_}-{number}"] = leg.span
    return f"{id_}-{number}"
