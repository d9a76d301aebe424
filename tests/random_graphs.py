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
    plus: list[str] = field(default_factory=list)
    minus: list[str] = field(default_factory=list)
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


def graph(seed: int) -> str:
    """The plate of a seed."""
    rng = random.Random(seed)
    rules = rng.choice(("iso-13297", "iso-13297", "cfr-183", "iec-60364"))
    g = Graph(seed, rng, rng.choice((12, 12, 12, 24, 24, 48)), rules, "awg" if rules == "cfr-183" else "mm2")
    _bars(g)
    rng.choice((_one_bank, _units, _units, _selected, _relay, _relay, _feeder, _tied))(g)
    for habit, share in (
        (_returns, 0.25), (_ring, 0.2), (_fed_twice, 0.15), (_second_negative, 0.2), (_panel, 0.8), (_sub_panel, 0.35),
        (_posts, 0.35), (_splice, 0.35), (_float, 0.25), (_step, 0.35), (_between, 0.2), (_alternator, 0.35),
        (_array, 0.4), (_mains, 0.35),
    ):  # fmt: skip
        if g.chance(share):
            habit(g)
    for _ in range(rng.randint(1, 3)):
        _circuit(g, g.rng.choice(g.plus), g.rng.choice(g.minus))
    return g.text()


def _bars(g: Graph) -> None:
    g.plus, g.minus = ["plus"], ["minus"]
    g.part('bus plus "Positive bar" positive, 600 A')
    g.part('bus minus "Negative bar" negative, 600 A')


def _bank(g: Graph, lithium: bool | None = None) -> str:
    """A battery, its terminals free."""
    name = g.name("bank")
    lithium = g.chance(0.5) if lithium is None else lithium
    blocks = g.volts // 12
    series = blocks if g.chance(0.4) else 1
    one = blocks // series
    volts, low, high = (12.8, 12.0, 14.4) if lithium else (12.0, 11.8, 14.4)
    link = ", link 0.2 m" if series > 1 else ""
    stack = f", series {series}{link}" if series > 1 else ""
    kind = "lifepo4" if lithium else "agm"
    g.part(
        f"battery {name} {round(volts * one, 1)} V, {g.rng.choice((100, 200, 300))} Ah, {kind}{stack}, "
        f"range {round(low * one, 1)}..{round(high * one, 1)} V, full {round(high * one, 1)} V, "
        f"fault-current {g.rng.choice((0.9, 2, 3, 5))} kA"
    )
    g.banks.append(name)
    return name


def _lead(g: Graph, bank: str, plus: str, minus: str, amperes: float, device: str = "") -> None:
    """The two leads of a bank: a fuse on its post, perhaps a switch behind."""
    size = g.size(amperes * 1.4)
    metres = g.metres(0.4, 1.5)
    g.run(f"{g.name('lead')}: {bank}.pos -- {g.fuse('main', amperes, 0.6)} -- {metres} m{size} --{device} {plus}")
    g.run(f"{g.name('lead')}: {bank}.neg -- {metres} m{size} -- {minus}")


def _one_bank(g: Graph) -> None:
    amperes = g.rng.choice((80, 120, 200))
    device = f" [{g.name('isolator')}: switch 400 A] -- 0.3 m{g.size(amperes * 1.4)} --" if g.chance(0.5) else ""
    _lead(g, _bank(g), "plus", "minus", amperes, device)


def _units(g: Graph) -> None:
    """Two to four batteries side by side, each with its fuse, of one kind."""
    lithium = g.chance(0.6)
    for _ in range(g.rng.randint(2, 4)):
        _lead(g, _bank(g, lithium), "plus", "minus", g.rng.choice((80, 120)))


def _selected(g: Graph) -> None:
    """Two banks behind a selector each; a case has one or both."""
    names = []
    for _ in range(2):
        names.append(g.name("choose"))
        device = f" [{names[-1]}: selector 300 A] -- 0.4 m --"
        _lead(g, _bank(g, False), "plus", "minus", 120, device)
    g.apart.append(names)


