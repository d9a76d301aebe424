"""The devices of a run and of the ways that it uses: which brackets they are, their names, poles and facts."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, get_args

from copperplate.model import Device, DeviceKind
from copperplate.model.kinds import DEVICE_KINDS
from copperplate.resolve.addresses import pole_named
from copperplate.resolve.approaches import leg_of
from copperplate.resolve.brackets import InLine
from copperplate.resolve.circuits import way_legs
from copperplate.resolve.landings import Landing
from copperplate.resolve.legs import Line
from copperplate.resolve.plans import Built, Plan, add_node
from copperplate.resolve.reading import Facts, Reading
from copperplate.resolve.wires import Wire
from copperplate.resolve.words import plural
from copperplate.text import nearest


def way_brackets(wire: Wire) -> tuple[tuple[Landing, InLine | None], ...]:
    """The ends of a run that are ways of panels, each with the bracket beside it that is the way's own device."""
    found: list[tuple[Landing, InLine | None]] = []
    for side, landing in enumerate((wire.near, wire.far)):
        if landing.way is not None:
            own = wire.leg.beside(side)
            found.append((landing, own if own is not None and own.kind is None else None))
    return tuple(found)


def build_way(wire: Wire, landing: Landing, own: InLine | None, plan: Plan, built: Built) -> None:
    """The device of one way, the first time that a circuit leaves by it."""
    panel, way = landing.part, landing.way
    assert way is not None
    part = plan.wiring.panel(panel)
    name = f"{panel}.{way}"
    legs = tuple((before, behind) for behind, before in way_legs(plan.wiring, panel, way, landing.nodes, wire))
    for before, _ in legs:
        pole = plan.poles.get(before) or pole_named(before.rpartition(".")[2])
        add_node(built, plan, before, pole or "pos")
    if own is not None and own.name is not None:
        inside = own.span.text.partition(":")[2].strip().rstrip("]")
        plan.reading.report("CP226", name, own.name.span, name=own.name.text, inside=inside)
    facts = own.facts if own is not None else Facts()
    first = built.devices.get(name)
    if first is not None:
        if facts.values and own is not None:
            plan.reading.report("CP205", name, own.span, device=True, at={"first": first.span})
        return
    family = facts.values.get("family") or part.family
    breaker = family == "breaker" or (family is None and part.ac)
    word = wire.leg.near if landing is wire.near else wire.leg.far
    span = own.span if own is not None else word.span
    pole = plan.poles.get(legs[0][1], "pos")
    poles = facts.values.get("poles", len(legs))
    if poles > len(legs) and own is not None:
        _too_many_poles(name, own, poles, len(legs), plan)
    if (
        part.ac
        and len(legs) == 1
        and legs[0][0][-1] in "12"
        and leg_of(wire.leg, plan.wiring.ends) is None
    ):
        text = f"on line {legs[0][0][-1]} of the split supply, by the number of its way"
        plan.reading.assume(name, text)
    kind: DeviceKind = "breaker" if breaker else "fuse"
    stated = _stated(name, facts, family, plan)  # Of what it does not say, its panel may speak for all its ways.
    built.devices[name] = Device(
        id=name,
        kind=kind,
        run=wire.id,
        pole=pole,
        legs=legs,
        span=span,
        poles=len(legs),
        panel=panel,
        way=way,
        **{**stated, "breaks_a": stated["breaks_a"] or part.breaks_a, "curve": stated["curve"] or part.curve or ""},
    )


def name_devices(wire: Wire, line: Line, plan: Plan, built: Built) -> dict[str, InLine]:
    """The devices in the line of a run by id, in order."""
    named: dict[str, InLine] = {}
    for thing in line:
        if not isinstance(thing, InLine):
            continue
        kind = thing.kind or _ask_kind(wire, thing, plan)
        if thing.name is not None and id(thing.name) not in plan.reading.names.twice:
            named[thing.name.text] = thing
            continue
        name = f"{wire.base}.{kind}"
        first = named[name].span if name in named else built.devices[name].span if name in built.devices else None
        if first is not None:
            own = f"{wire.base.replace('.', '-')}-{kind}"
            code = "CP227" if name in named else "CP207"
            inside = thing.span.text.strip("[]").strip()
            about: dict[str, Any] = {"own": own, "inside": inside, "kinds": plural(kind)}
            plan.reading.report(code, name, thing.span, **about, at={"first": first})
        number = 2
        while name in named or name in built.devices:
            name = f"{wire.base}.{kind}-{number}"
            number += 1
        named[name] = thing
    return named


