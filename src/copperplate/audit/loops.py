"""AC faults loop by loop: what each device can meet and must break, and whether its far end opens it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from copperplate.audit.faults import NODES_TO
from copperplate.audit.lines import Line, into, lines, spread, through, volts
from copperplate.audit.mains import AcSupply, mains
from copperplate.audit.reach import LINES
from copperplate.audit.reported import reported
from copperplate.findings import Finding, make
from copperplate.model import Device, Shore
from copperplate.model.results import Design, DeviceResult
from copperplate.standards import fuses, profile

NEAR = 1.0001
NO_SHARE = 1e-9
"""A share of a current that is the rounding of a solution."""
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
    if sum(node.pole in LINES for node in system.nodes.values()) > NODES_TO:
        return
    worst: dict[str, _Worst] = {}
    whole: set[str] = set()
    for supply, starts in mains(design):
        cold = lines(design, supply.part.id, starts, hot=False)
        for name, device in system.devices.items():
            if any(system.nodes[a].pole in LINES for a, _ in device.legs):
                amperes = _largest_a(design, supply, starts, cold, device)
                if amperes > worst.setdefault(name, _Worst()).largest_a:
                    worst[name].largest_a, worst[name].by = amperes, supply.part.id
        _ends(design, supply, starts, lines(design, supply.part.id, starts, hot=True), worst, whole)
        yield from _own_inlet(design, supply, spread(cold, starts, set()))
        if isinstance(supply.part, Shore) and not supply.part.fault_current_a and not _unknown(design, supply):
            yield make("CP596", supply.part.id, unknown=True)
    for name, result in design.devices.items():
        if name in worst and system.devices[name].roles.protects and worst[name].largest_a > 0.0:
            yield from _breaking(design, system.devices[name], result, worst)
            yield from _opening(design, name, result, worst[name], name not in whole)


def _largest_a(design: Design, supply: AcSupply, starts: list[str], cold: list[Line], device: Device) -> float:
    """The device out and both its ends shorted: what comes to the larger side of the worst leg."""
    rest, across, found = [line for line in cold if line.device != device.id], _lines(design, device, supply), 0.0
    open_ends = [(end,) for leg in device.legs for end in leg]
    for shorted in device.legs if len(rest) < len(cold) else open_ends:
        ends = [end for end in shorted if design.system.nodes[end].pole in LINES]
        if not set(ends).isdisjoint(starts):
            return supply.driven_a(0j, across, hot=False)
        at = volts(rest, {**dict.fromkeys(starts, 1 + 0j), **dict.fromkeys(ends, 0j)})
        amperes = [abs(into(rest, at, end)) for end in ends]
        if (total := sum(amperes)) > 0.0:
            found = max(found, supply.driven_a(1.0 / total, across, hot=False) * max(amperes) / total)
    return found


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
    design: Design,
    supply: AcSupply,
    starts: list[str],
    hot: list[Line],
    worst: dict[str, _Worst],
    whole: set[str],
) -> None:
    """A short at every end of a conductor, as the devices that open at it see it. `whole` gathers those of which a
    supply that tells nothing leaves nothing to say."""
    system, rules = design.system, profile(design.profile)
    lasting = rules.figures["disconnection"].value
    told = {d.id: d.residual_a for d in system.devices.values() if d.residual_a}
    before = {a: spread(hot, starts, {d for d, each in told.items() if each <= a}) for a in told.values()}
    for wire in (line for line in hot if line.conductor):
        poles = {system.conductors[c].pole for c in system.runs[system.conductors[wire.conductor].run].conductor_ids}
        across = 2 if supply.split and {"l1", "l2"} <= poles and "n" not in poles else 1
        for node in (wire.a, wire.b):
            part = system.parts.get(system.nodes[node].part)
            residual_a = min((amperes for amperes, open_to in before.items() if node not in open_to), default=math.inf)
            allowed = lasting
            if part is not None and part.roles.consumes and not part.roles.mains:
                allowed = rules.disconnection(supply.volts).value
            for device, share, ohm in _opened(design, starts, hot, node):
                short, earth = (share * supply.driven_a(ohm, n, hot=True) for n in (across, 1))
                least = worst.setdefault(device, _Worst())
                least.short_a, least.earth_a = min(least.short_a, short), min(least.earth_a, earth)
                by_short = _verdict(design, device, short, lasting, supply)
                by_earth = _verdict(design, device, earth, allowed, supply)
                if earth >= fuses.at_once("residual").times * residual_a / NEAR:
                    by_earth = "opens"
                if supply.silent and _unknown(design, supply):
                    whole.add(device)
                least.short = min(least.short, by_short, key=VERDICTS.index)
                least.earth = min(least.earth, by_earth, key=VERDICTS.index)


def _opened(design: Design, starts: list[str], hot: list[Line], node: str) -> list[tuple[str, float, complex]]:
    """What opens at a short of a node, turn by turn until nothing flows: each device with its share of the current and
    the ohms of its turn. Of each turn those are the first that carry the most times their rating, and of
    these the ones of the quickest type."""
    found: list[tuple[str, float, complex]] = []
    closed = hot
    while node not in starts and node in spread(closed, starts, set()):
        at = volts(closed, {**dict.fromkeys(starts, 1 + 0j), node: 0j})
        total = into(closed, at, node)
        shares = [(line.device, abs(through(line, at) / total)) for line in closed if line.device]
        carrying = [(name, share) for name, share in shares if share > NO_SHARE]
        times = {name: share / rated for name, share in carrying if (rated := _opens_a(design, name))}
        first = {name for name, each in times.items() if each >= 0.99 * max(times.values())}
        if not first:
            break
        least = min(_multiple(design, name) for name in first)
        quick = {name for name in first if _multiple(design, name) <= least}
        found += [(name, share, 1.0 / total) for name, share in carrying if name in quick]
        closed = [line for line in closed if line.device not in first]
    return found


def _opens_a(design: Design, name: str) -> float:
    """The rating of what opens by itself; 0.0 of anything else."""
    result = design.devices.get(name)
    protects = design.system.devices[name].roles.protects
    return (result.rating.rating_a or 0.0) if result is not None and protects else 0.0


def _multiple(design: Design, name: str) -> float:
    """The times of its rating at which a breaker opens at once; of a fuse none is asked."""
    device = design.system.devices[name]
    return fuses.at_once(device.kind, device.curve).times if device.roles.switches else 0.0


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


def _own_inlet(design: Design, supply: AcSupply, reached: set[str]) -> Iterator[Finding]:
    """An inverter whose output comes back to its inlet, with nothing in that run which could keep it off."""
    system, name = design.system, supply.part.id
    inlets = [f"{name}.ac-in.{pole}" for pole in sorted(LINES)]
    if not any(node in reached for node in inlets):
        return
    runs = [c.run for c in system.conductors.values() if c.to_node in inlets or c.from_node in inlets]
    if any(all(system.devices[d].roles.protects for d in system.runs[run].device_ids) for run in runs):
        yield make("CP595", name, own_inlet=True)
