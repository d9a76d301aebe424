"""Whether each device is made for the highest voltage of its circuit."""

from __future__ import annotations

from copperplate.findings import Finding, Measure, finding
from copperplate.model import Device
from copperplate.protection.situation import Situation
from copperplate.units import number

EVERY_DEVICE_TO_V = 32.0
"""Up to here every DC device of the trade serves; above, its voltage must be known (common practice, no source)."""


def check_voltage(situation: Situation) -> list[Finding]:
    """The device's DC voltage against the highest of its circuit, charging and cold sun included."""
    found: list[Finding] = []
    for device in situation.system.devices.values():
        rating, highest = situation.ratings.get(device.id), situation.zone_v(device.id)
        if rating is None or highest is None or not situation.protective(device.id):
            continue
        family, limit = situation.profile.family(rating.family), rating.voltage_v
        if limit is None and highest.value > EVERY_DEVICE_TO_V:
            found.append(
                finding(
                    "CP431",
                    device.id,
                    f"the {family.title} `{device.id}` states no DC voltage; "
                    f"its circuit reaches {number(highest.value)} V",
                    device.span,
                    label="states no voltage",
                    notes=(f"{number(highest.value)} V: {highest.quantity}",),
                    help=f"state it, `{number(highest.value)} V` or more, from the maker's data",
                    measure=Measure("not stated", highest.value, "V"),
                    rule=situation.profile.clauses["device-voltage"],
                )
            )
        elif limit is not None and limit < highest.value * 0.9999:
            found.append(
                finding(
                    "CP413",
                    device.id,
                    f"the {family.title} `{device.id}` is for {number(limit)} V; its circuit reaches "
                    f"{number(highest.value)} V",
                    device.span,
                    label=f"for {number(limit)} V",
                    notes=(f"{number(highest.value)} V: {highest.quantity}",),
                    help=_instead(situation, device, highest.value),
                    measure=Measure(limit, highest.value, "V"),
                    rule=situation.profile.clauses["device-voltage"],
                )
            )
    return found


def _instead(situation: Situation, device: Device, volts: float) -> str:
    needs = situation.ratings[device.id].needs_a.value
    for name in ("single-bolt", "strip-70v", "class-t", "gg") if device.kind == "fuse" else ():
        family = situation.profile.family(name)
        if (family.voltage_v or 0.0) >= volts and family.ratings_a[-1] >= needs:
            return f"`fuse {name}`, for {number(family.voltage_v or 0.0)} V"
    return f"a device for {number(volts)} V or more, its voltage stated"
