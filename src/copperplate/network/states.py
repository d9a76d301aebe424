"""The states that a system is solved in: its cases, and what they imply."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from copperplate.model import Case, State, System


def states(system: System) -> tuple[State, ...]:
    """The states beside the cases. While charging, `bulk`: banks low, so that what limits its current gives all of it;
    the case itself is the end of charging, with banks full and sources at the voltage that ends them."""
    return tuple(state for case in system.cases for state in _of(case))


def case_state(case: Case) -> State:
    """A case as it is solved: banks at the low end of their range, full where it charges."""
    return _state(case, case.id, case.title, "full" if case.kind == "charge" else "low")


def _of(case: Case) -> Iterator[State]:
    if case.kind == "charge":
        title = f"{case.title or case.id}, banks low"
        yield _state(case, f"{case.id}.bulk", title, "low")


def _state(case: Case, name: str, title: str, held: Literal["low", "full"]) -> State:
    return State(name, title, case.kind, case.shares, case.open_devices, case.implied, case.span, case.id, held)
