"""Operating states: those that every plate has, and those that it declares."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from copperplate.findings import Finding, Related, finding
from copperplate.model import Assumption, Case, Device, Part
from copperplate.resolve.circuits import Circuits
from copperplate.resolve.facts import Facts, read_entries
from copperplate.resolve.forms import UNREAD, Place
from copperplate.resolve.names import Names, read_head
from copperplate.resolve.reach import Supply
from copperplate.resolve.wires import Wiring
from copperplate.resolve.words import an, listed, table
from copperplate.syntax.tree import Declaration, Plate, Word
from copperplate.text import Span, nearest

OPENING = ("switch", "relay", "selector", "breaker")
"""Kinds of devices that a case may open."""


@dataclass(frozen=True)
class Who:
    """What can be on or off: consumers, sources that charge, AC supplies."""

    loads: tuple[str, ...]
    chargers: tuple[str, ...]
    supplies: tuple[str, ...]

    @property
    def all(self) -> tuple[str, ...]:
        return (*self.loads, *self.chargers, *self.supplies)


def who_is_on(parts: Mapping[str, Part], supply: Supply, circuits: Circuits) -> Who:
    """Sorts the connected parts by what they do in a case. A converter is a consumer, or a source where it charges;
    an inverter is a consumer; one that charges too is both."""
    loads: list[str] = []
    chargers: list[str] = []
    supplies: list[str] = []
    for part in parts.values():
        if part.kind in ("shore", "generator"):
            supplies.append(part.id)
        elif part.kind in ("alternator", "solar", "controller", "charger"):
            chargers.append(part.id)
        elif part.kind == "converter" and part.values.get("charges"):
            chargers.append(part.id)
        elif part.kind in ("load", "inverter", "converter"):
            if supply.by.get(part.id):
                loads.append(part.id)
    return Who(tuple(loads), tuple(chargers), tuple(supplies))


def implied_cases(who: Who, parts: Mapping[str, Part], supply: Supply, declared: bool) -> tuple[Case, ...]:
    """`everything`: all consumers on, sources off, but for an AC supply that some load has no other than;
    `charging`: all sources at their rating, consumers off. Declared cases take the place of the first."""
    needed = {
        source
        for name in who.loads
        for source in supply.by.get(name, ())
        if source in who.supplies and not any(parts[s].kind == "inverter" for s in supply.by[name])
    }
    on = (*who.loads, *(name for name in who.supplies if name in needed))
    inverters = [name for name in who.loads if parts[name].kind == "inverter" and "charges_a" in parts[name].values]
    charging = (*who.chargers, *who.supplies, *inverters)
    everything = Case("everything", "Everything on", "load", dict.fromkeys(on, 1.0), frozenset(), True, None)
    full = Case("charging", "Everything charging", "charge", dict.fromkeys(charging, 1.0), frozenset(), True, None)
    return (full,) if declared else (everything, full)


@dataclass
class CaseReading:
    """What declared cases are read with."""

    wiring: Wiring
    devices: Mapping[str, Device]
    who: Who
    supply: Supply
    names: Names
    length_unit: str
    findings: list[Finding]
    assumptions: list[Assumption]


def read_cases(plate: Plate, reading: CaseReading) -> tuple[Case, ...]:
    """The cases that the plate declares, in order."""
    cases: list[Case] = []
    for statement in plate.declarations("case"):
        head = read_head(statement)
        if head.name is None or id(head.name) in reading.names.twice:
            continue
        cases.append(_case(statement, head.name, head.title.text if head.title else "", head.rest, reading))
    if cases:
        _check_all_on(cases, reading)
    return tuple(cases)


def _case(statement: Declaration, name: Word, title: str, rest: tuple, reading: CaseReading) -> Case:  # type: ignore[type-arg]
    place = Place("case", name.text, reading.length_unit, reading.findings)
    facts = Facts()
    groups = [item.atoms for item in statement.items]
    entries = read_entries([rest, *groups] if rest else groups, table("case"), place, facts)
    title = title or (facts.title.text if facts.title else "")
    lists: dict[str, dict[str, tuple[float | None, Span]]] = {"on": {}, "off": {}, "share": {}}
    for attribute, value, _ in entries:
        if value is UNREAD:
            continue
        for word, share in value:
            if attribute.word == "share" and share is None:
                message = f"`share {word.text}` does not say which share"
                place.report("CP124", message, word.span, help=f"`share {word.text} 50 %`")
                continue
            if _known(word, place, reading):
                lists[attribute.word].setdefault(word.text, (share, word.span))
    return _settle(name, title, lists, place, reading)


def _known(word: Word, place: Place, reading: CaseReading) -> bool:
    """True for the name of something that can be on or off; a finding for any other."""
    name = word.text
    device = reading.devices.get(name)
    if name in reading.who.all or (device is not None and device.kind in OPENING):
        return True
    if name in reading.names.unread or name in reading.names.touched:
        return False
    part = reading.wiring.parts.get(name)
    if device is not None or part is not None:
        if part is not None and part.kind in ("load", "inverter", "converter"):
            return False
        what = an(device.kind if device is not None else part.kind if part is not None else "")
        message = f"`{name}` is {what}, and a case turns on and off loads, sources, switches and relays"
        help_ = "name the loads on it" if part is not None else "put a `switch` in the line and name it here"
        place.report("CP243", message, word.span, help=help_)
        return False
    possible = [*reading.who.all, *(d.id for d in reading.devices.values() if d.kind in OPENING)]
    meant = nearest(name, possible)
    help_ = f"`{meant}`" if meant else "a case names loads, sources, switches and relays"
    place.report("CP202", f"nothing is called `{name}`", word.span, help=help_)
    return False


def _settle(
    name: Word,
    title: str,
    lists: dict[str, dict[str, tuple[float | None, Span]]],
    place: Place,
    reading: CaseReading,
) -> Case:
    on, off, shares = lists["on"], lists["off"], lists["share"]
    parts_off = [n for n in off if n not in reading.devices]
    for n in on:
        if n in off:
            related = (Related(on[n][1], "on"),)
            message = f"the case turns `{n}` on and off"
            place.report("CP242", message, off[n][1], label="off", related=related, help="keep one of them")
    listed_on = [n for n in (*on, *shares) if n not in reading.devices]
    if listed_on and parts_off and not any(n in on for n in parts_off) and on:
        message = "the case lists what is on, and so the rest is off already"
        place.report("CP242", message, off[parts_off[0]][1], help="take `off` out, or list only switches there")
    if on:
        chosen = dict.fromkeys(listed_on, 1.0)
    else:
        chosen = {n: 1.0 for n in (*reading.who.loads, *_needed(reading)) if n not in off}
    for n, (share, _) in shares.items():
        if share is not None and n in chosen:
            chosen[n] = share
    _add_suppliers(name, chosen, off, reading)
    order = {n: i for i, n in enumerate(reading.wiring.parts)}
    ordered = {n: chosen[n] for n in sorted(chosen, key=lambda n: order.get(n, 0))}
    charging = [n for n in ordered if n in reading.who.chargers]
    loads = [n for n in ordered if n in reading.who.loads]
    kind = "charge" if charging and not loads else "load"
    if charging and loads:
        text = (
            f"sources are on and loads too: judged with the batteries at the low end of their range, "
            f"as if {listed(charging, 'and')} might fail"
        )
        reading.assumptions.append(Assumption(name.text, text))
    opened = frozenset(n for n in off if n in reading.devices)
    return Case(name.text, title, kind, ordered, opened, False, name.span)  # type: ignore[arg-type]


def _needed(reading: CaseReading) -> list[str]:
    return [n for n in reading.who.supplies]


def _add_suppliers(
    name: Word, chosen: dict[str, float], off: Mapping[str, tuple[float | None, Span]], reading: CaseReading
) -> None:
    """What feeds a load that is on is on too; where the case turns it off by name, a finding."""
    parts = reading.wiring.parts
    queue = list(chosen)
    for consumer in queue:
        sources = reading.supply.by.get(consumer, ())
        if not sources or any(parts[s].kind == "battery" for s in sources) or any(s in chosen for s in sources):
            continue
        possible = [s for s in sources if s not in off]
        if possible:
            chosen[possible[0]] = 1.0
            queue.append(possible[0])
            text = f"`{possible[0]}` is on, for it feeds `{consumer}`"
            reading.assumptions.append(Assumption(name.text, text))
            continue
        span = off[sources[0]][1]
        message = f"`{name.text}` turns `{consumer}` on and `{sources[0]}`, which feeds it, off"
        reading.findings.append(
            finding("CP241", name.text, message, span, help=f"turn `{consumer}` off too, or leave `{sources[0]}` on")
        )


def _check_all_on(cases: list[Case], reading: CaseReading) -> None:
    for name in reading.who.loads:
        part = reading.wiring.parts[name]
        if part.kind == "load" and not any(name in case.shares for case in cases):
            message = f"no case turns `{name}` on, so no feeder counts it"
            help_ = f"name it in the case where it runs, or in one of its own: `case {name}-on on {name}`"
            reading.findings.append(finding("CP240", name, message, part.span, help=help_))
