"""The devices of a run and of the ways that it uses: which brackets they are, their names, poles and facts."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from copperplate.model import Device, DeviceKind, Part, Splitter
from copperplate.model.kinds import DEVICE_KINDS
from copperplate.resolve.addresses import node_id, pole_named
from copperplate.resolve.approaches import leg_of
from copperplate.resolve.brackets import InLine
from copperplate.resolve.built import Built
from copperplate.resolve.circuits import contact_legs, way_legs
from copperplate.resolve.landings import Landing
from copperplate.resolve.legs import Line
from copperplate.resolve.reading import Facts, Reading
from copperplate.resolve.wires import Wire
from copperplate.resolve.words import plural
from copperplate.text import nearest


def way_brackets(wire: Wire) -> tuple[tuple[Landing, InLine | None], ...]:
    """The ends of a run that are ways of panels, each with the bracket beside it that is the way's own device."""
    ways: list[tuple[Landing, InLine | None]] = []
    for side, landing in enumerate(wire.landings):
        if landing.way is not None:
            own = wire.leg.beside(side)
            ways.append((landing, own if own is not None and own.is_a_ways_own else None))
    return tuple(ways)


def build_way(wire: Wire, landing: Landing, own: InLine | None, built: Built) -> None:
    """The device of one way, the first time that a circuit leaves by it."""
    panel, poles, reading = built.wiring.panel(landing.part), built.circuits.poles, built.reading
    name = f"{panel.id}.{landing.way}"
    legs = tuple(way_legs(built.wiring, landing, wire))
    for before, _ in legs:
        built.add_node(before, poles.get(before) or pole_named(before.rpartition(".")[2]) or "pos")
    if own is not None and own.name is not None:
        inside = own.span.text.partition(":")[2].strip().rstrip("]")
        reading.report("CP226", name, own.name.span, name=own.name.text, inside=inside)
    facts = own.facts if own is not None else Facts()
    first = built.devices.get(name)
    if first is not None:
        if facts.values and own is not None:
            reading.report("CP205", name, own.span, device=True, at={"first": first.span})
        return
    family = facts.values.get("family") or panel.family
    if own is not None and own.kind == "breaker":
        family = "breaker"
    elif own is not None and own.kind is not None and family == "breaker":
        family = None
    breaker = family == "breaker" or (family is None and panel.ac and (own is None or own.kind is None))
    word = wire.leg.near if landing is wire.near else wire.leg.far
    opened = facts.values.get("poles", len(legs))
    if opened > len(legs) and own is not None:
        _too_many_poles(name, own, opened, len(legs), reading)
    line = legs[0][0][-1]
    if panel.ac and len(legs) == 1 and line in "12" and leg_of(wire.leg, built.wiring.ends) is None:
        reading.assume(name, f"on line {line} of the split supply, by the number of its way")
    stated = _stated(name, facts, family, reading)  # Of what it does not say, its panel may speak for all its ways.
    stated |= {"breaks_a": stated["breaks_a"] or panel.breaks_a, "curve": stated["curve"] or panel.curve or ""}
    built.devices[name] = Device(
        id=name,
        kind="breaker" if breaker else "fuse",
        run=wire.id,
        pole=poles.get(legs[0][1], "pos"),
        legs=legs,
        span=own.span if own is not None else word.span,
        poles=len(legs),
        panel=panel.id,
        way=landing.way,
        **stated,
    )


def build_contacts(part: Part, built: Built) -> None:
    """The contacts of a selector, one an input that a run reaches; the one-way outputs of a splitter or charger."""
    contacts = tuple(contact_legs(part, built.circuits.reached))
    if not contacts:
        return
    runs = {landing.part + node: wire.id for wire in built.wiring.wires for landing in wire.landings
            for node in landing.nodes.values()}  # fmt: skip
    legs: dict[str, list[tuple[str, str]]] = {}
    run_of: dict[str, str] = {}
    for name, before, behind, opens in contacts:
        run = runs.get(part.id + (behind if part.outputs else before), "")
        if opens and run in built.runs:
            legs.setdefault(name, []).append((before, behind))
            run_of[name] = run
    for name, each in legs.items():
        contact = node_id(part.id, name)
        pole = built.nodes[each[0][0]].pole
        built.devices[contact] = Device(
            id=contact, kind="diode" if part.outputs else "selector", title=part.title, run=run_of[name], pole=pole,
            legs=tuple(each), span=part.span, poles=len(each), of=part.id,
            rating_a=part.current_a if part.roles.splits else None,
            loses_v=part.loses_v or 0.0 if isinstance(part, Splitter) else 0.0,
        )  # fmt: skip


def name_devices(wire: Wire, line: Line, built: Built) -> dict[str, InLine]:
    """The devices in the line of a run by id, in order."""
    named: dict[str, InLine] = {}
    reading = built.reading
    for thing in line:
        if not isinstance(thing, InLine):
            continue
        kind = thing.kind or _ask_kind(wire, thing, reading)
        if thing.name is not None and id(thing.name) not in reading.names.twice:
            named[thing.name.text] = thing
            continue
        name = f"{wire.base}.{kind}"
        first = named[name].span if name in named else built.devices[name].span if name in built.devices else None
        if first is not None:
            own = f"{wire.base.replace('.', '-')}-{kind}"
            code, at = "CP227" if name in named else "CP207", {"first": first}
            reading.report(code, name, thing.span, own=own, inside=thing.inside, kinds=plural(kind), at=at)
        number = 2
        while name in named or name in built.devices:
            name = f"{wire.base}.{kind}-{number}"
            number += 1
        named[name] = thing
    return named


