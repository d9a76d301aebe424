"""Alternating current: earths, bonds of the neutral, residual current, devices on board, AC apart from DC."""

from __future__ import annotations

from collections.abc import Iterator

from copperplate.audit.lines import lines, spread
from copperplate.audit.reach import LINES, supplying
from copperplate.audit.reported import reported
from copperplate.findings import Finding, make
from copperplate.model.graph import Graph, graph
from copperplate.model.groups import Groups
from copperplate.model.results import Design
from copperplate.standards import profile


def check_circuits(design: Design) -> Iterator[Finding]:
    """The rules of AC that are no question of amperes. Nothing is to be said of a system without it."""
    if any(run.current == "ac" and not run.earth for run in design.system.runs.values()):
        net = graph(design.system)
        yield from _earthed(design)
        yield from _bonded(design, net)
        yield from _guarded(design, net)
        yield from _apart(design)
        yield from _double_poled(design)


def _earthed(design: Design) -> Iterator[Finding]:
    """Every run with a line has a protective earth beside it."""
    for run in design.system.runs.values():
        poles = {design.system.conductors[c].pole for c in run.conductor_ids}
        if run.current == "ac" and not run.earth and poles & LINES and "pe" not in poles:
            yield make("CP595", run.id, no_earth=True)


def _sharing(design: Design, net: Graph, poles: frozenset[str]) -> list[list[str]]:
    """AC sources whose conductors of these poles nothing but breakers parts."""
    system, groups = design.system, Groups[str]()
    links = [(c.from_node, c.to_node) for c in system.conductors.values() if c.pole in poles]
    links += [leg for device in system.devices.values() if device.roles.protects for leg in device.legs]
    for a, b in links:
        if system.nodes[a].pole in poles:
            groups.join(a, b)
    sharing: dict[str, list[str]] = {}
    for name, ends in net.outputs.items():
        if ends.current == "ac":
            sharing.setdefault(groups.root(ends.neg if "n" in poles else ends.pos), []).append(name)
    return list(sharing.values())


def _bonded(design: Design, net: Graph) -> Iterator[Finding]:
    """One bond of neutral and earth for the sources that share a neutral; no two sources on one line."""
    unbonded, parts = reported(design, "CP703"), design.system.parts
    for sources in _sharing(design, net, frozenset({"n"})):
        bonds = [name for name in sources if parts[name].bonds_neutral]
        if len(bonds) > 1:
            yield make("CP595", bonds[1], bonds=bonds[:2])
        elif not bonds and not unbonded & set(sources):
            yield make("CP595", sources[0], unbonded=True)
    for sources in _sharing(design, net, LINES):
        if len(sources) > 1:
            yield make("CP595", sources[1], one_line=sources[:2])


def _guarded(design: Design, net: Graph) -> Iterator[Finding]:
    """On the way from each supply to each AC consumer: a breaker of the plate, and one that opens at 30 mA, or a
    finding that names the lack."""
    system, most_a = design.system, profile(design.profile).figures["residual"].value
    protecting = {d.id for d in system.devices.values() if d.roles.protects}
    tripping = {d.id for d in system.devices.values() if d.residual_a is not None and d.residual_a <= most_a * 1.001}
    lacking = bool(reported(design, "CP706"))
    by_source: dict[str, list[str]] = {}
    for source, node, _ in supplying(system):
        by_source.setdefault(source, []).append(node)
    for source, starts in by_source.items():
        built = lines(design, source, starts, hot=False)
        bare, open_to = spread(built, starts, protecting), spread(built, starts, tripping)
        for name, ends in net.consumers.items():
            if ends.pos in bare and not system.parts[source].roles.converts:
                yield make("CP595", name, without_breaker=source)
            if ends.pos in open_to and not lacking:
                yield make("CP595", name, no_residual=True)


def _apart(design: Design) -> Iterator[Finding]:
    """AC and DC share a route only where a sheath parts them; a cable of three is its own, and a warning reports it."""
    system, warned = design.system, reported(design, "CP711")
    for route in system.routes.values():
        runs = [system.runs[name] for name in route.runs if name in system.runs and not route.sheath]
        direct = [run for run in runs if run.current == "dc" and not run.sheath]
        for run in runs if direct else ():
            if run.current != "ac" or run.earth or run.sheath:
                continue
            if run.conductors < 3:
                yield make("CP595", run.id, bare_in=route.id)
            elif not warned & set(route.runs):
                yield make("CP595", run.id, beside_dc_in=route.id)


def _double_poled(design: Design) -> Iterator[Finding]:
    """Under rules that ask for double poles: no fuse in a line."""
    if "double-pole" in profile(design.profile).clauses:
        for device in design.system.devices.values():
            if device.roles.melts and design.system.nodes[device.legs[0][0]].pole in LINES:
                yield make("CP595", device.id, fuse_in_line=True)
