"""Whether everything is connected both ways: terminals that no run reaches, consumers without a source."""

from __future__ import annotations

from dataclasses import dataclass

from copperplate.findings import Finding, Related, finding
from copperplate.model import Part
from copperplate.resolve.circuits import Circuits, Terminals
from copperplate.resolve.ends import groups, node_id
from copperplate.resolve.names import Names
from copperplate.resolve.wires import Wiring
from copperplate.resolve.words import listed

CONSUMERS = ("load", "inverter", "converter", "charger")


@dataclass(frozen=True)
class Supply:
    """Who is fed, and by which sources: by consumer the ids of the sources on its circuit, batteries first."""

    by: dict[str, tuple[str, ...]]


def check_reach(circuits: Circuits, wiring: Wiring, names: Names, findings: list[Finding]) -> Supply:
    """Every terminal reached, every consumer fed and with a way back. One finding for one cause: where a whole
    panel or bar hangs in the air, it is told once for all that hang on it."""
    for part in wiring.parts.values():
        if part.id not in names.touched:
            _check_terminals(part, circuits, findings)
    return _check_supply(circuits, wiring, names, findings)


def _dc_groups(part: Part) -> list[str]:
    return [group for group, current in groups(part) if current == "dc"] if part.kind != "bus" else []


def _check_terminals(part: Part, circuits: Circuits, findings: list[Finding]) -> None:
    inside = _dc_groups(part)
    if not inside or not is_used(part, circuits):
        return
    for group in inside:
        nodes = [node_id(part.id, f"{group}.{pole}" if group else pole) for pole in ("pos", "neg")]
        missing = [node for node in nodes if node not in circuits.reached]
        if len(missing) == 1:
            other = next(node for node in nodes if node not in missing)
            message = f"`{missing[0]}` has no way back: no run reaches it"
            if missing[0].endswith(".pos"):
                message = f"no run reaches `{missing[0]}`, and one reaches `{other}`"
            help_ = _way_back(part, missing[0], circuits)
            findings.append(finding("CP232", missing[0], message, part.span, help=help_))
        elif missing and not (part.kind == "inverter" and _ac_only(part, circuits)):
            base = node_id(part.id, group)
            message = f"no run reaches `{base}`, and others reach `{part.id}`"
            findings.append(finding("CP232", base, message, part.span, help=f"draw its run, a pair `-//-` to `{base}`"))


def _ac_only(part: Part, circuits: Circuits) -> bool:
    return False


def _way_back(part: Part, node: str, circuits: Circuits) -> str:
    pole = "negative" if node.endswith(".neg") else "positive"
    return f"`{node} -- LENGTH -- BAR` to a {pole} bar, or one pair `-//-` in place of the single run"


def is_used(part: Part, circuits: Circuits) -> bool:
    """True where any run reaches the part."""
    ports = [port for port in part.ports]
    if part.kind == "panel":
        return any(node_id(part.id, port) in circuits.reached for port in ("feed", "neg", "ac-in.l", "ac-in.l1"))
    nodes = [node_id(part.id, port) for port in ports]
    for group, current in groups(part):
        if current == "ac":
            nodes += [node_id(part.id, f"{group}.{pole}" if group else pole) for pole in ("l", "l1", "n", "pe")]
    if part.kind == "junction":
        nodes += [f"{part.id}.{pole}" for pole in ("pos", "neg", "l", "l1", "n")]
    if part.kind in ("inverter", "charger"):
        nodes.append(f"{part.id}.pe")
    return any(node in circuits.reached for node in nodes)


def _check_supply(circuits: Circuits, wiring: Wiring, names: Names, findings: list[Finding]) -> Supply:
    joined = circuits.joined
    feeding: dict[str, list[Terminals]] = {}
    for source in (*circuits.sources, *circuits.mains):
        if source.live in circuits.reached:
            feeding.setdefault(joined.find(source.live), []).append(source)
    bars = _bars(circuits, wiring)
    unfed: dict[str, list[str]] = {}
    stranded: dict[str, list[str]] = {}
    by: dict[str, tuple[str, ...]] = {}
    for part in wiring.parts.values():
        if part.kind not in CONSUMERS or part.id in names.touched:
            continue
        used = is_used(part, circuits)
        if not used and part.kind in ("load", "inverter"):
            message = f"no run reaches `{part.id}`"
            help_ = f"draw its run, `... -//- LENGTH -- {part.id}`, or delete it"
            findings.append(finding("CP233", part.id, message, part.span, help=help_))
        if not used:
            continue
        nodes = _consumer_nodes(part, wiring)
        if nodes is None:
            continue
        live, back = nodes
        if live not in circuits.reached:
            continue
        sources = [s for s in feeding.get(joined.find(live), ()) if s.part.id != part.id]
        returning = [s for s in sources if joined.find(s.back) == joined.find(back)]
        if not sources:
            root = joined.find(live)
            unfed.setdefault(bars.get(root, part.id), []).append(part.id)
        elif not returning and back in circuits.reached:
            root = joined.find(back)
            stranded.setdefault(bars.get(root, part.id), []).append(part.id)
        by[part.id] = tuple(s.part.id for s in returning)
    for place, consumers in unfed.items():
        _report_unfed(place, consumers, wiring, findings)
    for place, consumers in stranded.items():
        _report_stranded(place, consumers, circuits, wiring, findings)
    return Supply(by)


