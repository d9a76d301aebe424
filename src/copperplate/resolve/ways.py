"""Ways of panels: which circuit leaves by which way."""

from __future__ import annotations

from collections.abc import Mapping

from copperplate.model import Panel
from copperplate.resolve.addresses import Target, node_id
from copperplate.resolve.legs import Leg
from copperplate.resolve.reading import Reading
from copperplate.text import Span


def leaves_by_way(leg: Leg, side: int, target: Target) -> bool:
    """True where this end of a leg is a way that the plate does not number."""
    return isinstance(target.part, Panel) and target.form == "whole" and side == 0 and not leg.tapped[0]


Targets = tuple[Target | None, Target | None]
"""What the near and the far end of a leg name; None where nothing is known."""


def assign_ways(ends: list[tuple[Leg, Targets]], reading: Reading) -> dict[tuple[int, int], int]:
    """The way of each end at a panel, by (index of the leg, side). Numbered ways are taken first, the others get
    the next free way in the order of the plate. An end whose way does not exist or that finds none free is left
    out, with a finding."""
    ways: dict[tuple[int, int], int] = {}
    taken: dict[str, dict[int, Span]] = {}
    signalled: set[str] = set()
    for index, (leg, targets) in enumerate(ends):
        for side, target in enumerate(targets):
            panel = target.part if target is not None and target.form == "way" else None
            if target is None or not isinstance(panel, Panel):
                continue
            number, span = int(target.port), (leg.far if side else leg.near).span
            address = node_id(panel.id, str(number))
            if number < 1 or (panel.ways is not None and number > panel.ways):
                at = {"ways": _place(panel)}
                reading.report("CP225", address, span, way=number, panel=panel.id, ways=panel.ways, at=at)
                continue
            used = taken.setdefault(panel.id, {})
            signalled.update([address] if leg.signal_a is not None else [])
            if number in used and leg.signal_a is None and address not in signalled:
                reading.report("CP247", address, span, way=number, panel=panel.id, at={"first": used[number]})
            used.setdefault(number, span)
            ways[index, side] = number
    free: dict[str, int] = {}
    full: dict[str, list[Span]] = {}
    panels: dict[str, Panel] = {}
    for index, (leg, targets) in enumerate(ends):
        target = targets[0]
        if target is None or not isinstance(panel := target.part, Panel) or not leaves_by_way(leg, 0, target):
            continue
        panels[panel.id] = panel
        used = taken.setdefault(panel.id, {})
        number = free.get(panel.id, 1)
        while number in used:
            number += 1
        free[panel.id] = number
        if panel.ways is not None and number > panel.ways:
            full.setdefault(panel.id, []).append(leg.near.span)
            continue
        used[number] = leg.near.span
        ways[index, 0] = number
    for name, spans in full.items():
        lost, ways_of = len(spans), panels[name].ways or 0
        about = {"ways": ways_of, "lost": lost, "lost_one": lost == 1, "wanted": ways_of + lost}
        places = {"ways": [_place(panels[name])], "others": spans[1:4]}
        reading.report("CP225", name, spans[0], **about, at=places)
    return ways


def _place(panel: Panel) -> Span:
    """Where a panel states its ways."""
    return panel.spans.get("ways", panel.span)


def counted_ways(ways: Mapping[tuple[int, int], int], ends: list[tuple[Leg, Targets]]) -> dict[str, int]:
    """By panel: the highest way in use."""
    highest: dict[str, int] = {}
    for (index, side), number in ways.items():
        target = ends[index][1][side]
        if target is not None:
            highest[target.part.id] = max(highest.get(target.part.id, 0), number)
    return highest
