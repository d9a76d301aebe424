"""What the labels of a drawing say: conductors, devices, parts, loads and volts, in the reader's units."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from copperplate import units
from copperplate.drawing import lettering
from copperplate.drawing.paper import PAPERS, Paper
from copperplate.drawing.wiring import DcWiring, is_point
from copperplate.model import Conductor, Device, Link, Part, Run
from copperplate.model.parts import Battery, Inverter, Panel, Solar
from copperplate.model.results import Design, LoadResult

Line = tuple[tuple[str, bool], ...]
"""One line of lettering: runs of (text, bold)."""

TEXT_ROOM = 31.0
"""Widest line of text in a box before it is wrapped."""
LINES_OF_TEXT = 6
FIRM = "\u00a0"
"""A space that no line is broken at."""

FAMILY_WORDS = {
    "blade": "blade fuse",
    "mini-blade": "mini blade fuse",
    "high-blade": "high blade fuse",
    "strip": "strip fuse",
    "strip-70v": "strip fuse 70 V",
    "single-bolt": "single-bolt fuse",
    "class-t": "class T fuse",
    "gg": "gG fuse",
    "gpv": "gPV fuse",
    "breaker": "breaker",
}
DEVICE_WORDS = {"selector": "selector switch", "diode": "one-way output"}
"""What a kind of device is called where that is not the word of a plate."""


@dataclass(frozen=True)
class Task:
    """One design on one paper, with the sheets that each thing is known to stand on (`numbers`; empty while the
    set is laid out for the first time, when every sheet counts as 00)."""

    design: Design
    wiring: DcWiring
    numbers: Mapping[str, tuple[int, ...]] = field(default_factory=dict)
    zones: Mapping[str, str] = field(default_factory=dict)
    """By address, the zone of sheet 1 that a thing stands in."""
    spots: Mapping[str, str] = field(default_factory=dict)
    """By what sheets show, the zone that it stands in on the first of them."""

    def place(self, name: str) -> str:
        """`1/C3`: where a thing stands on the wiring diagram."""
        return f"1/{self.zones[name]}" if name in self.zones else "sheet 1"

    @property
    def paper(self) -> Paper:
        return PAPERS[self.design.system.settings.paper]

    def sheet(self, key: str) -> str:
        """`4/C3`, `sheets 4 to 6`, `1/B2` of what stands on the wiring diagram alone: where `key` stands."""
        numbers = self.numbers.get(key, ())
        if not numbers and key.startswith("part:"):
            return self.place(key.removeprefix("part:"))
        if key in self.spots and len(numbers) == 1:
            return f"{numbers[0]}/{self.spots[key]}"
        return self.sheet_of(numbers)

    def sheet_of(self, numbers: tuple[int, ...]) -> str:
        """The same for sheets by number; "sheet 00" stands for a sheet not known yet."""
        if not numbers:
            return "sheet 00"
        first, last = numbers[0], numbers[-1]
        if first == last:
            return f"sheet {first}"
        in_sequence = last - first == len(numbers) - 1
        return f"sheets {first} to {last}" if in_sequence else "sheets " + ", ".join(map(str, numbers))


def length(task: Task, metres: float) -> str:
    """A length in the reader's units."""
    if task.design.system.settings.units == "us":
        return units.show(metres, "ft") if metres >= 0.3 else units.show(metres, "in", 2)
    return units.show(metres, "m")


def length_of(task: Task, run: str, metres: float) -> str:
    """The length of a conductor of a run; `? (8 m)` where the plate leaves it open and 8 m is taken."""
    written, known = length(task, metres), task.design.system.runs.get(run)
    return f"? ({written})" if known is not None and known.length_open else written


def amperes(value: float | None) -> str:
    return "" if value is None else f"{units.number(value)} A"


def volts(value: float) -> str:
    return f"{value:.2f} V" if value < 100 else f"{value:.1f} V"


def size(task: Task, run: Run) -> str:
    """`4 mm²`, `2 x 35 mm²` where two conductors are parallel in each pole, `size open` where none was found."""
    result = task.design.runs.get(run.id)
    chosen = (result.size if result is not None else None) or run.size
    if chosen is None:
        return "size open"
    return chosen.laid(parallel(task, run))


def parallel(task: Task, run: Run) -> int:
    """How many conductors of each pole lie side by side."""
    result = task.design.runs.get(run.id)
    return result.parallel if result is not None else run.parallel


