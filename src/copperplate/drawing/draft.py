"""A draft: the sheets of a plate with errors. Each says so at its head and carries the number of each error at the
place that it speaks of, as the draft report numbers them."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from itertools import pairwise, product

from copperplate.drawing import lettering
from copperplate.drawing.page import Page
from copperplate.drawing.paper import BORDER, Paper
from copperplate.drawing.pen import Box, Extent, Group, Point, Polyline, Words, extent, words
from copperplate.findings import Finding
from copperplate.model import Device, Part, Run
from copperplate.model.results import Design
from copperplate.text import Span
from copperplate.units import counted

RED = "#B3121D"
HEIGHT = 4.2
"""Of a mark."""
STEPS = tuple(sorted(product(range(-12, 13), repeat=2), key=lambda step: (step[0] ** 2 + step[1] ** 2, step)))
"""Where a mark may stand around its thing, from the nearest, in steps of `STEP`."""
STEP = 1.4
BOXES = ("part", "device")
"""Kinds of groups that show a thing better than a row of a table does."""


def mark(design: Design, pages: Sequence[tuple[Page, Paper]]) -> None:
    """Put the marks and the heads of a draft on its pages."""
    places = {n: _addresses(design, f) for n, f in enumerate(design.errors, 1)}
    found = [_marks(design, page, paper, places) for page, paper in pages]
    nowhere = [str(n) for n in places if not any(n in marks for marks in found)]
    for (page, paper), marks in zip(pages, found, strict=True):
        here = f", marked here: {', '.join(map(str, marks))}" if marks else ""
        undrawn = f"; at things that are not drawn: {', '.join(nowhere)}" if nowhere else ""
        head = f"Draft with {counted(len(places), 'error')}{here}{undrawn}. Nothing may be built from it."
        shown = lettering.shorten(head, paper.width - 2 * BORDER, 3.4, True)
        group = Group("draft", "head", "frame").add(words(BORDER, BORDER - 1.6, shown, bold=True, size=3.4, fill=RED))
        page.groups += [group, *marks.values()]


def _addresses(design: Design, finding: Finding) -> tuple[str, ...]:
    """What an error speaks of, the first that is drawn is marked: its subject, else what stands at its place in the
    plate or at the other ends of the contradiction, else what its repair or its line of the plate names."""
    system = design.system
    spans = [finding.span, *(related.span for related in finding.related)]
    things: list[Device | Run | Part] = [*system.devices.values(), *system.runs.values(), *system.parts.values()]
    lying = (thing.id for span in spans if span for thing in things if thing.span and _within(span, thing.span))
    line = finding.span.source.line(finding.span.line) if finding.span else ""
    named = (*re.findall(r"`([a-z0-9.-]+)`", finding.help), *re.findall(r"[a-z0-9-]+", line.partition("#")[0])[::-1])
    known = (name for name in named if name in system.parts or name in system.runs or name in system.devices)
    owner = finding.subject.rpartition(".")[0] or finding.subject
    return tuple(dict.fromkeys((finding.subject, owner, *lying, *known)))


def _within(inner: Span, outer: Span) -> bool:
    return inner.source.name == outer.source.name and outer.start <= inner.start < max(outer.end, outer.start + 1)


def _marks(design: Design, page: Page, paper: Paper, places: dict[int, tuple[str, ...]]) -> dict[int, Group]:
    """By the number of an error, its mark on a page."""
    drawn: dict[str, Group] = {}
    for group in page.groups:
        if group.items and group.layer not in ("tint", "rule", "frame"):
            conductor = design.system.conductors.get(group.address)
            for name in (group.address, conductor.run if conductor is not None else group.address):
                if name not in drawn or (group.kind in BOXES and drawn[name].kind not in BOXES):
                    drawn[name] = group
    taken = [extent(item) for group in page.groups for item in group.items if isinstance(item, Words)]
    marks: dict[int, Group] = {}
    for n, addresses in places.items():
        at = next((drawn[address] for address in addresses if address in drawn), None)
        if at is not None:
            wide = max(HEIGHT, lettering.width(str(n), lettering.SMALL, True) + 1.8)
            x, y = _free(_anchor(at), wide, taken, paper)
            taken.append((x, y, x + wide, y + HEIGHT))
            marks[n] = Group("draft", str(n), "frame", title=design.errors[n - 1].message).add(
                Box(x, y, wide, HEIGHT, "g", HEIGHT / 2, RED),
                words(x + wide / 2, y + 3.1, str(n), bold=True, anchor="middle", fill="#FFFFFF"),
            )
    return marks


def _anchor(group: Group) -> Point:
    """The middle of the longest stroke of a conductor, the left upper corner of anything else."""
    lines = [item.points for item in group.items if isinstance(item, Polyline)]
    if group.kind == "conductor" and lines:
        (ax, ay), (bx, by) = max(
            (pair for points in lines for pair in pairwise(points)),
            key=lambda pair: abs(pair[0][0] - pair[1][0]) + abs(pair[0][1] - pair[1][1]),
        )
        return (ax + bx) / 2, (ay + by) / 2
    boxes = [extent(item) for item in group.items]
    return min(box[0] for box in boxes), min(box[1] for box in boxes)


def _free(at: Point, wide: float, taken: Sequence[Extent], paper: Paper) -> Point:
    """The left upper corner of a mark, nearest to `at`, that lies on no lettering and no other mark."""
    return next(_spots(at, wide, taken, paper), (at[0] - wide / 2, at[1] - HEIGHT / 2))


def _spots(at: Point, wide: float, taken: Sequence[Extent], paper: Paper) -> Iterator[Point]:
    for right, down in STEPS:
        x, y = at[0] - wide / 2 + STEP * right, at[1] - HEIGHT / 2 + STEP * down
        inside = paper.left <= x <= paper.right - wide and paper.top <= y <= paper.bottom - HEIGHT
        if inside and not any(a < x + wide and x < c and b < y + HEIGHT and y < d for a, b, c, d in taken):
            yield x, y
