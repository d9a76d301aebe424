"""Ways of panels: which circuit leaves by which way."""

from __future__ import annotations

from collections.abc import Mapping

from copperplate.findings import Finding, make
from copperplate.model import Panel
from copperplate.resolve.addresses import Target
from copperplate.resolve.legs import Leg
from copperplate.text import Span


def leaves_by_way(leg: Leg, side: int, target: Target) -> bool:
    """True where this end of a leg is a way that the plate does not number."""
    return isinstance(target.part, Panel) and target.form == "whole" and side == 0 and not leg.tapped[0]


Targets = tuple[Target | None, Target | None]
"""What the near and the far end of a leg name; None where nothing is known."""


def assign_ways(ends: list[tuple[Leg, Targets]], findings: list[Finding]) -> dict[tuple[int, int], int]:
    """The way of each end at a panel, by (index of the leg, side). Numbered ways are taken first, the others get
    the next free way in the order of the plate. An end whose way does not exist or that finds none free is left
    out, with a finding."""
    ways: dict[tuple[int, int], int] = {}
    taken: dict[str, dict[int, Span]] = {}
    for index, (leg, targets) in enumerate(ends):
        for side, target in enumerate(targets):
            panel = target.part if target is not None and target.form == "way" else None
            if target is None or not isinstance(panel, Panel):
                continue
            number = int(target.port)
            word = leg.far if side else leg.near
            many = panel.ways
            if number < 1 or (many is not None and number > many):
                _no_such_way(panel, number, word.span, findings)
                continue
            used = taken.setdefault(panel.id, {})
            if number in used:
                _way_twice(panel, number, word.span, used[number], findings)
            used.setdefault(number, word.span)
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
        many = panel.ways
        if many is not None and number > many:
            full.setdefault(panel.id, []).append(leg.near.span)
            continue
        used[number] = leg.near.span
        ways[index, 0] = number
    for name, spans in full.items():
        _full(panels[name], spans, findings)
    return ways


def _no_such_way(panel: Panel, number: int, span: Span, findings: list[Finding]) -> None:
    address, at = f"{panel.id}.{number}", {"ways": panel.spans.get("ways", panel.span)}
    findings.append(make("CP225", address, span, way=number, panel=panel.id, ways=panel.ways, at=at))


def _way_twice(panel: Panel, number: int, span: Span, first: Span, findings: list[Finding]) -> None:
    address = f"{panel.id}.{number}"
    findings.append(make("CP247", address, span, way=number, panel=panel.id, at={"first": first}))


def _full(panel: Panel, spans: list[Span], findings: list[Finding]) -> None:
    lost, ways = len(spans), panel.ways or 0
    at = {"ways": [panel.spans.get("ways", panel.span)], "others": spans[1:4]}
    full = make("CP225", panel.id, spans[0], ways=ways, lost=lost, lost_one=lost == 1, wanted=ways + lost, at=at)
    findings.append(full)


def counted_ways(ways: Mapping[tuple[int, int], int], ends: list[tuple[Leg, Targets]]) -> dict[str, int]:
    """By panel: the highest way in use."""
    highest: dict[str, int] = {}
    for (index, side), number in ways.items():
        target = ends[index][1][side]
        if target is not None:
            highest[target.part.id] = max(highest.get(target.part.id, 0), number)
    return highest
