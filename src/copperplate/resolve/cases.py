"""Operating states that a plate declares."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

from copperplate.findings.entry import shown
from copperplate.model import Case, Converter, Device, Engine, Inverter, Load, Selector
from copperplate.resolve.actors import Actors
from copperplate.resolve.addresses import part_of
from copperplate.resolve.contacts import Contacts
from copperplate.resolve.facts import read_entries
from copperplate.resolve.names import Head, declared
from copperplate.resolve.opened import Openings
from copperplate.resolve.reading import UNREAD, Facts, Place, Reading
from copperplate.syntax.tree import Declaration, Word
from copperplate.text import Span


@dataclass(frozen=True)
class Stage:
    """What declared cases are read with."""

    actors: Actors
    devices: Mapping[str, Device]
    openings: Openings
    contacts: Contacts
    reading: Reading


@dataclass
class _Lists:
    """What one case lists: names with their places, and the share of some."""

    on: dict[str, Span] = field(default_factory=dict)
    off: dict[str, Span] = field(default_factory=dict)
    share: dict[str, Span] = field(default_factory=dict)
    shares: dict[str, float] = field(default_factory=dict)
    settings: dict[str, str] = field(default_factory=dict)


def read_cases(stage: Stage) -> tuple[Case, ...]:
    """The cases that the plate declares, in order."""
    reading, actors = stage.reading, stage.actors
    cases = [case for each in declared(reading, "case") for case in _case(*each, stage)]
    if cases and not reading.names.lost_case:
        for name in actors.consumers:
            part = actors.parts[name]
            if isinstance(part, Load) and not any(name in case.shares for case in cases):
                reading.report("CP240", name, part.span)
        for device in stage.devices.values():
            if device.closed_by and part_of(device.closed_by) not in stage.contacts.running_in_some:
                reading.report("CP244", device.id, device.span, by=part_of(device.closed_by))
    return tuple(cases)


def _case(statement: Declaration, head: Head, name: Word, stage: Stage) -> list[Case]:
    """The case, once for each position of the selectors that it does not set."""
    place = Place("case", name.text, stage.reading)
    facts, lists = Facts(), _Lists()
    groups = [head.rest, *(item.atoms for item in statement.items)]
    for attribute, value, span in read_entries(groups, place, facts):
        if attribute.word == "set":
            lists.settings |= _setting(value or (), span, place, stage)
            continue
        for word, share in () if value is UNREAD else value:
            if attribute.word == "share" and share is None:
                place.report("CP124", word.span, name=word.text)
            elif _is_actor(word, attribute.word, place, stage):
                getattr(lists, attribute.word).setdefault(word.text, word.span)
                if share is not None:
                    lists.shares[word.text] = share
    stage.reading.names.lost_case |= facts.unread
    title = head.title or facts.title
    cases: list[Case] = []
    for settings in stage.contacts.positions(lists.settings):
        own = [f"`{name}` at {position}" for name, position in settings.items() if name not in lists.settings]
        named = ", ".join(filter(None, (title.text if title else name.text if own else "", *own)))
        case = _settle(name, named, replace(lists, settings=dict(settings)), place, stage, quiet=bool(own))
        positions = (position for name, position in settings.items() if name not in lists.settings)
        cases.append(replace(case, id=".".join((case.id, *positions)) if cases else case.id))
    return cases


def _setting(words: Sequence[str], span: Span, place: Place, stage: Stage) -> dict[str, str]:
    """The selector that a case sets, and its position."""
    name, position = (*words, "", "")[:2]
    part = stage.actors.parts.get(name)
    if not isinstance(part, Selector):
        place.report("CP202", span, name=name, case=True)
    elif position not in part.settings:
        place.report("CP248", span, name=name, position=position, positions=part.settings)
    else:
        return {name: position}
    return {}


def _is_actor(word: Word, list_: str, place: Place, stage: Stage) -> bool:
    """True for the name of something that can be in this list of a case, "on", "off" or "share"; a finding for any
    other. A battery can only be on."""
    name, actors, names = word.text, stage.actors, stage.reading.names
    device, part = stage.devices.get(name), actors.parts.get(name)
    battery = name in actors.batteries
    if battery and list_ == "on":
        return True
    if isinstance(part, Engine):
        return True
    if name in actors.names or (device is not None and device.roles.switches):
        return True
    if name in names.unread or name in names.touched:
        return False
    named = device or part
    if named is None:
        possible = [*actors.names, *(device.id for device in stage.devices.values() if device.roles.switches)]
        place.report("CP202", word.span, name=name, likely=stage.reading.meant(name, possible), case=True)
        names.lost_case = True
    elif not isinstance(named, Load | Inverter | Converter):
        place.report("CP243", word.span, name=name, kind=named.kind, in_line=battery or device is not None)
    return False


def _settle(name: Word, title: str, lists: _Lists, place: Place, stage: Stage, quiet: bool) -> Case:
    """The case from its lists: who is on with which share, and which devices are open."""
    actors, reading, case = stage.actors, stage.reading, name.text
    both = [n for n in lists.on if n in lists.off]
    for n in both:
        place.report("CP242", lists.off[n], name=n, at={"on": lists.on[n]})
    engines = {n for n in lists.on if isinstance(actors.parts.get(n), Engine)}
    if lists.on:
        batteries = actors.batteries
        named = [*lists.on, *lists.share, *(n for engine in engines for n in stage.contacts.driven(engine))]
        chosen = {n: 1.0 for n in named if n not in stage.devices and n not in batteries and n not in engines}
        unnamed = [n for n in batteries if n not in lists.on]
        if unnamed and len(unnamed) < len(batteries):
            reading.assume(case, f"{shown(unnamed, 'names')} too: only a switch takes a battery out")
    else:
        chosen = {n: 1.0 for n in (*actors.consumers, *actors.supplies) if n not in lists.off}
    chosen.update((n, share) for n, share in lists.shares.items() if n in chosen)
    for source, consumer in actors.add_suppliers(case, chosen, lists.off, reading):
        reading.report("CP241", consumer, lists.off[source], case=case, source=source)
    opened = _settled(case, chosen, engines, lists, stage, quiet)
    shares = {n: chosen[n] for n in actors.parts if n in chosen}
    charging = [n for n in shares if n in actors.chargers and n not in actors.consumers]
    loaded = any(n in actors.consumers for n in shares) or not charging
    kind: Literal["load", "charge"] = "load" if loaded else "charge"
    if loaded and charging:
        text = (
            f"judged with the batteries at the low end of their range although {shown(charging, 'names')} "
            f"{'is' if len(charging) == 1 else 'are'} on: the lower voltage asks for more"
        )
        reading.assume(case, text)
    return Case(case, title, kind, shares, opened, False, name.span)


def with_contacts(case: Case, contacts: Contacts, openings: Openings) -> list[Case]:
    """An implied case with what stands open in it, once for each position of the selectors: what closes a contact is
    taken to run, and what is cut off is off."""
    cases: list[Case] = []
    for settings in contacts.positions({}):
        made = _standing(case, settings, contacts, openings)
        if settings:
            at = ", ".join(f"`{name}` at {position}" for name, position in settings.items())
            name = ".".join((case.id, *settings.values())) if cases else case.id
            made = replace(made, id=name, title=f"{case.title}, {at}")
        cases.append(made)
    return cases


def _standing(case: Case, settings: Mapping[str, str], contacts: Contacts, openings: Openings) -> Case:
    closing = {part_of(device.closed_by) for device in contacts.devices.values() if device.closed_by}
    shares = {**case.shares, **{n: 1.0 for n in contacts.actors.consumers if n in closing}}
    opened = contacts.opened({*shares, *closing}, (), contacts.chosen_open(settings))
    cut = openings.cut_off(opened, shares) if opened else []
    kept = {n: shares[n] for n in contacts.actors.parts if n in shares and n not in cut}
    return replace(case, shares=kept, open_devices=opened) if opened or closing else case


def _settled(
    case: str, chosen: dict[str, float], engines: set[str], lists: _Lists, stage: Stage, quiet: bool
) -> frozenset[str]:
    """The devices that stand open. Turns off what they cut off, and what hangs on that in turn."""
    contacts = stage.contacts
    while True:
        on = {*chosen, *engines, *contacts.running(chosen)}
        opened = contacts.opened(on, lists.on, {*lists.off, *contacts.chosen_open(lists.settings)})
        cut = stage.openings.cut_off(opened, chosen) if opened else []
        if not cut:
            contacts.running_in_some.update(on)
            return opened
        devices = [d for d in lists.off if d in opened] or [d for d in contacts.devices if d in opened]
        for consumer in cut:
            del chosen[consumer]
            if quiet:
                continue
            if consumer in lists.on:
                span = lists.off.get(devices[0], lists.on[consumer])
                at = {"on": lists.on[consumer] if devices[0] in lists.off else None}
                stage.reading.report("CP241", consumer, span, case=case, devices=devices, at=at)
            elif devices[0] in lists.off:
                stage.reading.assume(case, f"`{consumer}` is off, for {shown(devices, 'names')} cut it off")