def cable(task: Task, run: Run) -> str:
    """`3-core 2.5 mm²` of an AC run with several cores, the size alone of any other."""
    chosen = size(task, run)
    return f"{run.conductors}-core {chosen}" if run.current == "ac" and run.conductors > 1 else chosen


def area(task: Task, run: Run) -> float:
    """Cross-section in mm² that the width of the stroke is chosen by."""
    result = task.design.runs.get(run.id)
    return result.area_mm2 if result is not None else 0.0


def colour(task: Task, conductor: str) -> str:
    result = task.design.conductors.get(conductor)
    return result.colour if result is not None else ""


def conductors(task: Task, names: Sequence[str], room: float = 999.0) -> list[Line]:
    """`fridge+  4.2 m` over `4 mm² RD`: conductors of one run drawn side by side, each marker on several lines where it
    is wider than `room`."""
    side_by_side = [task.design.system.conductors[name] for name in names]
    colours = "+".join(filter(None, (colour(task, name) for name in names)))
    markers = [each.marker for each in side_by_side]
    return _marked(task, markers, side_by_side[0].length_m, side_by_side[0].run, colours, room)


def link(task: Task, link: Link, room: float = 999.0) -> list[Line]:
    """`house.link/1  0.3 m` over `50 mm² RD`: a link of a bank."""
    return _marked(task, [link.marker], link.length_m, link.run, link.colour, room)


def _marked(task: Task, markers: Sequence[str], metres: float, run: str, colours: str, room: float) -> list[Line]:
    """Markers one below the other, then length, size and colours once."""
    *lines, last = [line for marker in markers for line in lettering.wrap(marker, room, bold=True)]
    below = f"{size(task, task.design.system.runs[run])} {colours}".strip()
    long = length_of(task, run, metres)
    return [*(((line, True),) for line in lines), ((last, True), (long, False)), ((below, False),)]


def links(task: Task, bank: Sequence[Link]) -> list[Line]:
    """`9 links, each 0.3 m` over `50 mm² RD, BK`: the links of a bank together."""
    colours = ", ".join(dict.fromkeys(link.colour for link in bank if link.colour))
    each = "each " if len(bank) > 1 else ""
    head = f"{units.counted(len(bank), 'link')}, {each}{length(task, bank[0].length_m)}"
    return [((head, False),), ((f"{size(task, task.design.system.runs[bank[0].run])} {colours}".strip(), False),)]


def family(task: Task, device: Device) -> str:
    """`class T fuse`, `switch`."""
    result = task.design.devices.get(device.id)
    chosen = (result.rating.family if result is not None else "") or device.family or ""
    word = " ".join(filter(None, (worked(device), DEVICE_WORDS.get(device.kind, device.kind))))
    panel = task.design.system.parts.get(device.panel)
    beside = " and switch" if isinstance(panel, Panel) and panel.switched and not device.roles.switches else ""
    return (FAMILY_WORDS.get(chosen, word) if device.roles.melts else word) + beside


def worked(device: Device) -> str:
    """What tells a contact from others of its kind: `float`, `two-way`, `reversing`, `normally open`."""
    said = (
        (device.worked_by, device.worked_by),
        (device.normally_open, "normally open"),
        (device.two_way, "two-way"),
        (device.reversing, "reversing"),
    )
    return " ".join(word for there, word in said if there)


def rating(task: Task, device: Device) -> str:
    """`250 A`, `C 16 A 30 mA` by curve, rating and residual current, `rating open` where a protective device has no
    rating."""
    result = task.design.devices.get(device.id)
    value = (result.rating.rating_a if result is not None else None) or device.rating_a
    residual = f" {units.show(device.residual_a, 'mA')}" if device.residual_a else ""
    if value is None:
        return "rating open" if device.roles.protects else residual.strip()
    curve = f"{device.curve.upper()} " if device.curve else ""
    return curve + amperes(value) + residual


def device(task: Task, name: str, room: float = 999.0) -> list[Line]:
    """`main  250 A` over what it is; the name on several lines where it is wider than `room`."""
    in_line = task.design.system.devices[name]
    rated = rating(task, in_line)
    *lines, last = lettering.wrap(name, room, bold=True)
    head: Line = ((last, True), (rated, False)) if rated else ((last, True),)
    what = lettering.clean(in_line.title) or family(task, in_line)
    poles = f", {in_line.poles} poles" if in_line.poles > 1 else ""
    return [*(((line, True),) for line in lines), head, ((what[:1].upper() + what[1:] + poles, False),)]


