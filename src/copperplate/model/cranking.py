"""Cranking conductors: what joins a battery to a starter through switches and selectors alone."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

from copperplate.model.graph import Graph, graph
from copperplate.model.parts import Battery, Load
from copperplate.model.system import Node, System

_POLES = (frozenset({"pos", "mid"}), frozenset({"neg"}))


@lru_cache(maxsize=1)
def cranking(system: System) -> frozenset[str]:
    """The conductors and devices on the ways between the batteries and the starters, out and back, that no fuse,
    breaker, combiner or splitter stands in: where the rules exempt them, no device and no placement is asked of
    them."""
    net = graph(system)
    starters = [part.id for part in system.of(Load) if part.thing and part.thing.cranks and part.id in net.consumers]
    if not starters:
        return frozenset()
    ends = {part: net.outputs[part] for part in net.outputs if isinstance(system.parts[part], Battery)}
    found, reached = _between(system, net, {end.pos for end in ends.values()}, {net.consumers[s].pos for s in starters})
    cranked = [end.neg for end in ends.values() if end.pos in reached]
    return frozenset(found | _between(system, net, set(cranked), {net.consumers[s].neg for s in starters})[0])


def _between(system: System, net: Graph, banks: set[str], starters: set[str]) -> tuple[set[str], set[str]]:
    """The conductors and devices between these terminals that stay when loose ends are taken away until none is left,
    and the nodes that they reach from a starter's."""
    poles = next((poles for poles in _POLES if system.nodes[next(iter(starters))].pole in poles), frozenset[str]())
    at: Mapping[str, set[int]] = {node: set() for node in system.nodes}
    for number, edge in enumerate(net.edges):
        device = system.devices.get(edge.id) if edge.kind == "device" else None
        bare = device is None or not (device.roles.protects or device.roles.joins or device.roles.one_way)
        if bare and all(_is_in(system.nodes.get(node), poles) for node in (edge.a, edge.b)):
            at[edge.a].add(number)
            at[edge.b].add(number)
    loose = [node for node, edges in at.items() if len(edges) == 1 and node not in banks | starters]
    for node in loose:
        for number in at[node]:
            other = net.other(number, node)
            at[other].discard(number)
            if len(at[other]) == 1 and other not in banks | starters:
                loose.append(other)
        at[node].clear()
    kept: set[str] = set()
    seen = set(starters)
    for node in (front := list(starters)):
        for number in at[node]:
            kept.add(net.edges[number].id)
            other = net.other(number, node)
            if other not in seen:
                seen.add(other)
                front.append(other)
    return kept - {""}, seen


def _is_in(node: Node | None, poles: frozenset[str]) -> bool:
    return node is not None and node.pole in poles
