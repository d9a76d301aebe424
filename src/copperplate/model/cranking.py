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
    breaker or combiner stands in: where the rules exempt them, no device and no placement is asked of them."""
    net = graph(system)
    starters = [part.id for part in system.of(Load) if part.thing is not None and part.thing.cranks]
    found: set[str] = set()
    for live, poles in zip((True, False), _POLES, strict=True) if starters else ():
        ends = {
            end.pos if live else end.neg
            for part, end in {**net.outputs, **net.consumers}.items()
            if part in starters or isinstance(system.parts[part], Battery)
        }
        found |= _between(system, net, ends, poles)
    return frozenset(found)


def _between(system: System, net: Graph, ends: set[str], poles: frozenset[str]) -> set[str]:
    """The conductors and devices that stay when loose ends are taken away until none is left."""
    at: Mapping[str, set[int]] = {node: set() for node in system.nodes}
    for number, edge in enumerate(net.edges):
        device = system.devices.get(edge.id) if edge.kind == "device" else None
        bare = device is None or not (device.roles.protects or device.roles.joins)
        if bare and all(_is_in(system.nodes.get(node), poles) for node in (edge.a, edge.b)):
            at[edge.a].add(number)
            at[edge.b].add(number)
    loose = [node for node, edges in at.items() if len(edges) == 1 and node not in ends]
    for node in loose:
        for number in at[node]:
            other = net.other(number, node)
            at[other].discard(number)
            if len(at[other]) == 1 and other not in ends:
                loose.append(other)
        at[node].clear()
    starters = {
        end for part, each in net.consumers.items() if part not in net.outputs for end in (each.pos, each.neg)
    } & ends
    kept: set[str] = set()
    seen: set[str] = set(starters)
    for node in (front := list(starters)):
        for number in at[node]:
            kept.add(net.edges[number].id)
            other = net.other(number, node)
            if other not in seen:
                seen.add(other)
                front.append(other)
    return kept - {""}


def _is_in(node: Node | None, poles: frozenset[str]) -> bool:
    return node is not None and node.pole in poles