def _ask_kind(wire: Wire, thing: InLine, plan: Plan) -> DeviceKind:
    """A bracket that names no device, and stands at no way: a finding, and a fuse for what follows."""
    inside = thing.span.text.strip("[]").strip()
    about: dict[str, Any] = {"written": thing.span.text, "way": wire.near.way, "inside": inside or None}
    plan.reading.report("CP226", wire.id, thing.span, devices=DEVICE_KINDS, **about)
    return "fuse"


def poles_opened(wire: Wire, thing: InLine, name: str, plan: Plan, built: Built) -> tuple[int, ...]:
    """Which conductors of the run a device opens, by their place among its keys. Earth is never opened."""
    live = [rank for rank, key in enumerate(wire.keys) if key != "pe"]
    said = thing.facts.values.get("poles")
    poles = said or 1
    if said is None and wire.keys[:2] == ("l1", "l2"):
        poles = 2
        plan.reading.assume(name, "opens both lines of the split supply")
    if poles > len(live):
        _too_many_poles(name, thing, poles, len(live), plan)
        poles = len(live)
    return tuple(live[:poles])


def _too_many_poles(name: str, thing: InLine, poles: int, most: int, plan: Plan) -> None:
    counted = {1: "one conductor", 2: "two conductors", 3: "three conductors"}.get(most, f"{most} conductors")
    span = thing.facts.spans.get("poles", thing.span)
    offered = most if most > 1 else None
    plan.reading.report("CP236", name, span, poles=poles, conductors=counted, most=offered)


def build_device(name: str, thing: InLine, wire: Wire, legs: list[tuple[str, str]], poles: int, plan: Plan) -> Device:
    """A device in the line of a run."""
    kind: DeviceKind = next((k for k in get_args(DeviceKind) if k == thing.kind), "fuse")
    family = thing.facts.values.get("family", "breaker" if kind == "breaker" else None)
    pole = pole_named(wire.keys[0]) or plan.poles.get(wire.near.nodes[""], "pos")
    stated = _stated(name, thing.facts, family, plan)
    return Device(id=name, kind=kind, run=wire.id, pole=pole, legs=tuple(legs), span=thing.span, poles=poles, **stated)


def _stated(name: str, facts: Facts, family: str | None, plan: Plan) -> dict[str, Any]:
    """What the plate says of a device, by the fields of the model."""
    values = facts.values
    return {
        "title": facts.title.text if facts.title else "",
        "family": family,
        "rating_a": values.get("rating_a"),
        "breaks_a": values.get("breaks_a"),
        "voltage_v": values.get("voltage_v"),
        "resistance_ohm": values.get("resistance_ohm", 0.0),
        "backed_by": _backed_by(name, facts, plan),
        "residual_a": values.get("residual_a"),
        "curve": values.get("curve", ""),
    }


def check_backing(devices: Mapping[str, Device], reading: Reading) -> None:
    """A device that is said to stand behind itself, or behind the device of a run or way that has none."""
    names = reading.names
    for device in devices.values():
        name = device.backed_by
        if name == device.id:
            reading.report("CP210", device.id, device.span)
        elif name is not None and name not in devices and name not in names.unread and name not in names.touched:
            likely = nearest(name, devices)
            about: dict[str, Any] = {"device": name, "keyword": "backed-by", "likely": likely, "behind": True}
            reading.report("CP202", device.id, device.span, **about)


def _backed_by(subject: str, facts: Facts, plan: Plan) -> str | None:
    """The device that the maker allows this one behind; a way's device is named by its way."""
    word = facts.values.get("backed_by")
    if word is None:
        return None
    names = plan.reading.names
    if names.kinds.get(word.text) == "device" or "." in word.text or word.text in names.unread:
        return str(word.text)
    likely = plan.reading.meant(word.text, [name for name, kind in names.kinds.items() if kind == "device"])
    plan.reading.report("CP202", subject, word.span, device=word.text, keyword="backed-by", likely=likely)
    return None
