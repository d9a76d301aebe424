"""AC faults loop by loop: what each device can meet and must break, and whether its far end opens it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from copperplate.audit.mains import Mains, Place, mains, places
from copperplate.audit.reach import LINES
from copperplate.audit.saying import defect, told
from copperplate.findings import Finding
from copperplate.model import PROTECTIVE, Device
from copperplate.model.results import Design, DeviceResult
from copperplate.standards import fuses, profile

NEAR = 1.0001
VERDICTS = ("does not open", "not proven", "opens")


@dataclass
class _Worst:
    """The least favourable of all that the supplies do to one device."""

    largest_a: float = 0.0
    by: str = ""
    short_a: float = math.inf
    earth_a: float = math.inf
    short: str = "opens"
    earth: str = "opens"


def check_loops(design: Design) -> list[Finding]:
    """For every AC device: no smaller largest current and no larger smallest ones than the loops give, no better
    verdict, and nothing untold."""
    system, found = design.system, list[Finding]()
    worst: dict[str, _Worst] = {}
    whole: set[str] = set()
    for supply, starts in mains(design):
        cold = places(design, starts, hot=False)
        for name, device in system.devices.items():
            at = [cold[node].ohm for leg in device.legs for node in leg if node in cold]
            amperes = supply.largest(min(at), _lines(design, device, supply)) if at else 0.0
            if amperes > worst.setdefault(name, _Worst()).largest_a:
                worst[name].largest_a, worst[name].by = amperes, supply.part.id
        _ends(design, supply, places(design, starts, hot=True), worst, whole)
        found += _own_inlet(design, supply, cold)
        if supply.part.kind == "shore" and not supply.part.get("fault_current_a") and not _knows(design, supply):
            found.append(defect("CP596", supply.part.id, f"the fault current of `{supply.part.id}` is unknown, untold"))
    for name, one in design.devices.items():
        if name in worst and system.devices[name].kind in PROTECTIVE and worst[name].largest_a > 0.0:
            found += _breaking(design, system.devices[name], one, worst)
            found += _opening(design, name, one, worst[name], name not in whole)
    return found


def _knows(design: Design, supply: Mains) -> bool:
    return supply.part.id in told(design, "CP713")


def _lines(design: Design, device: Device, supply: Mains) -> int:
    """Lines of a split supply between which a short at a device may lie."""
    system = design.system
    if device.panel:
        poles = {n.pole for line in ("l1", "l2") if (n := system.nodes.get(f"{device.panel}.ac-in.{line}"))}
    else:
        poles = {system.conductors[c].pole for c in system.runs[device.run].conductor_ids}
    return 2 if supply.split and {"l1", "l2"} <= poles else 1


def _ends(design: Design, supply: Mains, hot: dict[str, Place], worst: dict[str, _Worst], whole: set[str]) -> None:
    """Every end of a conductor, as the device last passed sees it. `whole` gathers the devices of which a supply that
    tells nothing leaves nothing to say."""
    system = design.system
    for node, place in hot.items():
        if not place.conductor or not place.device or place.device not in design.devices:
            continue
        poles = {system.conductors[c].pole for c in system.runs[system.conductors[place.conductor].run].conductor_ids}
        lines = 2 if supply.split and {"l1", "l2"} <= poles and "n" not in poles else 1
        short, earth = (supply.smallest(place.ohm, place.metres, n) for n in (lines, 1))
        one = worst[place.device]
        one.short_a, one.earth_a = min(one.short_a, short), min(one.earth_a, earth)
        part = system.parts.get(system.nodes[node].part)
        rules = profile(design.profile)
        allowed = lasting = rules.figures["disconnection"].value
        if part is not None and part.kind in ("load", "charger"):
            allowed = rules.disconnection(supply.volts).value
        by_short = _verdict(design, place.device, short, lasting, supply)
        by_earth = _verdict(design, place.device, earth, allowed, supply)
        if earth >= fuses.at_once("residual").times * place.residual_a / NEAR:
            by_earth = "opens"
        if supply.silent and _knows(design, supply):
            whole.add(place.device)
        one.short = min(one.short, by_short, key=VERDICTS.index)
        one.earth = min(one.earth, by_earth, key=VERDICTS.index)


def _verdict(design: Design, device: str, amperes: float, allowed_s: float, supply: Mains) -> str:
    """What a current does to a device in the time allowed; nothing is proven where the loop outside is not told."""
    one, rating = design.system.devices[device], design.devices[device].rating
    rated = rating.rating_a or math.inf
    if one.kind == "breaker":
        at_once = fuses.at_once("breaker", one.curve)
        seconds = at_once.seconds if amperes * NEAR >= at_once.times * rated else None
    else:
        seconds = fuses.slow_gate(profile(design.profile).family(rating.family), rated, amperes * NEAR)
    if seconds is None or (seconds <= allowed_s and not supply.sure):
        return "not proven"
    return "opens" if seconds <= allowed_s else "does not open"


def _breaking(design: Design, device: Device, one: DeviceResult, worst: dict[str, _Worst]) -> list[Finding]:
    name, amperes, found = device.id, worst[device.id].largest_a, list[Finding]()
    claimed = one.prospective_fault.value if one.prospective_fault is not None else 0.0
    if claimed * NEAR < amperes:
        message = f"`{worst[name].by}` drives {amperes:.5g} A into a short at `{name}`, and {claimed:.5g} A was taken"
        found.append(defect("CP596", name, message))
    breaks = one.interrupting_a
    every_a = profile(design.profile).figures["breaker-breaks"].value
    if (breaks is None and amperes <= every_a * NEAR) or (breaks is not None and breaks * NEAR >= amperes):
        return found
    asked = any(f.code == "CP715" and f.measure and float(f.measure.limit) * NEAR >= amperes for f in design.findings)
    settled = name in told(design, "CP714") or worst[name].by in told(design, "CP713") or (breaks is None and asked)
    above = design.devices.get(device.backed_by or "")
    if above is not None and above.interrupting_a is not None:
        settled = settled or above.interrupting_a * NEAR >= worst.get(above.device, _Worst()).largest_a > 0.0
    if not settled:
        capacity = "an unknown current" if breaks is None else f"{breaks:.5g} A"
        found.append(defect("CP596", name, f"`{name}` breaks {capacity}, and {amperes:.5g} A reach it, untold"))
    return found


def _opening(design: Design, name: str, one: DeviceResult, worst: _Worst, must_tell: bool) -> list[Finding]:
    found: list[Finding] = []
    for what, claim, verdict, amperes, derived, codes in (
        ("short", one.end_fault, one.far_end, worst.short_a, worst.short, ("CP717", "CP718")),
        ("earth fault", one.earth_fault, one.earth_end, worst.earth_a, worst.earth, ("CP716",)),
    ):
        claimed = claim.value if claim is not None else math.inf
        if math.isinf(amperes):
            continue
        if claimed > amperes * NEAR:
            message = f"the least {what} behind `{name}` is {amperes:.5g} A, and {claimed:.5g} A was taken"
            found.append(defect("CP596", name, message))
        if verdict not in VERDICTS or VERDICTS.index(verdict) > VERDICTS.index(derived):
            said = f"is said to open `{name}`" if verdict == "opens" else f"is {verdict or 'not judged'}"
            found.append(defect("CP596", name, f"the least {what} behind `{name}` {said}: it is {derived}"))
        elif derived != "opens" and must_tell and not _named(design, name, codes):
            found.append(defect("CP596", name, f"the least {what} behind `{name}` is {derived} to open it, untold"))
    return found


def _named(design: Design, name: str, codes: tuple[str, ...]) -> bool:
    """Whether a finding names a device: as its subject, in its notes, or among the rest that a note only counts."""
    for f in design.findings:
        if f.code in codes and (f.subject == name or any(f"`{name}`" in n or n.startswith("and ") for n in f.notes)):
            return True
    return False


def _own_inlet(design: Design, supply: Mains, reached: dict[str, Place]) -> list[Finding]:
    """An inverter whose output comes back to its inlet, with nothing in that run which could keep it off."""
    system, name = design.system, supply.part.id
    inlets = [f"{name}.ac-in.{pole}" for pole in sorted(LINES)]
    for conductor in system.conductors.values():
        if conductor.to_node in inlets or conductor.from_node in inlets:
            devices = [system.devices[d] for d in system.runs[conductor.run].device_ids]
            back = any(node in reached for node in inlets)
            if back and all(device.kind in PROTECTIVE for device in devices):
                return [defect("CP595", name, f"the output of `{name}` comes back to its own inlet")]
    return []
