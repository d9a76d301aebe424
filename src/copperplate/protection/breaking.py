"""Whether each device can break the largest fault current that reaches it."""

from __future__ import annotations

from collections.abc import Mapping

from copperplate.findings import Finding, Measure, Related, finding
from copperplate.model import Device, Traced
from copperplate.protection.situation import Situation
from copperplate.standards import chemistry
from copperplate.units import number, suffices


def check_figures(situation: Situation) -> list[Finding]:
    """Batteries without a figure for their fault current: nothing can be said of any device that they reach."""
    found: list[Finding] = []
    for name, bank in situation.banks.items():
        if bank.resistance_ohm is not None:
            continue
        part = situation.system.parts[name]
        if part.unread & {"fault_current_a", "internal_ohm"}:
            continue
        usual = chemistry(part.get("chemistry", "flooded"), part.get("voltage_v", 12.0)).fault_range
        found.append(
            finding(
                "CP416",
                name,
                f"the fault current of `{name}` is not known, so no device can be proven to break it",
                part.span,
                label="states neither `fault-current` nor `internal-resistance`",
                notes=(f"usual: {usual}",),
                help="`fault-current` of one battery, asked of its maker",
                rule="common practice: a device breaks what can reach it",
            )
        )
    return found


def check_breaking(situation: Situation) -> list[Finding]:
    """Devices that cannot break their fault current: an error at a battery, a warning behind another device. The
    ways of one panel that are of one family and one capacity make one finding."""
    found: list[Finding] = []
    shelves: dict[tuple[str, str, float | None], list[Device]] = {}
    for device in situation.system.devices.values():
        current = situation.largest.get(device.id)
        if not situation.protective(device.id) or current is None or device.id not in situation.ratings:
            continue
        breaks = situation.ratings[device.id].interrupting_a
        if breaks is not None and suffices(breaks, current.value):
            continue
        if device.id in situation.nearest:
            found.append(_nearest(situation, device, current.value, breaks))
        elif backed(situation, device, situation.largest):
            continue
        elif device.panel:
            shelves.setdefault((device.panel, situation.ratings[device.id].family, breaks), []).append(device)
        else:
            found.append(_branch(situation, device, current.value, breaks))
    found += [_shelf(situation, panel, devices, breaks) for (panel, _, breaks), devices in shelves.items()]
    return found


def backed(situation: Situation, device: Device, largest: Mapping[str, Traced]) -> bool:
    """Whether the maker's stated combination with a device above it settles the matter: that one breaks it all, the
    `largest` current by device."""
    name = device.backed_by
    if not name or name not in situation.ratings or name not in above(situation, device.id):
        return False
    breaks, current = situation.ratings[name].interrupting_a, largest.get(name)
    return breaks is not None and current is not None and suffices(breaks, current.value)


def above(situation: Situation, device: str) -> set[str]:
    """Every protective device above another."""
    seen: set[str] = set()
    waiting = [device]
    while waiting:
        for upper in situation.upstream.get(waiting.pop(), ()):
            if upper not in seen:
                seen.add(upper)
                waiting.append(upper)
    return seen


def _breaks(breaks: float | None) -> str:
    return f"breaks {kiloamperes(breaks)}" if breaks is not None else "states no `breaks`"


def kiloamperes(amperes: float) -> str:
    return f"{number(amperes / 1000)} kA" if amperes >= 1000 else f"{number(amperes)} A"


def round_up(amperes: float) -> str:
    """The next figure that makers print."""
    for step in (500, 750, 1000, 1500, 2000, 2500, 3000, 5000, 6000, 10000, 15000, 20000, 25000, 50000, 100000):
        if step >= amperes:
            return kiloamperes(float(step))
    return kiloamperes(amperes)


