"""Bars, returns, panels and circuits of random plates."""

from __future__ import annotations

from graph_plate import Graph, put_circuit, put_load, put_ways


def body_returns(g: Graph) -> None:
    """A body that carries returns, bonded to the negative bar."""
    g.body = "body"
    g.part(f"earth body conducts, {g.rng.choice((1, 2))} mohm")
    g.run(f"{g.name('bond')}: minus -- {g.metres(0.5, 2)} m{g.size(230, 0.5)} -- body")


def ring_of_bars(g: Graph) -> None:
    """Three or four bars in a ring that the first positive bar is part of."""
    bars = ["plus"]
    for _ in range(g.rng.randint(2, 3)):
        bars.append(g.name("ring"))
        g.part(f'bus {bars[-1]} "Bar in the ring" positive, 600 A')
    size = g.size(230, 0.6)
    for near, far in zip(bars, [*bars[1:], "plus"], strict=True):
        g.run(f"{g.name('piece')}: {near} -- {g.metres(1, 3)} m{size} -- {far}")
    g.plus += bars[1:]
    put_circuit(g, bars[1], "minus", 20)


def bar_fed_twice(g: Graph) -> None:
    """A bar at the end of two cables, each with its fuse."""
    bar = g.name("twice")
    g.part(f'bus {bar} "Bar fed twice" positive, 400 A')
    size = g.size(85, 0.7)
    for _ in range(2):
        g.run(f"{g.name('cable')}: plus -- {g.fuse('twin', 40, 0.8)} -- {g.metres(3, 8)} m{size} -- {bar}")
    g.plus.append(bar)
    put_circuit(g, bar, "minus", 10)


def second_negative(g: Graph) -> None:
    bar = g.name("minus")
    g.part(f'bus {bar} "Second negative bar" negative, 400 A')
    g.run(f"{g.name('join')}: {bar} -- {g.metres(1, 5)} m{g.size(150, 0.5)} -- minus")
    g.minus.append(bar)
    put_circuit(g, "plus", bar)


def panel(g: Graph) -> None:
    """A panel whose circuits return to a negative bar."""
    panel, minus = g.name("panel"), g.rng.choice(g.minus)
    ways = g.rng.randint(1, 4)
    g.part(f"panel {panel} blade, ways 8, 100 A, return {minus}")
    g.run(f"{g.name('feed')}: {g.rng.choice(g.plus)} -- {g.fuse('feed', 40)} -- {g.metres()} m{g.size(60)} -- {panel}")
    put_ways(g, panel, ways, 0.0)


def sub_panel(g: Graph) -> None:
    """A panel with a negative of its own, fed by both poles from the bars."""
    panel, metres, size = g.name("sub"), g.metres(2, 6), g.size(40)
    g.part(f"panel {panel} blade, ways 6, 60 A")
    g.run(f"{g.name('feed')}: {g.rng.choice(g.plus)} -- {g.fuse('feed', 20)} -- {metres} m{size} -- {panel}.feed")
    g.run(f"{g.name('feed')}: {panel}.neg -- {metres} m{size} -- {g.rng.choice(g.minus)}")
    put_ways(g, panel, g.rng.randint(1, 3), 0.0)


def circuit_at_the_posts(g: Graph) -> None:
    """A small circuit from a battery's own posts."""
    bank, load = g.rng.choice(g.banks), put_load(g, 3)
    g.run(f"{g.name('tap')}: {bank} -//- {g.fuse('tap', 4)} -- {g.metres(1, 4)} m -- {load}")


def splice(g: Graph) -> None:
    """Two loads behind a splice of a pair, from the bars."""
    tee, back = g.name("tee"), g.name("tee")
    g.part(f"junction {tee}")
    g.part(f"junction {back}")
    g.run(f"{g.name('stem')}: {g.rng.choice(g.plus)} -- {g.fuse('stem', 12)} -- {g.metres()} m{g.size(20)} -- {tee}")
    g.run(f"{g.name('stem')}: {back} -- {g.metres()} m{g.size(20)} -- {g.rng.choice(g.minus)}")
    for _ in range(2):
        load, metres = put_load(g, 5), g.metres(0.5, 3)
        g.run(f"{g.name('twig')}: {tee} -- {metres} m -- {load}.pos")
        g.run(f"{g.name('twig')}: {load}.neg -- {metres} m -- {back}")


def float_and_hand(g: Graph) -> None:
    """A pump by two ways, from a post and from a bar, of which a case opens one."""
    load = put_load(g, 6)
    size = g.size(20)
    names = [g.name("float"), g.name("hand")]
    for start, name in zip((f"{g.rng.choice(g.banks)}.pos", g.rng.choice(g.plus)), names, strict=True):
        g.run(f"{g.name('way')}: {start} -- {g.fuse('pump', 8)} -- {g.metres()} m{size} -- [{name}: switch 40 A] -- "
              f"0.5 m{size} -- {load}.pos")  # fmt: skip
    g.run(f"{g.name('way')}: {load}.neg -- {g.metres()} m{size} -- {g.rng.choice(g.minus)}")
    g.apart.append(names)
