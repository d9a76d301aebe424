"""One rung of a ladder: devices and conductors set from left to right, on more lines where one is too short.

The same rule serves both halves of a rung. Labels stand over and under their conductor; a device's name and
rating stand over its symbol.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from copperplate.drawing import captions, lettering, symbols
from copperplate.drawing.branches import Step
from copperplate.drawing.captions import Line, Task
from copperplate.drawing.pen import Disc, Group, Point, Polyline, Primitive, Words, measure
from copperplate.drawing.reserve import given
from copperplate.drawing.stack import conductor_group, straight
from copperplate.drawing.wiring import WiringEdge

PITCH = 9.9
"""From one row of a ladder to the next."""
LEAP = 12.2
"""From one line of a row to its next: room for the way back to the start of that line."""
MIDDLE = 5.9
"""From a line down to that way back, clear of the texts on both sides."""
OVER, UNDER = -1.4, 3.7
"""Baselines of the texts over and under a conductor, from its axis."""


@dataclass
class Bit:
    """One step of a rung with its label and the room that it asks for."""

    step: Step
    kind: Literal["tap", "device", "conductor"]
    over: Line = ()
    under: Line = ()
    x: float = 0.0
    line: int = 0

    @property
    def wide(self) -> float:
        text = given((self.over, self.under))
        if self.kind == "tap":
            return max(3.0, text + 2.0)
        return max(text + 3.0, 11.0 if self.kind == "conductor" else 2 * symbols.HALF + 3.0)


@dataclass
class HalfRung:
    """Bits placed between `start` and `end` (x in mm); `lines` is how many lines they take. `taps`: where other
    rungs leave, by node: (x, line)."""

    bits: list[Bit]
    start: float
    end: float
    restarts: list[float]
    """Where each line begins, once a rung goes back to it."""
    lines: int = 1
    style: str = "c-pos"
    """How what is no conductor of the plate is drawn between them."""
    taps: dict[str, tuple[float, int]] = field(default_factory=dict)


def bits(task: Task, steps: list[Step], *, way: bool = False) -> list[Bit]:
    """The steps of a rung with their labels. `way`: the first device is the way's own, named by its number."""
    made: list[Bit] = []
    for place, step in enumerate(steps):
        if isinstance(step, str):
            part = task.wiring.part_at(step)
            name: Line = ((part.id, True),) if part is not None and part.roles.is_splice else ()
            made.append(Bit(step, "tap", over=name))
        elif step.kind == "device":
            device = task.design.system.devices[step.id]
            if way and place == 0:
                made.append(Bit(step, "device", over=((captions.rating(task, device), False),)))
            else:
                over, under = captions.device(task, step.id)
                made.append(Bit(step, "device", over, under if device.roles.melts else ()))
        else:
            over, under = captions.conductors(task, [step.id])
            made.append(Bit(step, "conductor", over, under))
    return made


def _fitted(over: Line, under: Line, room: float) -> tuple[Line, Line]:
    """The two lines of a label; where the upper is too wide its name goes on below, and its figures after that."""
    if given([over]) <= room:
        return over, under
    (name, bold), *figures = over
    if lettering.width(name, bold=bold) <= room:
        return ((name, bold),), (*figures, *under)
    first, *others = lettering.wrap(name, room, bold=bold)
    rest = "".join(others)
    spare = room - measure((*figures, *under)) - 1.2
    return ((first, bold),), ((lettering.shorten(rest, max(spare, 8.0), bold=bold), bold), *figures, *under)


def lay(
    task: Task,
    steps: list[Step],
    start: float,
    first: float,
    end: float,
    restart: float,
    way: bool,
    room: float | None = None,
    below: float = 0.0,
) -> HalfRung:
    """Sets `steps` from `start` (where the rung meets what it comes from) to `end`. Labels begin at `first`; where
    a line is full the rung goes back to `restart`, or past the last splice, and on along the next. `room`: the
    widest label, where it may reach beyond `end`; `below`: the widest label of the rungs that leave its splices."""
    rung = HalfRung(bits(task, steps, way=way), start, end, [restart])
    x, line = first, 0
    after = [bit.wide for n, bit in enumerate(rung.bits) if any(b.kind == "tap" for b in rung.bits[:n])]
    share = (end - max([below, *after]) - 12.0 - restart) / (end - restart)
    furthest = restart + min(max(share, 0.25), 0.65) * (end - restart)
    for place, bit in enumerate(rung.bits):
        if bit.kind == "tap" and not task.wiring.roles_at(str(bit.step)).is_splice:
            bit.x, bit.line = end - 3.5, line
            rung.taps[str(bit.step)] = (bit.x, line)
            continue
        limit = end - 2.0 if place == len(rung.bits) - 1 else end - 5.0
        bit.over, bit.under = _fitted(bit.over, bit.under, room or limit - restart - 6.2)
        full = x + bit.wide > limit or (bit.kind == "tap" and x > furthest)
        before = rung.bits[place - 1] if place else None
        if full and way and place == 1 and before is not None and before.x + before.wide + bit.wide <= limit:
            x, full = before.x + before.wide, False
        if full and x > restart + 3.0:
            line += 1
            rung.restarts.append(restart)
            x = restart + 3.0
        bit.x, bit.line = x, line
        if bit.kind == "tap":
            rung.taps[str(bit.step)] = (x + 1.0, line)
            restart = x + 5.0
        x += bit.wide + (COLUMN - bit.wide if way and place == 0 and bit.wide < COLUMN else 0.0)
    rung.lines = line + 1
    return rung


COLUMN = 19.0
"""From the device of a way to its conductor's label, so that labels stand in a column."""