def _relay(g: Graph) -> None:
    """A house bank, and a start bank with its alternator joined to it by a relay with a fuse at each end."""
    _lead(g, _bank(g), "plus", "minus", 120)
    start = _bank(g, False)
    g.run(f"{g.name('lead')}: {start}.neg -- {g.metres(0.4, 1.5)} m -- minus")
    alternator = g.name("alternator")
    amperes = g.rng.choice((50, 70, 90))
    g.part(f"alternator {alternator} {14.4 * g.volts / 12:.1f} V, {amperes} A, self-limiting")
    g.run(f"{g.name('lead')}: {start}.pos -- {g.fuse('alt', amperes)} -- 1 m -- {alternator}.pos")
    g.run(f"{g.name('lead')}: {alternator}.neg -- 1 m -- minus")
    relay = g.name("combine")
    g.run(
        f"{g.name('link')}: plus -- {g.fuse('near', amperes)} -- {g.metres()} m -- [{relay}: relay 200 A] -- 0.5 m -- "
        f"{g.fuse('far', amperes)} -- {start}.pos"
    )
    g.sources.append(alternator)
    g.parting.append(relay)


def _feeder(g: Graph) -> None:
    """A house bank and one at the end of a feeder, a fuse at each end, with bars of its own."""
    _lead(g, _bank(g), "plus", "minus", 120)
    far = _bank(g)
    bar, back = g.name("bar"), g.name("back")
    g.part(f'bus {bar} "Far bar" positive, 400 A')
    g.part(f'bus {back} "Far negative" negative, 400 A')
    size, metres = g.size(100, 0.8), g.metres(4, 10)
    g.run(f"{g.name('feeder')}: plus -- {g.fuse('near', 60)} -- {metres} m{size} -- {g.fuse('far', 60)} -- {bar}")
    g.run(f"{g.name('feeder')}: {back} -- {metres} m{size} -- minus")
    _lead(g, far, bar, back, 120)
    g.plus.append(bar)
    g.minus.append(back)
    _circuit(g, bar, back, 30)


def _tied(g: Graph) -> None:
    """Two banks with circuits of their own, a switch between them with a fuse at each end."""
    one, two = _bank(g, False), _bank(g, False)
    g.run(f"{g.name('lead')}: {two}.neg -- 0.5 m -- minus")
    _lead(g, one, "plus", "minus", 120)
    _circuit(g, f"{two}.pos", "minus", 10)
    tie = g.name("tie")
    g.run(f"{g.name('link')}: plus -- {g.fuse('near', 80)} -- 2 m -- [{tie}: switch 300 A] -- 1 m -- "
          f"{g.fuse('far', 80)} -- {two}.pos")  # fmt: skip
    g.parting.append(tie)


def _load(g: Graph, most: float = 12.0, volts: float = 0.0) -> str:
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


def _circuit(g: Graph, plus: str, minus: str, most: float = 15.0) -> None:
    """A load behind its own fuse at a bar or a post, back to a bar, a body or the bar beside."""
    load = _load(g, most)
    metres, size = g.metres(), g.size(most * 1.3)
    switch = f" [{g.name('switch')}: switch 60 A] --" if g.chance(0.2) else ""
    g.run(f"{g.name('way')}: {plus} -- {g.fuse('fuse', most)} -- {metres} m{size} --{switch} {load}.pos")
    back, metres = (g.body, 0.3) if g.body and g.chance(0.6) else (minus, metres)
    g.run(f"{g.name('way')}: {load}.neg -- {metres} m{size} -- {back}")


def _returns(g: Graph) -> None:
    """A body that carries returns, bonded to the negative bar."""
    g.body = "body"
    g.part(f"earth body conducts, {g.rng.choice((1, 2))} mohm")
    g.run(f"{g.name('bond')}: minus -- {g.metres(0.5, 2)} m{g.size(230, 0.5)} -- body")


def _ring(g: Graph) -> None:
    """Three or four bars in a ring that the first positive bar is part of."""
    bars = ["plus"]
    for _ in range(g.rng.randint(2, 3)):
        bars.append(g.name("ring"))
        g.part(f'bus {bars[-1]} "Bar in the ring" positive, 600 A')
    size = g.size(230, 0.6)
    for near, far in zip(bars, [*bars[1:], "plus"], strict=True):
        g.run(f"{g.name('piece')}: {near} -- {g.metres(1, 3)} m{size} -- {far}")
    g.plus += bars[1:]
    _circuit(g, bars[1], "minus", 20)


