"""Whether each device is made for the highest voltage of its circuit."""

from __future__ import annotations

from copperplate.findings import Finding, Measure, finding
from copperplate.model import Device
from copperplate.protection.situation import Situation
from copperplate.units import number, suffices

EVERY_DEVICE_TO_V = 32.0
"""Up to here every DC device of the trade serves; above, its voltage must be known (common practice, no source)."""


def check_voltage(situation: Situation) -> list[Finding]:
    """The device's DC voltage against the highest of its circuit, charging and cold sun included. Ways of one panel
    and family make one finding."""
    found: list[Finding] = []
    shelves: dict[tuple[str, str, float | None], list[Device]] = {}
    for device in situation.system.devices.values():
        rating, highest = situation.ratings.get(device.id), situation.zone_v(device.id)
        if rating is None or highest is None or not situation.protective(device.id):
            continue
        limit = rating.voltage_v
        unknown = limit is None and highest.value > EVERY_DEVICE_TO_V
        if not unknown and (limit is None or suffices(limit, highest.value)):
            continue
        if device.panel:
            shelves.setdefault((device.panel, rating.family, limit), []).append(device)
        else:
            found.append(_finding(situation, [device], limit))
    return [*found, *(_finding(situation, devices, limit) for (_, _, limit), devices in shelves.items())]


def _finding(situation: Situation, devices: list[Device], limit: float | None) -> Finding:
    first = devices[0]
    panel = situation.system.parts.get(first.panel)
    subject = panel.id if panel is not None else first.id
    title = situation.profile.family(situation.ratings[first.id].family).title
    highest = situation.zone_v(first.id)
    volts = highest.value if highest is not None else 0.0
    if panel is None:
        who, one = f"the {title} `{first.id}`", True
    else:
        one = len(devices) == 1
        who = f"the {title} `{first.id}`" if one else f"the {len(devices)} ways of `{panel.id}` ({title})"
    said = (
        f"{'states' if one else 'state'} no DC voltage"
        if limit is None
        else f"{'is' if one else 'are'} for {number(limit)} V"
    )
    known = limit is not None
    return finding(
        "CP413" if known else "CP431",
        subject,
        f"{who} {said}; {'its circuit reaches' if one else 'their circuits reach'} {number(volts)} V",
        panel.span if panel is not None else first.span,
        label="no voltage stated" if limit is None else f"for {number(limit)} V",
        notes=(f"{number(volts)} V: {highest.quantity}",) if highest is not None else (),
        help=_instead(situation, first, volts)
        if known
        else f"state it from the maker's data: {number(volts)} V or more",
        measure=Measure(limit if limit is not None else "not stated", volts, "V"),
        rule=situation.profile.clauses["device-voltage"],
    )


def _instead(situation: Situation, device: Device, volts: float) -> str:
    if device.panel:
        return f"a panel whose devices are for {number(volts)} V or more, or their own voltage stated on each way"
    needs = situation.ratings[device.id].needs_a.value
    for name in ("single-bolt", "strip-70v", "class-t", "gg") if device.kind == "fuse" else ():
        family = situation.profile.family(name)
        if (family.voltage_v or 0.0) >= volts and family.ratings_a[-1] >= needs:
            return f"`fuse {name}`, for {number(family.voltage_v or 0.0)} V"
    return f"a device for {number(volts)} V or more, its voltage stated"
