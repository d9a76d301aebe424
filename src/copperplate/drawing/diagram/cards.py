"""The cards of sheet 1: what a reader looks up, in tables that fill the room that the drawing leaves."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from copperplate import units
from copperplate.drawing import captions, lettering
from copperplate.drawing.captions import Task
from copperplate.drawing.diagram.canvas import Canvas, chip, chip_width
from copperplate.drawing.pen import Box, Polyline, words
from copperplate.drawing.wiring import WiringEdge
from copperplate.model import Battery
from copperplate.model.parts import Panel

TITLE = 6.0
PITCHES = (5.6, 5.0, 4.5, 4.0)
GAP = 3.0
EDGE = 2.4
BETWEEN = 3.4
WIDEST = 62.0
"""A text of a card is cut to so much."""


@dataclass
class Card:
    """A table: cells of its rows, the first bold. `head`: names of its columns. `route_column`: where routes stand."""

    title: str
    rows: list[tuple[str, ...]]
    head: tuple[str, ...] = ()
    route_column: int = -1
    may_end: bool = False
    """True where the last rows may be left to the report."""

    def __post_init__(self) -> None:
        cells = [*self.rows, *([self.head] if self.head else [])]
        count = max((len(row) for row in cells), default=1)
        self.columns = [
            max((min(WIDEST, self._wide(row, n)) for row in cells if n < len(row)), default=0.0) for n in range(count)
        ]
        self.width = max(
            sum(self.columns) + BETWEEN * (count - 1) + 2 * EDGE, lettering.width(self.title, bold=True) + 2 * EDGE
        )

    def _wide(self, row: tuple[str, ...], n: int) -> float:
        if n == self.route_column and row is not self.head:
            return sum(chip_width(int(number)) + 1.0 for number in row[n].split())
        return lettering.width(row[n], bold=n == 0)

    @property
    def lines(self) -> int:
        return len(self.rows) + bool(self.head)

    def height(self, pitch: float) -> float:
        return TITLE + 1.4 + pitch * self.lines

    def shortened(self, height: float, pitch: float) -> Card | None:
        """As many rows as `height` holds, and how many more the report has."""
        room = int((height - TITLE - 1.4) / pitch) - bool(self.head) - 1
        if room < 3 or room >= len(self.rows) or not self.may_end:
            return None
        more = f"… {len(self.rows) - room} more in the report"
        return Card(self.title, [*self.rows[:room], (more,)], self.head, self.route_column)

    def draw(self, canvas: Canvas, x: float, y: float, width: float, pitch: float) -> None:
        group = canvas.add("card", self.title, "symbol", Box(x, y, width, self.height(pitch), "g"))
        group.add(words(x + EDGE, y + 4.2, self.title, bold=True))
        group.add(Polyline(((x, y + TITLE), (x + width, y + TITLE)), "h"))
        spread = max(0.0, (width - self.width) / max(1, len(self.columns)))
        spread = min(spread, 14.0)
        base = y + TITLE + pitch - (pitch - 2.8) / 2 + 0.2
        for row in ([self.head] if self.head else []) + self.rows:
            at = x + EDGE
            for n, text in enumerate(row):
                last = n == len(row) - 1
                room = x + width - EDGE - at if last else self.columns[n] + spread
                if n == self.route_column and row is not self.head:
                    for number in (int(name) for name in text.split() if name.isdigit()):
                        group.add(*chip(at, base, number))
                        at += chip_width(number) + 1.0
                elif text:
                    is_head = row is self.head
                    short = lettering.shorten(text, room, bold=n == 0 and not is_head)
                    group.add(words(at, base, short, bold=n == 0 and not is_head, fill="#666666" if is_head else ""))
                if n < len(self.columns):
                    at = x + EDGE + sum(self.columns[: n + 1]) + (BETWEEN + spread) * (n + 1)
            base += pitch


@dataclass(frozen=True)
class Placed:
    card: Card
    x: float
    y: float
    width: float


def best_pack(cards: Sequence[Card], width: float, height: float) -> tuple[list[Placed], float, float]:
    """The same, a long first card in so many parts side by side as take the least height."""
    tries = [pack(cards, width, height)]
    if cards and len(cards[0].rows) > 12:
        for count in (2, 3, 4):
            per = -(-len(cards[0].rows) // count)
            parts = [
                Card(
                    cards[0].title + (", continued" if n else ""),
                    cards[0].rows[n * per : (n + 1) * per],
                    cards[0].head,
                    cards[0].route_column,
                )
                for n in range(count)
            ]
            tries.append(pack([*parts, *cards[1:]], width, height))
    whole = [each for each in tries if sum(len(p.card.rows) for p in each[0]) >= sum(len(c.rows) for c in cards)]
    return min(whole, key=lambda each: (-each[1], each[2])) if whole else tries[0]


def column_pack(cards: Sequence[Card], width: float, height: float) -> tuple[list[Placed], float, float]:
    """Cards in as few columns as hold them, each filled to its foot; the last card is cut where it is too long."""
    for pitch in PITCHES:
        placed = _columns(cards, width, height, pitch)
        if placed is None and cards and cards[-1].may_end:
            before = _columns(cards[:-1], width, height, pitch) or []
            foot = max((p.y + p.card.height(pitch) for p in before if p.x == before[-1].x), default=0.0)
            short = cards[-1].shortened(height - foot - GAP, pitch)
            placed = _columns([*cards[:-1], short], width, height, pitch) if short is not None else None
        if placed is not None:
            return placed, pitch, max((p.y + p.card.height(pitch) for p in placed), default=0.0)
    return pack(cards, width, height)


def pack(cards: Sequence[Card], width: float, height: float) -> tuple[list[Placed], float, float]:
    """Cards in columns from the left within `width` x `height` mm, those left out from the end that do not fit; with
    the pitch of their rows and the height taken."""
    kept = list(cards)
    while kept:
        for pitch in PITCHES:
            tallest = max(card.height(pitch) for card in kept)
            level = tallest
            while level <= height:
                placed = _columns(kept, width, level, pitch)
                if placed is not None:
                    used = max(p.y + p.card.height(pitch) for p in placed)
                    return placed, pitch, used
                level += 2.0
        short = kept[0].shortened(height, PITCHES[-1])
        if short is not None and kept[0] is cards[0]:
            kept[0] = short
            continue
        kept.pop() if len(kept) > 1 else kept.clear()
    return [], PITCHES[0], 0.0


def _columns(cards: Sequence[Card], width: float, height: float, pitch: float) -> list[Placed] | None:
    """Cards in columns no taller than `height`, the columns spread over `width`; None where they are too many, or one
    too long."""
    columns: list[list[Card]] = []
    left = 0.0
    if any(card.height(pitch) > height for card in cards):
        return None
    for card in cards:
        tall = card.height(pitch)
        place = next((column for column in columns if _tall(column, pitch) + GAP + tall <= height), None)
        if place is None:
            columns.append([card])
        else:
            place.append(card)
    wide = [max(card.width for card in column) for column in columns]
    left = width - sum(wide) - GAP * (len(columns) - 1)
    if left < 0:
        return None
    placed: list[Placed] = []
    x = 0.0
    for column, each in zip(columns, wide, strict=True):
        full = each + left / len(columns)
        y = 0.0
        for card in column:
            placed.append(Placed(card, x, y, full))
            y += card.height(pitch) + GAP
        x += full + GAP
    return placed


def _tall(column: Sequence[Card], pitch: float) -> float:
    return sum(card.height(pitch) for card in column) + GAP * (len(column) - 1)


# --- what they say ----------------------------------------------------------------------------------------


def cards(task: Task, zones: Mapping[str, str]) -> list[Card]:
    """Every card that has something to say, the most useful first."""
    made = [
        Card("Circuits", list(_circuits(task)),
             ("Way", "Load", "Length", "Size", "Colours", "Device", "At the load", "Route"), 7, may_end=True),
        Card("To make the system dead, in this order", list(_isolation(task))),
        Card("Banks and energy", list(_banks(task))),
        Card(_main_bank(task) + " in each case", list(_cases(task))),
        Card("Routes", list(_routes(task)), route_column=0),
        Card("Points to check", list(_points(task, zones)), may_end=True),
        Card("Notes", [("", line) for note in task.design.system.notes
                       for line in lettering.wrap(lettering.clean(note.text).replace("`", ""), WIDEST)]),
    ]  # fmt: skip
    return [card for card in made if card.rows]


def wires(task: Task) -> Card | None:
    """The conductors that have a path on the sheet."""
    rows: list[tuple[str, ...]] = []
    for conductor in task.design.system.conductors.values():
        run = task.design.system.runs[conductor.run]
        start, end = captions.ends(task, conductor)
        size = f"{captions.cable(task, run)} {captions.colour(task, conductor.id)}".strip()
        rows.append((conductor.marker, start, end, captions.length(task, conductor.length_m), size))
    head = ("Conductor", "From", "To", "Length", "Size and colour")
    return Card("Conductors", rows, head, may_end=True) if rows else None


def materials(task: Task) -> Card | None:
    rows: list[tuple[str, ...]] = [
        (m.item, captions.length(task, m.quantity) if m.unit == "m" else f"{units.number(m.quantity)} {m.unit}")
        for m in task.design.materials
    ]
    return Card("Materials", rows, may_end=True) if rows else None


def _circuits(task: Task) -> Iterator[tuple[str, ...]]:
    system, design = task.design.system, task.design
    devices = {device.run: device for device in system.devices.values() if device.panel}
    rows: list[tuple[tuple[int, int, int], tuple[str, ...]]] = []
    panels = {panel.id: n for n, panel in enumerate(system.of(Panel))}
    for place, (name, result) in enumerate(design.loads.items()):
        part = system.parts[name]
        run = system.runs.get(result.run)
        if not part.roles.is_load or run is None:
            continue
        device = devices.get(run.id)
        way = f"{device.panel}.{device.way}" if device is not None else run.from_end
        own = device or next((system.devices[d] for d in run.device_ids if system.devices[d].roles.protects), None)
        colours = "+".join(dict.fromkeys(filter(None, (captions.colour(task, c) for c in run.conductor_ids))))
        routes = list(dict.fromkeys(str(list(system.routes).index(route) + 1) for route in run.routes))
        key = (panels.get(device.panel, 99), device.way or 0, place) if device is not None else (100, 0, place)
        rows.append((key, (
            way, captions.name_of(part), captions.length(task, run.length_m), captions.size(task, run), colours,
            captions.rating(task, own) if own is not None else "",
            f"{result.voltage_v:.1f} V, {result.drop_percent:.1f} %", " ".join(routes),
        )))  # fmt: skip
    for _, row in sorted(rows, key=lambda item: item[0]):
        yield row


def _isolation(task: Task) -> Iterator[tuple[str, ...]]:
    """What to open in which order, and what stays live: supplies from outside, what charges, then the batteries."""
    system, wiring = task.design.system, task.wiring
    steps: list[tuple[str, str]] = []
    for part in system.parts.values():
        if part.roles.mains and part.roles.is_source:
            runs = [run for run in system.runs.values() if run.current == "ac" and part.id in system.end_parts(run)]
            names = [n for run in runs for n in run.device_ids if system.devices[n].roles.switches]
            last = f"then pull the plug of {part.id}" if part.kind == "shore" else f"then stop {part.id}"
            steps.append((f"{names[0]} off", last) if names else (last.removeprefix("then "), ""))
    live: list[str] = []
    stored = [part for part in system.parts.values() if part.roles.stores]
    others = [p for p in system.parts.values() if p.roles.is_source and not p.roles.mains and not p.roles.stores]
    for part in [*others, *stored]:
        side = next((side for side in wiring.sides[part.id] if side.pos), None)
        if side is None or side.pos is None or not wiring.at.get(side.pos):
            continue
        named = "" if part.id == captions.name_of(part) else captions.name_of(part)
        switches, straight = _first_switches(task, side.pos)
        opened = f"{', '.join(switches)} off"
        if part.roles.is_source and part.output_key == "voltage_v":
            steps.append(("stop the engine", named or part.id))
        elif switches:
            if not any(step[0] == opened for step in steps):
                steps.append((opened, named or part.id))
            live += [f"{load} from {part.id}" for load in straight]
        elif part.roles.stores:
            steps.append((f"take off {part.id} +", "no switch in its lead"))
        else:
            steps.append((f"cover {part.id}", "no switch in its leads"))
    for number, step in enumerate(steps, 1):
        yield str(number), *step
    for load in dict.fromkeys(live):
        yield "", f"stays live: {load}"


def _first_switches(task: Task, start: str) -> tuple[list[str], list[str]]:
    """The switches that are met first from a terminal, and the loads that are reached without one."""
    wiring, system = task.wiring, task.design.system
    switches: dict[str, None] = {}
    loads: dict[str, None] = {}
    seen: set[str] = {start}
    front: list[str] = [start]
    edges: set[WiringEdge] = set()
    while front:
        node = front.pop()
        for edge in wiring.at.get(node, ()):
            if edge in edges:
                continue
            edges.add(edge)
            if edge.kind == "device" and system.devices[edge.id].roles.switches and not system.devices[edge.id].panel:
                switches[edge.id] = None
                continue
            other = edge.other(node)
            if other in seen or wiring.is_low(other):
                continue
            seen.add(other)
            if wiring.roles_at(other).bar:
                continue
            part = wiring.part_at(other)
            if part is not None and part.roles.is_load:
                loads[part.id] = None
            front.append(other)
    return list(switches)[:3], list(loads)[:4]


def _banks(task: Task) -> Iterator[tuple[str, ...]]:
    for energy in task.design.energy:
        usable = f"{energy.usable_wh:.0f} Wh usable" if energy.usable_wh is not None else ""
        days = f"{energy.autonomy_days:.1f} days" if energy.autonomy_days is not None else ""
        yield energy.bank, f"{energy.daily_wh:.0f} Wh a day" if energy.daily_wh else "", usable, days


def _main_bank(task: Task) -> str:
    banks = task.design.system.of(Battery)
    if not banks:
        return "Supply"
    return max(banks, key=lambda b: (b.voltage_v or 0) * (b.capacity_ah or 0) * b.series * b.parallel).id


def _cases(task: Task) -> Iterator[tuple[str, ...]]:
    source = task.design.sources.get(_main_bank(task))
    if source is None:
        return
    for case in task.design.system.cases:
        current, volts = source.current_a.get(case.id), source.terminal_v.get(case.id)
        if current is not None and volts is not None and not case.implied:
            side = "out" if current >= 0 else "in"
            yield lettering.clean(case.title) or case.id, f"{abs(current):.1f} A {side}", f"{volts:.1f} V"


def _routes(task: Task) -> Iterator[tuple[str, ...]]:
    system = task.design.system
    for number, route in enumerate(system.routes.values(), 1):
        inside = [c for c in system.conductors.values() if any(name == route.id for name, _ in c.routes)]
        laid = "engine space" if route.engine_space else route.laid.replace("-", " ")
        words_ = ", ".join(filter(None, (laid, units.counted(len(inside), "conductor"))))
        far = captions.length(task, route.length_m) if route.length_m else ""
        yield str(number), lettering.clean(route.title) or route.id, far, words_


def _points(task: Task, zones: Mapping[str, str]) -> Iterator[tuple[str, ...]]:
    """Open findings by letter, with the zone of what they are about."""
    opened = [f for f in task.design.findings if f.accepted is None and f.severity != "advice"]
    for number, finding in enumerate(opened):
        letter = (chr(64 + number // 26) if number >= 26 else "") + chr(65 + number % 26)
        text = lettering.clean(finding.message).replace("`", "")
        run = task.design.system.runs.get(finding.subject)
        names = [finding.subject, *(run.conductor_ids if run is not None else ())]
        zone = next((zones[name] for name in names if name in zones), "")
        yield letter, zone.strip(), text
