"""The largest flow between several nodes together and the terminals."""

from __future__ import annotations

from heapq import heapify, heappop, heappush

from copperplate.flow.messages import Cut, Messages, Section


def shared_cut(messages: Messages, nodes: frozenset[int]) -> Cut:
    """The minimum cut between some nodes together and all terminals, of several the nearest to the nodes.

    For one node the flow is the sum of its messages. For more it is a maximum flow in the blocks between them, with
    these nodes as one, to what comes by all other blocks."""
    if len(nodes) == 1:
        (node,) = nodes
        return messages.cut(messages.total(node), [(node, ())])
    between = _between(messages, nodes)
    places = dict.fromkeys(nodes, 0)
    size = 1
    for number in between:
        for node in messages.parts[number].nodes:
            if node not in places:
                places[node] = size
                size += 1
    terminals = [0] * size
    for node, place in places.items():
        terminals[place] += messages.besides(node, between)
    lines = [line for number in between for line in messages.parts[number].lines]
    section = Section(messages.capacities, lines, places)
    node = min(nodes)
    flow = section.flow(node, terminals, ())
    value = terminals[0] + int(flow.value)
    if value < messages.capacities.amounts.unlimited:
        reached = [(node, between) for node in section.nodes(flow.side)]
        return messages.cut(value, reached, section.leaving(flow.side, ()))
    side = section.reach(node, messages.capacities.amounts.unlimited, ())
    return messages.cut(value, [(node, between) for node in section.nodes(side)])


def _between(messages: Messages, nodes: frozenset[int]) -> set[int]:
    """The blocks on the ways between some nodes: all ways go up the tree of blocks, the lowest first, until they have
    met or are at a root."""
    root = len(messages.parts)
    ahead = [(messages.parent[node] if messages.parent[node] >= 0 else root, node) for node in nodes]
    heapify(ahead)
    reached = set(nodes)
    between = set()
    while len(ahead) > 1 and ahead[0][0] < root:
        number = ahead[0][0]
        between.add(number)
        while ahead and ahead[0][0] == number:
            heappop(ahead)
        top = messages.parts[number].nodes[0]
        if top not in reached:
            reached.add(top)
            parent = messages.parent[top]
            heappush(ahead, (parent if parent >= 0 else root, top))
    return between
