"""What each AC supply drives into a fault."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from copperplate.audit.reach import LINES
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

    def driven_a(self, ohm: complex, lines: int, hot: bool) -> float:
        """Amperes into a short over the impedance of line and return: the most, the source's own impedance at right
        angles to the copper, or the least, with it added as a number."""
        name = "fault-voltage-lowest" if hot else "fault-voltage-highest"
        volts, copper = self.figures[name].value * self.volts * lines, abs(ohm)
        if hot and self.lasting_a is None:
            return volts / (self.loop_ohm * lines + copper)
        limit_a = self.lasting_a if hot else self.most_a if self.constant else None
        if limit_a is not None:
            return min(limit_a, volts / copper) if copper > 0.0 else limit_a
        return volts / abs(complex(copper, volts / self.most_a))


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
