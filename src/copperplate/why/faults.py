"""The largest and the smallest faults of a device that guards a run, and what they do to it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from copperplate.model import Traced
from copperplate.model.results import Clearing, Design, DeviceResult
from copperplate.units import number
from copperplate.why.reasons import reason

PUSHES = " pushes"


def faults(design: Design, device: DeviceResult) -> Iterator[tuple[str, str]]:
    """Both sides of its largest fault with their sources; its smallest short with the bank, where that is and the turn
    at which it opens."""
    if device.prospective_fault is not None:
        breaks = f"breaks {number(device.interrupting_a)} A" if device.interrupting_a else "breaks: not stated"
        yield "largest fault", f"{_amperes(device.prospective_fault)} at `{device.device}` ({breaks})"
        if device.fault_sides is not None and all(device.fault_sides):
            legs = design.system.devices[device.device].legs[0]
            sides = zip(legs, device.fault_sides, strict=True)
            told = [f"{_amperes(side)} of {_sources(side)} by `{node}`" for node, side in sides if side is not None]
            yield "", f"{', or '.join(told)}: the larger counts"
        yield "", reason(device.prospective_fault)
    if device.end_fault is not None:
        opens = f" within {number(device.opens_within_s)} s" if device.opens_within_s is not None else ""
        verdict = device.far_end or "not judged"
        yield "far-end fault", f"{_amperes(device.end_fault)}: `{device.device}` {verdict}{opens}"
        if device.clearing is not None:
            yield "", _short(device.clearing)
        yield "", reason(device.end_fault)
    if device.earth_fault is not None:
        yield "earth fault", f"{_amperes(device.earth_fault)}: `{device.device}` {device.earth_end or 'not judged'}"
        yield "", reason(device.earth_fault)


def _short(clearing: Clearing) -> str:
    """`house` alone, from `lamp.pos` to `lamp.neg`; it opens second."""
    fed = f"`{clearing.sources[0]}` alone" if len(clearing.sources) == 1 else _and(clearing.sources)
    turn = "it opens first" if clearing.turn == 1 else f"it opens at turn {clearing.turn}"
    return f"a short from `{clearing.node}` to `{clearing.back}`, fed by {fed}; {turn}"


def _sources(side: Traced) -> str:
    """What brings the current of a side."""
    names = [what.removesuffix(" e.m.f.") for what, _, _ in side.inputs if what.endswith(" e.m.f.")]
    names += [what.removesuffix(PUSHES) for what, _, _ in side.inputs if what.endswith(PUSHES)]
    return _and(dict.fromkeys(names or [what.partition(",")[0] for what, _, unit in side.inputs if unit == "A"]))


def _and(names: Iterable[str]) -> str:
    return " and ".join(f"`{name}`" for name in names)


def _amperes(trace: Traced) -> str:
    return f"{number(trace.value)} {trace.unit}"