def _fed_twice(g: Graph) -> None:
    """A bar at the end of two cables, each with its fuse."""
    bar = g.name("twice")
    g.part(f'bus {bar} "Bar fed twice" positive, 400 A')
    size = g.size(85, 0.7)
    for _ in range(2):
        g.run(f"{g.name('cable')}: plus -- {g.fuse('twin', 40, 0.8)} -- {g.metres(3, 8)} m{size} -- {bar}")
    g.plus.append(bar)
    _circuit(g, bar, "minus", 10)


def _second_negative(g: Graph) -> None:
    bar = g.name("minus")
    g.part(f'bus {bar} "Second negative bar" negative, 400 A')
    g.run(f"{g.name('join')}: {bar} -- {g.metres(1, 5)} m{g.size(150, 0.5)} -- minus")
    g.minus.append(bar)
    _circuit(g, "plus", bar)


def _panel(g: Graph) -> None:
    """A panel whose circuits return to a negative bar."""
    panel, minus = g.name("panel"), g.rng.choice(g.minus)
    ways = g.rng.randint(1, 4)
    g.part(f"panel {panel} blade, ways 8, 100 A, return {minus}")
    g.run(f"{g.name('feed')}: {g.rng.choice(g.plus)} -- {g.fuse('feed', 40)} -- {g.metres()} m{g.size(60)} -- {panel}")
    _ways(g, panel, ways, 0.0)


def _ways(g: Graph, panel: str, ways: int, volts: float) -> None:
    for way in range(1, ways + 1):
        load = _load(g, 8, volts)
        rest = "".join(f" -- {g.metres(1, 3)} m -- {_load(g, 2, volts)}" for _ in range(2) if g.chance(0.12))
        g.run(f"{panel}.{way} -//- {g.metres()} m -- {load}{rest}")


def _sub_panel(g: Graph) -> None:
    """A panel with a negative of its own, fed by both poles from the bars."""
    panel, metres, size = g.name("sub"), g.metres(2, 6), g.size(40)
    g.part(f"panel {panel} blade, ways 6, 60 A")
    g.run(f"{g.name('feed')}: {g.rng.choice(g.plus)} -- {g.fuse('feed', 20)} -- {metres} m{size} -- {panel}.feed")
    g.run(f"{g.name('feed')}: {panel}.neg -- {metres} m{size} -- {g.rng.choice(g.minus)}")
    _ways(g, panel, g.rng.randint(1, 3), 0.0)


def _posts(g: Graph) -> None:
    """A small circuit from a battery's own posts."""
    bank, load = g.rng.choice(g.banks), _load(g, 3)
    g.run(f"{g.name('tap')}: {bank} -//- {g.fuse('tap', 4)} -- {g.metres(1, 4)} m -- {load}")


def _splice(g: Graph) -> None:
    """Two loads behind a splice of a pair, from the bars."""
    tee, back = g.name("tee"), g.name("tee")
    g.part(f"junction {tee}")
    g.part(f"junction {back}")
    g.run(f"{g.name('stem')}: {g.rng.choice(g.plus)} -- {g.fuse('stem', 12)} -- {g.metres()} m{g.size(20)} -- {tee}")
    g.run(f"{g.name('stem')}: {back} -- {g.metres()} m{g.size(20)} -- {g.rng.choice(g.minus)}")
    for _ in range(2):
        load, metres = _load(g, 5), g.metres(0.5, 3)
        g.run(f"{g.name('twig')}: {tee} -- {metres} m -- {load}.pos")
        g.run(f"{g.name('twig')}: {load}.neg -- {metres} m -- {back}")


def _float(g: Graph) -> None:
    """A pump by two ways, from a post and from a bar, of which a case opens one."""
    load = _load(g, 6)
    size = g.size(20)
    names = [g.name("float"), g.name("hand")]
    for start, name in zip((f"{g.rng.choice(g.banks)}.pos", g.rng.choice(g.plus)), names, strict=True):
        g.run(f"{g.name('way')}: {start} -- {g.fuse('pump', 8)} -- {g.metres()} m{size} -- [{name}: switch 40 A] -- "
              f"0.5 m{size} -- {load}.pos")  # fmt: skip
    g.run(f"{g.name('way')}: {load}.neg -- {g.metres()} m{size} -- {g.rng.choice(g.minus)}")
    g.apart.append(names)


