"""AC: devices on board, bonds of neutral and earth, residual current, earths, AC apart from DC."""

from __future__ import annotations

from collections.abc import Container

from copperplate.findings import Finding, make
from copperplate.model import Generator, Load, Part, Run, Shore
from copperplate.model.graph import Graph
from copperplate.model.groups import Groups
from copperplate.model.turns import LINES, turns
from copperplate.protection.study import ProtectionStudy
from copperplate.units import exceeds


def check_ac(study: ProtectionStudy, net: Graph) -> list[Finding]:
    """Everything about AC but its sizes and the capacity of its sources."""
    runs = [run for run in study.system.runs.values() if run.current == "ac" and not run.earth]
    if not runs:
        return []
    return [
        *_no_device(study, net),
        *_bonds(study, net),
        *_transfer(study, net),
        *_earths(study, runs),
        *_residual(study, net),
        *_main_pole(study, net),
        *_apart(study, runs),
    ]


def _no_device(study: ProtectionStudy, net: Graph) -> list[Finding]:
    """Consumers that a shore supply or generator reaches without passing a device of the plate."""
    system, found = study.system, dict[str, Finding]()
    for turn in turns(system, net):
        source = system.parts[turn.supply]
        bare = turn.reach(lambda device: system.devices[device].roles.protects)
        for part, ends in net.consumers.items() if isinstance(source, Shore | Generator) else ():
            if ends.pos in bare and part not in found:
                wires = (net.edges[n].id for n in net.at[ends.pos] if net.edges[n].kind == "conductor")
                run = next((system.runs[system.conductors[wire].run] for wire in wires), None)
                place = (run or system.parts[part]).span
                rule = study.profile.clauses["protection"]
                found[part] = make("CP701", part, place, at={"source": source.span}, source=source.id, rule=rule)
    return [found[part] for part in net.consumers if part in found]


def _sharing(study: ProtectionStudy, net: Graph, poles: Container[str]) -> list[list[Part]]:
    """AC sources by the neutral, or the line, that they share. A switch, relay or selector that opens it parts them."""
    system = study.system
    joined = Groups[str]()
    links = [(c.from_node, c.to_node) for c in system.conductors.values() if c.pole in poles]
    for device in system.devices.values():
        if device.roles.protects:
            links += [(a, b) for a, b in device.legs if system.nodes[a].pole in poles]
    for a, b in links:
        joined.join(a, b)
    groups: dict[str, list[Part]] = {}
    for part, ends in net.outputs.items():
        if ends.current == "ac":
            groups.setdefault(joined.root(ends.neg if "n" in poles else ends.pos), []).append(system.parts[part])
    return list(groups.values())


def _transfer(study: ProtectionStudy, net: Graph) -> list[Finding]:
    """Sources whose lines nothing parts: each would feed the other, and the one ashore those who work on it."""
    rule = study.profile.clauses["transfer"]
    return [
        make(
            "CP712", other.id, other.span, at={"first": first.span}, first=first.id, sources=1 + len(others), rule=rule
        )
        for first, *others in _sharing(study, net, LINES)
        for other in others
    ]


def _bonds(study: ProtectionStudy, net: Graph) -> list[Finding]:
    """Exactly one bond for each source while it supplies. An inverter's transfer parts what lies before it from what
    lies behind: its own bond holds while it supplies itself."""
    rule = study.profile.clauses["bond"]
    found: list[Finding] = []
    for sources in _sharing(study, net, ("n",)):
        bonded = [part for part in sources if part.bonds_neutral]
        if len(bonded) > 1:
            first, second = (part.spans.get("bonds_neutral", part.span) for part in bonded[:2])
            found.append(
                make(
                    "CP704", bonded[1].id, second, at={"first": first}, first=bonded[0].id, bonds=len(bonded), rule=rule
                )
            )
        bare = [part for part in sources if not part.bonds_neutral]
        # Sources without any bond on one neutral make one finding; beside one that bonds, each makes its own: that bond
        # is there while its source is plugged in or runs.
        for part in bare if bonded else bare[:1]:
            at = {"other": bonded[0].spans.get("bonds_neutral", bonded[0].span)} if bonded else {}
            other = bonded[0].id if bonded else None
            found.append(
                make("CP703", part.id, part.span, at=at, other=other, shore=isinstance(part, Shore), rule=rule)
            )
    return found


