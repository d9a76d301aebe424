"""Which inverters hand the AC supply at their inlet through to their outlet, by case."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

from copperplate.model.graph import Graph
from copperplate.model.system import System


@lru_cache(maxsize=1)
def handing(system: System, net: Graph) -> Mapping[str, frozenset[str]]:
    """By case id, the inverters whose transfer is taken to stand on the supply: the case has a source of their inlet
    on. In the implied cases a supply carries all that it could be asked for, and so it does in every case where the
    plate's own cases never have one on: the inverter's side is counted as well there, whichever is larger."""
    wired = [part for part in net.inlets if part in net.outputs]
    supplies = {part: _supplies(net, net.inlets[part].zone) for part in wired}
    on = {
        case.id: frozenset(p for p in wired if any(case.shares.get(s, 0.0) > 0.0 for s in supplies[p]))
        for case in system.cases
    }
    ever = frozenset(p for case in system.cases if not case.implied for p in on[case.id])
    always = frozenset(p for p in wired if p not in ever)
    return {case.id: on[case.id] | always | (frozenset(wired) if case.implied else always) for case in system.cases}


def _supplies(net: Graph, zone: str) -> tuple[str, ...]:
    return tuple(part for part, ends in net.outputs.items() if ends.zone == zone and net.holds(part))