def _step(g: Graph) -> None:
    """A converter to another voltage, isolated or with a common negative, and its panel."""
    name, panel = g.name("step"), g.name("other")
    volts = 24 if g.volts == 12 else 12
    common = g.chance(0.5)
    shared = common and g.chance(0.5)
    out = volts * 1.1
    g.part(f"converter {name} {g.rng.choice((10, 20, 30))} A, in {g.volts} V, out {out:.1f} V, efficiency 90 %, "
           f"{'common-negative' if common else 'isolated'}")  # fmt: skip
    minus = g.rng.choice(g.minus)
    g.run(f"{g.name('lead')}: {g.rng.choice(g.plus)} -- {g.fuse('step', 40)} -- {g.metres(1, 3)} m -- {name}.in.pos")
    g.run(f"{g.name('lead')}: {name}.in.neg -- {g.metres(1, 3)} m -- {minus}")
    g.part(f"panel {panel} blade, ways 6, 60 A{f', return {minus}' if shared else ''}")
    if shared:
        g.run(f"{g.name('lead')}: {name}.out.pos -- 1 m -- {panel}")
    else:
        g.run(f"{g.name('lead')}: {name}.out -//- 1 m -- {panel}")
    _ways(g, panel, g.rng.randint(1, 2), volts)


def _between(g: Graph) -> None:
    """A charging converter from the bars to a bank of its own, of the same voltage."""
    bank, name = _bank(g), g.name("charge")
    out = 14.4 * g.volts / 12
    common = "common-negative" if g.chance(0.5) else "isolated"
    g.part(f"converter {name} {g.rng.choice((15, 30))} A, in {g.volts} V, out {out:.1f} V, charges, {common}")
    g.run(f"{g.name('lead')}: {g.rng.choice(g.plus)} -- {g.fuse('charge', 50)} -- {g.metres(1, 4)} m -- {name}.in.pos")
    g.run(f"{g.name('lead')}: {name}.in.neg -- {g.metres(1, 4)} m -- minus")
    g.run(f"{g.name('lead')}: {bank} -//- {g.fuse('charge', 30)} -- {g.metres(1, 3)} m -- {name}.out")
    load = _load(g, 8)
    g.run(f"{g.name('tap')}: {bank} -//- {g.fuse('tap', 10)} -- {g.metres(1, 4)} m -- {load}")


def _alternator(g: Graph) -> None:
    name, amperes = g.name("alternator"), g.rng.choice((40, 60, 100))
    limit = ", self-limiting" if g.chance(0.8) else ""
    g.part(f"alternator {name} {14.4 * g.volts / 12:.1f} V, {amperes} A{limit}")
    where = g.rng.choice((g.rng.choice(g.plus), f"{g.rng.choice(g.banks)}.pos"))
    g.run(f"{g.name('lead')}: {where} -- {g.fuse('alt', amperes)} -- {g.metres(0.5, 3)} m -- {name}.pos")
    g.run(f"{g.name('lead')}: {name}.neg -- {g.metres(0.5, 2)} m -- {g.body or 'minus'}")
    g.sources.append(name)


def _array(g: Graph) -> None:
    """One or two controllers, each behind one to three strings."""
    for _ in range(g.rng.randint(1, 2)):
        name = g.name("controller")
        out = f"{14.4 * g.volts / 12:.1f}"
        g.part(f"controller {name} {g.rng.choice((20, 30, 50))} A, max-input 150 V, output {out} V")
        g.run(f"{g.name('lead')}: {g.rng.choice(g.plus)} -- {g.fuse('pv', 30)} -- {g.metres(0.5, 2)} m -- {name}.pos")
        g.run(f"{g.name('lead')}: {name}.neg -- {g.metres(0.5, 2)} m -- {g.rng.choice(g.minus)}")
        strings = g.rng.randint(1, 3)
        series = g.volts // 12
        for _ in range(strings):
            string = g.name("string")
            g.part(f"solar {string} 100 W, voc 24 V, isc 6 A, vmp 20 V, imp 5 A, series {series}, "
                   f"temp-coefficient -0.3 %/K, coldest -10 degC")  # fmt: skip
            fuse = f" {g.fuse('string', 10, 1)} -- 0.5 m, {'4 mm2' if g.series == 'mm2' else '12 AWG'} --"
            size = "4 mm2" if g.series == "mm2" else "12 AWG"
            g.run(
                f"{g.name('roof')}: {string} -//- {g.metres(2, 6)} m, {size} --{fuse if strings > 2 else ''} {name}.pv"
            )


