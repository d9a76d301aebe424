"""Bars, panels, switches, studs, makers' limits and voltages: what stands in the way of the current."""

from __future__ import annotations

from copperplate.audit.reach import LINES, feeding, pushing, reach, supplying, ungrounded, ways
from copperplate.audit.rings import rings
from copperplate.audit.saying import defect, told
from copperplate.audit.supply import cold_v, full_v
from copperplate.audit.wires import Joined, joined, nodes_by_part
from copperplate.findings import Finding
from copperplate.model import DC_POLES, PROTECTIVE, Device, Part
from copperplate.model.graph import graph
from copperplate.model.groups import Groups
from copperplate.model.results import Design
from copperplate.standards import profile

NEAR = 1.0001


def check_ratings(design: Design) -> list[Finding]:
    """Current through each rated bar, panel and switch; lugs on studs; devices against makers' limits and against the
    voltage of their circuit; devices in conductors that must stay whole, and single poles where the negative floats."""
    wired = joined(design.system)
    return [
        *_bars(design, wired),
        *_switches(design),
        *_studs(design, wired),
        *_makers(design),
        *_voltages(design),
        *_poles(design),
        *_levels(design),
    ]


def _amperes(design: Design, device: str, case: str) -> float:
    result = design.devices.get(device)
    return abs(result.current_a.get(case, 0.0)) if result is not None else 0.0


def _bars(design: Design, wired: Joined) -> list[Finding]:
    """Half of all that flows at a node enters it, the other half leaves."""
    found: list[Finding] = []
    system, nodes = design.system, nodes_by_part(design.system)
    behind = {b for device in system.devices.values() if device.panel for _, b in device.legs}
    for part in system.of_kind("bus", "panel"):
        rating = part.get("current_a")
        for node in nodes.get(part.id, []) if rating is not None else ():
            if node.id in behind:
                continue
            for case in system.cases:
                at = [c for c, _ in wired.conductors.get(node.id, ()) if c in design.conductors]
                flows = sum(abs(design.conductors[c].current_a.get(case.id, 0.0)) for c in at)
                flows += sum(_amperes(design, d, case.id) for d, _ in wired.legs.get(node.id, ()))
                if flows / 2 > rating * NEAR + 1e-6:
                    message = f"{flows / 2:.4g} A pass `{node.id}` in case `{case.id}`, rated {rating:.4g} A"
                    found.append(defect("CP595", part.id, message))
    return list({f.subject: f for f in found}.values())


def _switches(design: Design) -> list[Finding]:
    found: list[Finding] = []
    untold = told(design, "CP430")
    for device in design.system.devices.values():
        if device.kind in PROTECTIVE or device.id not in design.devices:
            continue
        flows = max((_amperes(design, device.id, case.id) for case in design.system.cases), default=0.0)
        rating = design.devices[device.id].rating.rating_a
        if rating is None and flows > 1e-6 and device.id not in untold:
            found.append(defect("CP595", device.id, f"`{device.id}` carries {flows:.4g} A without a rating, untold"))
        elif rating is not None and flows > rating * NEAR:
            message = f"the {device.kind} `{device.id}` is rated {rating:.4g} A and carries {flows:.4g} A"
            found.append(defect("CP595", device.id, message))
    return found


def _studs(design: Design, wired: Joined) -> list[Finding]:
    """Four ring terminals on a stud at most, those of devices mounted there among them."""
    system, warned, found = design.system, told(design, "CP424"), []
    most = profile(design.profile).figures["studs-lugs"].value
    circuits = {device.run for device in system.devices.values() if device.panel}
    for node in system.nodes.values():
        part = system.parts.get(node.part)
        if part is None or part.kind in ("junction", "earth") or part.id in warned:
            continue
        terminal = part.terminals.get(node.port) or part.terminal(node.port.rpartition(".")[0])
        studs = part.get("studs", 0) if part.kind == "bus" else 1
        if terminal is None or terminal.form != "stud" or not studs:
            continue
        runs = [system.conductors[c].run for c, _ in wired.conductors.get(node.id, ())]
        if part.kind == "panel":
            runs = [run for run in runs if run not in circuits]
        lugs = sum(system.runs[run].parallel for run in runs)
        lugs += sum(not system.devices[d].panel for d, _ in wired.legs.get(node.id, ()))
        if lugs > most * studs:
            found.append(defect("CP595", part.id, f"{lugs} ring terminals land on `{node.id}`, untold"))
    return found


def _makers(design: Design) -> list[Finding]:
    """The last device before each part that states a largest one."""
    system, found = design.system, []
    limits = {p.id: p.get("max_fuse_a") for p in system.parts.values() if p.get("max_fuse_a")}
    if not limits:
        return []
    starts = [(ways(system, ungrounded(system)), source, node) for source, node in feeding(system)]
    starts += [(ways(system, ungrounded(system)), source, node) for source, node, _ in pushing(system)]
    starts += [(ways(system, LINES), source, node) for source, node, _ in supplying(system)]
    for at, source, start in starts:
        for node, device in reach(system, at, source, start).behind.items():
            limit = limits.get(system.nodes[node].part)
            result = design.devices.get(device) if device else None
            rating = result.rating.rating_a if result is not None else None
            part = system.nodes[node].part
            if limit is not None and rating is not None and rating > limit * NEAR and part != source:
                message = f"`{device}` is {rating:.4g} A, and the maker of `{part}` allows {limit:.4g} A"
                found.append(defect("CP595", device, message))
    return list(dict.fromkeys(found))


