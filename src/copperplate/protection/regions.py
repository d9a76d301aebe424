"""Regions: parts of the ungrounded circuit with no protective device inside, and what feeds each of them."""

from __future__ import annotations

from dataclasses import dataclass

from copperplate.protection.circuit import Circuit


@dataclass(frozen=True)
class Region:
    """Nodes that no protective device separates. `direct` are (node, source id) of the sources inside it,
    `feeders` (node, device id) of devices with a source behind them, `border` of every device at its edge.

    Where no source of a large fault current is connected at all, current-limited ones take that part: `feeders`
    then lead to those, and `limited_a` is what the ones inside push together."""

    nodes: tuple[int, ...]
    direct: tuple[tuple[int, str], ...]
    feeders: tuple[tuple[int, str], ...]
    border: tuple[tuple[int, str], ...]
    sources: tuple[str, ...]
    """Ids of every source of a large fault current that is connected to it at all."""
    limited_a: float


def regions(circuit: Circuit) -> tuple[Region, ...]:
    """The regions of a circuit in the order of their first node. Linear in nodes and links.

    A device feeds a region where a source can be reached through it without passing the region again; that is
    told from the blocks (two-connected parts) of the graph whose vertices are regions and whose edges are
    protective devices: R. Tarjan, Depth-first search and linear graph algorithms, 1972."""
    of_node, members = _components(circuit)
    inside: list[list[tuple[int, str]]] = [[] for _ in members]
    for node, source in circuit.sources:
        inside[of_node[node]].append((node, source))
    edges = [
        (of_node[link.a], of_node[link.b], index)
        for index, link in enumerate(circuit.links)
        if link.protective and of_node[link.a] != of_node[link.b]
    ]
    weight = [len(sources) for sources in inside]
    behind, whole = _sources_behind(len(members), edges, weight)
    pushed = [0.0] * len(members)
    alone = [0] * len(members)
    fed = {whole[region] for region, sources in enumerate(inside) if sources}
    for node, _, amperes, together in circuit.limited:
        region = of_node[node]
        if whole[region] not in fed:
            pushed[region] = pushed[region] + amperes if together else max(pushed[region], amperes)
            alone[region] += 1
    behind |= {key: True for key, is_behind in _sources_behind(len(members), edges, alone)[0].items() if is_behind}
    border: list[list[tuple[int, str]]] = [[] for _ in members]
    feeders: list[list[tuple[int, str]]] = [[] for _ in members]
    for a, b, index in edges:
        link = circuit.links[index]
        for region, node in ((a, link.a), (b, link.b)):
            border[region].append((node, link.device))
            if behind[(region, index)]:
                feeders[region].append((node, link.device))
    reach: dict[int, list[str]] = {}
    for region, sources in enumerate(inside):
        reach.setdefault(whole[region], []).extend(source for _, source in sources)
    shared = {key: tuple(dict.fromkeys(names)) for key, names in reach.items()}
    return tuple(
        Region(
            tuple(members[region]),
            tuple(inside[region]),
            tuple(feeders[region]),
            tuple(border[region]),
            shared[whole[region]],
            pushed[region],
        )
        for region in range(len(members))
    )


def _components(circuit: Circuit) -> tuple[list[int], list[list[int]]]:
    """Region number of each node, and the nodes of each region, joined by everything but protective devices."""
    of_node = [-1] * len(circuit.names)
    members: list[list[int]] = []
    for start in range(len(circuit.names)):
        if of_node[start] != -1:
            continue
        region = len(members)
        of_node[start] = region
        found = [start]
        for node in found:
            for index in circuit.at[node]:
                if circuit.links[index].protective:
                    continue
                other = circuit.other(index, node)
                if of_node[other] == -1:
                    of_node[other] = region
                    found.append(other)
        members.append(found)
    return of_node, members


def _sources_behind(
    count: int, edges: list[tuple[int, int, int]], weight: list[int]
) -> tuple[dict[tuple[int, int], bool], list[int]]:
    """For each (vertex, edge): whether weight lies past that edge once the vertex itself is taken away; and for
    each vertex the number of its connected part."""
    at: list[list[tuple[int, int]]] = [[] for _ in range(count)]
    for a, b, edge in edges:
        at[a].append((b, edge))
        at[b].append((a, edge))
    seen = [-1] * count
    low = [0] * count
    below = list(weight)
    hanging = [0] * count
    whole = [-1] * count
    blocks: list[tuple[int, int, list[int]]] = []
    clock = 0
    for root in range(count):
        if seen[root] != -1:
            continue
        seen[root] = low[root] = clock
        clock += 1
        whole[root] = root
        stack = [(root, -1, iter(at[root]))]
        open_edges: list[int] = []
        while stack:
            vertex, came_by, onward = stack[-1]
            for other, edge in onward:
                if edge == came_by:
                    continue
                if seen[other] == -1:
                    open_edges.append(edge)
                    seen[other] = low[other] = clock
                    clock += 1
                    whole[other] = root
                    stack.append((other, edge, iter(at[other])))
                    break
                if seen[other] < seen[vertex]:
                    open_edges.append(edge)
                    low[vertex] = min(low[vertex], seen[other])
            else:
                stack.pop()
                if not stack:
                    continue
                above = stack[-1][0]
                below[above] += below[vertex]
                low[above] = min(low[above], low[vertex])
                if low[vertex] >= seen[above]:
                    block = [open_edges.pop()]
                    while block[-1] != came_by:
                        block.append(open_edges.pop())
                    blocks.append((above, below[vertex], block))
                    hanging[above] += below[vertex]
    behind: dict[tuple[int, int], bool] = {}
    ends = {edge: (a, b) for a, b, edge in edges}
    for top, under, block in blocks:
        for edge in block:
            for vertex in ends[edge]:
                if vertex == top:
                    past = under
                else:
                    past = below[whole[vertex]] - weight[vertex] - hanging[vertex]
                behind[(vertex, edge)] = past > 0
    return behind, whole
