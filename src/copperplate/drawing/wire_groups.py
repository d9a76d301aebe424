"""The conductors of a design in the groups that lists are made of: power, the links of banks, the circuits of each
panel, AC. Every conductor stands in one of them, in order of declaration; on a panel way by way, as on its ladder,
with the spare ways in their places, so that a circuit added or removed moves no other."""

from __future__ import annotations

from dataclasses import dataclass

from copperplate.drawing import captions
from copperplate.drawing.branches import LadderSection
from copperplate.drawing.captions import Task
from copperplate.drawing.wiring import WiringEdge
from copperplate.model import Lead
from copperplate.model.links import Link
from copperplate.model.parts import Panel

POWER, CIRCUITS, CONTROL, AC = "DC power", "DC circuits", "control", "AC"
KINDS = (POWER, CIRCUITS, CONTROL, AC)
"""Each kind has sheets of its own, so that a circuit added to one moves no row of another."""
MOST_SPARE = 6
"""Spare ways of a panel that room is kept for, at most."""


@dataclass(frozen=True)
class Lot:
    """Addresses of conductors that stand together: those of one way (0: of none), no names where the way is spare."""

    way: int
    names: tuple[str, ...]


@dataclass(frozen=True)
class WireGroup:
    """One group: `kind` tells which sheets it stands on. `bank`: the run of links that `links` belong to."""

    kind: str
    title: str
    lots: tuple[Lot, ...] = ()
    panel: str = ""
    links: tuple[Link, ...] = ()
    bank: str = ""
    leads: tuple[Lead, ...] = ()


def wire_groups(task: Task, sections: list[LadderSection]) -> list[WireGroup]:
    """Every group that holds something, kind by kind."""
    system = task.design.system
    on_ladders = {
        step.id: (place, row.way or 0)
        for place, section in enumerate(sections)
        for row in section.rows
        for step in (*row.positive, *row.negative)
        if isinstance(step, WiringEdge) and step.kind == "conductor"
    }
    ways = {device.run: device for device in system.devices.values() if device.panel and device.way is not None}
    at: dict[tuple[str, int], list[str]] = {}
    for conductor in system.conductors.values():
        place, way = on_ladders.get(conductor.id, (-1, 0))
        key = "power" if place < 0 else f"ladder {place}"
        if system.runs[conductor.run].signal_a is not None:
            key, way = "control", 0
        elif system.runs[conductor.run].current == "ac":
            device = ways.get(conductor.run)
            key, way = ("ac", 0) if device is None else (f"ac {device.panel}", device.way or 0)
        at.setdefault((key, way), []).append(conductor.id)
    groups = [WireGroup(POWER, "Power", _lots(at, "power", 0))]
    for run in dict.fromkeys(link.run for link in task.design.links):
        links = tuple(link for link in task.design.links if link.run == run)
        groups.append(WireGroup(POWER, f"Links between the batteries of {links[0].bank}", links=links, bank=run))
    for place, section in enumerate(sections):
        title = f"Circuits of {_named(task, section.panel)}"
        lots = _lots(at, f"ladder {place}", section.ways)
        groups.append(WireGroup(CIRCUITS, title, lots, section.panel))
    groups.append(WireGroup(CONTROL, "Signals", _lots(at, "control", 0), leads=tuple(system.leads.values())))
    groups.append(WireGroup(AC, "AC supply", _lots(at, "ac", 0)))
    for part in system.of(Panel):
        lots = _lots(at, f"ac {part.id}", part.ways or 0)
        groups.append(WireGroup(AC, f"AC circuits of {_named(task, part.id)}", lots, part.id))
    return [group for group in groups if group.links or group.leads or any(lot.names for lot in group.lots)]


def _lots(at: dict[tuple[str, int], list[str]], key: str, count: int) -> tuple[Lot, ...]:
    """The lots of a group by way; spare ways as far as room is kept for them."""
    last = max([count, *(way for group, way in at if group == key)])
    spare = [way for way in range(1, last + 1) if (key, way) not in at][:MOST_SPARE]
    ways = [way for way in range(1, last + 1) if (key, way) in at or way in spare]
    return tuple(Lot(way, tuple(at.get((key, way), ()))) for way in (*ways, *([0] if (key, 0) in at else [])))


def _named(task: Task, panel: str) -> str:
    """`cabin, Cabin fuse block`."""
    name = captions.name_of(task.design.system.parts[panel])
    return panel if name == panel else f"{panel}, {name}"