def highest_v(design: Design) -> dict[str, float]:
    """Highest DC volts by zone: banks charged, arrays in the cold, what chargers give."""
    net, volts = graph(design.system), dict[str, float]()
    for name, ends in net.outputs.items():
        part = design.system.parts[name]
        if ends.current != "dc":
            continue
        volts[ends.zone] = max(volts.get(ends.zone, 0.0), _most(design, part))
    return volts


def _most(design: Design, part: Part) -> float:
    if part.kind == "battery":
        window = part.get("range")
        return max(full_v(part), window.high * part.get("series", 1) if window else 0.0)
    if part.kind == "solar":
        return cold_v(design, part) or 0.0
    return float(part.get("out_v") or (part.get("voltage_v") if part.kind == "alternator" else 0.0) or 0.0)


def _voltages(design: Design) -> list[Finding]:
    highest, warned, found = highest_v(design), told(design, "CP431"), []
    silent_v = profile(design.profile).figures["voltage-unstated"].value
    for device in design.system.devices.values():
        node = design.system.nodes[device.legs[0][0]]
        result = design.devices.get(device.id)
        volts = highest.get(node.zone)
        if device.kind not in PROTECTIVE or result is None or volts is None or node.pole not in DC_POLES:
            continue
        limit = result.rating.voltage_v
        if limit is not None and limit < volts / NEAR:
            found.append(
                defect("CP595", device.id, f"`{device.id}` is for {limit:.4g} V in a circuit of {volts:.4g} V")
            )
        elif (
            limit is None
            and volts > silent_v * NEAR
            and not warned & {device.id, device.panel, *_beside(design, device)}
        ):
            found.append(defect("CP595", device.id, f"`{device.id}` states no voltage at {volts:.4g} V, untold"))
    return found


def _beside(design: Design, device: Device) -> list[str]:
    """The ways of one panel share a finding, under whichever name it goes."""
    return [d.id for d in design.system.devices.values() if device.panel and d.panel == device.panel]


def _poles(design: Design) -> list[Finding]:
    """No device in a protective earth, no single pole in an earthed negative or a neutral; two poles where the
    negative floats (46 CFR 111.05-37)."""
    floating, found = design.system.settings.negative == "floating", []
    for device in design.system.devices.values():
        poles = {design.system.nodes[b].pole for _, b in device.legs}
        earthed = device.kind in PROTECTIVE and poles <= {"neg", "n"} and not (floating and poles == {"neg"})
        if "pe" in poles or earthed:
            found.append(defect("CP595", device.id, f"`{device.id}` stands in a conductor that must stay whole"))
        elif floating and device.kind in PROTECTIVE and device.poles < 2 and device.pole in DC_POLES:
            found.append(defect("CP595", device.id, f"`{device.id}` opens one pole, and the negative floats"))
    return found


def _levels(design: Design) -> list[Finding]:
    """A device above others of its circuit is clearly larger than each, or the reader has been told. Only pairs that
    stand in this order as seen from every battery; in rings every device that feeds the part is above."""
    system, warned = design.system, told(design, "CP419")
    at = ways(system, ungrounded(system))
    whole = Groups()
    for node, around in at.items():
        for way in around:
            if not way.device or system.devices[way.device].kind not in PROTECTIVE:
                whole.join(node, way.to)
    # A device that something else bridges parts nothing.
    legs = {d.id: d.legs[0] for d in system.devices.values() if d.kind in PROTECTIVE and d.legs[0][0] in at}
    parting = {name for name, (a, b) in legs.items() if whole.root(a) != whole.root(b)}
    above: dict[str, set[str]] = {}
    for source, node in feeding(system):
        tree = reach(system, at, source, node)
        for name in legs:
            if name in parting and tree.behind.get(legs[name][1]) == name:
                above.setdefault(name, set()).add(tree.behind.get(legs[name][0], ""))
    sides = rings(design)
    for name, leg in legs.items() if sides is not None else ():
        assert sides is not None
        ends = [sides.parts.root(node) for node in leg]
        fed = [end for end in ends if name in sides.feeders.get(end, ())]
        for end in ends if len(fed) == 1 else ():
            if end not in fed:
                above[name] = {""} if end in sides.sources else set(sides.feeders.get(end, ()))
    below: dict[str, list[str]] = {}
    for name, uppers in above.items():
        if uppers <= parting and not any(name in above.get(upper, ()) for upper in uppers):
            for upper in sorted(uppers):
                below.setdefault(upper, []).append(name)
    clear = profile(design.profile).figures["selectivity"].value
    found: list[Finding] = []
    for upper, devices in below.items():
        own = _rating(design, upper)
        near = [d for d in devices if own is not None and (_rating(design, d) or 0.0) * clear > own * NEAR]
        if len(devices) >= 2 and near and upper not in warned:
            found.append(defect("CP595", upper, f"`{upper}` is not clearly larger than `{near[0]}`, untold"))
    return found


def _rating(design: Design, device: str) -> float | None:
    result = design.devices.get(device)
    return result.rating.rating_a if result is not None else None