def _how(situation: Situation, device: str) -> tuple[str, ...]:
    """Where the current comes from: each battery and the cable to here."""
    trace = situation.largest[device]
    batteries = [what.removesuffix(" e.m.f.") for what, _, _ in trace.inputs if what.endswith(" e.m.f.")]
    inner = {f"{b} resistance" for b in batteries} | {f"{b} e.m.f." for b in batteries}
    cable = sum(float(v) for what, v, _ in trace.inputs if what not in inner)
    names = " and ".join(f"`{b}`" for b in batteries)
    return (f"{names}{' in parallel' if len(batteries) > 1 else ''}, {number(cable)} mohm of cable to here",)


def _nearest(situation: Situation, device: Device, amperes: float, breaks: float | None) -> Finding:
    family = situation.profile.family(situation.ratings[device.id].family)
    return finding(
        "CP411",
        device.id,
        f"a short at `{device.id}` can reach {kiloamperes(amperes)}; this {family.title} {_breaks(breaks)}",
        device.span,
        label=f"first device from the battery, {_breaks(breaks)}",
        notes=_how(situation, device.id),
        help=_instead(situation, device, amperes),
        measure=Measure(breaks if breaks is not None else "not stated", amperes, "A"),
        rule="common practice: a device breaks what can reach it",
    )


def _branch(situation: Situation, device: Device, amperes: float, breaks: float | None) -> Finding:
    family = situation.profile.family(situation.ratings[device.id].family)
    upper = situation.upstream.get(device.id, ())
    behind = f", or `backed-by {upper[0]}` if its maker states the combination" if upper else ""
    return finding(
        "CP415",
        device.id,
        f"a short at `{device.id}` can reach {kiloamperes(amperes)}; this {family.title} {_breaks(breaks)}",
        device.span,
        label=f"{family.title}, {_breaks(breaks)}",
        notes=_how(situation, device.id),
        help=f"{_instead(situation, device, amperes)}{behind}",
        measure=Measure(breaks if breaks is not None else "not stated", amperes, "A"),
        rule="common practice: a device breaks what can reach it",
    )


def _shelf(situation: Situation, panel: str, devices: list[Device], breaks: float | None) -> Finding:
    part = situation.system.parts[panel]
    most = max(devices, key=lambda d: situation.largest[d.id].value)
    amperes = situation.largest[most.id].value
    family = situation.profile.family(situation.ratings[most.id].family)
    upper = situation.upstream.get(most.id, ())
    who = f"its {len(devices)} ways ({family.title})" if len(devices) > 1 else f"its way `{most.id}` ({family.title})"
    verb = "break" if len(devices) > 1 else "breaks"
    capacity = (
        f"{verb} {kiloamperes(breaks)}"
        if breaks is not None
        else f"{'state' if len(devices) > 1 else 'states'} no `breaks`"
    )
    behind = f", or `backed-by {upper[0]}` on its ways if the maker states the combination" if upper else ""
    return finding(
        "CP415",
        panel,
        f"a short at `{panel}` can reach {kiloamperes(amperes)}; {who} {capacity}",
        part.span,
        label=f"{family.title}",
        notes=_how(situation, most.id),
        help=f"devices that break {round_up(amperes)} or more{behind}",
        related=(Related(devices[0].span, "for example this circuit"),),
        measure=Measure(breaks if breaks is not None else "not stated", amperes, "A"),
        rule="common practice: a device breaks what can reach it",
    )


def _instead(situation: Situation, device: Device, amperes: float) -> str:
    """A family that breaks it, serves the voltage and has a rating; else the figure to look for."""
    volts = situation.zone_v(device.id)
    needs = situation.ratings[device.id].needs_a.value
    for name in ("single-bolt", "class-t", "gg") if device.kind == "fuse" else ():
        family = situation.profile.family(name)
        made = [r for r in family.ratings_a if suffices(r, needs)]
        serves = (family.voltage_v or 0.0) >= (volts.value if volts else 0.0)
        if made and serves and (family.interrupting_a or 0.0) >= amperes:
            return f"`{device.kind} {name}`, which breaks {kiloamperes(family.interrupting_a or 0.0)}"
    return f"a device that breaks {round_up(amperes)} or more, stated with `breaks`"
