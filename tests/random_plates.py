"""Random plates, drawn from a seed as a description and written as text: for tests that hold for every plate.

A description is a tree of frozen values, so that a test can make one run longer, one place hotter or one load larger
and write the plate again. Everything is an invention; figures are of the usual range for small 12 to 48 V systems.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field, replace
from typing import Literal

AWG = ("16 AWG", "14 AWG", "12 AWG", "10 AWG", "8 AWG", "6 AWG", "4 AWG", "2 AWG")
MM2 = ("1.5 mm2", "2.5 mm2", "4 mm2", "6 mm2", "10 mm2", "16 mm2", "25 mm2", "35 mm2")


@dataclass(frozen=True)
class Route:
    """A place that runs share."""

    name: str
    metres: float
    ambient_c: float | None = None
    engine_space: bool = False
    laid: str = ""

    def text(self) -> str:
        words = [f"{self.metres} m"]
        words += [f"ambient {self.ambient_c} degC"] if self.ambient_c is not None else []
        words += ["engine-space"] if self.engine_space else []
        words += [self.laid] if self.laid else []
        return f"route {self.name} {', '.join(words)}"


@dataclass(frozen=True)
class Load:
    """A consumer on its own branch. `at` is a panel, a positive bar, or a load that it is tapped from."""

    name: str
    at: str
    unit: Literal["A", "W", "ohm"]
    amount: float
    metres: float
    way: int | None = None
    back: str = ""
    count: int = 1
    words: tuple[str, ...] = ()
    routes: tuple[str, ...] = ()
    run_words: tuple[str, ...] = ()
    device: str = "fuse"
    junction_at: float | None = None
    """Share of the way at which a junction parts the run in two, both of the run's words."""

    def part(self) -> str:
        times = f"{self.count} x " if self.count > 1 else ""
        return ", ".join((f"load {self.name} {times}{round(self.amount, 6)} {self.unit}", *self.words))


@dataclass(frozen=True)
class Battery:
    """A bank with its two leads to the bars `plus` and `minus`."""

    name: str
    volts: float
    ah: float
    chemistry: str
    metres: float
    series: int = 1
    parallel: int = 1
    low: float = 0.0
    high: float = 0.0
    fault_ka: float = 3.0
    lead_words: tuple[str, ...] = ()

    def part(self) -> str:
        words = [f"battery {self.name} {self.volts} V, {self.ah} Ah, {self.chemistry}"]
        words += [f"series {self.series}"] if self.series > 1 else []
        words += [f"parallel {self.parallel}"] if self.parallel > 1 else []
        words += ["link 0.3 m"] if self.series * self.parallel > 1 else []
        return ", ".join(words) + f"\n  range {self.low}..{self.high} V\n  fault-current {self.fault_ka} kA"


@dataclass(frozen=True)
class Panel:
    """A panel fed from `plus`; `shared` returns to the bar, else a feeder pair brings both poles."""

    name: str
    metres: float
    shared: bool
    ways: int = 12
    family: str = "blade"
    run_words: tuple[str, ...] = ()


@dataclass(frozen=True)
class Converter:
    """From the bars to a panel of its own with another voltage."""

    name: str
    amperes: float
    in_v: float
    out_v: float
    metres: float
    common: bool = False

    def part(self) -> str:
        kind = "common-negative" if self.common else "isolated"
        words = f"in {self.in_v} V, out {self.out_v} V, efficiency 92 %, {kind}"
        return f"converter {self.name} {self.amperes} A, {words}"


