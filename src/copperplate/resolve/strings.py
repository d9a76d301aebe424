"""Batteries wired in series one by one: what their links join is one bank."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from copperplate.findings.entry import shown
from copperplate.model import Battery, Part, Window
from copperplate.resolve.addresses import part_of
from copperplate.resolve.legs import Leg, Stretch
from copperplate.resolve.reading import Reading
from copperplate.standards import chemistry_of


@dataclass(frozen=True)
class String:
    """Batteries in series from the lowest to the highest, and the legs that link them. The bank has the name of the
    highest; `tapped` are those whose middle something else lands on."""

    batteries: tuple[Battery, ...]
    links: tuple[Leg, ...]
    tapped: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        return self.batteries[-1].id


def join_strings(
    parts: dict[str, Part], legs: list[Leg], reading: Reading
) -> tuple[dict[str, Part], list[Leg], tuple[String, ...]]:
    """The parts with one bank for each string, the legs but the links, and the strings. What lands on the lowest
    negative lands on that of the bank. A tap on the lowest battery leaves that a source of its own besides, on the
    bank's negative; one higher up is left as it is written."""
    strings = tuple(string for string in _strings(parts, legs) if _is_one_bank(string))
    if not strings:
        return parts, legs, ()
    found = dict(parts)
    links = {id(leg) for string in strings for leg in string.links}
    left = [leg for leg in legs if id(leg) not in links]
    for string in strings:
        lowest, name = string.batteries[0].id, string.name
        for battery in string.batteries:
            if battery.id not in string.tapped:
                del found[battery.id]
        found[name] = _bank(string)
        if not string.tapped:
            left = [_moved(leg, f"{lowest}.neg", f"{name}.neg") for leg in left]
        _tell(string, reading)
    order = [name for name in parts if name in found]
    return {name: found[name] for name in order}, left, strings


def _moved(leg: Leg, old: str, new: str) -> Leg:
    near, far = (replace(end, text=new) if end.text == old else end for end in (leg.near, leg.far))
    return replace(leg, near=near, far=far) if (near, far) != (leg.near, leg.far) else leg


def _strings(parts: Mapping[str, Part], legs: Sequence[Leg]) -> list[String]:
    """The chains of links: bare conductors from a battery's positive terminal to the negative one of another."""
    above: dict[str, tuple[str, Leg]] = {}
    below: set[str] = set()
    for leg in legs:
        for plus, minus in ((leg.near.text, leg.far.text), (leg.far.text, leg.near.text)):
            ends = part_of(plus), part_of(minus)
            batteries = all(isinstance(parts.get(end), Battery) for end in ends) and ends[0] != ends[1]
            bare = leg.conductors == 1 and all(isinstance(thing, Stretch) for thing in leg.line)
            if batteries and bare and plus == f"{ends[0]}.pos" and minus == f"{ends[1]}.neg":
                above.setdefault(ends[0], (ends[1], leg))
                below.add(ends[1])
    strings: list[String] = []
    for start in (name for name in parts if name in above and name not in below):
        names, links = [start], list[Leg]()
        while names[-1] in above and above[names[-1]][0] not in names:
            upper, leg = above[names[-1]]
            names.append(upper)
            links.append(leg)
        chain = tuple(part for name in names if isinstance(part := parts[name], Battery))
        others = [leg for leg in legs if all(leg is not link for link in links)]
        landed = {end.text for leg in others for end in (leg.near, leg.far)}
        tapped = tuple(name for name in names[:-1] if {f"{name}.pos", name} & landed)
        strings.append(String(chain, tuple(links), tapped))
    return strings


def _is_one_bank(string: String) -> bool:
    """Whether a string is told as one bank: of batteries of one number side by side, tapped at the lowest alone."""
    alike = len({battery.parallel for battery in string.batteries}) == 1
    return alike and string.tapped in ((), (string.batteries[0].id,))


def _bank(string: String) -> Battery:
    """The batteries of a string as one: what the weakest of them holds and allows, all their resistance."""
    batteries, lowest, highest = string.batteries, string.batteries[0], string.batteries[-1]
    weakest = min(batteries, key=lambda b: b.holds_ah or 0.0)
    series = sum(battery.series for battery in batteries)
    volts = [(battery.voltage_v or 0.0) * battery.series for battery in batteries]
    ohms = [_as_new_ohm(battery) for battery in batteries]
    windows = [battery.range for battery in batteries if battery.range is not None]
    alike = len({(b.fault_current_a, b.internal_ohm) for b in batteries}) == 1
    each_ohm = sum(ohm * b.series for b, ohm in zip(batteries, ohms, strict=True)) / series
    return replace(
        highest,
        title=", ".join(battery.title for battery in batteries if battery.title),
        voltage_v=sum(volts) / series if all(volts) else None,
        capacity_ah=weakest.capacity_ah,
        health=weakest.health,
        series=series,
        link_m=max(leg.length_m for leg in string.links),
        fault_current_a=highest.fault_current_a if alike or not all(ohms) else None,
        internal_ohm=highest.internal_ohm if alike or not all(ohms) else each_ohm,
        range=Window(max(w.low for w in windows), min(w.high for w in windows)) if windows else None,
        full_v=min((b.full_v for b in batteries if b.full_v), default=None),
        max_discharge_a=min((b.max_discharge_a for b in batteries if b.max_discharge_a), default=None),
        max_charge_a=min((b.max_charge_a for b in batteries if b.max_charge_a), default=None),
        terminals={
            **{port: end for port in ("pos",) if (end := highest.terminal(port)) is not None},
            **{port: end for port in ("neg",) if (end := lowest.terminal(port)) is not None},
        },
    )


def _as_new_ohm(battery: Battery) -> float:
    """The resistance of one battery as it was new; 0.0 where the plate tells none."""
    each = [battery.internal_ohm] if battery.internal_ohm else []
    if battery.fault_current_a:
        each.append(chemistry_of(battery).emf_full_v.value / battery.fault_current_a)
    return min(each, default=0.0)


_ALIKE = {
    "voltage_v": ("voltage", "V"), "capacity_ah": ("capacity", "Ah"),
    "chemistry": ("chemistry", ""), "health": ("health", "%"),
}  # fmt: skip
"""What batteries in series must have in common: the word of each and its unit."""


def _tell(string: String, reading: Reading) -> None:
    """What the bank is called, what its batteries have not in common, and what draws on one of them alone."""
    names = [battery.id for battery in string.batteries]
    reading.assume(string.name, f"{shown(names, 'names')} are in series: one bank, named `{string.name}`")
    unlike = [key for key in _ALIKE if len({_of(battery, key) for battery in string.batteries}) > 1]
    if unlike:
        word, unit = _ALIKE[unlike[0]]
        values = [_written(_of(battery, unlike[0]), unit) for battery in string.batteries]
        reading.report("CP618", string.name, string.batteries[-1].span, batteries=names, word=word, values=values)
    for name in string.tapped:
        tapped = next(battery for battery in string.batteries if battery.id == name)
        reading.report("CP619", name, tapped.span, others=[other for other in names if other != name])


def _of(battery: Battery, key: str) -> object:
    value: object = getattr(battery, key)
    return 1.0 if key == "health" and value is None else value


def _written(value: object, unit: str) -> str:
    if isinstance(value, float):
        return f"{value * 100 if unit == '%' else value:g} {unit}"
    return str(value or "none")
