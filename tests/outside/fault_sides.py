"""The largest fault at a device by its definition: a dense nodal solve by NumPy, a side at a time.

Definition, in words: take the device out, short both of its terminals to a
return without ohms; copper as cold as 20 °C, banks full, every switch closed. The duty of the device is the larger of
what its two sides bring, never their sum. A limited supply adds all that it gives to each side that it reaches
without passing the other; nothing comes back through a splitter.
"""

from __future__ import annotations

import numpy as np
from design_network import Branch, Network, Ways


def sides(net: Network, device: Branch) -> tuple[float, float]:
    """Amperes that a device in a live direct-current conductor breaks, of its first side and of its second."""
    live = [branch for branch in net.banked("pos") if branch is not device]
    return _side(net, live, device.a, device.b), _side(net, live, device.b, device.a)


def largest(net: Network, name: str) -> float:
    """The larger side of a device; of one with several live legs, of the worst."""
    legs = [branch for branch in net.lines("pos") if branch.name == name and branch.what != "conductor"]
    return max(max(sides(net, leg)) for leg in legs)


def _side(net: Network, live: list[Branch], here: str, there: str) -> float:
    """What comes to `here`, with `here` and `there` at 0 V."""
    ways = Ways(live)
    top = Ways(b for b in live if b.cold_ohm == 0.0).groups(net.poles).__getitem__
    near = ways.reached([here])
    copper = [b for b in live if b.cold_ohm > 0.0 and b.a in near]
    banks = [s for s in net.supplies if s.stores and s.plus in near]
    shorted = {top(here), top(there)}
    free = sorted({top(n) for b in copper for n in (b.a, b.b)} | {top(s.plus) for s in banks})
    free = [node for node in free if node not in shorted]
    place = {node: n for n, node in enumerate(free)}
    siemens = np.zeros((len(free), len(free)))
    injected = np.zeros(len(free))
    for branch in copper:
        a, b, g = top(branch.a), top(branch.b), 1 / branch.cold_ohm
        for one, other in ((a, b), (b, a)):
            if one in place:
                siemens[place[one], place[one]] += g
                if other in place:
                    siemens[place[one], place[other]] -= g
    for bank in banks:
        node = top(bank.plus)
        if node in place:
            siemens[place[node], place[node]] += 1 / bank.ohm
            injected[place[node]] += bank.full_v / bank.ohm
    volts = np.linalg.solve(siemens, injected) if free else injected
    amperes = 0.0
    for branch in copper:
        a, b = top(branch.a), top(branch.b)
        for one, other in ((a, b), (b, a)):
            if one == top(here) and other in place:
                amperes += volts[place[other]] / branch.cold_ohm
    amperes += sum(bank.full_v / bank.ohm for bank in banks if top(bank.plus) == top(here))
    alone = ways.reached([here], {there})
    for branch in net.lines("pos"):
        if branch.one_way and branch.b in alone and (branch.a, branch.b) != (there, here):
            alone = {*alone, *ways.reached([branch.a])}
    amperes += sum(s.limit_a for s in net.supplies if not s.stores and s.plus in alone)
    return float(amperes)