@dataclass(frozen=True)
class Plate:
    """A whole plate. `inverter_w` puts an inverter with AC loads on the bars; `ring` closes a ring through loads."""

    nominal_v: float
    rules: str
    series: Literal["awg", "mm2"]
    ambient_c: float
    insulation_c: float
    batteries: tuple[Battery, ...]
    panels: tuple[Panel, ...]
    loads: tuple[Load, ...]
    routes: tuple[Route, ...] = ()
    converters: tuple[Converter, ...] = ()
    inverter_w: float = 0.0
    ac_loads: tuple[tuple[str, float, float], ...] = ()
    ring: tuple[float, ...] = ()
    ring_a: float = 0.0
    chassis: bool = False
    cases: tuple[str, ...] = ()
    extra: tuple[str, ...] = field(default=())

    def blocks(self) -> list[str]:
        """The statements, each a text of one or more lines; `system` first."""
        head = f'system "Random"\n  nominal {self.nominal_v} V\n  rules {self.rules}\n  conductors {self.series}\n'
        head += f"  ambient {self.ambient_c} degC\n  insulation {self.insulation_c} degC"
        head += "\n  ac 120 V" if self.inverter_w else ""
        found = [head, *(route.text() for route in self.routes), *(battery.part() for battery in self.batteries)]
        found += ["bus plus positive, 600 A", "bus minus negative, 600 A"]
        if self.chassis:
            found.append("earth hull conducts, 1 mohm")
        for battery in self.batteries:
            words = "".join(f", {word}" for word in battery.lead_words)
            lead = f"[{battery.name}-main: fuse class-t]"
            found.append(f"{battery.name}.pos -- 0.15 m{words} -- {lead} -- {battery.metres} m{words} -- plus")
            found.append(f"{battery.name}.neg -- {round(battery.metres + 0.15, 3)} m{words} -- minus")
        for panel in self.panels:
            shared = ", return minus" if panel.shared else ""
            found.append(f"panel {panel.name} {panel.family}, ways {panel.ways}{shared}")
            words = "".join(f", {word}" for word in panel.run_words)
            stroke = "--" if panel.shared else "-//-"
            start = "plus" if panel.shared else "bars"
            if panel.shared:
                found.append(
                    f"{start} {stroke} [{panel.name}-feed: fuse class-t] -- {panel.metres} m{words} -- {panel.name}"
                )
            else:
                found.append(
                    f"plus -- [{panel.name}-feed: fuse class-t] -- {panel.metres} m{words} -- {panel.name}.feed"
                )
                found.append(f"{panel.name}.neg -- {panel.metres} m{words} -- minus")
        for converter in self.converters:
            found.append(converter.part())
            found.append(
                f"plus -- [{converter.name}-fuse: fuse class-t] -- {converter.metres} m -- {converter.name}.in.pos"
            )
            found.append(f"{converter.name}.in.neg -- {converter.metres} m -- minus")
            found.append(f"panel {converter.name}-panel blade, ways 8")
            found.append(f"{converter.name}.out -//- 0.8 m -- {converter.name}-panel")
        tapped = {load.at for load in self.loads}
        for load in self.loads:
            found.append(load.part())
            if load.at not in {other.name for other in self.loads}:
                found += self._branch(load, [other for other in self.loads if other.at == load.name])
        assert tapped
        if self.inverter_w:
            found.append(f"inverter inv {self.inverter_w} W, 120 V, efficiency 90 %, bonds-neutral")
            found.append("plus -- [inv-fuse: fuse class-t] -- 1.1 m -- inv.pos")
            found.append("inv.neg -- 1.2 m -- minus")
            for name, watts, metres in self.ac_loads:
                found.append(f"load {name} {watts} W, ac")
                found.append(f"inv.ac-out -///- [{name}-cb: breaker, residual 30 mA] -- {metres} m -- {name}")
        if self.ring:
            names = [f"ring-{n}" for n in range(1, len(self.ring))]
            found += [f"junction {name}" for name in names]
            chain = ["plus", *names, "plus"]
            for n, metres in enumerate(self.ring):
                near = "[ring-a: fuse class-t] -- " if n == 0 else ""
                far = " -- [ring-b: fuse class-t]" if n + 1 == len(self.ring) else ""
                found.append(f"ring-run-{n}: {chain[n]} -- {near}{metres} m{far} -- {chain[n + 1]}")
            for n, name in enumerate(names):
                found.append(f"load ring-load-{n} {self.ring_a} A, drop 10 %")
                found.append(f"{name} -- [ring-fuse-{n}: fuse class-t] -- 1.2 m -- ring-load-{n}.pos")
                found.append(f"ring-load-{n}.neg -- 2.1 m -- minus")
        return [*found, *self.cases, *self.extra]

    def _branch(self, load: Load, taps: list[Load]) -> list[str]:
        words = "".join(f", {word}" for word in load.run_words)
        way = "".join(f"via {route}, " for route in load.routes)
        if load.way is not None:
            line = f"{load.at}.{load.way} -//- {way}{load.metres} m{words} -- {load.name}"
            if load.junction_at is not None:
                first = round(load.metres * load.junction_at, 6)
                rest = round(load.metres - first, 6)
                line = f"{load.at}.{load.way} -//- {way}{first} m{words} -- {load.name}-joint"
                line2 = f"{load.name}-joint -//- {rest} m{words} -- {load.name}"
                return [f"junction {load.name}-joint", line, line2]
            for tap in taps:
                line += f" -- {tap.metres} m -- {tap.name}"
            return [line]
        back = load.back or "minus"
        first = f"plus -- [{load.name}-fuse: {load.device} class-t] -- {way}{load.metres} m{words} -- {load.name}.pos"
        if load.device == "breaker":
            first = first.replace("breaker class-t", "breaker")
        return [first, f"{load.name}.neg -- {way}{load.metres} m{words} -- {back}"]

    def text(self) -> str:
        return "\n".join(self.blocks()) + "\n"

    def with_load(self, name: str, **changes: object) -> Plate:
        """The plate with one load changed."""
        loads = tuple(replace(load, **changes) if load.name == name else load for load in self.loads)  # type: ignore[arg-type]
        return replace(self, loads=loads)


