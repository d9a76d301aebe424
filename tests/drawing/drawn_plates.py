"""Random plates as text: every topology that the sheets must draw, of invented systems.

`random_plate(seed)` always gives the same plate for the same seed. It varies the bank (one part or several, in
series, in parallel, linked or each on the bar), the bars (none, one, several of one voltage, a second voltage
behind a converter), panels with and without their own negative, taps, splices and rings, returns by a bar or by the
chassis, AC of one or two lines from shore, generator and inverter, series of sizes, papers, the number of circuits,
and names and titles.
"""

from __future__ import annotations

import itertools
import random

TITLES = (
    "Cabin lights", "Bilge pump", "Refrigerator", "Chart table lamp", "Fresh-water pump", "Radio", "USB sockets",
    "Horn", "Air heater", "Roof fan", "Macerator pump of the forward head with its non-return valve and switch",
    "Beleuchtung Vorschiff, Steuerbordseite", "Éclairage extérieur", "Насос питьевой воды", "船室照明", "Αντλία",
    "إنارة المقصورة", "L & N <lamp> \"quoted\" 'single'", "🔦 torch socket", "A",
    "Supercalifragilistic-instrument-cluster-supply",
)  # fmt: skip


class Writer:
    """Collects the statements of one plate."""

    def __init__(self, seed: int) -> None:
        self.random = random.Random(seed)
        self.lines: list[str] = []
        self.runs: list[str] = []
        self.names: set[str] = set()
        self.metric = self.random.random() < 0.6

    def name(self, stem: str) -> str:
        long = self.random.random() < 0.08
        base = f"{stem}-of-the-forward-engine-room-auxiliary" if long else stem
        number = 1
        name = base
        while name in self.names:
            number += 1
            name = f"{base}-{number}"
        self.names.add(name)
        return name

    def title(self) -> str:
        return self.random.choice(TITLES).replace('"', '\\"')

    def length(self, low: float, high: float) -> str:
        metres = self.random.uniform(low, high)
        return f"{metres:.1f} m" if self.metric else f"{metres * 3.28:.1f} ft"

    def chance(self, share: float) -> bool:
        return self.random.random() < share

    def back(self, terminal: str, target: str, length: str) -> None:
        """A run for the way back, written so that it takes its address from `terminal`."""
        far = target.endswith(".neg")
        self.run(f"{target} -- {length} -- {terminal}" if far else f"{terminal} -- {length} -- {target}")

    def say(self, line: str) -> None:
        self.lines.append(line)

    def run(self, line: str) -> None:
        self.runs.append(line)


