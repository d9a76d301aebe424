"""The route plan: each route of the plate as a block, with every conductor that lies in it and how much of it."""

from __future__ import annotations

from collections.abc import Sequence

from copperplate import units
from copperplate.drawing import captions, lettering
from copperplate.drawing.captions import Task
from copperplate.drawing.diagram.canvas import ROUTE_TINTS
from copperplate.drawing.page import Page
from copperplate.drawing.pen import Box, Group, Polyline, weight_of, words
from copperplate.model import Conductor
from copperplate.model.system import Route

LEAST = 84.0
"""Narrowest block."""
GAP = 5.0
HEAD = 12.0
ROW = 4.5
FOOT = 3.0
Laid = tuple[Conductor, float]
"""A conductor and the metres of it that lie in a route."""


def pages(task: Task) -> list[Page]:
    """The sheets of the route plan; none where no conductor lies in a route."""
    paper = task.paper
    many = int((paper.right - paper.left + GAP) // (LEAST + GAP))
    wide = (paper.right - paper.left + GAP) / many - GAP
    most = int((paper.bottom - paper.top - HEAD - FOOT) / ROW)
    feet: list[float] = []
    made: list[Page] = []
    for number, route in enumerate(task.design.system.routes.values()):
        laid = _laid(task, route)
        for start in range(0, len(laid), most):
            part = laid[start : start + most]
            tall = HEAD + ROW * len(part) + FOOT
            column = min(range(len(feet)), key=feet.__getitem__, default=0)
            if not feet or feet[column] + tall > paper.bottom:
                made.append(Page("", "Route plan", remark="Metres or feet of each conductor that lie in the route."))
                feet, column = [paper.top] * many, 0
            x, y = paper.left + (wide + GAP) * column, feet[column]
            _block(task, made[-1], route, number, part, len(laid), (x, y, wide, tall))
            feet[column] += tall + GAP
    for place, page in enumerate(made, 1):
        page.slug = "route-plan" if len(made) == 1 else f"route-plan-{place}"
        page.title += f", part {place}" if len(made) > 1 else ""
    return made


def _laid(task: Task, route: Route) -> list[Laid]:
    """What lies in a route, the thickest first."""
    system = task.design.system
    found = [
        (conductor, sum(metres for name, metres in conductor.routes if name == route.id))
        for conductor in system.conductors.values() if any(name == route.id for name, _ in conductor.routes)
    ]  # fmt: skip
    return sorted(found, key=lambda each: -captions.area(task, system.runs[each[0].run]))


def _block(
    task: Task, page: Page, route: Route, number: int, laid: Sequence[Laid], count: int,
    place: tuple[float, float, float, float],
) -> None:  # fmt: skip
    x, y, wide, tall = place
    tint = ROUTE_TINTS[number % len(ROUTE_TINTS)]
    page.show(f"route:{route.id}")
    head = Group("route", route.id, "symbol").add(
        Box(x, y, wide, tall, "g"), Box(x, y, wide, HEAD - 1.2, "g", fill=tint)
    )
    name = lettering.shorten(lettering.clean(route.title) or route.id, wide - 16.0, 3.4, True)
    way = "engine space" if route.engine_space else route.laid.replace("-", " ")
    far = captions.length(task, route.length_m) if route.length_m else ""
    head.add(words(x + 3.0, y + 4.8, f"R{number + 1}", bold=True, size=3.4))
    head.add(words(x + 13.0, y + 4.8, name, bold=True, size=3.4))
    head.add(words(x + 3.0, y + 9.2, ", ".join(filter(None, (far, way, units.counted(count, "conductor"))))))
    page.groups.append(head)
    for line, (conductor, metres) in enumerate(laid):
        level = y + HEAD + ROW * line + 2.2
        run = task.design.system.runs[conductor.run]
        style = "pe" if run.earth else conductor.pole
        row = Group("laid", conductor.id, "symbol", notes=(("route", route.id),))
        row.add(Polyline(((x + 3.0, level), (x + 12.0, level)), f"c-{style}", weight_of(captions.area(task, run))))
        size = captions.cable(task, run) if run.current == "ac" else captions.size(task, run)
        at = x + 15.0
        for text, room, bold in (
            (conductor.marker, wide - 66.0, True), (size, 26.0, False),
            (captions.colour(task, conductor.id), 10.0, False),
        ):  # fmt: skip
            row.add(words(at, level + 1.0, lettering.shorten(text, room - 1.0, bold=bold), bold=bold))
            at += room
        row.add(words(x + wide - 3.0, level + 1.0, captions.length(task, metres), anchor="end"))
        page.groups.append(row)