Kind = Literal["radial", "looped", "any"]


def plate(seed: int, kind: Kind = "any", least: int = 3, most: int = 14) -> Plate:
    """The plate of a seed. "radial" has one bank and no ring; "looped" has a ring or several banks."""
    rng = random.Random(seed)
    nominal = rng.choice((12.0, 12.0, 12.0, 24.0, 48.0))
    rules = rng.choice(("cfr-183", "cfr-183", "iso-13297", "nec", "iec-60364"))
    series: Literal["awg", "mm2"] = "awg" if rules in ("cfr-183", "nec") else "mm2"
    sizes = AWG if series == "awg" else MM2
    banks = 1 if kind == "radial" or (kind == "any" and rng.random() < 0.7) else rng.randint(2, 3)
    ring: tuple[float, ...] = ()
    if (kind == "looped" and (banks == 1 or rng.random() < 0.4)) or (kind == "any" and rng.random() < 0.15):
        ring = tuple(round(rng.uniform(0.6, 4), 2) for _ in range(rng.randint(3, 5)))
    routes = tuple(_route(rng, n) for n in range(rng.randint(0, 3)))
    panels = tuple(
        Panel(
            f"panel-{n}",
            round(rng.uniform(0.5, 5), 2),
            rng.random() < 0.6,
            12,
            "blade" if nominal < 48 else "breaker",
            run_words=_words(rng, sizes[-3:], 0.1),
        )
        for n in range(rng.randint(1, 3))
    )
    converters = (
        (
            Converter(
                "conv",
                40.0,
                nominal,
                24.0 if nominal == 12 else 12.0,
                round(rng.uniform(0.5, 3), 2),
                rng.random() < 0.5,
            ),
        )
        if rng.random() < 0.25
        else ()
    )
    hosts = [panel.name for panel in panels] + [f"{c.name}-panel" for c in converters]
    free = {host: list(range(1, (8 if host.endswith("-panel") else 12) + 1)) for host in hosts}
    loads: list[Load] = []
    for n in range(rng.randint(least, most)):
        loads.append(_load(rng, n, nominal, hosts, free, loads, routes, sizes))
    chassis = nominal < 48 and rng.random() < 0.15
    if chassis:
        loads = [replace(load, back="hull") if load.way is None else load for load in loads]
    inverter = round(rng.uniform(300, 1500)) if rng.random() < 0.25 else 0.0
    ac_loads = tuple(
        (f"ac-{n}", round(rng.uniform(40, 400)), round(rng.uniform(2, 12), 1)) for n in range(rng.randint(0, 2))
    )
    return Plate(
        nominal_v=nominal,
        rules=rules,
        series=series,
        ambient_c=rng.choice((25.0, 30.0, 35.0, 40.0)),
        insulation_c=rng.choice((75.0, 90.0, 105.0)) if rules == "cfr-183" else 90.0,
        batteries=tuple(_battery(rng, n, nominal) for n in range(banks)),
        panels=panels,
        loads=tuple(loads),
        routes=routes,
        converters=converters,
        inverter_w=inverter,
        ac_loads=ac_loads if inverter else (),
        ring=ring,
        ring_a=round(rng.uniform(0.5, 6), 2),
        chassis=chassis,
        cases=_cases(rng, loads, inverter),
        extra=("hull -- 1.2 m -- minus",) if chassis else (),
    )


def _words(rng: random.Random, sizes: tuple[str, ...], share: float) -> tuple[str, ...]:
    found: list[str] = []
    if rng.random() < share:
        found.append(rng.choice(sizes))
    if rng.random() < 0.05:
        found.append("parallel 2")
    return tuple(found)


