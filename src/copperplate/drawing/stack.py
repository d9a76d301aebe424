"""What the sheets draw alike: strokes of conductors, arrowheads, labels of several lines."""

from __future__ import annotations

from collections.abc import Sequence

from copperplate.drawing import captions, lettering
from copperplate.drawing.captions import Line, Task
from copperplate.drawing.packing import Rect
from copperplate.drawing.pen import Group, Point, Polyline, Primitive, Words, weight_of
from copperplate.drawing.reserve import given

LABEL_ROOM = 44.0
"""Widest line of a label before its name is broken."""


def label_rect(x: float, baseline: float, lines: Sequence[Line]) -> Rect:
    """What `lines` cover, the first on `baseline`."""
    size = lettering.SMALL
    wide = given(lines)
    last = baseline + lettering.LINE * (len(lines) - 1)
    return x, baseline - size * lettering.ASCENT, x + wide, last + size * lettering.DESCENT


def put(x: float, baseline: float, lines: Sequence[Line]) -> list[Primitive]:
    return [Words(x, baseline + lettering.LINE * place, line) for place, line in enumerate(lines)]


def centred(y: float, count: int) -> float:
    """Baseline of the first of `count` lines whose block is centred on `y`."""
    return y - lettering.LINE * (count - 1) / 2 + lettering.SMALL * (lettering.ASCENT - lettering.DESCENT) / 2


def arrow(x: float, y: float, towards: str) -> Polyline:
    """A filled arrowhead with its point at (x, y)."""
    if towards in ("right", "left"):
        back = x - 2.0 if towards == "right" else x + 2.0
        return Polyline(((x, y), (back, y - 0.9), (back, y + 0.9)), "k", closed=True)
    back = y - 2.0 if towards == "down" else y + 2.0
    return Polyline(((x, y), (x - 0.9, back), (x + 0.9, back)), "k", closed=True)


def conductor_group(task: Task, name: str, points: tuple[Point, ...]) -> Group:
    """The stroke of one conductor: one path, by its pole and size."""
    conductor = task.design.system.conductors[name]
    run = task.design.system.runs[conductor.run]
    style = "pe" if run.earth else conductor.pole
    group = Group("conductor", name, "conductor", title=conductor.marker, notes=(("run", conductor.run),))
    return group.add(Polyline(straight(points), f"c-{style}", weight_of(captions.area(task, run))))


def straight(points: tuple[Point, ...]) -> tuple[Point, ...]:
    """`points` without repeats and without corners that turn nowhere."""
    kept: list[Point] = []
    for point in points:
        if kept and abs(point[0] - kept[-1][0]) < 0.005 and abs(point[1] - kept[-1][1]) < 0.005:
            continue
        if len(kept) > 1 and (
            (abs(kept[-2][0] - kept[-1][0]) < 0.005 and abs(kept[-1][0] - point[0]) < 0.005)
            or (abs(kept[-2][1] - kept[-1][1]) < 0.005 and abs(kept[-1][1] - point[1]) < 0.005)
        ):  # fmt: skip
            kept.pop()
        kept.append(point)
    return tuple(kept)
