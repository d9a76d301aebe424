"""A random plate in the making: what every habit of `random_graphs` writes with."""

from __future__ import annotations

import random
from dataclasses import dataclass, field

MM2 = ("1.5", "2.5", "4", "6", "10", "16", "25", "35", "50", "70", "95")
AWG = ("16", "14", "12", "10", "8", "6", "4", "2", "1/0", "2/0", "3/0")
CARRIES = (15, 20, 30, 40, 60, 85, 110, 150, 180, 230, 280)
"""Amperes that the sizes of either row are stated for here; less than they carry under most rules."""
RATINGS = (3, 6, 10, 15, 20, 25, 30, 40, 50, 60, 80, 100, 125, 150, 175, 200, 225, 250, 300, 350, 400)


@dataclass
class Graph:
    """A plate in the making. `plus` and `minus` are the bars that circuits may be landed on."""

    seed: int
    rng: random.Random
    volts: int
    rules: str
    series: str
    lines: list[str] = field(default_factory=list)
    runs: list[str] = field(default_factory=list)
    plus: list[str] = field(default_factory=lambda: ["plus"])
    minus: list[str] = field(default_factory=lambda: ["minus"])
    loads: list[str] = field(default_factory=list)
    sources: list[str] = field(default_factory=list)
    banks: list[str] = field(default_factory=list)
    parting: list[str] = field(default_factory=list)
    """Switches, relays and selectors that a case may open without leaving a load dead."""
    apart: list[list[str]] = field(default_factory=list)
    """Groups of devices of which all but one are open in a case."""
    body: str = ""
    ac: bool = False
    count: int = 0

    def name(self, word: str) -> str:
        self.count += 1
        return f"{word}-{self.count}"

    def chance(self, share: float) -> bool:
        return self.rng.random() < share

    def metres(self, low: float = 0.5, high: float = 6.0) -> float:
        return round(self.rng.uniform(low, high), 1)

    def size(self, amperes: float, stated: float = 0.4) -> str:
        """`, SIZE` that serves some amperes, or nothing."""
        if not self.chance(stated):
            return ""
        number = next((n for n, carried in enumerate(CARRIES) if carried >= amperes), len(CARRIES) - 1)
        return f", {MM2[number]} mm2" if self.series == "mm2" else f", {AWG[number]} AWG"

    def fuse(self, word: str, amperes: float, stated: float = 0.5) -> str:
        """A fuse in brackets, rated for some amperes or left out."""
        rating = next((r for r in RATINGS if r >= amperes * 1.25), RATINGS[-1])
        return f"[{self.name(word)}: fuse class-t{f' {rating} A' if self.chance(stated) else ''}]"

    def part(self, text: str) -> None:
        self.lines.append(text)

    def run(self, text: str) -> None:
        self.runs.append(text)

    def text(self) -> str:
        head = f'system "Graph {self.seed}"\n  nominal {self.volts} V\n  rules {self.rules}\n  conductors {self.series}'
        if self.ac:
            head += "\n  ac 230 V"
        return "\n".join([head, *self.lines, *self.runs, *self._cases()]) + "\n"

    def _cases(self) -> list[str]:
        if not self.apart and not (self.parting and self.chance(0.7)) and not self.chance(0.3):
            return []
        choices = max((len(group) for group in self.apart), default=self.rng.randint(1, 2))
        found = []
        for n in range(choices):
            off = [name for group in self.apart for k, name in enumerate(group) if k != n % len(group)]
            off += [name for name in self.parting if self.chance(0.6)]
            on = list(self.loads) if n == 0 else [load for load in self.loads if self.chance(0.7)] or self.loads[:1]
            on += [source for source in self.sources if self.chance(0.3)]
            opened = f", off {', '.join(off)}" if off else ""
            found.append(f"case state-{n} on {', '.join(on)}{opened}")
        return found


def put_load(g: Graph, most: float = 12.0, volts: float = 0.0) -> str:
    """A load, its terminals free."""
    name = g.name("load")
    amperes = round(g.rng.choice((g.rng.uniform(0.3, 3), g.rng.uniform(1, most))), 1)
    volts = volts or g.volts
    amount = f"{amperes} A" if g.chance(0.6) else f"{round(amperes * volts)} W"
    if amount == "0 W":
        amount = "5 W"
    words = g.rng.choice(("", "", ", intermittent", ", drop 5 %", ", drop 8 %", ", drop 10 %"))
    said = f", {volts:g} V" if volts != g.volts else ""
    g.part(f"load {name} {amount}{said}{words}")
    g.loads.append(name)
    return name


def put_circuit(g: Graph, plus: str, minus: str, most: float = 15.0) -> None:
    """A load behind its own fuse at a bar or a post, back to a bar, a body or the bar beside."""
    load = put_load(g, most)
    metres, size = g.metres(), g.size(most * 1.3)
    switch = f" [{g.name('switch')}: switch 60 A] --" if g.chance(0.2) else ""
    g.run(f"{g.name('way')}: {plus} -- {g.fuse('fuse', most)} -- {metres} m{size} --{switch} {load}.pos")
    back, metres = (g.body, 0.3) if g.body and g.chance(0.6) else (minus, metres)
    g.run(f"{g.name('way')}: {load}.neg -- {metres} m{size} -- {back}")


def put_ways(g: Graph, panel: str, ways: int, volts: float) -> None:
    for way in range(1, ways + 1):
        load = put_load(g, 8, volts)
        rest = "".join(f" -- {g.metres(1, 3)} m -- {put_load(g, 2, volts)}" for _ in range(2) if g.chance(0.12))
        g.run(f"{panel}.{way} -//- {g.metres()} m -- {load}{rest}")