def _ask_kind(wire: Wire, thing: InLine, reading: Reading) -> DeviceKind:
    """A bracket that names no device, and stands at no way: a finding, and a fuse for what follows."""
    about = {"written": thing.span.text, "way": wire.near.way, "inside": thing.inside or None}
    reading.report("CP226", wire.id, thing.span, devices=DEVICE_KINDS, **about)
    return "fuse"


def poles_opened(wire: Wire, thing: InLine, name: str, reading: Reading) -> tuple[int, ...]:
    """Which conductors of the run a device opens, by their place among its keys. Earth is never opened."""
    live = [rank for rank, key in enumerate(wire.keys) if key != "pe"]
    stated = thing.facts.values.get("poles", len(live) if thing.kind == "rcd" else None)
    poles = stated or 1
    inside = thing.facts.values.get("in_pole")
    if inside is not None and inside in wire.keys:
        return (wire.keys.index(inside),)
    if thing.kind == "galvanic-isolator":
        reading.report("CP255", name, thing.span)
        return (wire.keys.index("pe"),) if "pe" in wire.keys else (0,)
    if stated is None and wire.keys[:2] == ("l1", "l2"):
        poles = 2
        reading.assume(name, "opens both lines of the split supply")
    if poles > len(live):
        _too_many_poles(name, thing, poles, len(live), reading)
        poles = len(live)
    return tuple(live[:poles])


def _too_many_poles(name: str, thing: InLine, poles: int, most: int, reading: Reading) -> None:
    counted = {1: "one conductor", 2: "two conductors", 3: "three conductors"}.get(most, f"{most} conductors")
    span = thing.facts.spans.get("poles", thing.span)
    offered = most if most > 1 else None
    reading.report("CP236", name, span, poles=poles, conductors=counted, most=offered)


def build_device(name: str, thing: InLine, wire: Wire, legs: list[tuple[str, str]], poles: int, built: Built) -> Device:
    """A device in the line of a run."""
    kind = thing.kind or "fuse"
    family = thing.facts.values.get("family", "breaker" if kind == "breaker" else None)
    pole = pole_named(wire.keys[0]) or built.circuits.poles.get(wire.near.nodes[""], "pos")
    if thing.facts.values.get("in_pole"):
        pole = built.nodes[legs[0][0]].pole
    stated = {**_stated(name, thing.facts, family, built.reading), "of": thing.of}
    return Device(id=name, kind=kind, run=wire.id, pole=pole, legs=tuple(legs), span=thing.span, poles=poles, **stated)


def _stated(name: str, facts: Facts, family: str | None, reading: Reading) -> dict[str, Any]:
    """What the plate states of a device, by the fields of the model."""
    values = facts.values
    return {
        "title": facts.title.text if facts.title else "",
        "family": family,
        "rating_a": values.get("rating_a"),
        "breaks_a": values.get("breaks_a"),
        "voltage_v": values.get("voltage_v"),
        "resistance_ohm": values.get("resistance_ohm", 0.0),
        "backed_by": _backed_by(name, facts, reading),
        "residual_a": values.get("residual_a"),
        "curve": values.get("curve", ""),
        "closed_by": values["closed_by"].text if "closed_by" in values else "",
        "coil_a": values.get("coil_a"),
        "worked_by": values.get("worked_by", ""),
        "at": values["at"].text if "at" in values else "",
        "remark": values.get("remark", ""),
        "sort": values.get("sort", ""),
        **{key: key in values for key in ("ignition_protected", "normally_open", "reversing", "two_way", "pwm")},
    }


def check_backing(devices: Mapping[str, Device], reading: Reading) -> None:
    """A finding of a device that is stated to stand behind itself, or behind the device of a run or way without one."""
    names = reading.names
    for device in devices.values():
        name = device.backed_by
        if name == device.id:
            reading.report("CP210", device.id, device.span)
        elif name is not None and name not in devices and name not in names.unread and name not in names.touched:
            likely = nearest(name, devices)
            about: dict[str, Any] = {"device": name, "keyword": "backed-by", "likely": likely, "behind": True}
            reading.report("CP202", device.id, device.span, **about)


def _backed_by(subject: str, facts: Facts, reading: Reading) -> str | None:
    """The device that the maker allows this one behind; a way's device is named by its way."""
    word = facts.values.get("backed_by")
    if word is None:
        return None
    names = reading.names
    if names.kinds.get(word.text) == "device" or "." in word.text or word.text in names.unread:
        return str(word.text)
    likely = reading.meant(word.text, [name for name, kind in names.kinds.items() if kind == "device"])
    reading.report("CP202", subject, word.span, device=word.text, keyword="backed-by", likely=likely)
    return None
