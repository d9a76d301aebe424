"""The currents of signals, which no solve tells: nothing is asked of their way back."""

from __future__ import annotations

from copperplate.model import System, Traced

STATED = "as a signal states"


def signals(system: System) -> dict[str, Traced]:
    """By conductor and device of each signal its amperes, and by the device of a way their sum of all that leave it:
    they may all be given at once."""
    found: dict[str, Traced] = {}
    ways = {leg[1]: device.id for device in system.devices.values() if device.panel for leg in device.legs[:1]}
    together: dict[str, list[tuple[str, float, str]]] = {}
    for run in system.runs.values():
        if run.signal_a is None:
            continue
        trace = Traced(run.signal_a, "A", "design current", STATED)
        found |= dict.fromkeys((*run.conductor_ids, *run.device_ids), trace)
        pieces = [system.conductors[conductor] for conductor in run.conductor_ids]
        for node in (node for piece in pieces for node in (piece.from_node, piece.to_node)):
            if node in ways:
                together.setdefault(ways[node], []).append((run.id, run.signal_a, "A"))
    for device, each in together.items():
        amperes = sum(a for _, a, _ in each)
        found[device] = Traced(amperes, "A", "design current", "sum of the signals that leave by it", tuple(each))
    return found