def _route(rng: random.Random, n: int) -> Route:
    engine = rng.random() < 0.2
    ambient = None if engine or rng.random() < 0.5 else rng.choice((35.0, 40.0, 45.0, 50.0))
    return Route(
        f"route-{n}",
        round(rng.uniform(0.5, 5), 2),
        ambient,
        engine,
        rng.choice(("", "", "conduit", "bundle", "free-air")),
    )


def _battery(rng: random.Random, n: int, nominal: float) -> Battery:
    chemistry = rng.choice(("lifepo4", "agm", "gel", "flooded"))
    series = 1 if rng.random() < 0.6 else round(nominal / 12)
    volts = nominal / series * (12.8 / 12 if chemistry == "lifepo4" else 1.0)
    blocks = nominal / series / 12
    low, high = (12.0, 14.4) if chemistry == "lifepo4" else (11.8, 14.4)
    return Battery(
        f"bank-{n}", round(volts, 2), float(rng.choice((80, 100, 200, 280))), chemistry,
        round(rng.uniform(0.3, 2.5), 2), series, rng.choice((1, 1, 2)), round(low * blocks, 2), round(high * blocks, 2),
        rng.choice((1.5, 3.0, 5.0)),
    )  # fmt: skip


def _load(
    rng: random.Random, n: int, nominal: float, hosts: list[str], free: dict[str, list[int]], loads: list[Load],
    routes: tuple[Route, ...], sizes: tuple[str, ...],
) -> Load:  # fmt: skip
    name = f"load-{n}"
    unit: Literal["A", "W", "ohm"] = rng.choice(("A", "W", "ohm"))
    amperes = rng.choice((rng.uniform(0.1, 2), rng.uniform(0.5, 8)))
    host = rng.choice(hosts)
    volts = nominal if not host.startswith("conv") else (24.0 if nominal == 12 else 12.0)
    words: list[str] = []
    if rng.random() < 0.3:
        words.append(f"drop {rng.choice((2, 3, 5, 10))} %")
    if rng.random() < 0.15:
        words.append("critical")
    if rng.random() < 0.2:
        words.append("intermittent")
    if rng.random() < 0.15:
        words.append(f"works {round(volts * 0.85, 2)}..{round(volts * 1.32, 2)} V")
    if rng.random() < 0.3:
        words.append(f"daily {rng.randint(1, 24)} h")
    through = tuple(route.name for route in routes if rng.random() < 0.4)
    metres = round(rng.uniform(0.5, 9), 2)
    tapping = [load for load in loads if load.way is not None and not load.run_words and load.at == host]
    if tapping and rng.random() < 0.12:
        onto = rng.choice(tapping)
        if all(load.at != onto.name for load in loads):
            return Load(name, onto.name, unit, _amount(unit, min(amperes, 2), volts), metres, words=tuple(words))
    count = rng.randint(2, 6) if unit == "A" and rng.random() < 0.2 else 1
    amperes = amperes / count
    run_words = _words(rng, sizes[2:5], 0.12)
    if rng.random() < 0.2:
        bare = rng.uniform(2, 40) if rng.random() < 0.5 else amperes
        return Load(
            name, "plus", unit, _amount(unit, bare, nominal), metres,
            words=tuple(w for w in words if "works" not in w),
            routes=through, device=rng.choice(("fuse", "breaker")),
        )  # fmt: skip
    way = free[host].pop(0) if free[host] else None
    if way is None:
        return Load(name, "plus", unit, _amount(unit, amperes, nominal), metres, routes=through)
    return Load(
        name, host, unit, _amount(unit, amperes, volts), metres, way, count=count, words=tuple(words), routes=through,
        run_words=run_words,
    )  # fmt: skip


def _amount(unit: str, amperes: float, volts: float) -> float:
    amount = {"A": amperes, "W": amperes * volts, "ohm": volts / amperes}[unit]
    return round(amount, 3)


def _cases(rng: random.Random, loads: list[Load], inverter: float) -> tuple[str, ...]:
    if rng.random() < 0.7:
        return ()
    found = []
    names = [load.name for load in loads] + (["inv"] if inverter else [])
    for n in range(rng.randint(1, 2)):
        on = [name for name in names if rng.random() < 0.6] or names[:1]
        share = f"\n  share {on[0]} {rng.choice((40, 60))} %" if rng.random() < 0.3 else ""
        found.append(f"case case-{n} on {', '.join(on)}{share}")
    return tuple(found)
