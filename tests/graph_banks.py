"""Banks of random plates, and how they stand to each other."""

from __future__ import annotations

from graph_plate import Graph, put_circuit


def put_bank(g: Graph, lithium: bool | None = None) -> str:
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


def put_leads(g: Graph, bank: str, plus: str, minus: str, amperes: float, device: str = "") -> None:
    """The two leads of a bank: a fuse on its post, perhaps a switch behind."""
    size = g.size(amperes * 1.4)
    metres = g.metres(0.4, 1.5)
    g.run(f"{g.name('lead')}: {bank}.pos -- {g.fuse('main', amperes, 0.6)} -- {metres} m{size} --{device} {plus}")
    g.run(f"{g.name('lead')}: {bank}.neg -- {metres} m{size} -- {minus}")


def one_bank(g: Graph) -> None:
    amperes = g.rng.choice((80, 120, 200))
    device = f" [{g.name('isolator')}: switch 400 A] -- 0.3 m{g.size(amperes * 1.4)} --" if g.chance(0.5) else ""
    put_leads(g, put_bank(g), "plus", "minus", amperes, device)


def units(g: Graph) -> None:
    """Two to four batteries side by side, each with its fuse, of one kind."""
    lithium = g.chance(0.6)
    for _ in range(g.rng.randint(2, 4)):
        put_leads(g, put_bank(g, lithium), "plus", "minus", g.rng.choice((80, 120)))


def selected(g: Graph) -> None:
    """Two banks behind a selector each; a case has one or both."""
    names = []
    for _ in range(2):
        names.append(g.name("choose"))
        device = f" [{names[-1]}: selector 300 A] -- 0.4 m --"
        put_leads(g, put_bank(g, False), "plus", "minus", 120, device)
    g.apart.append(names)


def relayed(g: Graph) -> None:
    """A house bank, and a start bank with its alternator joined to it by a relay with a fuse at each end."""
    put_leads(g, put_bank(g), "plus", "minus", 120)
    start = put_bank(g, False)
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


def on_a_feeder(g: Graph) -> None:
    """A house bank and one at the end of a feeder, a fuse at each end, with bars of its own."""
    put_leads(g, put_bank(g), "plus", "minus", 120)
    far = put_bank(g)
    bar, back = g.name("bar"), g.name("back")
    g.part(f'bus {bar} "Far bar" positive, 400 A')
    g.part(f'bus {back} "Far negative" negative, 400 A')
    size, metres = g.size(100, 0.8), g.metres(4, 10)
    g.run(f"{g.name('feeder')}: plus -- {g.fuse('near', 60)} -- {metres} m{size} -- {g.fuse('far', 60)} -- {bar}")
    g.run(f"{g.name('feeder')}: {back} -- {metres} m{size} -- minus")
    put_leads(g, far, bar, back, 120)
    g.plus.append(bar)
    g.minus.append(back)
    put_circuit(g, bar, back, 30)


def tied(g: Graph) -> None:
    """Two banks with circuits of their own, a switch between them with a fuse at each end."""
    one, two = put_bank(g, False), put_bank(g, False)
    g.run(f"{g.name('lead')}: {two}.neg -- 0.5 m -- minus")
    put_leads(g, one, "plus", "minus", 120)
    put_circuit(g, f"{two}.pos", "minus", 10)
    tie = g.name("tie")
    g.run(f"{g.name('link')}: plus -- {g.fuse('near', 80)} -- 2 m -- [{tie}: switch 300 A] -- 1 m -- "
          f"{g.fuse('far', 80)} -- {two}.pos")  # fmt: skip
    g.parting.append(tie)
