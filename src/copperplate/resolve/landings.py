"""Where the conductors of a leg land: the nodes at each of its ends."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from copperplate.model import Bus, Controller, Earth, Junction, Panel, Part, Pole, Selector, Solar
from copperplate.model.parts import Current
from copperplate.resolve.addresses import DC_PAIR, Target, node_id
from copperplate.resolve.approaches import Approach, cores, leg_of
from copperplate.resolve.misfits import ask_terminal, pair_on_one, several_lines, wrong_current


@dataclass(frozen=True, slots=True)
class Landing:
    """Where the conductors of a leg land: node by pole ("" for the only conductor of a single run). `address` is
    the end as readers write it, `way` the number where it is a way of a panel."""

    part: str
    address: str
    nodes: Mapping[str, str]
    way: int | None = None
    control: bool = False


def land(approach: Approach, current: Current) -> Landing | None:
    """The nodes at one end of a leg; None with a finding where its conductors do not fit there."""
    if approach.leg.conductors == 1:
        return _land_single(approach)
    if approach.target.form == "control":
        pair_on_one(approach)
        return None
    if current == "dc":
        return _land_pair(approach)
    return _land_cable(approach)


def _land_single(approach: Approach) -> Landing | None:
    target, part = approach.target, approach.part
    if target.form == "control":
        node = node_id(part.id, target.port)
        return Landing(part.id, node, {"": node}, control=True)
    if approach.way is not None:
        node = f"{part.id}.{approach.way}"
        return Landing(part.id, node, {"": node}, approach.way)
    if target.form == "terminal":
        node = node_id(part.id, target.port)
        return Landing(part.id, part.id if target.port == "feed" else node, {"": node})
    if isinstance(part, Panel) and not part.ac:
        return Landing(part.id, part.id, {"": f"{part.id}.feed"})
    if isinstance(part, Junction) and approach.ends.poled.get(part.id, 1) == 1:
        return Landing(part.id, part.id, {"": part.id})
    port = _port(approach, _pole_of(approach.other))
    if port is None:
        ask_terminal(approach)
        return None
    node = node_id(part.id, port)
    return Landing(part.id, node, {"": node})


def _pole_of(other: Target) -> Pole | None:
    """The pole that the other end of a single conductor has by itself."""
    if other.pole is None and isinstance(other.part, Panel):
        return "l" if other.part.ac else "pos"
    return other.pole


def _port(approach: Approach, pole: Pole | None) -> str | None:
    """The terminal of that pole, where the part has one such terminal."""
    target, part = approach.target, approach.part
    if pole is None or isinstance(part, Junction):
        return pole
    if pole == "pe" and pole in part.ports:
        return "pe"
    group = _group(approach, "dc" if pole in DC_PAIR else "ac")
    if group is None or (target.form == "whole" and isinstance(part, Earth)):
        return None
    return node_id(group, pole)


def _group(approach: Approach, current: Current) -> str | None:
    """The group of terminals that a pair, a cable or a conductor of known pole lands on."""
    target, side, fitting = approach.target, approach.side, approach.groups(current)
    if target.form == "group":
        return target.port if target.port in fitting else None
    if len(fitting) < 2:
        return fitting[0] if fitting else None
    if approach.leg.tapped[side]:
        return None
    if isinstance(approach.part, Selector):
        return ""
    if isinstance(approach.part, Controller):
        return "pv" if isinstance(approach.other.part, Solar) else ""
    return fitting[0] if side else fitting[1]


def _land_pair(approach: Approach) -> Landing | None:
    target, part = approach.target, approach.part
    if isinstance(part, Panel) and not part.ac and (target.form == "whole" or target.port != "neg"):
        address = node_id(part.id, str(approach.way or ""))
        own = approach.own_bracket
        both = own is not None and own.facts.values.get("poles", 1) > 1
        live = address if approach.way is not None else f"{part.id}.feed"
        nodes = {"pos": live, "neg": f"{address}.neg" if both else negative_bar(part, approach.ends.parts)}
        return Landing(part.id, address, nodes, approach.way)
    if isinstance(part, Bus) and part.return_bar is not None:
        return Landing(part.id, part.id, {"pos": part.id, "neg": negative_bar(part, approach.ends.parts)})
    if target.form == "terminal":
        pair_on_one(approach)
        return None
    group = "" if isinstance(part, Junction) else _group(approach, "dc")
    if group is None:
        wrong_current(approach, "dc")
        return None
    base = node_id(part.id, group)
    return Landing(part.id, base, {pole: f"{base}.{pole}" for pole in DC_PAIR})


def negative_bar(owner: Panel | Bus, parts: Mapping[str, Part]) -> str:
    """The node that the negatives of a DC panel's circuits land on, and those of pairs from a bar."""
    if owner.return_bar is not None and "." in owner.return_bar:
        return owner.return_bar
    bar = parts.get(owner.return_bar or "", owner)
    return bar.id if bar.ports == ("",) else f"{bar.id}.neg"


def _land_cable(approach: Approach) -> Landing | None:
    target, part, leg, ends = approach.target, approach.part, approach.leg, approach.ends
    keys = cores(leg, target, approach.other, ends)
    if target.form == "terminal":
        pair_on_one(approach)
        return None
    if isinstance(part, Junction):
        return Landing(part.id, part.id, _nodes(part.id, keys, ends.poled.get(part.id, 3), approach))
    group = _group(approach, "ac")
    if group is None:
        wrong_current(approach, "ac")
        return None
    base = node_id(part.id, group)
    lines = ends.lines_of(part, group)
    if approach.way is None:
        return Landing(part.id, part.id if len(part.groups) == 1 else base, _nodes(base, keys, lines, approach))
    if "l1" in keys and lines != 4:
        several_lines(approach, keys)
        return None
    way = f"{part.id}.{approach.way}"
    own = approach.own_bracket
    opened = own.facts.values.get("poles", 1) if own is not None else 1
    nodes: dict[str, str] = {}
    for rank, key in enumerate(keys):
        behind = key[0] == "l" or (key == "n" and rank < opened)
        nodes[key] = f"{base}.{key}" if not behind else way if key == "l" else f"{way}.{key}"
    return Landing(part.id, way, nodes, approach.way)


def _nodes(base: str, keys: tuple[Pole, ...], lines: int, approach: Approach) -> dict[str, str]:
    """Node by core. One line of a split supply is leg 1 or 2, as the load states it."""
    nodes: dict[str, str] = {key: f"{base}.{key}" for key in keys}
    if lines == 4 and "l" in nodes:
        nodes["l"] = f"{base}.l{leg_of(approach.leg, approach.ends) or 1}"
    return nodes
