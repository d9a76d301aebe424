"""Operating states: those that every plate has, and those that it declares."""

from __future__ import annotations

from collections.abc import Container, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Literal

from copperplate.findings import Finding, make
from copperplate.model import Assumption, Case, Converter, Device, Inverter, Load, Part
from copperplate.resolve.atoms import UNREAD, Place
from copperplate.resolve.circuits import Circuits
from copperplate.resolve.facts import Facts, read_entries
from copperplate.resolve.names import Head, Names, meant, read_head
from copperplate.resolve.opened import Openings
from copperplate.resolve.reach import Supply, is_used
from copperplate.resolve.words import listed, table
from copperplate.syntax.tree import Declaration, Plate, Word
from copperplate.text import Span


@dataclass(frozen=True)
class Actors:
    """What can be on or off, in the order of the plate: consumers, sources that charge, AC supplies. Something may
    be in two of them."""

    consumers: dict[str, None]
    chargers: dict[str, None]
    supplies: dict[str, None]

    @cached_property
    def names(self) -> dict[str, None]:
        return {**self.consumers, **self.chargers, **self.supplies}


def sort_actors(parts: Mapping[str, Part], supply: Supply, circuits: Circuits, assumptions: list[Assumption]) -> Actors:
    """Sorts the connected parts by what they do in a case. A converter consumes, or charges where it says so; one
    with a battery on its output that does not say so counts as both. An inverter consumes; one that charges too
    is both."""
    consumers: dict[str, None] = {}
    chargers: dict[str, None] = {}
    supplies: dict[str, None] = {}
    for part in (part for part in parts.values() if is_used(part, circuits)):
        fed = bool(supply.by.get(part.id))
        if part.id in supply.by and not fed:
            continue
        if part.roles.mains and not part.roles.consumes:
            supplies[part.id] = None
        elif part.roles.pushes_current and not part.holds_voltage:
            chargers[part.id] = None
        elif part.roles.consumes and fed:
            consumers[part.id] = None
            if isinstance(part, Converter):
                zone = circuits.zone_of(f"{part.id}.out.pos")
                if zone and parts[zone].roles.stores:
                    chargers[part.id] = None
                    text = f"runs in every case, for it may charge `{zone}` while loads are on"
                    assumptions.append(Assumption(part.id, text))
            elif isinstance(part, Inverter) and part.charges_a is not None and supply.by.get(f"{part.id}.ac-in", True):
                chargers[part.id] = None
    return Actors(consumers, chargers, supplies)


def implied_cases(
    actors: Actors, parts: Mapping[str, Part], supply: Supply, declared: bool, assumptions: list[Assumption]
) -> tuple[Case, ...]:
    """`everything`: all consumers on, sources off, but for an AC supply that some load has none beside;
    `charging`: all sources at their rating, consumers off, but for what feeds a charger. Declared cases take the
    place of the first."""
    needed = {
        source
        for name in actors.consumers
        for source in supply.by.get(name, ())
        if source in actors.supplies and not any(isinstance(parts[other], Inverter) for other in supply.by[name])
    }
    on = (*actors.consumers, *(name for name in actors.supplies if name in needed))
    everything = Case("everything", "Everything on", "load", dict.fromkeys(on, 1.0), frozenset(), True, None)
    sources = dict.fromkeys((*actors.chargers, *actors.supplies), 1.0)
    taken, _ = _add_suppliers("charging", sources, (), supply, parts)
    assumptions += taken
    charging = Case("charging", "Everything charging", "charge", sources, frozenset(), True, None)
    return (charging,) if declared else (everything, charging)


@dataclass
class CaseReading:
    """What declared cases are read with."""

    parts: Mapping[str, Part]
    devices: Mapping[str, Device]
    actors: Actors
    supply: Supply
    openings: Openings
    names: Names
    length_unit: str
    assumptions: list[Assumption]
    findings: list[Finding] = field(repr=False)


@dataclass
class _Lists:
    """What one case says: names with their places, and the share of some."""

    on: dict[str, Span] = field(default_factory=dict)
    off: dict[str, Span] = field(default_factory=dict)
    share: dict[str, Span] = field(default_factory=dict)
    shares: dict[str, float] = field(default_factory=dict)


def read_cases(plate: Plate, reading: CaseReading) -> tuple[Case, ...]:
    """The cases that the plate declares, in order."""
    cases: list[Case] = []
    for statement in plate.declarations("case"):
        head = read_head(statement)
        if head.name is not None and id(head.name) not in reading.names.twice:
            cases.append(_case(statement, head, head.name, reading))
    if cases and not reading.names.lost_case:
        _check_all_on(cases, reading)
    return tuple(cases)


def _case(statement: Declaration, head: Head, name: Word, reading: CaseReading) -> Case:
    place = Place("case", name.text, reading.length_unit, reading.findings)
    facts = Facts()
    groups = [head.rest, *(item.atoms for item in statement.items)]
    lists = _Lists()
    for attribute, value, _ in read_entries(groups, table("case"), place, facts):
        for word, share in () if value is UNREAD else value:
            if attribute.word == "share" and share is None:
                place.report("CP124", word.span, name=word.text)
            elif _is_actor(word, attribute.word, place, reading):
                getattr(lists, attribute.word).setdefault(word.text, word.span)
                if share is not None:
                    lists.shares[word.text] = share
    reading.names.lost_case = reading.names.lost_case or facts.unread
    title = head.title or facts.title
    return _settle(name, title.text if title else "", lists, place, reading)


