"""Which state governs the design current of a run, what adds up in it, and which state comes next."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import isclose

from copperplate.model import Run, System
from copperplate.model.graph import graph
from copperplate.network.currents import budgets, draws
from copperplate.network.flows import Flows
from copperplate.network.sizing_states import SizingState, sizing_states
from copperplate.network.wiring import elements
from copperplate.standards import Profile
from copperplate.units import NOISE

CLOSE = 1e-3
"""Share within which the governing state gives the design current; a current that only the solution with real sizes
shows has no state here."""


@dataclass(frozen=True)
class Governing:
    """The state with the largest current of a run, amperes, and what each part adds to it (below zero where it takes
    away), the most first; and the next state, "" where no other gives any."""

    state: str
    amperes: float
    adds: tuple[tuple[str, float], ...]
    next_state: str
    next_a: float


def governing(system: System, profile: Profile, run: Run, design_a: float) -> Governing | None:
    """What governs the design current of a run; None where no state by itself gives that."""
    net = graph(system)
    drawn, _ = draws(system, net, profile, elements(system, net), budgets(system, net, profile), {})
    worst: tuple[float, SizingState, str] | None = None
    by_state: dict[str, float] = {}
    for state in sizing_states(system, net, drawn):
        borne = state.bearing.flows(state.amperes).borne
        amperes, conductor = max(((borne.get(c, 0.0), c) for c in run.conductor_ids), default=(0.0, ""))
        by_state[state.of] = max(amperes, by_state.get(state.of, 0.0))
        if worst is None or amperes > worst[0]:
            worst = amperes, state, conductor
    if worst is None or not isclose(worst[0], design_a, rel_tol=CLOSE):
        return None
    most, state, conductor = worst
    others = [(amperes, title) for title, amperes in by_state.items() if title != state.of and amperes > 0.0]
    next_a, next_state = max(others, key=lambda other: other[0], default=(0.0, ""))
    signed = state.bearing.flows(state.amperes).signed[conductor]
    adds: dict[str, float] = {}
    for number in _through(state, conductor, range(len(drawn))):
        part = drawn[number].element.part
        single = _only(state, (number,)).signed[conductor]
        adds[part] = adds.get(part, 0.0) + (single if signed >= 0.0 else -single)
    ordered = sorted(((part, a) for part, a in adds.items() if abs(a) > NOISE * most), key=lambda add: -add[1])
    return Governing(state.title, most, tuple(ordered), next_state, next_a)


def _only(state: SizingState, numbers: Sequence[int], weighed: bool = False) -> Flows:
    """The currents of some elements; `weighed`: so that no two of them cancel each other."""
    given = [0.0] * len(state.amperes)
    for number in numbers:
        given[number] = state.amperes[number] * (1.0 + (number * 0.6180339887) % 1.0 if weighed else 1.0)
    return state.bearing.flows(given)


def _through(state: SizingState, conductor: str, numbers: Sequence[int]) -> Iterator[int]:
    """The elements whose current a conductor carries a part of, by halves."""
    live = [number for number in numbers if state.amperes[number]]
    if not live or abs(_only(state, live, weighed=True).signed.get(conductor, 0.0)) < NOISE:
        return
    if len(live) == 1:
        yield live[0]
        return
    half = len(live) // 2
    yield from _through(state, conductor, live[:half])
    yield from _through(state, conductor, live[half:])
