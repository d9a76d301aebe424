"""How the network grows: ten times the conductors, about ten times the time; both poles of a radial plate."""

from __future__ import annotations

import gc
import random
from time import process_time

from copperplate.network.circuit import Circuit
from copperplate.network.kirchhoff import Question, prepare, settle

GROWTH_OF_TENFOLD = 20.0


def radial(loads: int) -> tuple[Circuit, Question]:
    """Panels of twelve circuits on two bars: a fuse, a conductor out, a constant-power load, a conductor back."""
    rng = random.Random(loads)
    points, wires, ohms, ties, ends, watts = 2, [], [], [(0, 1, 48.0)], [], []
    panels = []
    for _ in range(max(1, loads // 12)):
        wires += [(0, points), (1, points + 1)]
        ohms += [0.001, 0.001]
        panels.append((points, points + 1))
        points += 2
    for n in range(loads):
        plus, minus = panels[n % len(panels)]
        ties.append((plus, points, 0.0))
        wires += [(points, points + 1), (points + 2, minus)]
        ohms += [rng.uniform(0.01, 0.03)] * 2
        ends.append((points + 1, points + 2))
        watts.append(rng.uniform(5, 60))
        points += 3
    return Circuit(points, wires, ties, ends, (True,) * loads, (1,)), Question(ohms, (), (), watts)


def seconds(loads: int) -> float:
    circuit, question = radial(loads)
    gc.collect()
    gc.disable()
    start = process_time()
    answer = settle(prepare(circuit), question)
    taken = process_time() - start
    gc.enable()
    assert answer.settled and not answer.collapsed
    return taken


def test_growth_to_a_hundred_thousand_conductors() -> None:
    small = min(seconds(4_600) for _ in range(3))
    large = min(seconds(46_000) for _ in range(2))
    print(f"\n10,000 conductors {small:.2f} s, 100,000 {large:.2f} s: {large / small:.1f} of {GROWTH_OF_TENFOLD}")
    assert large / small <= GROWTH_OF_TENFOLD