def _consumer_nodes(part: Part, wiring: Wiring) -> tuple[str, str] | None:
    """The nodes by which a consumer is fed: live and back."""
    if part.kind == "converter":
        return f"{part.id}.in.pos", f"{part.id}.in.neg"
    if part.kind == "charger" or part.values.get("ac"):
        split = wiring.ends.lines.get((part.id, "ac-in")) == 4
        return f"{part.id}.ac-in.{'l1' if split else 'l'}", f"{part.id}.ac-in.n"
    return f"{part.id}.pos", f"{part.id}.neg"


def _bars(circuits: Circuits, wiring: Wiring) -> dict[str, str]:
    """By group of nodes: the first panel, bar or splice in it, where a cause is told once for all."""
    bars: dict[str, str] = {}
    for kinds in (("panel",), ("bus",), ("junction",)):
        for part in wiring.parts.values():
            if part.kind in kinds:
                ports = ("feed", "neg", "ac-in.l", "ac-in.l1", "ac-in.n", "", "pos", "l", "l1", "n")
                for node in (node_id(part.id, port) for port in ports):
                    if node in circuits.reached:
                        bars.setdefault(circuits.joined.find(node), part.id)
    return bars


def _report_unfed(place: str, consumers: list[str], wiring: Wiring, findings: list[Finding]) -> None:
    part = wiring.parts[place]
    if consumers == [place]:
        message = f"nothing feeds `{place}`: no source is on its circuit"
        help_ = "run it from a way of a panel or from a bar that a battery feeds"
    else:
        message = f"nothing feeds `{place}`, and {_hang(consumers)} on it"
        help_ = f"draw the run that feeds it: `... -- LENGTH -- {place}`"
    findings.append(finding("CP233", place, message, part.span, help=help_, related=_some(consumers, place, wiring)))


def _report_stranded(
    place: str, consumers: list[str], circuits: Circuits, wiring: Wiring, findings: list[Finding]
) -> None:
    part = wiring.parts[place]
    if part.kind == "panel":
        bar = next((p.id for p in wiring.parts.values() if p.kind == "bus" and p.values.get("polarity") == "negative"), "")
        message = f"`{place}.neg` has no way back to a source, and {_return(consumers)} to it"
        help_ = f"`return {bar}` on the panel" if bar else f"feed `{place}` by a pair `-//-`"
        if bar:
            help_ += ", or feed it by a pair `-//-`"
    elif consumers == [place]:
        message = f"`{place}` has no way back to what feeds it"
        help_ = "end its negative where that of its source is joined"
    else:
        message = f"`{place}` has no way back to a source, and {_return(consumers)} to it"
        help_ = f"join `{place}` to the negative of the source"
        if part.kind == "earth":
            help_ = f"`earth {place} conducts`, if it carries return current"
    related = _some(consumers, place, wiring)
    findings.append(finding("CP232", place, message, part.span, help=help_, related=related))


def _hang(consumers: list[str]) -> str:
    return f"{listed(consumers, 'and')} {'hangs' if len(consumers) == 1 else 'hang'}" if len(consumers) < 4 else f"{len(consumers)} consumers hang"


def _return(consumers: list[str]) -> str:
    return f"{listed(consumers, 'and')} {'returns' if len(consumers) == 1 else 'return'}" if len(consumers) < 4 else f"{len(consumers)} consumers return"


def _some(consumers: list[str], place: str, wiring: Wiring) -> tuple[Related, ...]:
    return tuple(Related(wiring.parts[name].span, "hangs on it") for name in consumers[:2] if name != place)


def report_unused(wiring: Wiring, circuits: Circuits, names: Names, findings: list[Finding]) -> None:
    """Components that are declared and that no run reaches."""
    returns = {part.values.get("return") for part in wiring.parts.values()}
    for part in wiring.parts.values():
        if part.kind in ("load", "inverter") or part.id in names.touched or part.id in returns:
            continue
        if not is_used(part, circuits):
            message = f"`{part.id}` is declared and no run reaches it"
            findings.append(finding("CP245", part.id, message, part.span, help="draw its run, or delete it"))
