"""What each AC supply drives into a fault and which way the current takes: ways relaxed from its lines."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from copperplate.audit.reach import LINES, handed_through
from copperplate.audit.wires import ohms
from copperplate.model import Generator, Inverter, Part, Shore, Traced
from copperplate.model.results import Design
from copperplate.standards import profile


@dataclass(frozen=True)
class AcSupply:
    """An AC supply: volts from line to neutral, whether it has two lines, what it drives into a short at its own
    terminals at most and for long (None: as its loop allows), and ohms of the loop outside. `constant`: it drives no
    less through a longer loop. `sure`: whether the plate states the loop outside; `silent`: whether it says nothing
    of it."""

    part: Part
    volts: float
    split: bool
    most_a: float
    constant: bool
    lasting_a: float | None
    loop_ohm: float
    sure: bool
    silent: bool
    figures: Mapping[str, Traced]
    """Those of the rule profile."""

    def largest_a(self, ohm: float, lines: int) -> float:
        """Amperes of a short behind so many ohms of line and as many of return, its own impedance at right angles."""
        volts = self.figures["fault-voltage-highest"].value * self.volts * lines
        if self.constant:
            return min(self.most_a, volts / (2 * ohm)) if ohm > 0.0 else self.most_a
        return volts / abs(complex(2 * ohm, volts / self.most_a))

    def smallest_a(self, ohm: float, metres: float, lines: int) -> float:
        """Amperes of a short at the end of hot copper, line and return side by side."""
        volts = self.figures["fault-voltage-lowest"].value * self.volts * lines
        copper = abs(complex(2 * ohm, 2 * metres * self.figures["cable-reactance"].value))
        if self.lasting_a is None:
            return volts / (self.loop_ohm * lines + copper)
        return min(self.lasting_a, volts / copper) if copper > 0.0 else self.lasting_a


@dataclass(frozen=True)
class Approach:
    """A node as the current reaches it: ohms and metres of one conductor, the conductor or device it comes by, the
    protective device last passed, and the most sensitive residual-current device of the way."""

    ohm: float = 0.0
    metres: float = 0.0
    conductor: str = ""
    device: str = ""
    residual_a: float = float("inf")


def mains(design: Design) -> Iterator[tuple[AcSupply, list[str]]]:
    """Each AC supply that is wired, with its line terminals."""
    system = design.system
    for part in system.of(Shore, Generator, Inverter):
        lines = [
            node
            for node in system.nodes.values()
            if node.part == part.id and node.port.startswith("ac-out") and node.pole in LINES
        ]
        if not lines or lines[0].nominal_v <= 0.0:
            continue
        supply = _supply(design, part, lines[0].nominal_v, split=len({node.pole for node in lines}) > 1)
        if supply is not None:
            yield supply, [node.id for node in lines]


def _supply(design: Design, part: Part, volts: float, split: bool) -> AcSupply | None:
    """None where the plate gives no figure of it."""
    figures = profile(design.profile).figures
    high = figures["fault-voltage-highest"].value
    stated_a = part.fault_current_a
    if isinstance(part, Shore):
        loop_ohm = part.earth_loop_ohm or (high * volts / stated_a if stated_a else figures["shore-loop"].value)
        sure, silent = bool(part.earth_loop_ohm), not stated_a and not part.earth_loop_ohm
        most = stated_a or figures["shore-fault"].value
        return AcSupply(part, volts, split, most, False, None, loop_ohm, sure, silent, figures)
    powers = [part.power_w / volts / lines for lines in ({1, 2} if split else {1}) if part.power_w]
    rated = [amperes for amperes in (part.current_a, *powers) if amperes]
    if not rated and not stated_a:
        return None
    least, most = min(rated, default=stated_a or 0.0), max(rated, default=stated_a or 0.0)
    if isinstance(part, Inverter):
        given_a = max(figures["inverter-fault"].value * most, (part.surge_w or 0.0) / volts)
    elif part.self_limiting:
        given_a = most
    else:
        reactance = part.subtransient if isinstance(part, Generator) else None
        given_a = high * most / (reactance or figures["subtransient"].value)
    limited = part.roles.limited or part.self_limiting
    given_a = stated_a or given_a
    return AcSupply(part, volts, split, given_a, limited, min(least, given_a), 0.0, True, False, figures)


def approaches(design: Design, starts: list[str], hot: bool) -> dict[str, Approach]:
    """Every node that a supply reaches, by its way of least ohms: ways are relaxed until none gives less (R. Bellman,
    1958). Never back through a switch, nor from the outlet of an inverter to its inlet."""
    system, cold_c = design.system, profile(design.profile).figures["fault-copper"].value
    at: dict[str, list[tuple[str, float, float, str, str]]] = {}
    for conductor in system.conductors.values():
        if conductor.pole not in LINES:
            continue
        result = design.runs.get(conductor.run)
        degrees = result.insulation_c if hot and result is not None else cold_c
        ohm = ohms(design, conductor, degrees) or 0.0
        a, b = conductor.from_node, conductor.to_node
        at.setdefault(a, []).append((b, ohm, conductor.length_m, conductor.id, ""))
        at.setdefault(b, []).append((a, ohm, conductor.length_m, conductor.id, ""))
    for device in system.devices.values():
        for a, b in device.legs:
            if system.nodes[a].pole in LINES:
                at.setdefault(a, []).append((b, device.resistance_ohm, 0.0, "", device.id))
                if device.roles.protects:
                    at.setdefault(b, []).append((a, device.resistance_ohm, 0.0, "", device.id))
    for inlet, outlet in handed_through(system):
        at.setdefault(inlet, []).append((outlet, 0.0, 0.0, "", ""))
    reached = dict.fromkeys(starts, Approach())
    waiting = deque(starts)
    while waiting:
        here = waiting.popleft()
        for other, ohm, metres, conductor_id, device_id in at.get(here, ()):
            before, passed = reached[here], system.devices.get(device_id)
            if other in reached and before.ohm + ohm >= reached[other].ohm - 1e-15:
                continue
            reached[other] = Approach(
                before.ohm + ohm,
                before.metres + metres,
                conductor_id,
                device_id if passed is not None and passed.roles.protects else before.device,
                min(before.residual_a, (passed.residual_a if passed is not None else None) or float("inf")),
            )
            waiting.append(other)
    return reached
