"""A depth-first walk through one region of the ungrounded circuit."""

from __future__ import annotations

from bisect import bisect_left, bisect_right

from copperplate.protection.circuit import Circuit


class Walk:
    """Parents, metres from the root, and which links lie on a loop; protective devices are not passed.

    `above` maps a node to (its parent, the link between), `looped` holds the links of the walk that a loop
    closes around and `closing` the links that close one. Linear in the links of the region."""

    def __init__(self, circuit: Circuit, root: int) -> None:
        self.root = root
        self.above: dict[int, tuple[int, int]] = {}
        self.metres: dict[int, float] = {root: 0.0}
        self.closing: list[int] = []
        self.looped: set[int] = set()
        self._enter: dict[int, int] = {root: 0}
        self._leave: dict[int, int] = {}
        low: dict[int, int] = {root: 0}
        stack = [(root, -1, iter(circuit.at[root]))]
        while stack:
            node, came_by, onward = stack[-1]
            for index in onward:
                link = circuit.links[index]
                if link.protective or index == came_by:
                    continue
                other = circuit.other(index, node)
                if other not in self._enter:
                    self._enter[other] = low[other] = len(self._enter)
                    self.above[other] = (node, index)
                    self.metres[other] = self.metres[node] + link.length_m
                    stack.append((other, index, iter(circuit.at[other])))
                    break
                if self._enter[other] < self._enter[node]:
                    self.closing.append(index)
                    low[node] = min(low[node], self._enter[other])
            else:
                stack.pop()
                self._leave[node] = len(self._enter) - 1
                if stack:
                    parent = stack[-1][0]
                    low[parent] = min(low[parent], low[node])
                    if low[node] <= self._enter[parent]:
                        self.looped.add(came_by)

    def path(self, node: int) -> tuple[list[int], list[int]]:
        """(nodes, links) from the root to `node`."""
        nodes, links = [node], []
        while node in self.above:
            node, link = self.above[node]
            nodes.append(node)
            links.append(link)
        return nodes[::-1], links[::-1]

    def by_entry(self, items: tuple[tuple[int, str], ...]) -> tuple[list[int], list[str]]:
        """(keys, values) of (node, value) items, ordered by when the walk met their node."""
        met = sorted(range(len(items)), key=lambda i: (self._enter[items[i][0]], i))
        return [self._enter[items[i][0]] for i in met], [items[i][1] for i in met]

    def split(self, node: int, keys: list[int], values: list[str]) -> tuple[list[str], list[str]]:
        """(values not under `node`, values at it or under it) of a `by_entry` list."""
        first = bisect_left(keys, self._enter[node])
        last = bisect_right(keys, self._leave[node])
        return values[:first] + values[last:], values[first:last]