def _mains(g: Graph) -> None:
    """Alternating current: a charger on shore power; or an inverter with a panel, that perhaps charges and hands shore
    or generator through."""
    g.ac = True
    plus, minus = g.rng.choice(g.plus), g.rng.choice(g.minus)
    guard = "poles 2, residual 30 mA, breaks 6 kA, curve c"
    inlet = g.name("inlet")
    shore = f"shore {inlet} 16 A, 230 V, bonds-neutral, fault-current 3 kA, earth-loop 0.4 ohm"
    out = f"{14.4 * g.volts / 12:.1f}"
    if g.chance(0.35):
        g.part(shore)
        charger = g.name("charger")
        g.part(f"charger {charger} {g.rng.choice((15, 30))} A, in 230 V, out {out} V")
        g.run(f"{g.name('ac')}: {inlet} -///- 1 m -- [{g.name('cb')}: breaker 16 A, {guard}] -- 3 m -- {charger}.ac-in")
        g.run(f"{g.name('lead')}: {plus} -- {g.fuse('charger', 30)} -- {g.metres(0.5, 2)} m -- {charger}.pos")
        g.run(f"{g.name('lead')}: {charger}.neg -- {g.metres(0.5, 2)} m -- {minus}")
        g.sources.append(inlet)
        return
    inverter, watts = g.name("inverter"), g.rng.choice((800, 1500, 2500))
    charges = g.chance(0.6)
    shares = ", shares-supply" if charges and g.chance(0.5) else ""
    pushed = f", charges {g.rng.choice((30, 60))} A{shares}" if charges else ""
    g.part(f"inverter {inverter} {watts} W, 230 V{pushed}, efficiency 90 %, bonds-neutral")
    metres, size = g.metres(0.5, 2), g.size(watts / g.volts * 1.6)
    g.run(
        f"{g.name('lead')}: {plus} -- {g.fuse('inverter', watts / g.volts * 1.2)} -- {metres} m{size} -- {inverter}.pos"
    )
    g.run(f"{g.name('lead')}: {inverter}.neg -- {metres} m{size} -- {minus}")
    board = g.name("board")
    g.part(f"panel {board} breaker, ac, ways 4, 25 A, breaks 6 kA, curve b")
    g.run(f"{g.name('ac')}: {inverter}.ac-out -///- [{g.name('cb')}: breaker 16 A, {guard}] -- 2 m -- {board}")
    for way in range(1, g.rng.randint(2, 3)):
        load = g.name("load")
        g.part(f"load {load} {g.rng.choice((100, 300, 600))} W, ac")
        g.loads.append(load)
        g.run(f"{board}.{way} -///- [10 A] -- {g.metres(2, 6)} m -- {load}")
    g.loads.append(inverter)
    if not charges:
        return
    g.part(shore)
    supplies = [inlet]
    if g.chance(0.4):
        supplies.append(g.name("generator"))
        g.part(f"generator {supplies[-1]} 3000 W, 230 V, bonds-neutral")
    names = [g.name("supply") for _ in supplies]
    for supply, name in zip(supplies, names, strict=True):
        chosen = f" [{name}: selector 25 A, poles 2] -- 1 m --" if len(supplies) > 1 else ""
        start = "1 m -- " if supply == inlet else ""
        g.run(f"{g.name('ac')}: {supply} -///- {start}[{g.name('cb')}: breaker 10 A, {guard}] -- 3 m --{chosen} "
              f"{inverter}.ac-in")  # fmt: skip
    if len(supplies) > 1:
        g.apart.append(names)
