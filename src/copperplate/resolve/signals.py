"""Signals as drawn: what they may feed, and what is taken for granted of what gives them."""

from __future__ import annotations

from copperplate.model import Load
from copperplate.resolve.circuits import Circuits
from copperplate.resolve.reading import COMMON_PRACTICE
from copperplate.units import exceeds


def check_signals(circuits: Circuits) -> None:
    """A signal may feed a load that takes no more; what a part gives at a control port it limits inside."""
    reading, parts = circuits.reading, circuits.parts
    limited: dict[str, None] = {}
    for wire in circuits.wiring.wires:
        signal_a = wire.leg.signal_a
        if signal_a is None:
            continue
        if wire.near.control and wire.near.part in circuits.powered_parts:
            limited[wire.near.part] = None
        for landing in wire.landings:
            part = parts[landing.part]
            if landing.control or not isinstance(part, Load):
                continue
            volts = part.voltage_v or circuits.settings.nominal_v
            each_a = part.current_a or (part.power_w or 0.0) / volts
            takes_a = part.count * (each_a or (volts / part.resistance_ohm if part.resistance_ohm else 0.0))
            if exceeds(takes_a, signal_a):
                at = {"load": part.span}
                reading.report("CP239", wire.id, wire.leg.span, load=part.id, takes=takes_a, signal=signal_a, at=at)
    for part_id in limited:
        reading.assume(part_id, "what it gives at its control ports is limited inside it", COMMON_PRACTICE)
