"""Return conductors, which have no device of their own: what the devices of their positives let come back by them."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping

from copperplate.findings import Finding, make
from copperplate.model import Battery
from copperplate.model.graph import Graph, Terminals, graph
from copperplate.model.results import Design

NEAR = 1.0001


def serving(design: Design) -> dict[str, int]:
    """By conductor: the sum of a mark, 128 bits of a hash, of each consumer whose way leads through it."""
    return _marked(design, {load.load: [step.through for step in load.path] for load in design.loads.values()})


def pushed(design: Design) -> dict[str, int]:
    """The same, with the sources that limit their own current counted as consumers: a battery's fault current comes
    to them as it does to a load. Their ways are walked from the terminals of the batteries."""
    system, net = design.system, graph(design.system)
    banks = [ends for part, ends in net.outputs.items() if isinstance(system.parts[part], Battery)]
    towards = _walked(net, [n for ends in banks for n in (ends.pos, ends.neg)])
    ways = {load.load: [step.through for step in load.path] for load in design.loads.values()}
    for part, ends in net.outputs.items():
        if ends.current != "dc" or net.holds(part) or not {ends.pos, ends.neg} <= set(towards):
            continue
        ways[f"source {part}"] = _back(towards, ends)
    for ends in banks if len(banks) > 1 else ():
        ways[f"bank {ends.part}"] = [conductor for node in (ends.pos, ends.neg) for conductor in _lead(net, node)]
    return _marked(design, ways)


def _lead(net: Graph, node: str) -> list[str]:
    """What leads on from a battery's terminal as far as nothing branches off: all that the bank gives beside others
    leaves by one lead and comes back by the other."""
    passed: list[str] = []
    while len(onward := [e for number in net.at.get(node, ()) if (e := net.edges[number]).id not in passed]) == 1:
        passed.append(onward[0].id)
        node = onward[0].b if onward[0].a == node else onward[0].a
    return passed


def by_source(design: Design) -> list[dict[str, int]]:
    """The same for every source by itself, which may be left to carry all: the ways from its terminals alone."""
    net = graph(design.system)
    found: list[dict[str, int]] = []
    for supply in (ends for part, ends in net.outputs.items() if net.holds(part)):
        towards = _walked(net, [supply.pos, supply.neg])
        reached = {load: ends for load, ends in net.consumers.items() if {ends.pos, ends.neg} <= towards.keys()}
        found.append(_marked(design, {load: _back(towards, ends) for load, ends in reached.items()}))
    return found


def _walked(net: Graph, starts: list[str]) -> dict[str, tuple[str, str]]:
    """By node that can be reached from `starts`: the conductor that it is reached by and the node before; none of
    both at the starts."""
    towards = dict.fromkeys(starts, ("", ""))
    front = list(towards)
    for node in front:
        for edge in (net.edges[number] for number in net.at.get(node, ())):
            other = edge.b if edge.a == node else edge.a
            if other not in towards:
                towards[other] = (edge.id, node)
                front.append(other)
    return towards


def _back(towards: Mapping[str, tuple[str, str]], ends: Terminals) -> list[str]:
    """The conductors from both terminals of a part back to the starts of a walk."""
    through: list[str] = []
    for node in (ends.pos, ends.neg):
        while towards[node][1]:
            through.append(towards[node][0])
            node = towards[node][1]
    return through


def _marked(design: Design, ways: Mapping[str, list[str]]) -> dict[str, int]:
    marks: dict[str, int] = {}
    for name, through in ways.items():
        mark = int(hashlib.sha256(name.encode()).hexdigest()[:32], 16)
        for conductor in through:
            if conductor in design.system.conductors:
                marks[conductor] = marks.get(conductor, 0) + mark
    return marks


def check_returns(design: Design, passed: Mapping[str, float], carried: Mapping[str, float | None]) -> list[Finding]:
    """Each return carries what the devices of the positives that serve the same consumers let pass, the least of
    those that stand one behind the other. `passed` by ungrounded conductor, `carried` by run."""
    found: dict[str, Finding] = {}
    settled: set[str] = set()
    for marks in (serving(design), pushed(design)):
        least: dict[int, float] = {}
        for conductor, amperes in passed.items():
            if conductor in marks and amperes:
                least[marks[conductor]] = min(amperes, least.get(marks[conductor], amperes))
        for conductor, mark in marks.items():
            run = design.system.conductors[conductor].run
            limit, bound = carried[run], least.get(mark)
            if conductor in passed or conductor in settled or bound is None:
                continue
            settled.add(conductor)
            if limit is not None and bound > limit * NEAR:
                found.setdefault(run, make("CP595", run, carries=limit, come_back=bound))
    return list(found.values())
