"""Conductors that lasting overload may destroy: those that carry less than flows in them for ever.

Definitions, in words, on the flows of `lasting_flow`:

- **Protected**: what comes in is at most what the conductor carries. **A short tap**: what flows through is, and its
  way is within the distance of the rules: back from a along conductors that are not protected in this direction, and
  over switches, to the first battery, bar, panel, part, protective device or protected conductor; the conductor; ahead
  from b over every conductor, splice and bar, on every branch, to the first protective device or part. Each beginning
  has its own limit, and all hold.
- **A return** must carry what flows back in it for ever, from a body too.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from design_network import Branch, Network
from lasting_flow import from_body, into, live_lines, returned, through


@dataclass(frozen=True)
class Way:
    """An exposed way: metres, whether it begins at a battery, whether all of it is in a sheath."""

    metres: float
    battery: bool
    sheath: bool


def exposed_ways(net: Network, conductor: Branch, end: str) -> list[Way]:
    """The ways of a conductor that is not protected from its end `end`, one of each beginning."""
    far = conductor.b if end == conductor.a else conductor.a
    live = [b for b in live_lines(net, conductor.pole) if b is not conductor]
    ahead = max((way for way, _ in _onward(net, live, far, end)), key=lambda w: w.metres, default=Way(0, False, True))
    sheathed = all(way.sheath for way, _ in _onward(net, live, far, end)) and conductor.sheath
    return [
        Way(back.metres + conductor.metres + ahead.metres, net.kinds.get(node) == "battery", back.sheath and sheathed)
        for back, node in _backward(net, live, end, far)
    ]


def _onward(net: Network, live: list[Branch], start: str, before: str) -> list[tuple[Way, str]]:
    """The ways ahead of a node to the first protective devices and parts."""
    ends, todo, seen = [], [(Way(0, False, True), start)], {start, before}
    while todo:
        way, node = todo.pop()
        if net.kinds.get(node, "junction") not in ("junction", "bus"):
            ends.append((way, node))
            continue
        for branch in [b for b in live if node in (b.a, b.b)]:
            other = branch.b if node == branch.a else branch.a
            if branch.opens:
                ends.append((way, node))
            elif other not in seen:
                seen.add(other)
                todo.append((_longer(way, branch), other))
    return ends


def _backward(net: Network, live: list[Branch], start: str, before: str) -> list[tuple[Way, str]]:
    """The ways back from a node to where they begin."""
    begun, todo, seen = [], [(Way(0, False, True), start)], {start, before}
    while todo:
        way, node = todo.pop()
        if net.kinds.get(node, "junction") != "junction":
            begun.append((way, node))
            continue
        for branch in [b for b in live if node in (b.a, b.b)]:
            other = branch.b if node == branch.a else branch.a
            if other in seen or not into(net, branch, other).amperes:
                continue
            if branch.opens or (branch.what == "conductor" and into(net, branch, other).amperes <= branch.ampacity_a):
                begun.append((way, node))
            else:
                seen.add(other)
                todo.append((_longer(way, branch), other))
    return begun


def _longer(way: Way, branch: Branch) -> Way:
    return Way(way.metres + branch.metres, False, way.sheath and (branch.sheath or branch.what != "conductor"))


@dataclass(frozen=True)
class Exposed:
    """A conductor that is neither protected from one of its ends nor on a short tap."""

    conductor: str
    run: str
    end: str
    into_a: float
    carries_a: float


def exposed(net: Network, rules: dict[str, float]) -> list[Exposed]:
    """All of them among the ungrounded conductors; `rules` are the constants of the profile."""
    found = []
    for conductor in net.lines("pos", "l", "l1", "l2", *(["neg"] if net.floating else [])):
        if conductor.what != "conductor" or conductor.ampacity_a == inf:
            continue
        for end in (conductor.a, conductor.b):
            amperes = into(net, conductor, end).amperes
            if amperes <= conductor.ampacity_a * (1 + 1e-9):
                continue
            tap = through(net, conductor, end) <= conductor.ampacity_a * (1 + 1e-9)
            if not tap or any(way.metres > _limit(way, rules) for way in exposed_ways(net, conductor, end)):
                found.append(Exposed(conductor.name, conductor.run, end, amperes, conductor.ampacity_a))
    return found


def _limit(way: Way, rules: dict[str, float]) -> float:
    name = "placement-battery" if way.battery else "placement-bar"
    return rules[f"{name}-sheath" if way.sheath else name] + 1e-9


def thin_returns(net: Network) -> list[Exposed]:
    """The returns of an earthed system, from a conducting body too, that carry less than what flows for ever."""
    found = []
    for conductor in () if net.floating else net.lines("neg"):
        if conductor.what != "conductor" or conductor.ampacity_a == inf:
            continue
        for end in (conductor.a, conductor.b):
            amperes = max(returned(net, conductor, end).amperes, from_body(net, conductor, end).amperes)
            if amperes > conductor.ampacity_a * (1 + 1e-9):
                found.append(Exposed(conductor.name, conductor.run, end, amperes, conductor.ampacity_a))
    return found