def draw(
    task: Task, rung: HalfRung, y: float, head: tuple[Point, ...] = (), tail: tuple[Point, ...] = ()
) -> list[Group]:
    """The groups of a rung whose first line is at `y`. `head` and `tail` are corners of its first and last piece
    beyond `start` and `end`; without a tail the last piece ends at `end`."""
    groups: list[Group] = []
    last_y = y + (rung.lines - 1) * LEAP
    spans = [_span(rung, bit, y) for bit in rung.bits]
    finish = tail or ((rung.end, last_y),)
    for place, bit in enumerate(rung.bits):
        if bit.kind == "device":
            groups += _gap(rung, place, spans, y, head)
            groups.append(_device(task, bit, spans[place][0], y))
        elif bit.kind == "tap":
            x, line = rung.taps[str(bit.step)]
            groups += _gap(rung, place, spans, y, head)
            groups.append(_tap(task, bit, x, y + line * LEAP))
        else:
            assert isinstance(bit.step, WiringEdge)
            before = (*head, (rung.start, y)) if place == 0 else (spans[place - 1][1],)
            after = finish if place == len(rung.bits) - 1 else (spans[place + 1][0],)
            group = conductor_group(task, bit.step.id, _route(rung, before, bit, after, y))
            groups.append(group.add(*_labels(bit, bit.x, y + bit.line * LEAP)))
    if not rung.bits or rung.bits[-1].kind != "conductor":
        origin = (spans[-1][1],) if spans else (*head, (rung.start, y))
        groups.append(_mount((*origin, *finish), rung.style))
    return groups


def _span(rung: HalfRung, bit: Bit, y: float) -> tuple[Point, Point]:
    """Where the strokes on both sides of a device or tap end."""
    level = y + bit.line * LEAP
    if bit.kind == "tap":
        x = rung.taps[str(bit.step)][0]
        return (x, level), (x, level)
    return (bit.x + 0.5, level), (bit.x + 0.5 + 2 * symbols.HALF, level)


def _gap(
    rung: HalfRung,
    place: int,
    spans: list[tuple[Point, Point]],
    y: float,
    head: tuple[Point, ...],
) -> list[Group]:
    """The short link before a device or tap that no conductor leads to."""
    if place and rung.bits[place - 1].kind == "conductor":
        return []
    origin = (*head, (rung.start, y)) if place == 0 else (spans[place - 1][1],)
    points = _route(rung, origin, rung.bits[place], (spans[place][0],), y)
    return (
        [_mount(points, rung.style)]
        if abs(points[-1][0] - points[0][0]) + abs(points[-1][1] - points[0][1]) > 0.05
        else []
    )


def _route(
    rung: HalfRung, before: tuple[Point, ...], bit: Bit, after: tuple[Point, ...], y: float
) -> tuple[Point, ...]:
    """From what stands before to what stands after, by way of the bit's own line where lines change."""
    level = y + bit.line * LEAP
    points = list(before)
    if abs(points[-1][1] - level) > 0.05:
        points += _turn(rung, bit.line, points[-1][1], level)
    if abs(after[0][1] - level) > 0.05 and len(after) == 1:
        points += _turn(rung, bit.line + 1, level, after[0][1])
    return (*points, *after)


def _turn(rung: HalfRung, line: int, above: float, below: float) -> list[Point]:
    """Back from the end of one line to the start of line number `line`, between the two."""
    middle = above + MIDDLE
    right, left = rung.end - 1.5, rung.restarts[line]
    return [(right, above), (right, middle), (left, middle), (left, below)]


def _mount(points: tuple[Point, ...], style: str) -> Group:
    return Group("mount", "", "conductor").add(Polyline(straight(points), style, 0.35))


def _labels(bit: Bit, x: float, y: float) -> list[Primitive]:
    return [Words(x, y + OVER, bit.over), Words(x, y + UNDER, bit.under)]


def _device(task: Task, bit: Bit, left: Point, y: float) -> Group:
    assert isinstance(bit.step, WiringEdge)
    device = task.design.system.devices[bit.step.id]
    legs = [set(leg) for leg in device.legs]
    leg = legs.index({bit.step.a, bit.step.b}) if {bit.step.a, bit.step.b} in legs else 0
    group = Group("device", device.id, "symbol", notes=(("leg", str(leg + 1)),) if len(legs) > 1 else ())
    symbol = symbols.device_symbol(device).turned()
    level = y + bit.line * LEAP
    group.add(*symbol.at(left[0] + symbols.HALF, level))
    if bit.over:
        group.add(Words(left[0], level + symbol.top - 1.1, bit.over))
    if bit.under:
        group.add(Words(left[0], level + symbol.bottom + 2.5, bit.under))
    return group


def _tap(task: Task, bit: Bit, x: float, y: float) -> Group:
    part = task.wiring.part_at(str(bit.step))
    splice = part is not None and part.roles.is_splice
    group = Group("part" if splice and part else "mount", part.id if splice and part else "", "mark")
    group.add(Disc(x, y, 0.8, "k"))
    if bit.over:
        group.add(Words(x - 0.8, y + OVER - 0.4, bit.over))
    return group


def shorten(line: Line, room: float, size: float = lettering.SMALL) -> Line:
    """A line whose last run is cut, or left out, where the whole is wider than `room`."""
    if measure(line, size) <= room or not line:
        return line
    *before, (text, bold) = line
    left = room - (measure(before, size) + 1.2 if before else 0.0)
    if before and left < 8.0:
        return shorten(tuple(before), room, size)
    return (*before, (lettering.shorten(text, left, size, bold), bold))
