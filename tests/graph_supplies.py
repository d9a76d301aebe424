"""Converters, alternators, arrays and alternating current of random plates."""

from __future__ import annotations

from graph_banks import put_bank
from graph_plate import Graph, put_load, put_ways


def converter(g: Graph) -> None:
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
    put_ways(g, panel, g.rng.randint(1, 2), volts)


def charging_converter(g: Graph) -> None:
    """A charging converter from the bars to a bank of its own, of the same voltage."""
    bank, name = put_bank(g), g.name("charge")
    out = 14.4 * g.volts / 12
    common = "common-negative" if g.chance(0.5) else "isolated"
    g.part(f"converter {name} {g.rng.choice((15, 30))} A, in {g.volts} V, out {out:.1f} V, charges, {common}")
    g.run(f"{g.name('lead')}: {g.rng.choice(g.plus)} -- {g.fuse('charge', 50)} -- {g.metres(1, 4)} m -- {name}.in.pos")
    g.run(f"{g.name('lead')}: {name}.in.neg -- {g.metres(1, 4)} m -- minus")
    g.run(f"{g.name('lead')}: {bank} -//- {g.fuse('charge', 30)} -- {g.metres(1, 3)} m -- {name}.out")
    load = put_load(g, 8)
    g.run(f"{g.name('tap')}: {bank} -//- {g.fuse('tap', 10)} -- {g.metres(1, 4)} m -- {load}")


def alternator(g: Graph) -> None:
    name, amperes = g.name("alternator"), g.rng.choice((40, 60, 100))
    limit = ", self-limiting" if g.chance(0.8) else ""
    g.part(f"alternator {name} {14.4 * g.volts / 12:.1f} V, {amperes} A{limit}")
    where = g.rng.choice((g.rng.choice(g.plus), f"{g.rng.choice(g.banks)}.pos"))
    g.run(f"{g.name('lead')}: {where} -- {g.fuse('alt', amperes)} -- {g.metres(0.5, 3)} m -- {name}.pos")
    g.run(f"{g.name('lead')}: {name}.neg -- {g.metres(0.5, 2)} m -- {g.body or 'minus'}")
    g.sources.append(name)


def arrays(g: Graph) -> None:
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


def mains(g: Graph) -> None:
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
