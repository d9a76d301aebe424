"""Random plates whose circuits are graphs, drawn from a seed: for tests that hold in every topology.

Each plate is a 12, 24 or 48 V system of a boat, a camper or a cabin, put together from the habits of the trade: banks
side by side with a fuse each, banks behind selectors, a relay or a switch between two, a bank at the end of a feeder; a
ring of bars, a bar fed twice, a second negative bar, a body that carries returns; circuits from the posts, splices,
rows of lamps, sub-panels with negatives of their own, a pump by float and by hand; converters down, up and between
banks; alternators, arrays and controllers; chargers, inverters, shore and generator with a transfer. Names are unique,
every terminal has its way back, every device its place: a plate that cannot be read is a mistake of this file. Sizes
and ratings are left out or stated in the usual range, so that findings on the rules are to be expected. Everything is
an invention.
"""

from __future__ import annotations

import random

from graph_banks import on_a_feeder, one_bank, relayed, selected, tied, units
from graph_circuits import (
    bar_fed_twice,
    body_returns,
    circuit_at_the_posts,
    float_and_hand,
    panel,
    ring_of_bars,
    second_negative,
    splice,
    sub_panel,
)  # fmt: skip
from graph_plate import Graph, put_circuit
from graph_supplies import alternator, arrays, charging_converter, converter, mains

BANKS = (one_bank, units, units, selected, relayed, relayed, on_a_feeder, tied)
HABITS = (
    (body_returns, 0.25), (ring_of_bars, 0.2), (bar_fed_twice, 0.15), (second_negative, 0.2), (panel, 0.8),
    (sub_panel, 0.35), (circuit_at_the_posts, 0.35), (splice, 0.35), (float_and_hand, 0.25), (converter, 0.35),
    (charging_converter, 0.2), (alternator, 0.35), (arrays, 0.4), (mains, 0.35),
)  # fmt: skip
"""With the share of plates that have them."""


def graph(seed: int) -> str:
    """The plate of a seed."""
    rng = random.Random(seed)
    rules = rng.choice(("iso-13297", "iso-13297", "cfr-183", "iec-60364"))
    g = Graph(seed, rng, rng.choice((12, 12, 12, 24, 24, 48)), rules, "awg" if rules == "cfr-183" else "mm2")
    g.part('bus plus "Positive bar" positive, 600 A')
    g.part('bus minus "Negative bar" negative, 600 A')
    rng.choice(BANKS)(g)
    for habit, share in HABITS:
        if g.chance(share):
            habit(g)
    for _ in range(rng.randint(1, 3)):
        put_circuit(g, rng.choice(g.plus), rng.choice(g.minus))
    return g.text()
