"""A circuit on the bench for the product's own network solver: named points, wires, held sources, loads."""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field

from copperplate.network.circuit import Circuit
from copperplate.network.kirchhoff import Answer, Question, prepare, settle


@dataclass
class Bench:
    """Say what is joined to what, then `solve`. The reference, 0 V, is the first point named."""

    points: dict[str, int] = field(default_factory=dict)
    wires: dict[str, tuple[int, int, float]] = field(default_factory=dict)
    ties: list[tuple[int, int, float]] = field(default_factory=list)
    loads: list[tuple[int, int, float, float, float]] = field(default_factory=list)

    def at(self, name: str) -> int:
        return self.points.setdefault(name, len(self.points))

    def wire(self, a: str, b: str, ohm: float, name: str = "") -> None:
        self.wires[name or f"{a}-{b}"] = (self.at(a), self.at(b), ohm)

    def hold(self, a: str, b: str, volts: float) -> None:
        """A source: `a` is `volts` above `b`, whatever current flows."""
        self.ties.append((self.at(a), self.at(b), volts))

    def draw(self, a: str, b: str, amperes: float = 0.0, ohm: float = 0.0, watts: float = 0.0) -> None:
        """A load from `a` to `b`: of constant current, resistance or power."""
        self.loads.append((self.at(a), self.at(b), amperes, 1 / ohm if ohm else 0.0, watts))

    def solve(self) -> Solved:
        circuit = Circuit(
            len(self.points),
            [(a, b) for a, b, _ in self.wires.values()],
            self.ties,
            [(a, b) for a, b, *_ in self.loads],
            [bool(siemens or watts) for _, _, _, siemens, watts in self.loads],
            (0,),
        )
        amperes, siemens, watts = ([load[n] for load in self.loads] for n in (2, 3, 4))
        question = Question([ohm for _, _, ohm in self.wires.values()], amperes, siemens, watts)
        answer = settle(prepare(circuit), question)
        assert answer.settled and not answer.collapsed
        return Solved(self, answer)


@dataclass(frozen=True)
class Solved:
    """Volts between points, amperes in wires, loads and sources, watts lost."""

    bench: Bench
    answer: Answer

    def volts(self, a: str, b: str) -> float:
        at = self.bench.points
        return self.answer.volts[at[a]] - self.answer.volts[at[b]]

    def amperes(self, wire: str) -> float:
        """Along the wire as it was named, from its first point to its second."""
        return self.answer.wire_a[list(self.bench.wires).index(wire)]

    def supplied(self, source: int = 0) -> float:
        """What a held source delivers from its upper point."""
        return -self.answer.tie_a[source]

    def lost_w(self, *wires: str) -> float:
        names = wires or tuple(self.bench.wires)
        return sum(self.amperes(name) ** 2 * self.bench.wires[name][2] for name in names)


def feeder(row: dict, step_m: float = 1.0) -> Bench:
    """A two-wire line with loads along it, fed at A and where the row says so at B. Half of the go-and-return
    resistance is in each pole. A load spread evenly is cut into lumps in the middle of each step: at the ends of
    the steps that is exact, since the current falls evenly."""
    marks = {0.0, *(float(at) for at, _ in row.get("loads_a_at_m", ()))}
    bench = Bench()
    length = float(row.get("length_m") or max(marks))
    marks.add(length)
    lumps: dict[float, float] = {}
    for start, end, amperes_per_m in row.get("uniform_a_per_m", ()):
        steps = round((end - start) / step_m)
        for n in range(steps):
            lumps[start + (n + 0.5) * step_m] = amperes_per_m * step_m
            marks.add(start + (n + 1) * step_m)
    bench.at("0-")
    places = sorted(marks | set(lumps))
    for near, far in itertools.pairwise(places):
        half = row["loop_ohm_per_m"] * (far - near) / 2
        bench.wire(f"{near:g}+", f"{far:g}+", half, f"{near:g}..{far:g}")
        bench.wire(f"{far:g}-", f"{near:g}-", half)
    for at, amperes in row.get("loads_a_at_m", ()):
        bench.draw(f"{at:g}+", f"{at:g}-", amperes)
    for at, amperes in lumps.items():
        bench.draw(f"{at:g}+", f"{at:g}-", amperes)
    bench.hold("0+", "0-", row["a_end_v"])
    if "b_end_v" in row:
        bench.hold(f"{length:g}+", f"{length:g}-", row["b_end_v"])
    return bench


def mesh(branches: list, loads: dict, feed: str, volts: float) -> Bench:
    """A two-wire ring or mesh: half of each branch's go-and-return resistance in each pole."""
    bench = Bench()
    bench.at(f"{feed}-")
    for a, b, ohm in branches:
        bench.wire(f"{a}+", f"{b}+", ohm / 2, f"{a}{b}")
        bench.wire(f"{b}-", f"{a}-", ohm / 2)
    for at, amperes in loads.items():
        bench.draw(f"{at}+", f"{at}-", amperes)
    bench.hold(f"{feed}+", f"{feed}-", volts)
    return bench
