"""A lead: the conductors and devices between two ends, upright, with their labels on the right.

It holds one track for a pole, two for a pair that goes out and back, or one for each core of a cable. What the tracks
share, a device of several poles or the pieces of one run, stands level and is labelled once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from copperplate.drawing import captions, lettering, symbols
from copperplate.drawing.diagram.canvas import Canvas, LabelLine, plain, put, widest
from copperplate.drawing.pen import Group, Point, Polyline
from copperplate.drawing.stack import conductor_group, straight

PIECE, DEVICE, DOT = 9.4, 8.8, 5.0
"""Least height of a conductor with its label, of a device with its own, and of a splice."""
AWAY = 2.2
"""From the last track to the labels of conductors."""
ROOM = 40.0
"""Widest name before it is broken."""
Steps = Sequence[tuple[str, str]]
"""("conductor", "device" or "splice", id) from the upper end down."""


@dataclass
class Slot:
    """One level of a lead. `members`: by track, the id of what stands on it there."""

    kind: str
    members: dict[int, str]
    lines: list[LabelLine] = field(default_factory=list)
    height: float = 0.0


class Lead:
    """Measured when made. `offsets`: the tracks in mm right of the first; `poles`: by track, for links that are no
    conductor."""

    def __init__(self, canvas: Canvas, tracks: Sequence[Steps], offsets: Sequence[float], poles: Sequence[str]) -> None:
        self.canvas = canvas
        self.offsets = list(offsets)
        self.poles = list(poles)
        self.slots = merge(tracks)
        for slot in self.slots:
            slot.lines = self._lines(slot)
            least = {"conductor": PIECE, "device": DEVICE, "splice": DOT}[slot.kind]
            slot.height = max(least, least + (len(slot.lines) - 2) * lettering.LINE)
        self.height = sum(slot.height for slot in self.slots)
        self.spread = self.offsets[-1]
        self.width = max(
            (self.spread + self._away(slot) + widest(canvas, slot.lines) for slot in self.slots), default=self.spread
        )

    def _away(self, slot: Slot) -> float:
        return AWAY if slot.kind == "conductor" else 3.0

    def _lines(self, slot: Slot) -> list[LabelLine]:
        task = self.canvas.task
        names = list(slot.members.values())
        if slot.kind == "conductor":
            return conductor_lines(self.canvas, names)
        if slot.kind == "device":
            return device_lines(self.canvas, names[0])
        part = task.wiring.part_at(names[0])
        return [plain(part.id if part is not None else "", bold=True)]

    def draw(
        self, x: float, top: float, bottom: float, low: bool = False,
        before: Sequence[Sequence[Point]] = (), after: Sequence[Sequence[Point]] = (),
    ) -> None:  # fmt: skip
        """Between `top` and `bottom`. `low`: packed at the lower end. `before`, `after`: by track, the corners that its
        first stroke begins with and that its last ends with."""
        slack = bottom - top - self.height
        levels: list[tuple[float, float]] = []
        pieces = [n for n, slot in enumerate(self.slots) if slot.kind == "conductor"]
        taker = (pieces[0] if low else pieces[-1]) if pieces else (0 if low else len(self.slots) - 1)
        y = top
        for place, slot in enumerate(self.slots):
            extra = slack if place == taker else 0.0
            levels.append((y, y + slot.height + extra))
            y += slot.height + extra
        ends = [self._middle(place, level, low) for place, level in enumerate(levels)]
        for track in range(len(self.offsets)):
            self._track(track, x + self.offsets[track], top, bottom, ends, before, after)
        for place, (slot, level) in enumerate(zip(self.slots, levels, strict=True)):
            self._label(x, slot, level, ends[place], low, place == len(self.slots) - 1)

    def level(self, left: float, right: float, levels: Sequence[float]) -> None:
        """Drawn level between two edges, its devices turned; without labels."""
        canvas = self.canvas
        devices = [slot for slot in self.slots if slot.kind == "device"]
        for track, y in enumerate(levels):
            start, name = right, ""
            place = 0
            for slot in self.slots:
                member = slot.members.get(track)
                if slot.kind == "device":
                    place += 1
                if member is None:
                    continue
                if slot.kind == "conductor":
                    name = member
                    continue
                middle = right - (right - left) * place / (len(devices) + 1) / 3
                self._stroke(track, name, [(start, y), (middle + symbols.HALF, y)])
                start, name = middle - symbols.HALF, ""
            self._stroke(track, name, [(start, y), (left, y)])
        for place, slot in enumerate(devices, 1):
            device = canvas.task.design.system.devices[next(iter(slot.members.values()))]
            middle = right - (right - left) * place / (len(devices) + 1) / 3
            symbol = symbols.device_symbol(device).turned()
            group = canvas.add("device", device.id, "symbol", at=(middle, levels[0]))
            for track in slot.members:
                group.add(*symbol.at(middle, levels[track]))

    def _middle(self, place: int, level: tuple[float, float], low: bool) -> float:
        """Where the symbol of a slot is centred: touching what the lead begins or ends at where it is bolted there."""
        slot = self.slots[place]
        if slot.kind == "splice":
            return (level[0] + level[1]) / 2
        last = place == len(self.slots) - 1
        return level[1] - symbols.HALF if last and (place or low) else level[0] + symbols.HALF

    def _track(
        self, track: int, x: float, top: float, bottom: float, middles: Sequence[float],
        before: Sequence[Sequence[Point]], after: Sequence[Sequence[Point]],
    ) -> None:  # fmt: skip
        start: list[Point] = [*(before[track] if before else ()), (x, top)]
        name = ""
        for slot, middle in zip(self.slots, middles, strict=True):
            member = slot.members.get(track)
            if member is None:
                continue
            if slot.kind == "conductor":
                if name:
                    self._stroke(track, name, [*start, (x, middle)])
                    start = [(x, middle)]
                name = member
                continue
            half = symbols.HALF if slot.kind == "device" else 0.0
            self._stroke(track, name, [*start, (x, middle - half)])
            name, start = "", [(x, middle + half)]
        self._stroke(track, name, [*start, (x, bottom), *(after[track] if after else ())])

    def _stroke(self, track: int, name: str, points: Sequence[Point]) -> None:
        line = straight(tuple(points))
        if len(line) < 2:
            return
        if name:
            self.canvas.groups.append(conductor_group(self.canvas.task, name, line))
            return
        style = f"c-{self.poles[track]}"
        self.canvas.groups.append(Group("mount", "", "conductor").add(Polyline(line, style, 0.5)))

    def _label(
        self, x: float, slot: Slot, level: tuple[float, float], middle: float, low: bool, last: bool
    ) -> None:  # fmt: skip
        canvas, at = self.canvas, x + self.spread + self._away(slot)
        if slot.kind == "conductor":
            tall = len(slot.lines) * lettering.LINE
            baseline = (level[1] - tall + 1.9) if low else level[0] + 4.1
            first = next(iter(slot.members.values()))
            for name in slot.members.values():
                canvas.places.setdefault(name, (at, baseline))
            canvas.add("label", first, "symbol", *put(canvas, at, baseline, slot.lines))
        elif slot.kind == "device":
            self._device(x, slot, middle, last and abs(middle + symbols.HALF - level[1]) < 0.05)
        else:
            name = slot.lines[0].runs[0][0]
            group = canvas.add("part" if name else "mount", name, "mark", at=(at, middle))
            group.add(symbols.Disc(x + self.offsets[next(iter(slot.members))], middle, 0.9, "k"))
            if name:
                group.add(*put(canvas, at, middle + 1.0, slot.lines))

    def _device(self, x: float, slot: Slot, middle: float, ends: bool) -> None:
        """`ends`: what stands below touches it, so that its label keeps above that."""
        canvas = self.canvas
        name = next(iter(slot.members.values()))
        device = canvas.task.design.system.devices[name]
        canvas.symbols.setdefault(device.kind)
        symbol = symbols.device_symbol(device)
        tracks = sorted(slot.members)
        at = x + self.spread + self._away(slot)
        baseline = middle - symbols.HALF + 3.1
        if ends:
            baseline = middle + symbols.HALF - 1.6 - (len(slot.lines) - 1) * lettering.LINE
        group = canvas.add("device", name, "symbol", at=(at, middle))
        close = len(tracks) > 1 and self.offsets[tracks[1]] - self.offsets[tracks[0]] < 3
        for place, track in enumerate(tracks):
            drawn = symbols.blade(device) if close and place else symbol
            group.add(*drawn.at(x + self.offsets[track], middle))
        if len(tracks) > 1 and not close:
            start, end = x + self.offsets[tracks[0]] - 1.2, x + self.offsets[tracks[-1]] - 1.2
            dashes = [((a, middle), (min(a + 0.8, end), middle)) for a in _steps(start, end, 1.5)]
            group.add(Polyline(dashes[0], "o", then=tuple(dashes[1:])))
        if device.residual_a:
            canvas.symbols.setdefault("residual")
            first, last = x + self.offsets[tracks[0]], x + self.offsets[tracks[-1]]
            group.add(symbols.ring(first, last, middle + 2.3))
        group.add(*put(canvas, at, baseline, slot.lines))


def _steps(start: float, end: float, pitch: float) -> list[float]:
    return [start + pitch * place for place in range(int((end - start) / pitch) + 1)]


def merge(tracks: Sequence[Steps]) -> list[Slot]:
    """The slots of several tracks: what has the same id stands level, and conductors side by side where they can."""
    slots: list[Slot] = []
    for track in sorted(range(len(tracks)), key=lambda n: -len(tracks[n])):
        at = 0
        for kind, name in tracks[track]:
            if kind == "conductor":
                place = next(
                    (n for n in range(at, len(slots)) if slots[n].kind == kind and track not in slots[n].members), None
                )
            else:
                place = next((n for n in range(at, len(slots)) if name in slots[n].members.values()), None)
            if place is None:
                place = at
                slots.insert(place, Slot(kind, {}))
            slots[place].members[track] = name
            at = place + 1
    for slot in slots:
        slot.members = dict(sorted(slot.members.items()))
    return slots


def conductor_lines(canvas: Canvas, names: Sequence[str]) -> list[LabelLine]:
    """`fridge+ −` over `4.2 m 4 mm² RD, YE` and the chips of its routes: conductors drawn side by side."""
    task = canvas.task
    conductors = [task.design.system.conductors[name] for name in names]
    first = conductors[0]
    run = task.design.system.runs[first.run]
    size = f"{captions.length(task, first.length_m)} {captions.cable(task, run)}"
    if run.current == "ac" and len(names) > 1:
        marker = first.marker.replace(".l1", "").replace(".l", "")
        colours = ""
    else:
        marker = first.marker
        for other in conductors[1:]:
            if other.run == first.run and _unsigned(other.marker) == _unsigned(first.marker):
                marker += " −" if "-" in other.marker else " +"
            else:
                marker += ", " + other.marker
        colours = ", ".join(dict.fromkeys(filter(None, (captions.colour(task, name) for name in names))))
    head = [plain(line, bold=True) for line in lettering.wrap(lettering.clean(marker), ROOM, bold=True)]
    routes = tuple(route for route, _ in first.routes)
    return [*head, LabelLine(((f"{size} {colours}".strip(), False),), routes)]


def _unsigned(marker: str) -> str:
    """A marker without the sign of its pole."""
    head, mark, number = marker.partition("/")
    return head.rstrip("+-") + mark + number


def device_lines(canvas: Canvas, name: str) -> list[LabelLine]:
    """`main` over `350 A class T`."""
    task = canvas.task
    device = task.design.system.devices[name]
    family = captions.family(task, device)
    kind = family.removesuffix(" fuse") if device.roles.melts else family
    words = " ".join(filter(None, (captions.rating(task, device), kind if device.kind != "breaker" else "")))
    head = [plain(line, bold=True) for line in lettering.wrap(name, ROOM, bold=True)]
    return [*head, plain(words or kind)]