def _earths(study: ProtectionStudy, runs: list[Run]) -> list[Finding]:
    found: list[Finding] = []
    for run in runs:
        poles = [study.system.conductors[c].pole for c in run.conductor_ids]
        if "pe" in poles or not any(pole in LINES for pole in poles):
            continue
        rule = study.profile.clauses.get("earth", "")
        found.append(make("CP705", run.id, run.span, conductors=run.conductors, rule=rule))
    return found


def _residual(study: ProtectionStudy, net: Graph) -> list[Finding]:
    """Consumers that a supply reaches without passing a residual-current device."""
    system, least = study.system, study.profile.figures["residual"].value
    trips = {d.id for d in system.devices.values() if d.residual_a is not None and not exceeds(d.residual_a, least)}
    past = frozenset[str]().union(*(turn.reach(trips.__contains__) for turn in turns(system, net)))
    open_to = [system.parts[part] for part, ends in net.consumers.items() if ends.pos in past]
    if not open_to:
        return []
    outlets = [part for part in open_to if isinstance(part, Load) and part.outlets]
    by_law = outlets if study.profile.sheet.get("residual", {}).get("law") else []
    rest = [part for part in open_to if part not in by_law]
    return [
        make(
            code,
            (outlets or parts)[0].id,
            (outlets or parts)[0].span,
            circuits=[part.id for part in parts],
            count=len(parts),
            outlets=bool(outlets),
            residual=study.profile.figures["residual"].value,
            rule=study.profile.clauses["residual"],
        )
        for code, parts, outlets in (("CP732", by_law, by_law), ("CP706", rest, [] if by_law else outlets))
        if parts
    ]


def _main_pole(study: ProtectionStudy, net: Graph) -> list[Finding]:
    """Where the profile asks it: the first device of a supply opens the neutral too, and is no fuse."""
    clause = study.profile.clauses.get("double-pole")
    if clause is None:
        return []
    system, found = study.system, list[Finding]()
    first: dict[str, str] = {}
    for turn in turns(system, net):
        if isinstance(system.parts[turn.supply], Shore | Generator):
            bare = turn.reach(lambda device: system.devices[device].roles.protects)
            ends = (device for node in bare for _, device in turn.onward[node])
            first |= dict.fromkeys(ends, turn.supply)
    for device in system.devices.values():
        if not device.roles.protects or system.nodes[device.legs[0][0]].pole not in LINES:
            continue
        if device.roles.melts:
            found.append(make("CP702", device.id, device.span, rule=study.profile.clauses["line-fuse"]))
        elif device.id in first and "n" not in {system.nodes[b].pole for _, b in device.legs}:
            source = first[device.id]
            found.append(make("CP710", device.id, device.span, source=source, poles=device.poles, rule=clause))
    return found


def _apart(study: ProtectionStudy, runs: list[Run]) -> list[Finding]:
    """AC and DC in one route. A run of three or four conductors is a cable in its own sheath."""
    system = study.system
    rule = study.profile.clauses["ac-apart"]
    found: list[Finding] = []
    for route in system.routes.values():
        if route.sheath:
            continue
        members = [system.runs[name] for name in route.runs if name in system.runs]
        ac = [run for run in members if run in runs]
        dc = [run for run in members if run.current == "dc" and not run.sheath]
        if not ac or not dc:
            continue
        loose = [run for run in ac if run.conductors < 3 and not run.sheath]
        first, code = (loose[0], "CP707") if loose else (ac[0], "CP711")
        at = {"other": dc[0].span, "route": route.span}
        found.append(make(code, first.id, first.span, at=at, other=dc[0].id, route=route.id, rule=rule))
    return found