def at_load(result: LoadResult) -> str:
    """`5.15 A, 11.70 V at load (2.6 % drop)`."""
    return f"{amperes(result.current_a)}, {volts(result.voltage_v)} at load ({result.drop_percent:.1f} % drop)"


def name_of(part: Part) -> str:
    """The title of a part, else its address."""
    return lettering.clean(part.title) or part.id


def figures(task: Task, part: Part) -> list[str]:
    """What is worth knowing of a part beside its name, a line each."""
    lines: list[str] = []
    if isinstance(part, Battery):
        series, strings = part.series, part.parallel
        each = f"{_firm(part.voltage_v, 'V')} {_firm(part.capacity_ah, 'Ah')}".strip()
        if series > 1 or strings > 1:
            lines.append(", ".join([f"{series} in series"] * (series > 1) + [f"{strings} in parallel"] * (strings > 1)))
            lines.append(f"each {each}" if each else "")
            volts, charge = (part.voltage_v or 0.0) * series, (part.capacity_ah or 0.0) * strings
            whole = f"{_firm(volts or None, 'V')} {_firm(charge or None, 'Ah')}".strip()
            lines.append(f"together {whole}" if whole else "")
        else:
            lines.append(each)
    elif isinstance(part, Inverter):
        nominal = f"{task.design.system.settings.nominal_v:g}{FIRM}V"
        out = f"{nominal} to {_firm(part.ac_v, 'V')}" if part.ac_v else ""
        lines.append(", ".join(filter(None, (_firm(part.power_w, "W"), out))))
    elif isinstance(part, Solar):
        count = part.series * part.parallel
        module = f"{_firm(part.power_w, 'W')} {_firm(part.voc_v, 'V')}".strip()
        lines.append(f"{count} modules, each {module}" if count > 1 else module)
    elif isinstance(part, Panel):
        ways = units.counted(part.ways, "way") if part.ways else ""
        lines.append(f"{ways} {_firm(part.current_a, 'A')}".strip())
    elif part.roles.converts:
        ends = " to ".join(filter(None, (_firm(part.in_v or None, "V"), _firm(part.out_v or None, "V"))))
        lines.append(", ".join(filter(None, (_firm(part.current_a, "A"), ends))))
    else:
        rated = (_firm(part.power_w, "W"), _firm(part.voltage_v, "V"), _firm(part.current_a, "A"))
        lines.append(" ".join(filter(None, rated)))
    return [line for line in lines if line.strip()]


def _firm(value: float | None, unit: str) -> str:
    """A quantity that no line is broken in; "" where the plate states none."""
    return "" if value is None else units.show(value, unit).replace(" ", FIRM)


def rail(task: Task, node: str) -> Line:
    """The name of a bar, or of a terminal drawn as one."""
    part = task.wiring.part_at(node)
    if part is None:
        return ((node, True),)
    rated = f" {amperes(part.current_a)}" if part.roles.is_busbar and part.current_a else ""
    title = lettering.clean(part.title)
    pole = " +" if task.wiring.pole(node) == "pos" else " −" if task.wiring.pole(node) == "neg" else ""
    if is_point(part):
        return ((part.id, True), (f"{title}{rated}".strip(), False)) if title or rated else ((part.id, True),)
    side = task.design.system.nodes[node].port.rpartition(".")[0]
    name = f"{part.id} {side}{pole}" if side else f"{part.id}{pole}"
    return ((name, True), (title, False)) if title else ((name, True),)


def end(task: Task, node: str) -> str:
    """An end of a conductor as the plate writes it: `cabin.1`, `fridge +`, `plus`, or the device it lands on."""
    part = task.wiring.part_at(node)
    if part is None:
        return task.wiring.device_at.get(node, node)
    if is_point(part):
        return part.id
    if node in task.wiring.way_of:
        return "{}.{}".format(*task.wiring.way_of[node])
    return node


def ends(task: Task, conductor: Conductor) -> tuple[str, str]:
    return end(task, conductor.from_node), end(task, conductor.to_node)


def box_lines(task: Task, name: str, remarks: Sequence[str], room: float = TEXT_ROOM) -> list[Line]:
    """Address, title, figures and remarks of a part, each wrapped to `room`."""
    part = task.design.system.parts[name]
    lines: list[Line] = [((line, True),) for line in lettering.wrap(part.id, room, bold=True)]
    for text in (lettering.clean(part.title), *figures(task, part), *remarks):
        if text:
            wrapped = lettering.wrap_to(text, room, LINES_OF_TEXT)
            lines += [((line.replace(FIRM, " "), False),) for line in wrapped]
    return lines
