"""Banks: batteries that are parts of their own and hang together as one source."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from copperplate.drawing.wiring import WiringEdge


@dataclass(eq=False)
class String:
    """Batteries in series with the links between them, positive end first; nodes are one more than edges."""

    path: list[WiringEdge]
    nodes: list[str]


@dataclass
class LinkedBank:
    """Batteries wired side by side with links from one to the next, drawn as one block: `strings` of batteries in
    series (edges from the positive end down), the links above and below, and the two terminals in use."""

    strings: list[list[WiringEdge]]
    above: list[WiringEdge]
    below: list[WiringEdge]
    pos: str
    neg: str


def gather(edges: list[WiringEdge], batteries: Iterable[WiringEdge]) -> tuple[list[WiringEdge], dict[str, LinkedBank]]:
    """`edges` with one edge for each bank of batteries that are linked from one to the next, and the banks by the
    id of that edge."""
    batteries = list(batteries)
    banks: dict[str, LinkedBank] = {}
    if len(batteries) < 2:
        return edges, banks
    at: dict[str, list[WiringEdge]] = {}
    for edge in edges:
        at.setdefault(edge.a, []).append(edge)
        at.setdefault(edge.b, []).append(edge)
    strings = _strings(batteries, at)
    ends = {string.nodes[0]: string for string in strings} | {string.nodes[-1]: string for string in strings}
    tops = {string.nodes[0] for string in strings}
    links = [
        e
        for e in edges
        if e.kind == "conductor" and e.a in ends and e.b in ends
        and (e.a in tops) == (e.b in tops) and ends[e.a] is not ends[e.b]
    ]  # fmt: skip
    taken: set[WiringEdge] = set()
    for group in _groups(strings, links, ends):
        bank = _bank(group, [e for e in links if ends[e.a] in group], at)
        if bank is not None:
            name = bank.strings[0][0].id
            banks[name] = bank
            taken.update(bank.above, bank.below, *bank.strings)
            place = edges.index(bank.strings[0][0])
            edges = [*edges[:place], WiringEdge("part", name, bank.pos, bank.neg, "bank"), *edges[place:]]
    return [edge for edge in edges if edge not in taken], banks


def _strings(batteries: list[WiringEdge], at: dict[str, list[WiringEdge]]) -> list[String]:
    """Batteries joined in series, positive end first; a battery alone is a string of one."""
    below: dict[str, tuple[WiringEdge, WiringEdge]] = {}
    by_pos = {battery.a: battery for battery in batteries}
    fed: set[str] = set()
    for battery in batteries:
        meeting = at[battery.b]
        if len(meeting) == 2:
            link = next(e for e in meeting if e is not battery)
            other = by_pos.get(link.other(battery.b))
            if link.kind == "conductor" and other is not None and other is not battery and len(at[other.a]) == 2:
                below[battery.b] = (link, other)
                fed.add(other.id)
    strings = []
    for battery in batteries:
        if battery.id in fed:
            continue
        path, nodes = [battery], [battery.a, battery.b]
        while nodes[-1] in below and below[nodes[-1]][1] not in path:
            link, other = below[nodes[-1]]
            path += [link, other]
            nodes += [other.a, other.b]
        strings.append(String(path, nodes))
    return strings


def _groups(strings: list[String], links: list[WiringEdge], ends: dict[str, String]) -> list[list[String]]:
    """Strings that links join, in declaration order; strings alone are left out."""
    group = {id(string): [string] for string in strings}
    for link in links:
        first, second = group[id(ends[link.a])], group[id(ends[link.b])]
        if first is not second:
            merged = [s for s in strings if s in first or s in second]
            for string in merged:
                group[id(string)] = merged
    groups: list[list[String]] = []
    for string in strings:
        mine = group[id(string)]
        if len(mine) > 1 and mine not in groups:
            groups.append(mine)
    return groups


def _bank(group: list[String], links: list[WiringEdge], at: dict[str, list[WiringEdge]]) -> LinkedBank | None:
    """The bank of a group: None where its links are not a chain from one string to the next on both sides, or
    where more than one terminal on a side leads away."""
    order = _chain([s.nodes[0] for s in group], links)
    if order is None:
        return None
    ordered = sorted(group, key=lambda s: order[0].index(s.nodes[0]))
    lower = _chain([s.nodes[-1] for s in ordered], links)
    if lower is None or lower[0] not in ([s.nodes[-1] for s in ordered], [s.nodes[-1] for s in ordered[::-1]]):
        return None
    below = lower[1] if lower[0][0] == ordered[0].nodes[-1] else lower[1][::-1]
    inside = {edge for string in ordered for edge in string.path} | set(order[1]) | set(below)
    leads_up = [s.nodes[0] for s in ordered if any(e not in inside for e in at[s.nodes[0]])]
    leads_down = [s.nodes[-1] for s in ordered if any(e not in inside for e in at[s.nodes[-1]])]
    if len(leads_up) > 1 or len(leads_down) > 1:
        return None
    first = ordered[0]
    return LinkedBank(
        [string.path for string in ordered],
        order[1],
        below,
        leads_up[0] if leads_up else first.nodes[0],
        leads_down[0] if leads_down else first.nodes[-1],
    )


def _chain(nodes: list[str], links: list[WiringEdge]) -> tuple[list[str], list[WiringEdge]] | None:
    """`nodes` in the order that the links among them join one to the next, from the end that comes first; None
    where the links are no such chain."""
    joined: dict[str, list[WiringEdge]] = {node: [] for node in nodes}
    for link in links:
        if link.a in joined and link.b in joined:
            joined[link.a].append(link)
            joined[link.b].append(link)
    start = next((node for node in nodes if len(joined[node]) == 1), None)
    if start is None or any(len(edges) > 2 for edges in joined.values()):
        return None
    order, path = [start], []
    while len(order) < len(nodes):
        onward = next((e for e in joined[order[-1]] if e not in path), None)
        if onward is None or onward.other(order[-1]) in order:
            return None
        path.append(onward)
        order.append(onward.other(order[-1]))
    return order, path
