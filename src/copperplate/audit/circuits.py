"""Alternating current: earths, bonds of the neutral, residual current, devices on board, AC apart from DC."""

from __future__ import annotations

from copperplate.audit.reach import LINES, reach, supplying, ways
from copperplate.audit.saying import defect, told
from copperplate.findings import Finding
from copperplate.model import PROTECTIVE
from copperplate.model.graph import Graph, graph
from copperplate.model.groups import Groups
from copperplate.model.results import Design
from copperplate.standards import profile

SOURCES = ("shore", "generator", "inverter")


def check_circuits(design: Design) -> list[Finding]:
    """The rules of AC that are no question of amperes. Nothing is to be said of a system without it."""
    if not any(run.current == "ac" and not run.earth for run in design.system.runs.values()):
        return []
    net = graph(design.system)
    return [*_earthed(design), *_bonded(design, net), *_guarded(design, net), *_apart(design), *_whole(design)]


def _earthed(design: Design) -> list[Finding]:
    """Every run with a line has a protective earth beside it."""
    found: list[Finding] = []
    for run in design.system.runs.values():
        poles = {design.system.conductors[c].pole for c in run.conductor_ids}
        if run.current == "ac" and not run.earth and poles & LINES and "pe" not in poles:
            found.append(defect("CP595", run.id, f"`{run.id}` has no protective earth"))
    return found


def _sharing(design: Design, net: Graph, poles: frozenset[str]) -> list[list[str]]:
    """AC sources whose conductors of these poles nothing but breakers parts."""
    system, groups = design.system, Groups()
    links = [(c.from_node, c.to_node) for c in system.conductors.values() if c.pole in poles]
    links += [leg for d in system.devices.values() if d.kind in PROTECTIVE for leg in d.legs]
    for a, b in links:
        if system.nodes[a].pole in poles:
            groups.join(a, b)
    sharing: dict[str, list[str]] = {}
    for part in system.of_kind(*SOURCES):
        if part.id in net.outputs and net.outputs[part.id].current == "ac":
            ends = net.outputs[part.id]
            sharing.setdefault(groups.root(ends.neg if "n" in poles else ends.pos), []).append(part.id)
    return list(sharing.values())


def _bonded(design: Design, net: Graph) -> list[Finding]:
    """One bond of neutral and earth for the sources that share a neutral; no two sources on one line."""
    found: list[Finding] = []
    unbonded, parts = told(design, "CP703"), design.system.parts
    for sources in _sharing(design, net, frozenset({"n"})):
        bonds = [name for name in sources if parts[name].get("bonds_neutral", False)]
        if len(bonds) > 1:
            found.append(defect("CP595", bonds[1], f"`{bonds[0]}` and `{bonds[1]}` both join neutral and earth"))
        elif not bonds and not unbonded & set(sources):
            found.append(defect("CP595", sources[0], f"nothing joins neutral and earth on `{sources[0]}`, untold"))
    for sources in _sharing(design, net, LINES):
        if len(sources) > 1:
            found.append(defect("CP595", sources[1], f"nothing parts the lines of `{sources[0]}` and `{sources[1]}`"))
    return found


def _guarded(design: Design, net: Graph) -> list[Finding]:
    """On the way from each supply to each AC consumer: a breaker of the plate, and one that opens at 30 mA, or a
    finding that names the lack."""
    system, found = design.system, []
    most_a = profile(design.profile).figures["residual"].value
    at = ways(system, LINES)
    lacking = " ".join(f.message for f in design.findings if f.code == "CP706")
    for source, node, _ in supplying(system):
        tree = reach(system, at, source, node)
        for name, ends in net.consumers.items():
            if (
                ends.current != "ac"
                or system.parts[name].kind not in ("load", "charger")
                or ends.pos not in tree.behind
            ):
                continue
            passed = _devices(design, tree.behind, ends.pos)
            if not passed and system.parts[source].kind in ("shore", "generator"):
                found.append(defect("CP595", name, f"no breaker stands between `{source}` and `{name}`"))
            trips = [r for d in passed if (r := system.devices[d].residual_a) is not None and r <= most_a * 1.001]
            if not trips and not lacking:
                found.append(defect("CP595", name, f"no residual-current device stands before `{name}`, untold"))
    return found


def _devices(design: Design, behind: dict[str, str], node: str) -> list[str]:
    """The devices on the way to a node, the last one first: each stands behind the one that its near end is behind."""
    passed: list[str] = []
    device = behind.get(node, "")
    while device and device not in passed:
        passed.append(device)
        legs = [leg for leg in design.system.devices[device].legs if all(end in behind for end in leg)]
        device = next((behind[end] for leg in legs for end in leg if behind[end] != device), "")
    return passed


def _apart(design: Design) -> list[Finding]:
    """AC and DC share a route only where a sheath parts them; a cable of three is its own, and the reader is told."""
    system, found = design.system, []
    warned = told(design, "CP711")
    for route in system.routes.values():
        runs = [system.runs[name] for name in route.runs if name in system.runs and not route.sheath]
        direct = [run for run in runs if run.current == "dc" and not run.sheath]
        for run in runs if direct else ():
            if run.current != "ac" or run.earth or run.sheath:
                continue
            if run.conductors < 3:
                found.append(defect("CP595", run.id, f"AC of `{run.id}` lies bare beside DC in `{route.id}`"))
            elif not warned & set(route.runs):
                found.append(defect("CP595", run.id, f"AC of `{run.id}` lies beside DC in `{route.id}`, untold"))
    return found


def _whole(design: Design) -> list[Finding]:
    """Under rules that ask for double poles: no fuse in a line."""
    if "double-pole" not in profile(design.profile).clauses:
        return []
    lines = [d for d in design.system.devices.values() if design.system.nodes[d.legs[0][0]].pole in LINES]
    return [defect("CP595", d.id, f"`{d.id}` is a fuse in an AC line") for d in lines if d.kind == "fuse"]
