"""Both poles of the direct-current system as one circuit, copper hot, and what drives a short in it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import inf

from copperplate.faults.banks import Bank
from copperplate.faults.ways import Link, Ways
from copperplate.faults.wiring import Wiring, live, returning, wiring
from copperplate.model import Converter, Earth, System
from copperplate.model.graph import Graph
from copperplate.model.groups import Groups
from copperplate.model.results import RunResult


@dataclass(frozen=True, slots=True)
class Feed:
    """What drives a short: a battery at its low end behind its resistance, or a converter alone at its output voltage
    with `limit_a`, the most that it gives."""

    part: str
    pos: str
    neg: str
    volts: float
    inner_ohm: float
    limit_a: float = inf


def feeds_of(system: System, net: Graph, banks: Mapping[str, Bank]) -> Iterator[Feed]:
    zones = {net.outputs[part].zone for part in banks if part in net.outputs}
    for part, ends in net.outputs.items():
        source = system.parts[part]
        if part in banks:
            ohm = banks[part].resistance_ohm
            if ohm is not None:
                yield Feed(part, ends.pos, ends.neg, banks[part].low_v, ohm)
        elif isinstance(source, Converter) and source.pushes_a and ends.zone not in zones:
            yield Feed(part, ends.pos, ends.neg, source.out_v or ends.nominal_v, 0.0, source.pushes_a)


class Circuit:
    """Both poles as one: the live nodes first, then those of the return."""

    def __init__(
        self, system: System, net: Graph, runs: Mapping[str, RunResult], rating_a: Mapping[str, float | None]
    ) -> None:
        self.system = system
        out = wiring(system, net, runs, live, None)
        # Banks drive nothing back through diodes; what stands before them limits its own current.
        self.out = replace(out, branches=tuple(branch for branch in out.branches if branch.id not in system.diodes))
        self.back = wiring(system, net, runs, returning, None)
        self.first_back = len(self.out.names)
        self.names = (*self.out.names, *self.back.names)
        self._rating_a = rating_a
        self._links = [*self._of(self.out, 0), *self._of(self.back, self.first_back)]

    def _of(self, pole: Wiring, first: int) -> Iterator[Link]:
        for branch in pole.branches:
            device = branch.id if branch.id in self.system.devices else ""
            rating = self._rating_a.get(device) if branch.opens else None
            back = branch.id if first and branch.conductor else ""
            yield Link(first + branch.a, first + branch.b, branch.ohm, device, rating or inf, back)

    @cached_property
    def number(self) -> dict[str, int]:
        return {name: index for index, name in enumerate(self.names)}

    def is_body(self, node: int) -> bool:
        """Whether a node of the return is a conducting body."""
        part = self.system.parts.get(self.system.nodes[self.names[node]].part)
        return isinstance(part, Earth) and part.conducts

    def ways(self, feeds: Sequence[Feed], opened: frozenset[str]) -> Ways:
        """The ways of shorts that some sources feed, seen from the first of them."""
        links = [link for link in self._links if link.device not in opened] if opened else list(self._links)
        links += [Link(self.number[feed.pos], self.number[feed.neg], feed.inner_ohm) for feed in feeds]
        return Ways(len(self.names), links, len(links) - len(feeds))

    def is_terminal(self, node: int) -> bool:
        """Whether a node belongs to a part."""
        return bool(self.system.nodes[self.names[node]].part)

    @cached_property
    def region(self) -> list[int]:
        """By node, what is joined to it without a protective device between."""
        groups = Groups[int]()
        for link, branch in zip(self._links, (*self.out.branches, *self.back.branches), strict=True):
            if not branch.opens:
                groups.join(link.a, link.b)
        return [groups.root(node) for node in range(len(self.names))]

    def joined(self, feeds: Iterable[Feed], opened: frozenset[str]) -> Iterator[tuple[Feed, ...]]:
        """Sources that stand in one circuit with some devices open, where there are several."""
        groups = Groups[int]()
        for link in self._links:
            if link.device not in opened and link.a < self.first_back:
                groups.join(link.a, link.b)
        by_root: dict[int, list[Feed]] = {}
        for feed in feeds:
            by_root.setdefault(groups.root(self.number[feed.pos]), []).append(feed)
        yield from (tuple(together) for together in by_root.values() if len(together) > 1)

    def conductors(self, start: str) -> dict[int, str]:
        """By live node, the last conductor on the way to it."""
        found = {self.number[start]: ""}
        for node in (front := list(found)):
            for branch in self.out.at[node]:
                other = branch.other(node)
                if other not in found:
                    found[other] = branch.id if branch.conductor else found[node]
                    front.append(other)
        return found
