"""The states that a system is solved in: its cases, and what they imply."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Literal

from copperplate.model import Case, State, System
from copperplate.model.graph import Graph
from copperplate.model.side_by_side import side_by_side


def states(system: System, net: Graph) -> tuple[State, ...]:
    """The states beside the cases. While charging, `bulk`: banks low, so that what limits its current gives all of it;
    the case itself is the end of charging, with banks full and sources at the voltage that ends them. Each with each
    of the batteries side by side out, which leaves the others more."""
    units = [unit for group in side_by_side(system, net) for unit in group]
    return tuple(state for case in system.cases for state in _of(case, units))


def case_state(case: Case) -> State:
    """A case as it is solved: banks at the low end of their range, full where it charges."""
    return _state(case, case.id, case.title, "full" if case.kind == "charge" else "low")


def sizing_title(case: Case, *out: str) -> str:
    """What the state is called that a case gives currents for sizing in, with the batteries out that are named."""
    title = case.title or case.id
    title = f"{title} with banks low" if case.kind == "charge" else title
    return f"{title} without {', '.join(f'`{bank}`' for bank in out)}" if out else title


def _of(case: Case, units: Sequence[str]) -> Iterator[State]:
    name = f"{case.id}.bulk" if case.kind == "charge" else case.id
    if case.kind == "charge":
        yield _state(case, name, sizing_title(case), "low")
    for unit in units:
        yield replace(_state(case, f"{name}.without.{unit}", sizing_title(case, unit), "low"), out=frozenset({unit}))


def _state(case: Case, name: str, title: str, held: Literal["low", "full"]) -> State:
    return State(name, title, case.kind, case.shares, case.open_devices, case.implied, case.span, case.id, held)
