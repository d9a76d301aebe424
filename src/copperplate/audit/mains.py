"""What each AC supply drives into a fault and which way the current takes: ways relaxed from its lines."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from copperplate.audit.reach import LINES
from copperplate.model import PROTECTIVE, Part, Traced
from copperplate.model.results import Design
from copperplate.standards import conductors, profile


@dataclass(frozen=True)
class Mains:
    """An AC supply: volts from line to neutral, whether it has two lines, what it drives into a short at its own
    terminals at most and for long (None: as its loop allows), and ohms of the loop outside. `sure`: whether the plate
    tells that loop; `silent`: whether it tells nothing of it."""

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

    def largest(self, ohm: float, lines: int) -> float:
        """Amperes of a short behind so many ohms of line and as many of return, its own impedance at right angles."""
        volts = self.figures["fault-voltage-highest"].value * self.volts * lines
        if self.constant:
            return min(self.most_a, volts / (2 * ohm)) if ohm > 0.0 else self.most_a
        return volts / abs(complex(2 * ohm, volts / self.most_a))

    def smallest(self, ohm: float, metres: float, lines: int) -> float:
        """Amperes of a short at the end of hot copper, line and return side by side."""
        volts = self.figures["fault-voltage-lowest"].value * self.volts * lines
        copper = abs(complex(2 * ohm, 2 * metres * self.figures["cable-reactance"].value))
        if self.lasting_a is None:
            return volts / (self.loop_ohm * lines + copper)
        return min(self.lasting_a, volts / copper) if copper > 0.0 else self.lasting_a


@dataclass(frozen=True)
class Place:
    """A node as the current reaches it: ohms and metres of one conductor, the conductor or device it comes by, the
    protective device last passed, and the most sensitive residual-current device of the way."""

    ohm: float = 0.0
    metres: float = 0.0
    conductor: str = ""
    device: str = ""
    residual_a: float = float("inf")


def mains(design: Design) -> Iterator[tuple[Mains, list[str]]]:
    """Each AC supply that is wired, with its line terminals."""
    system = design.system
    for part in system.of_kind("shore", "generator", "inverter"):
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


def _supply(design: Design, part: Part, volts: float, split: bool) -> Mains | None:
    figures = profile(design.profile).figures
    high = figures["fault-voltage-highest"].value
    stated, loop = part.get("fault_current_a"), part.get("earth_loop_ohm")
    if part.kind == "shore":
        ohm = loop or (high * volts / stated if stated else figures["shore-loop"].value)
        most = stated or figures["shore-fault"].value
        return Mains(part, volts, split, most, False, None, ohm, bool(loop), not stated and not loop, figures)
    powers = [part.get("power_w") / volts / lines for lines in ({1, 2} if split else {1}) if part.get("power_w")]
    rated = [a for a in (part.get("current_a"), *powers) if a]
    if not rated and not stated:
        return None
    least, most = min(rated, default=stated), max(rated, default=stated)
    limited = part.kind == "inverter" or bool(part.get("self_limiting"))
    if part.kind == "inverter":
        given = max(figures["inverter-fault"].value * most, (part.get("surge_w") or 0.0) / volts)
    else:
        given = most if limited else high * most / (part.get("subtransient") or figures["subtransient"].value)
    given = stated or given
    return Mains(part, volts, split, given, limited, min(least, given), 0.0, True, False, figures)


def places(design: Design, starts: list[str], hot: bool) -> dict[str, Place]:
    """Every node that a supply reaches, by its way of least ohms: ways are relaxed until none gives less (R. Bellman,
    1958). Never back through a switch, nor from the outlet of an inverter to its inlet."""
    system = design.system
    at: dict[str, list[tuple[str, float, float, str, str]]] = {}
    for conductor in system.conductors.values():
        result = design.runs.get(conductor.run)
        if conductor.pole not in LINES:
            continue
        ohm = 0.0
        if result is not None and result.size is not None:
            degrees = result.insulation_c if hot else profile(design.profile).figures["fault-copper"].value
            each = conductors.ohm_per_m(result.size, degrees, system.settings.tinned)
            ohm = each * conductor.length_m / result.parallel
        a, b = conductor.from_node, conductor.to_node
        at.setdefault(a, []).append((b, ohm, conductor.length_m, conductor.id, ""))
        at.setdefault(b, []).append((a, ohm, conductor.length_m, conductor.id, ""))
    for device in system.devices.values():
        for a, b in device.legs:
            if system.nodes[a].pole in LINES:
                at.setdefault(a, []).append((b, device.resistance_ohm, 0.0, "", device.id))
                if device.kind in PROTECTIVE:
                    at.setdefault(b, []).append((a, device.resistance_ohm, 0.0, "", device.id))
    for node in system.nodes.values():
        # An inverter with an AC inlet hands the supply through to its outlet.
        part, other = system.parts.get(node.part), node.id.replace(".ac-in.", ".ac-out.")
        if part is not None and part.kind == "inverter" and other != node.id and other in system.nodes:
            at.setdefault(node.id, []).append((other, 0.0, 0.0, "", ""))
    found = dict.fromkeys(starts, Place())
    waiting = deque(starts)
    while waiting:
        here = waiting.popleft()
        for other, ohm, metres, by, passed in at.get(here, ()):
            before = found[here]
            if other in found and before.ohm + ohm >= found[other].ohm - 1e-15:
                continue
            one = system.devices.get(passed)
            found[other] = Place(
                before.ohm + ohm,
                before.metres + metres,
                by,
                passed if one is not None and one.kind in PROTECTIVE else before.device,
                min(before.residual_a, (one.residual_a if one is not None else None) or float("inf")),
            )
            waiting.append(other)
    return found