def random_plate(seed: int) -> str:
    """A plate that resolves without an error finding of names or structure."""
    w = Writer(seed)
    pick = w.random
    nominal = pick.choice((12, 12, 12, 24, 48))
    ac = pick.choice(("", "", "120", "230", "120/240 V split"))
    w.say(f'system "{w.title()} {seed}"')
    w.say(f"  nominal {nominal} V")
    w.say("  rules " + ("iso-13297" if w.metric else "cfr-183"))
    w.say("  conductors " + ("mm2" if w.metric else "awg"))
    w.say("  units " + ("metric" if w.metric else "us"))
    w.say(f"  paper {pick.choice(('a4', 'a4', 'a3', 'letter'))}")
    if ac:
        w.say(f"  ac {ac}" if "split" in ac else f"  ac {ac} V")
    if w.chance(0.5):
        w.say(
            '  revision "B, after survey"\n  date "2026-11-25"\n  document "X-100"\n'
            '  client "Owner"\n  designer "Office"'
        )
    chassis = w.chance(0.3)
    plus, minus = _bars(w, nominal, chassis)
    if chassis:
        w.say('earth chassis "Chassis" conducts, 2 mohm')
        w.run(f"{minus} -- {w.length(0.3, 2)} -- chassis")
    elif w.chance(0.4) and minus != "house.neg":
        w.say('earth hull "Bonding plate"')
        w.run(f"{minus} -- {w.length(0.3, 2)}, {'16 mm2' if w.metric else '6 AWG'} -- hull")
    circuits = (1, 3, 8, 12, 20, 40, 150)[seed // 10 % 7] if seed % 10 == 0 else pick.randint(1, 24)
    panels = pick.choice((0, 1, 1, 1, 2, 3, 4)) if circuits > 1 else pick.choice((0, 1))
    feeds = [_panel(w, plus, minus, circuits) for _ in range(panels)]
    for number in range(circuits):
        if feeds and not (number == 0 and w.chance(0.3)):
            _branch(w, *pick.choice(feeds), chassis)
        else:
            _direct(w, plus, minus, chassis)
    _sources(w, plus, minus, nominal)
    if w.chance(0.15):
        _ring(w, plus, minus)
    if w.chance(0.3):
        _second_voltage(w, plus, minus, nominal)
    if ac:
        _alternating(w, plus, minus, nominal, ac)
    return "\n".join([*w.lines, *w.runs]) + "\n"


def _battery(w: Writer, name: str, nominal: int) -> str:
    series = {12: 1, 24: w.random.choice((1, 2)), 48: w.random.choice((1, 4))}[nominal]
    volts = {12: 12.8, 24: 25.6, 48: 51.2}[nominal] / series
    parallel = w.random.choice((1, 1, 2, 3, 5))
    more = f", series {series}" * (series > 1) + f", parallel {parallel}" * (parallel > 1)
    more += f", link {w.length(0.2, 0.4)}" if series * parallel > 1 else ""
    return f'battery {name} "{w.title()}" {volts:g} V, 100 Ah, lifepo4{more}, fault-current 3 kA'


def _bars(w: Writer, nominal: int, chassis: bool) -> tuple[str, str]:
    """The bank and its bars; returns what everything else lands on."""
    w.names |= {"house", "plus", "minus", "chassis", "hull"}
    kind = w.random.choice(("none", "one", "one", "one", "several", "linked"))
    if kind == "none":
        w.say(_battery(w, "house", nominal))
        return "house.pos", "house.neg"
    w.say(f'bus plus "{w.title()}" positive, 400 A')
    w.say("bus minus negative, 400 A")
    if kind in ("several", "linked"):
        count = w.random.randint(2, 4)
        names = [w.name("bat") for _ in range(count)]
        for name in names:
            volts = {12: 12.8, 24: 25.6, 48: 51.2}[nominal]
            w.say(f'battery {name} "{w.title()}" {volts} V, 100 Ah, lifepo4, fault-current 3 kA')
        if kind == "several":
            for name in names:
                w.run(
                    f"{name}.pos -- {w.length(0.2, 1)} -- [{w.name('m')}: fuse class-t] -- {w.length(0.2, 1)} -- plus"
                )
                w.run(f"{name}.neg -- {w.length(0.2, 1)} -- minus")
        else:
            for pair, (one, two) in enumerate(itertools.pairwise(names)):
                w.run(f"up{pair}: {one}.pos -- {w.length(0.2, 0.5)} -- {two}.pos")
                w.run(f"low{pair}: {one}.neg -- {w.length(0.2, 0.5)} -- {two}.neg")
            w.run(f"{names[0]}.pos -- {w.length(0.2, 1)} -- [main: fuse class-t] -- {w.length(0.2, 1)} -- plus")
            w.run(f"{names[-1]}.neg -- {w.length(0.2, 1)} -- [shunt 500 A] -- {w.length(0.2, 1)} -- minus")
    else:
        w.say(_battery(w, "house", nominal))
        middle = " -- [isolator: switch 400 A]" if w.chance(0.6) else ""
        last = f" -- {w.length(0.2, 2)} --" if middle else " --"
        w.run(f"house.pos -- {w.length(0.2, 1)} -- [main: fuse class-t] -- {w.length(0.2, 1)}{middle}{last} plus")
        shunt = f" -- [meter: shunt 500 A] -- {w.length(0.2, 1)}" if w.chance(0.5) else ""
        w.run(f"house.neg -- {w.length(0.2, 1)}{shunt} -- minus")
    if w.chance(0.25):
        w.say(f'bus aft-plus "{w.title()}" positive, 150 A')
        w.names.add("aft-plus")
        kind = w.random.choice(("switch", "selector"))
        w.run(
            f"plus -- [aft: fuse class-t] -- {w.length(1, 6)} -- [aft-switch: {kind} 200 A] "
            f"-- {w.length(0.3, 1)} -- aft-plus"
        )
        for _ in range(w.random.randint(1, 3)):
            _direct(w, "aft-plus", "minus", False)
    return "plus", "minus"


def _panel(w: Writer, plus: str, minus: str, circuits: int) -> tuple[str, str]:
    """A panel and where the negatives of its circuits land ("" for its own negative)."""
    name = w.name("panel")
    own = minus == "house.neg" or w.chance(0.4)
    back = "" if own else f", return {minus}"
    ways = f", ways {circuits + w.random.randint(0, 5)}" if w.chance(0.4) else ""
    w.say(f'panel {name} "{w.title()}" blade{ways}{back}')
    fuse = "[fuse single-bolt] -- " if w.chance(0.8) else f"{w.length(0.1, 0.2)} -- [{w.name('pf')}: fuse] -- "
    w.run(f"{plus} -- {fuse}{w.length(0.3, 4)} -- {name}.feed")
    if own:
        w.back(f"{name}.neg", minus, w.length(0.3, 4))
    return name, "" if own else minus


def _load(w: Writer) -> str:
    name = w.name(w.random.choice(("lamp", "pump", "fan", "radio", "plotter", "heater")))
    size = w.random.choice((f"{w.random.uniform(0.2, 8):.1f} A", f"{w.random.randint(5, 90)} W", "6 x 0.2 A"))
    w.say(f'load {name} "{w.title()}" {size}, drop 10 %')
    return name


def _branch(w: Writer, panel: str, back: str, chassis: bool) -> None:
    """One way of a panel: plain, with a switch in it, with taps, behind a splice, or back by the chassis."""
    shape = w.random.random()
    if chassis and shape < 0.3:
        load = _load(w)
        w.run(f"{panel} -- {w.length(1, 8)} -- {load}.pos")
        w.run(f"{load}.neg -- {w.length(0.1, 1)} -- chassis")
    elif shape < 0.4:
        taps = [_load(w) for _ in range(w.random.randint(2, 4))]
        w.run(f"{panel} -//- {w.length(1, 5)} -- " + f" -- {w.length(0.5, 2)} -- ".join(taps))
    elif shape < 0.5:
        splice = w.name("splice")
        w.say(f"junction {splice}")
        w.run(f"{panel} -- {w.length(1, 4)} -- {splice}")
        for load in [_load(w) for _ in range(w.random.randint(1, 3))]:
            w.run(f"{splice} -- {w.length(0.5, 3)} -- {load}.pos")
            w.back(f"{load}.neg", back or f"{panel}.neg", w.length(1, 6))
    elif shape < 0.6:
        load = _load(w)
        device = w.random.choice(("switch 20 A", "relay 30 A", "breaker 10 A, poles 2", "fuse blade 5 A"))
        w.run(f"{panel} -//- {w.length(1, 4)} -- [{w.name('dev')}: {device}] -- {w.length(0.5, 3)} -- {load}")
    else:
        w.run(f"{panel} -//- {w.length(0.5, 9)} -- {_load(w)}")


def _direct(w: Writer, plus: str, minus: str, chassis: bool) -> None:
    load = _load(w)
    devices = f"[{w.name('df')}: fuse] -- {w.length(0.5, 5)}"
    if w.chance(0.4):
        devices = f"{w.length(0.1, 0.2)} -- {devices} -- [{w.name('ds')}: switch 30 A] -- {w.length(0.5, 2)}"
    if w.chance(0.1):
        devices += f" -- [{w.name('dr')}: relay 40 A] -- {w.length(0.2, 1)}"
        devices += f" -- [{w.name('dx')}: fuse blade] -- {w.length(0.2, 1)}"
    w.run(f"{plus} -- {devices} -- {load}.pos")
    w.back(f"{load}.neg", "chassis" if chassis and w.chance(0.5) else minus, w.length(0.5, 6))


def _ring(w: Writer, plus: str, minus: str) -> None:
    """A feeder that leaves the bar twice and meets itself at splices, with loads at some of them."""
    splices = [w.name("joint") for _ in range(w.random.randint(2, 4))]
    for splice in splices:
        w.say(f"junction {splice}")
    for place, (one, two) in enumerate(itertools.pairwise((plus, *splices, plus))):
        first = f"[{w.name('ra')}: fuse] -- " if place == 0 else ""
        last = f" -- [{w.name('rb')}: fuse]" if two == plus and place else ""
        w.run(f"ring{place}: {one} -- {first}{w.length(0.5, 4)}{last} -- {two}")
    for splice in splices[: w.random.randint(1, len(splices))]:
        load = _load(w)
        w.run(f"{splice} -- [{w.name('rf')}: fuse] -- {w.length(0.5, 3)} -- {load}.pos")
        w.back(f"{load}.neg", minus, w.length(0.5, 4))


def _sources(w: Writer, plus: str, minus: str, nominal: int) -> None:
    if w.chance(0.5):
        array, controller = w.name("array"), w.name("mppt")
        w.say(
            f'solar {array} "{w.title()}" 200 W, voc 45 V, isc 6 A, vmp 37 V, imp 5.4 A'
            f", parallel {w.random.choice((1, 2))}"
        )
        w.say(f'controller {controller} "{w.title()}" 30 A, max-input 150 V, output {nominal * 1.2:.1f} V')
        w.run(f"{plus} -- [fuse single-bolt] -- {w.length(0.3, 2)} -- {controller}.pos")
        w.back(f"{controller}.neg", minus, w.length(0.3, 2))
        device = f"[{w.name('pv')}: breaker 20 A, poles 2] -- {w.length(0.3, 2)} -- " if w.chance(0.5) else ""
        w.run(f"{array} -//- {w.length(2, 8)} -- {device}{controller}.pv")
    if w.chance(0.4):
        name = w.name("alternator")
        w.say(f'alternator {name} "{w.title()}" 60 A, {nominal} V, self-limiting')
        w.run(f"{plus} -- [{w.name('af')}: fuse class-t] -- {w.length(1, 4)} -- {name}.pos")
        w.back(f"{name}.neg", minus, w.length(1, 4))
    if w.chance(0.3):
        starter, charger = w.name("starter"), w.name("dcdc")
        w.say(f'battery {starter} "{w.title()}" 12 V, 80 Ah, agm, fault-current 3 kA')
        w.say(f'converter {charger} "{w.title()}" 20 A, in 12 V, out {nominal} V, common-negative, charges')
        w.run(f"{plus} -- [fuse single-bolt] -- {w.length(0.3, 2)} -- {charger}.out.pos")
        w.run(
            f"{starter}.pos -- {w.length(0.2, 0.4)} -- [{w.name('sf')}: fuse single-bolt] "
            f"-- {w.length(1, 4)} -- {charger}.in.pos"
        )
        w.back(f"{charger}.in.neg", minus, w.length(0.3, 2))
        w.back(f"{starter}.neg", minus, w.length(0.3, 2))


def _second_voltage(w: Writer, plus: str, minus: str, nominal: int) -> None:
    """Another voltage behind a converter: straight to a load, to a panel of its own, or to bars of its own."""
    converter = w.name("converter")
    other = 12 if nominal > 12 else 24
    w.say(f'converter {converter} "{w.title()}" 20 A, in {nominal} V, out {other} V')
    w.run(f"{plus} -- [fuse single-bolt] -- {w.length(0.3, 3)} -- {converter}.in.pos")
    w.back(f"{converter}.in.neg", minus, w.length(0.3, 3))
    kind = w.random.choice(("load", "panel", "bars"))
    if kind == "load":
        w.run(f"{converter}.out -//- {w.length(0.5, 4)} -- {_load(w)}")
        return
    if kind == "bars":
        high, low = w.name("second-plus"), w.name("second-minus")
        w.say(f"bus {high} positive, 100 A")
        w.say(f"bus {low} negative, 100 A")
        w.run(
            f"{converter}.out.pos -- {w.length(0.2, 1)} -- [{w.name('of')}: fuse single-bolt] "
            f"-- {w.length(0.2, 1)} -- {high}"
        )
        w.run(f"{converter}.out.neg -- {w.length(0.2, 1)} -- {low}")
        feed = _panel(w, high, low, 8)
        _direct(w, high, low, False)
    else:
        name = w.name("panel")
        w.say(f'panel {name} "{w.title()}" blade')
        w.run(f"{converter}.out -//- {w.length(0.5, 3)} -- {name}")
        feed = (name, "")
    for _ in range(w.random.randint(1, 5)):
        _branch(w, *feed, False)


def _alternating(w: Writer, plus: str, minus: str, nominal: int, ac: str) -> None:
    """An inverter, a shore supply, or both, with a panel or loads behind them."""
    split = "split" in ac
    volts = "240" if split else ac
    stroke = "-////-" if split else "-///-"
    inverter, shore = w.chance(0.6) and not split, split or w.chance(0.6)
    panel = w.name("ac-panel")
    w.say(f'panel {panel} "{w.title()}" ac, 30 A')
    earth = ""
    if shore:
        dock = w.name("dock")
        w.say(f'shore {dock} "{w.title()}" 30 A, {volts} V')
        poles = 3 if split else 2
        w.run(
            f"{dock} {stroke} {w.length(1, 5)} -- [{w.name('inlet')}: breaker 30 A, poles {poles}, residual 30 mA] "
            f"-- {w.length(0.5, 3)} -- {panel}"
        )
        earth = f"{panel}.pe"
        if w.chance(0.4):
            engine = w.name("genset")
            w.say(f'generator {engine} "{w.title()}" 20 A, {volts} V')
            selector = f"[{w.name('over')}: selector 30 A, poles {poles}]"
            w.run(f"from-{engine}: {engine} {stroke} {w.length(1, 5)} -- {selector} -- {w.length(0.5, 3)} -- {panel}")
    if inverter or not shore:
        name = w.name("inverter")
        w.say(f'inverter {name} "{w.title()}" 1500 W, {volts} V')
        w.run(f"{plus} -- [fuse class-t] -- {w.length(0.3, 2)} -- {name}.pos")
        w.back(f"{name}.neg", minus, w.length(0.3, 2))
        if not shore:
            w.run(f"{name}.ac-out {stroke} {w.length(0.5, 3)} -- {panel}")
            earth = f"{panel}.pe"
        else:
            load = _ac_load(w)
            w.run(f"{name}.ac-out {stroke} [{w.name('brk')}: breaker 10 A] -- {w.length(0.5, 3)} -- {load}")
    for _ in range(w.random.choice((1, 2, 4, 9))):
        loads = [_ac_load(w) for _ in range(w.random.choice((1, 1, 1, 2)))]
        w.run(
            f"{panel} -///- [{w.random.choice((10, 15, 20))} A] -- {w.length(1, 9)} -- "
            + f" -- {w.length(1, 3)} -- ".join(loads)
        )
    if shore and w.chance(0.4):
        charger = w.name("charger")
        w.say(f'charger {charger} "{w.title()}" 30 A, in {"120" if split else volts} V, out {nominal * 1.2:.1f} V')
        w.run(f"{panel} -///- [10 A] -- {w.length(1, 4)} -- {charger}.ac-in")
        w.run(f"{plus} -- [fuse single-bolt] -- {w.length(0.3, 2)} -- {charger}.pos")
        w.back(f"{charger}.neg", minus, w.length(0.3, 2))
    if earth:
        w.say('earth ac-earth "Main earth"')
        w.run(f"{earth} -- {w.length(1, 3)}, {'10 mm2' if w.metric else '8 AWG'} -- ac-earth")


def _ac_load(w: Writer) -> str:
    name = w.name(w.random.choice(("kettle", "outlets", "boiler", "cooker")))
    w.say(f'load {name} "{w.title()}" {w.random.randint(100, 1500)} W, ac')
    return name
