"""AC supplies take turns: which ways lead on from each while it gives."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache

from copperplate.model.graph import Graph
from copperplate.model.groups import reached
from copperplate.model.system import System

LINES = frozenset({"l", "l1", "l2"})
"""The poles of alternating current that no supply earths."""
Onward = Mapping[str, tuple[tuple[str, str], ...]]
"""By node of the lines: the nodes that it leads on to, with the device between, or the inverter, if any."""


@dataclass(frozen=True, eq=False)
class Turn:
    """One AC supply by itself. `opened` are the switches, relays and selectors that keep the other supplies off
    meanwhile, `handing` the inverters that hand this one through."""

    supply: str
    starts: tuple[str, ...]
    opened: frozenset[str]
    handing: frozenset[str]
    onward: Onward

    def reach(self, stops: Callable[[str], bool] = lambda device: False) -> frozenset[str]:
        """The nodes of the lines that the supply reaches, where it `stops` before some devices and inverters."""
        return _walk(self.onward, self.starts, lambda device: device in self.opened or stops(device))


@lru_cache(maxsize=1)
def turns(system: System, net: Graph) -> tuple[Turn, ...]:
    """A turn for each AC supply with an output that is wired. A switch, relay or selector that is the first one behind
    another supply is open meanwhile, for no two of them feed one line; but not where it is the first one behind this
    supply as well, nor behind an inverter that hands this one through."""
    onward = _onward(system, net)
    switches = {d.id for d in system.devices.values() if d.roles.switches and not d.roles.protects}
    starts = {
        part: tuple(node for node in (ends.pos, ends.neg, ends.third) if node in onward)
        for part, ends in net.outputs.items()
        if ends.current == "ac"
    }
    reached = {part: _walk(onward, nodes, lambda device: False) for part, nodes in starts.items()}
    handing = {
        part: frozenset(p for p, inlet in net.inlets.items() if p != part and inlet.pos in nodes)
        for part, nodes in reached.items()
    }
    first = {
        part: frozenset(
            device for node in _walk(onward, nodes, switches.__contains__) for _, device in onward[node]
        )
        & switches
        for part, nodes in starts.items()
    }
    return tuple(
        Turn(
            part,
            nodes,
            frozenset().union(*(first[p] for p in starts if p != part and p not in handing[part])) - first[part],
            handing[part],
            onward,
        )
        for part, nodes in starts.items()
    )


def _onward(system: System, net: Graph) -> Onward:
    found: dict[str, list[tuple[str, str]]] = {node.id: [] for node in system.nodes.values() if node.pole in LINES}
    for edge in net.edges:
        if edge.a in found and edge.b in found:
            device = edge.id if edge.kind == "device" else ""
            found[edge.a].append((edge.b, device))
            found[edge.b].append((edge.a, device))
    for inlet, outlet, inverter in transfers(net):
        if inlet in found and outlet in found:
            found[inlet].append((outlet, inverter))
    return {node: tuple(ways) for node, ways in found.items()}


def transfers(net: Graph) -> Iterable[tuple[str, str, str]]:
    """Inlet and outlet of each inverter that has both, line by line, and the inverter."""
    for part, inlet in net.inlets.items():
        outlet = net.outputs.get(part)
        if outlet is not None:
            yield inlet.pos, outlet.pos, part
            if inlet.third and outlet.third:
                yield inlet.third, outlet.third, part


def _walk(onward: Onward, starts: Iterable[str], stops: Callable[[str], bool]) -> frozenset[str]:
    begun = (node for node in starts if node in onward)
    return frozenset(
        reached(begun, lambda node: (other for other, device in onward[node] if not (device and stops(device))))
    )
