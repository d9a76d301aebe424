"""Ways of panels: which circuit leaves by which way."""

from __future__ import annotations

from collections.abc import Mapping

from copperplate.findings import Finding, Related, finding
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
                _no_such_way(panel, number, many, word.span, findings)
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


def _no_such_way(panel: Panel, number: int, many: int | None, span: Span, findings: list[Finding]) -> None:
    has = f"`{panel.id}` has {many} ways" if many is not None else "ways are counted from 1"
    related = (Related(panel.spans.get("ways", panel.span), "its ways"),)
    help_ = (
        f"`{panel.id}.1` to `{panel.id}.{many}`, or `{panel.id}` for the next free one" if many else f"`{panel.id}.1`"
    )
    address = f"{panel.id}.{number}"
    findings.append(finding("CP225", address, f"there is no way {number}: {has}", span, related=related, help=help_))


def _way_twice(panel: Panel, number: int, span: Span, first: Span, findings: list[Finding]) -> None:
    address = f"{panel.id}.{number}"
    message = f"two circuits leave by way {number} of `{panel.id}`, behind one device"
    related = (Related(first, "the first"),)
    help_ = f"`{panel.id}` for the next free way, unless both are meant to share the device"
    findings.append(finding("CP247", address, message, span, label="the second", related=related, help=help_))


def _full(panel: Panel, spans: list[Span], findings: list[Finding]) -> None:
    many = panel.ways or 0
    more = "one circuit finds" if len(spans) == 1 else f"{len(spans)} circuits find"
    message = f"`{panel.id}` has {many} ways, all taken: {more} none"
    ways = Related(panel.spans.get("ways", panel.span), "its ways")
    related = (ways, *(Related(span, "nor for this") for span in spans[1:4]))
    help_ = f"`ways {many + len(spans)}`, or a second panel"
    label = "no way left for this"
    findings.append(finding("CP225", panel.id, message, spans[0], label=label, related=related, help=help_))


def counted_ways(ways: Mapping[tuple[int, int], int], ends: list[tuple[Leg, Targets]]) -> dict[str, int]:
    """By panel: the highest way in use."""
    highest: dict[str, int] = {}
    for (index, side), number in ways.items():
        target = ends[index][1][side]
        if target is not None:
            highest[target.part.id] = max(highest.get(target.part.id, 0), number)
    return highest
