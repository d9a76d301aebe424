"""AC faults loop by loop: what each device can meet and must break, and whether its far end opens it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from copperplate.audit.mains import AcSupply, Approach, approaches, mains
from copperplate.audit.reach import LINES
from copperplate.audit.reported import reported
from copperplate.findings import Finding, make
from copperplate.model import Device, Shore
from copperplate.model.results import Design, DeviceResult
from copperplate.standards import fuses, profile

NEAR = 1.0001
VERDICTS = ("does not open", "not proven", "opens")


@dataclass
class _Worst:
    """The least favourable of all that the supplies do to one device: the largest current and the part that drives it,
    the smallest of a short and of an earth fault, and the verdicts on these."""

    largest_a: float = 0.0
    by: str = ""
    short_a: float = math.inf
    earth_a: float = math.inf
    short: str = "opens"
    earth: str = "opens"


def check_loops(design: Design) -> Iterator[Finding]:
    """For every AC device: no smaller largest current and no larger smallest ones than the loops give, no better
    verdict, and nothing unreported."""
    system = design.system
    worst: dict[str, _Worst] = {}
    whole: set[str] = set()
    for supply, starts in mains(design):
        cold = approaches(design, starts, hot=False)
        for name, device in system.devices.items():
            at = [cold[node].ohm for leg in device.legs for node in leg if node in cold]
            amperes = supply.largest_a(min(at), _lines(design, device, supply)) if at else 0.0
            if amperes > worst.setdefault(name, _Worst()).largest_a:
                worst[name].largest_a, worst[name].by = amperes, supply.part.id
        _ends(design, supply, approaches(design, starts, hot=True), worst, whole)
        yield from _own_inlet(design, supply, cold)
        if isinstance(supply.part, Shore) and not supply.part.fault_current_a and not _unknown(design, supply):
            yield make("CP596", supply.part.id, unknown=True)
    for name, result in design.devices.items():
        if name in worst and system.devices[name].roles.protects and worst[name].largest_a > 0.0:
            yield from _breaking(design, system.devices[name], result, worst)
            yield from _opening(design, name, result, worst[name], name not in whole)


def _unknown(design: Design, supply: AcSupply) -> bool:
    """Whether it is reported that the fault current of a supply is not known."""
    return supply.part.id in reported(design, "CP713")


def _lines(design: Design, device: Device, supply: AcSupply) -> int:
    """Lines of a split supply between which a short at a device may lie."""
    system = design.system
    if device.panel:
        poles = {n.pole for line in ("l1", "l2") if (n := system.nodes.get(f"{device.panel}.ac-in.{line}"))}
    else:
        poles = {system.conductors[c].pole for c in system.runs[device.run].conductor_ids}
    return 2 if supply.split and {"l1", "l2"} <= poles else 1


def _ends(
    design: Design, supply: AcSupply, hot: dict[str, Approach], worst: dict[str, _Worst], whole: set[str]
) -> None:
    """Every end of a conductor, as the device last passed sees it. `whole` gathers the devices of which a supply that
    tells nothing leaves nothing to say."""
    system = design.system
    for node, approach in hot.items():
        if not approach.conductor or not approach.device or approach.device not in design.devices:
            continue
        poles = {
            system.conductors[c].pole for c in system.runs[system.conductors[approach.conductor].run].conductor_ids
        }
        lines = 2 if supply.split and {"l1", "l2"} <= poles and "n" not in poles else 1
        short, earth = (supply.smallest_a(approach.ohm, approach.metres, n) for n in (lines, 1))
        least = worst[approach.device]
        least.short_a, least.earth_a = min(least.short_a, short), min(least.earth_a, earth)
        part = system.parts.get(system.nodes[node].part)
        rules = profile(design.profile)
        allowed = lasting = rules.figures["disconnection"].value
        if part is not None and part.roles.consumes and not part.roles.mains:
            allowed = rules.disconnection(supply.volts).value
        by_short = _verdict(design, approach.device, short, lasting, supply)
        by_earth = _verdict(design, approach.device, earth, allowed, supply)
        if earth >= fuses.at_once("residual").times * approach.residual_a / NEAR:
            by_earth = "opens"
        if supply.silent and _unknown(design, supply):
            whole.add(approach.device)
        least.short = min(least.short, by_short, key=VERDICTS.index)
        least.earth = min(least.earth, by_earth, key=VERDICTS.index)


def _verdict(design: Design, device: str, amperes: float, allowed_s: float, supply: AcSupply) -> str:
    """What a current does to a device in the time allowed; nothing is proven where the loop outside is not told."""
    built, rating = design.system.devices[device], design.devices[device].rating
    rated = rating.rating_a or math.inf
    if built.roles.switches:
        at_once = fuses.at_once("breaker", built.curve)
        seconds = at_once.seconds if amperes * NEAR >= at_once.times * rated else None
    else:
        seconds = fuses.slow_gate(profile(design.profile).family(rating.family), rated, amperes * NEAR)
    if seconds is None or (seconds <= allowed_s and not supply.sure):
        return "not proven"
    return "opens" if seconds <= allowed_s else "does not open"


def _breaking(design: Design, device: Device, result: DeviceResult, worst: dict[str, _Worst]) -> Iterator[Finding]:
    name, amperes, source = device.id, worst[device.id].largest_a, worst[device.id].by
    taken = result.prospective_fault.value if result.prospective_fault is not None else 0.0
    if taken * NEAR < amperes:
        yield make("CP596", name, driven_by=source, amperes=amperes, taken=taken)
    breaks = result.interrupting_a
    every_a = profile(design.profile).figures["breaker-breaks"].value
    if amperes <= (every_a if breaks is None else breaks) * NEAR:
        return
    limits = [float(f.measure.limit) for f in design.findings if f.code == "CP715" and f.measure]
    settled = name in reported(design, "CP714") or source in reported(design, "CP713")
    settled = settled or (breaks is None and any(limit * NEAR >= amperes for limit in limits))
    above = design.devices.get(device.backed_by or "")
    if above is not None and above.interrupting_a is not None:
        settled = settled or above.interrupting_a * NEAR >= worst.get(above.device, _Worst()).largest_a > 0.0
    if not settled:
        yield make("CP596", name, breaks=breaks, reaching=amperes)


def _opening(design: Design, name: str, result: DeviceResult, worst: _Worst, must_report: bool) -> Iterator[Finding]:
    for fault, claim, verdict, amperes, derived, codes in (
        ("short", result.end_fault, result.far_end, worst.short_a, worst.short, ("CP717", "CP718")),
        ("earth fault", result.earth_fault, result.earth_end, worst.earth_a, worst.earth, ("CP716",)),
    ):
        taken = claim.value if claim is not None else math.inf
        if math.isinf(amperes):
            continue
        if taken > amperes * NEAR:
            yield make("CP596", name, least=fault, amperes=amperes, taken=taken)
        if verdict not in VERDICTS or VERDICTS.index(verdict) > VERDICTS.index(derived):
            yield make("CP596", name, least=fault, verdict=verdict or "not judged", derived=derived)
        elif derived != "opens" and must_report and not _named(design, name, codes):
            yield make("CP596", name, least=fault, derived=derived)


def _named(design: Design, name: str, codes: tuple[str, ...]) -> bool:
    """Whether a finding names a device: as its subject, in its notes, or among the rest that a note only counts."""
    for f in design.findings:
        if f.code in codes and (f.subject == name or any(f"`{name}`" in n or n.startswith("and ") for n in f.notes)):
            return True
    return False


def _own_inlet(design: Design, supply: AcSupply, reached: dict[str, Approach]) -> Iterator[Finding]:
    """An inverter whose output comes back to its inlet, with nothing in that run which could keep it off."""
    system, name = design.system, supply.part.id
    inlets = [f"{name}.ac-in.{pole}" for pole in sorted(LINES)]
    if not any(node in reached for node in inlets):
        return
    runs = [c.run for c in system.conductors.values() if c.to_node in inlets or c.from_node in inlets]
    if any(all(system.devices[d].roles.protects for d in system.runs[run].device_ids) for run in runs):
        yield make("CP595", name, own_inlet=True)
