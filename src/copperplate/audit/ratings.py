"""Bars, panels, switches, studs, makers' limits and voltages: what stands in the way of the current."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from copperplate.audit.banks import full_v
from copperplate.audit.charging import cold_v
from copperplate.audit.incidence import Incidence, incidence, nodes_by_part
from copperplate.audit.reach import feeding, reach, ungrounded, ways
from copperplate.audit.reported import reported
from copperplate.audit.rings import rings
from copperplate.audit.sizes import terminal_at
from copperplate.findings import Finding, make
from copperplate.model import DC_POLES, Alternator, Battery, Bus, Panel, Part, Solar
from copperplate.model.graph import graph
from copperplate.model.groups import Groups
from copperplate.model.results import Design
from copperplate.standards import profile
from copperplate.units import exceeds, suffices

ROUNDING_A = 1e-6


def check_ratings(design: Design) -> Iterator[Finding]:
    """Current through each rated bar, panel and switch; lugs on studs; devices against makers' limits and against the
    voltage of their circuit; devices in conductors that must stay whole, and single poles where the negative floats."""
    incident = incidence(design.system)
    yield from _bars(design, incident)
    yield from _switches(design)
    yield from _studs(design, incident)
    yield from dict.fromkeys(_makers(design))
    yield from _voltages(design)
    yield from _poles(design)
    yield from _levels(design)


def rating_a(design: Design, device: str) -> float | None:
    """The rating of a device as built; None where it has none."""
    result = design.devices.get(device)
    return result.rating.rating_a if result is not None else None


def _flows_a(design: Design, device: str, case: str) -> float:
    result = design.devices.get(device)
    return abs(result.current_a.get(case, 0.0)) if result is not None else 0.0


def _bars(design: Design, incident: Incidence) -> Iterator[Finding]:
    """Half of all that flows at a node enters it, the other half leaves; one finding a part."""
    system, nodes = design.system, nodes_by_part(design.system)
    behind = {b for device in system.devices.values() if device.panel for _, b in device.legs}
    for part in system.of(Bus, Panel):
        passing: list[tuple[float, str, str]] = []
        for node in nodes.get(part.id, []):
            at = [c for c, _ in incident.conductors.get(node.id, ()) if c in design.conductors]
            for case in (*system.cases, *design.states) if node.id not in behind else ():
                flows = sum(abs(design.conductors[c].current_a.get(case.id, 0.0)) for c in at)
                flows += sum(_flows_a(design, d, case.id) for d, _ in incident.legs.get(node.id, ()))
                passing.append((flows / 2, node.id, case.id))
        most, where, when = max(passing, default=(0.0, "", ""))
        if part.current_a is not None and exceeds(most - ROUNDING_A, part.current_a):
            yield make("CP595", part.id, node=where, case=when, passing=most, rated=part.current_a)


def _switches(design: Design) -> Iterator[Finding]:
    unrated = reported(design, "CP430")
    for name, device in design.system.devices.items():
        of_charger = device.roles.one_way and not design.system.parts[device.of].roles.splits
        if device.roles.protects or of_charger or name not in design.devices:
            continue
        flows = max((_flows_a(design, name, case.id) for case in (*design.system.cases, *design.states)), default=0.0)
        rated = rating_a(design, name)
        if rated is None and flows > ROUNDING_A and name not in unrated:
            yield make("CP595", name, unrated=flows)
        elif rated is not None and exceeds(flows, rated):
            yield make("CP595", name, switch=device.kind, rated=rated, flows=flows)


def _studs(design: Design, incident: Incidence) -> Iterator[Finding]:
    """Four ring terminals on a stud at most, those of devices mounted there among them."""
    system, warned = design.system, reported(design, "CP424")
    most = profile(design.profile).figures["studs-lugs"].value
    circuits = {device.run for device in system.devices.values() if device.panel}
    for node in system.nodes.values():
        part, terminal = system.parts.get(node.part), terminal_at(design, node.id)
        if part is None or part.id in warned or terminal is None or terminal.form != "stud":
            continue
        studs = (part.studs or 0) if isinstance(part, Bus) else 1
        if not studs or part.roles.grounds or (part.roles.splits and not part.roles.bar):
            continue
        runs = [system.conductors[c].run for c, _ in incident.conductors.get(node.id, ())]
        if isinstance(part, Panel):
            runs = [run for run in runs if run not in circuits]
        lugs = sum(system.runs[run].parallel for run in runs)
        lugs += sum(not system.devices[d].panel for d, _ in incident.legs.get(node.id, ()))
        if lugs > most * studs:
            yield make("CP595", part.id, lugs=lugs, node=node.id)


def _makers(design: Design) -> Iterator[Finding]:
    """The devices that a run to a part relies on, against the largest that the part states."""
    system = design.system
    for wire in system.conductors.values():
        result = design.runs.get(wire.run)
        for part in {system.nodes[end].part for end in (wire.from_node, wire.to_node)} & system.parts.keys():
            limit = system.parts[part].max_fuse_a
            for device in result.protected_by if limit is not None and result is not None else ():
                rating = rating_a(design, device)
                if rating is not None and limit is not None and exceeds(rating, limit):
                    yield make("CP595", device, rating=rating, maker=part, limit=limit)


def highest_v(design: Design) -> dict[str, float]:
    """Highest DC volts by zone: banks charged, arrays in the cold, what chargers give."""
    net, volts = graph(design.system), dict[str, float]()
    for name, ends in net.outputs.items():
        if ends.current == "dc":
            volts[ends.zone] = max(volts.get(ends.zone, 0.0), _highest_v(design, design.system.parts[name]))
    return volts


def _highest_v(design: Design, source: Part) -> float:
    if isinstance(source, Battery):
        return max(full_v(source), source.range.high * source.series if source.range else 0.0)
    if isinstance(source, Solar):
        return cold_v(design, source) or 0.0
    return source.out_v or (source.voltage_v if isinstance(source, Alternator) else 0.0) or 0.0


def _voltages(design: Design) -> Iterator[Finding]:
    highest, warned = highest_v(design), reported(design, "CP431")
    silent_v = profile(design.profile).figures["voltage-unstated"].value
    # The ways of one panel share a finding.
    warned |= {design.system.devices[name].panel for name in warned if name in design.system.devices} - {""}
    for device in design.system.devices.values():
        node = design.system.nodes[device.legs[0][0]]
        result, volts = design.devices.get(device.id), highest.get(node.zone)
        if not device.roles.protects or result is None or volts is None or node.pole not in DC_POLES:
            continue
        limit = result.rating.voltage_v
        if limit is not None and exceeds(volts, limit):
            yield make("CP595", device.id, for_v=limit, volts=volts)
        elif limit is None and exceeds(volts, silent_v) and not warned & {device.id, device.panel}:
            yield make("CP595", device.id, volts=volts)


def _poles(design: Design) -> Iterator[Finding]:
    """No device in a protective earth, no single pole in an earthed negative or a neutral; two poles where the
    negative floats (46 CFR 111.05-37)."""
    floating = design.system.settings.negative == "floating"
    for device in design.system.devices.values():
        poles, protects = {design.system.nodes[b].pole for _, b in device.legs}, device.roles.protects
        earthed = protects and poles <= {"neg", "n"} and not (floating and poles == {"neg"})
        if ("pe" in poles and not device.roles.measures) or earthed:
            yield make("CP595", device.id, parts_whole=True)
        elif floating and protects and device.poles < 2 and device.pole in DC_POLES:
            yield make("CP595", device.id, one_pole=True)


def _levels(design: Design) -> Iterator[Finding]:
    """A device above others of its circuit is clearly larger than each, or a finding reports it. Only pairs that
    stand in this order as seen from every battery; in rings every device that feeds the part is above. Where several
    stand above one, each counts by the share of the current that it brings."""
    system, warned = design.system, reported(design, "CP419")
    at = ways(system, ungrounded(system))
    whole = Groups[str]()
    for node, around in at.items():
        for way in around:
            if not way.device or not system.devices[way.device].roles.protects:
                whole.join(node, way.to)
    # A device that something else bridges parts nothing.
    legs = {d.id: d.legs[0] for d in system.devices.values() if d.roles.protects and d.legs[0][0] in at}
    parting = {name for name, (a, b) in legs.items() if whole.root(a) != whole.root(b)}
    above: dict[str, set[str]] = {}
    feeds = {source: reach(system, at, node) for source, node in feeding(system)}
    behind = list(feeds.values())
    batteries = [tree for source, tree in feeds.items() if isinstance(system.parts[source], Battery)]
    for tree in behind:
        for name in legs:
            if name in parting and tree.get(legs[name][1]) == name:
                above.setdefault(name, set()).add(tree.get(legs[name][0], ""))
    # What a source reaches from either side stands above nothing and below nothing: two banks, a device at each end.
    reached = [{n for n, leg in legs.items() for b in behind if b.get(leg[end]) == n} for end in (0, 1)]
    between = reached[0] & reached[1]
    above = {name: uppers for name, uppers in above.items() if name not in between}
    sides = rings(design)
    for name, leg in legs.items() if sides is not None else ():
        assert sides is not None
        ends = [sides.parts.root(node) for node in leg]
        fed = [end for end in ends if name in sides.feeders.get(end, ())]
        if len(fed) == 2:
            above.pop(name, None)  # Fed from both sides, it stands above what feeds it as well as below.
        for end in ends if len(fed) == 1 else ():
            if end not in fed:
                above[name] = {""} if end in sides.sources else set(sides.feeders.get(end, ()))
    below: dict[str, list[str]] = {}
    for name, uppers in above.items():
        if uppers <= parting and not any(name in above.get(upper, ()) for upper in uppers):
            for upper in sorted(uppers):
                below.setdefault(upper, []).append(name)
    clear = profile(design.profile).figures["selectivity"].value
    for upper, devices in below.items():
        own = rating_a(design, upper)
        # What an alternator alone pushes through its own device is little beside what the batteries drive.
        driven = [d for d in devices if any(b.get(node) == upper for b in batteries for node in legs[d])]
        parts = {d: [whole.root(node) for node in legs[d]] for d in (upper, *driven)}
        shares = {d: _share(design, parts, upper, d) if len(above[d]) > 1 else 1.0 for d in driven}
        near = [d for d in driven if own and not suffices(own, (rating_a(design, d) or 0.0) * clear * shares[d])]
        if len(devices) >= 2 and near and upper not in warned:
            yield make("CP595", upper, level_below=near[0])


def _share(design: Design, parts: Mapping[str, Sequence[str]], upper: str, lower: str) -> float:
    """The share of a short's current behind a device that comes by one above it: what the far side of that brings, of
    all that comes to the lower on the side where they meet. `parts`: what the ends of each lie in."""
    above, below = (design.devices[device].fault_sides for device in (upper, lower))
    meeting = set(parts[upper]) & set(parts[lower])
    if above is None or below is None or len(meeting) != 1:
        return 0.0
    (part,) = meeting
    brought, whole = above[1 - parts[upper].index(part)], below[parts[lower].index(part)]
    return min(brought.value / whole.value, 1.0) if brought is not None and whole is not None and whole.value else 0.0
