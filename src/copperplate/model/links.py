"""The conductors between the batteries of one bank: in series within a string, side by side at both its ends.

A bank is one source to every computation; its links are conductors to whoever makes, marks and ends them. The
batteries are counted string by string, each string from its positive end: of `series 2, parallel 2` the numbers 1
and 2 are the first string, 3 and 4 the second.
"""

from __future__ import annotations

from dataclasses import dataclass

from copperplate.model.system import Pole, Run, System


@dataclass(frozen=True, slots=True)
class Link:
    """One conductor between two batteries of a bank. `pole` is "pos" or "neg" between strings, "mid" between the
    batteries of a string. `from_battery`, `to_battery` count from 1; `colour` are its letters by IEC 60757, "" until
    the rules have given them."""

    id: str
    run: str
    bank: str
    pole: Pole
    from_battery: int
    to_battery: int
    length_m: float
    colour: str = ""

    @property
    def marker(self) -> str:
        """The text for its label."""
        return self.id

    @property
    def from_end(self) -> str:
        """Where it begins, as readers write it: `house 1 +`."""
        return f"{self.bank} {self.from_battery} {'+' if self.pole == 'pos' else '-'}"

    @property
    def to_end(self) -> str:
        """Where it ends: `house 2 +`; a link in series runs from a negative terminal to a positive one."""
        return f"{self.bank} {self.to_battery} {'-' if self.pole == 'neg' else '+'}"

    @property
    def ports(self) -> tuple[str, str]:
        """The ports of the bank whose terminals its two ends are like."""
        return ("pos" if self.pole == "pos" else "neg"), ("neg" if self.pole == "neg" else "pos")


def links(system: System) -> tuple[Link, ...]:
    """Every link of every bank, in the order of the plate: those in series first, then from string to string the
    positive and the negative one."""
    return tuple(link for run in system.runs.values() if run.role == "link" for link in _of(system, run))


def _of(system: System, run: Run) -> list[Link]:
    bank = system.parts[run.from_end]
    series, parallel = bank.series, bank.parallel
    steps: list[tuple[Pole, int, int]] = []
    for string in range(parallel):
        first = string * series + 1
        steps += [("mid", number, number + 1) for number in range(first, first + series - 1)]
    for string in range(parallel - 1):
        first, last = string * series + 1, (string + 1) * series
        steps += [("pos", first, first + series), ("neg", last, last + series)]
    return [
        Link(f"{run.id}/{number}", run.id, bank.id, pole, start, end, run.length_m)
        for number, (pole, start, end) in enumerate(steps, 1)
    ]