def _is_actor(word: Word, said: str, place: Place, reading: CaseReading) -> bool:
    """True for the name of something that can be on or off, as `said`; a finding for any other. A battery can only
    be on."""
    name = word.text
    device, part = reading.devices.get(name), reading.parts.get(name)
    battery = part is not None and part.roles.stores
    if battery and said == "on":
        return True
    if name in reading.actors.names or (device is not None and device.roles.switches):
        return True
    if name in reading.names.unread or name in reading.names.touched:
        return False
    if device is None and part is None:
        possible = [*reading.actors.names, *(d.id for d in reading.devices.values() if d.roles.switches)]
        likely = meant(name, possible, place.findings)
        place.report("CP202", word.span, name=name, likely=likely, case=True)
        reading.names.lost_case = True
    elif (named := device or part) is not None and not isinstance(named, Load | Inverter | Converter):
        place.report("CP243", word.span, name=name, kind=named.kind, in_line=battery or device is not None)
    return False


def _settle(name: Word, title: str, lists: _Lists, place: Place, reading: CaseReading) -> Case:
    """The case from its lists: who is on with which share, and which devices are open."""
    parts_off = [n for n in lists.off if n not in reading.devices]
    both = [n for n in lists.on if n in lists.off]
    for n in both:
        place.report("CP242", lists.off[n], name=n, at={"on": lists.on[n]})
    if lists.on and parts_off and not both:
        place.report("CP242", lists.off[parts_off[0]])
    if lists.on:
        batteries = [part.id for part in reading.parts.values() if part.roles.stores]
        chosen = {n: 1.0 for n in (*lists.on, *lists.share) if n not in reading.devices and n not in batteries}
        unnamed = [n for n in batteries if n not in lists.on]
        if unnamed and len(unnamed) < len(batteries):
            text = f"{listed(unnamed, 'and')} too: only a switch takes a battery out"
            reading.assumptions.append(Assumption(name.text, text))
    else:
        chosen = {n: 1.0 for n in (*reading.actors.consumers, *reading.actors.supplies) if n not in lists.off}
    chosen.update((n, share) for n, share in lists.shares.items() if n in chosen)
    taken, apart = _add_suppliers(name.text, chosen, lists.off, reading.supply, reading.parts)
    reading.assumptions += taken
    for source, consumer in apart:
        reading.findings.append(make("CP241", consumer, lists.off[source], case=name.text, source=source))
    opened = frozenset(n for n in lists.off if n in reading.devices)
    if opened:
        _leave_out_cut_off(name, chosen, opened, lists, reading)
    shares = {n: chosen[n] for n in reading.parts if n in chosen}
    charging = [n for n in shares if n in reading.actors.chargers and n not in reading.actors.consumers]
    kind: Literal["load", "charge"] = "charge"
    if any(n in reading.actors.consumers for n in shares) or not charging:
        kind = "load"
    if kind == "load" and charging:
        text = (
            f"judged with the batteries at the low end of their range although {listed(charging, 'and')} "
            f"{'is' if len(charging) == 1 else 'are'} on: the lower voltage asks for more"
        )
        reading.assumptions.append(Assumption(name.text, text))
    return Case(name.text, title, kind, shares, opened, False, name.span)


def _leave_out_cut_off(
    name: Word, chosen: dict[str, float], opened: frozenset[str], lists: _Lists, reading: CaseReading
) -> None:
    """Turns off what the opened devices cut off, and what hangs on that in turn."""
    devices = [device for device in lists.off if device in opened]
    while cut := reading.openings.cut_off(opened, chosen):
        for consumer in cut:
            del chosen[consumer]
            if consumer in lists.on:
                at = {"on": lists.on[consumer]}
                span = lists.off[devices[0]]
                reading.findings.append(make("CP241", consumer, span, case=name.text, devices=devices, at=at))
            else:
                text = f"`{consumer}` is off, for {listed(devices, 'and')} cut it off"
                reading.assumptions.append(Assumption(name.text, text))


def _add_suppliers(
    case: str, chosen: dict[str, float], off: Container[str], supply: Supply, parts: Mapping[str, Part]
) -> tuple[list[Assumption], list[tuple[str, str]]]:
    """Turns on what alone feeds something that is on; an inverter that a supply passes through feeds nothing itself
    where the case has that supply on. Returns what was taken for it, and the (source, consumer)
    pairs that the case itself keeps apart: the source is in `off`."""
    taken: list[Assumption] = []
    apart: list[tuple[str, str]] = []
    queue = list(chosen)
    for consumer in queue:
        sources = supply.by.get(consumer, ())
        handed = [s for s in sources if any(m in chosen for m in supply.by.get(f"{s}.ac-in", ()))]
        if not sources or handed or any(parts[s].roles.stores or s in chosen for s in sources):
            continue
        source = next((s for s in sources if s not in off), None)
        if source is None:
            apart.append((sources[0], consumer))
            continue
        chosen[source] = 1.0
        queue.append(source)
        taken.append(Assumption(case, f"`{source}` is on, for it feeds `{consumer}`"))
    return taken, apart


def _check_all_on(cases: list[Case], reading: CaseReading) -> None:
    for name in reading.actors.consumers:
        part = reading.parts[name]
        if isinstance(part, Load) and not any(name in case.shares for case in cases):
            reading.findings.append(make("CP240", name, part.span))
