"""Systems built by hand, for tests of rooms that need no plate: parts and lines as tuples."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from copperplate.model import (
    Budget,
    Case,
    Conductor,
    Device,
    Node,
    Part,
    Run,
    Settings,
    Size,
    System,
)
from copperplate.model.attributes import fields_of
from copperplate.model.kinds import KINDS
from copperplate.text import Source, Span

SPAN = Span(Source("hand-built.plate", "hand built\n"), 0, 4)
NEGATIVE_BARS = ("minus",)


def settings(**changes: Any) -> Settings:
    values: dict[str, Any] = dict(
        title="Hand built", nominal_v=12.0, rules="cfr-183", ambient_c=30.0, insulation_c=105.0,
        drop=Budget(share=0.03), units="metric", conductors="awg", tinned=False, negative="earthed", ac="",
        frequency_hz=60.0, continuous_factor=None, client="", site="", designer="", revision="", date="",
        document="", status="", paper="a4", span=SPAN,
    )  # fmt: skip
    return Settings(**(values | changes))


def part(id: str, kind: str, **values: Any) -> Part:
    made = KINDS[kind].type
    return made(
        **fields_of(made, values),
        id=id,
        title=id,
        span=SPAN,
        stated=frozenset(values),
        spans={key: SPAN for key in values},
    )


def build(
    parts: list[Part],
    lines: list[tuple[Any, ...]],
    cases: tuple[Case, ...] = (),
    sizes: Mapping[str, Size] | None = None,
    **changes: Any,
) -> System:
    """A system whose lines are (end, metres or device, ..., end). A device is (id, kind) or (id, kind, facts).

    An end `"minus"` or one that ends in `.neg` makes the line negative; every other line is positive. A way of a
    panel is `("way", "cabin.3")` as first end."""
    table = {p.id: p for p in parts}
    nodes: dict[str, Node] = {}
    runs: dict[str, Run] = {}
    conductors: dict[str, Conductor] = {}
    devices: dict[str, Device] = {}

    def node(id: str, pole: str) -> str:
        owner = id.split(".")[0].split(":")[0]
        name = owner if owner in table and ":" not in id else ""
        nodes.setdefault(id, Node(id, name, id.partition(".")[2], pole, "house", 12.0))
        return id

    for line in lines:
        first, last = line[0], line[-1]
        way = isinstance(first, tuple)
        start = first[1] if way else first
        pole = "neg" if any(e in NEGATIVE_BARS or str(e).endswith(".neg") for e in (start, last)) else "pos"
        run = f"{last}.run" if table[last.split(".")[0]].kind != "bus" else f"{start}.run"
        here = node(start, pole)
        own: list[str] = []
        pieces: list[str] = []
        if way:
            panel, number = start.split(".")
            feed = node(f"{panel}.feed", pole)
            facts = first[2] if len(first) > 2 else {}
            values = dict(family="blade", panel=panel, way=int(number)) | facts
            devices[start] = Device(start, "fuse", "", run, "pos", ((feed, start),), SPAN, **values)
            own.append(start)
        steps = line[1:-1]
        inner = 0
        for index, step in enumerate(steps):
            final = index == len(steps) - 1
            if final:
                there = node(last, pole)
            else:
                inner += 1
                there = node(f"{run}:{inner}", pole)
            if isinstance(step, tuple):
                facts = step[2] if len(step) > 2 else {}
                devices[step[0]] = Device(step[0], step[1], "", run, pole, ((here, there),), SPAN, **facts)
                own.append(step[0])
            elif step:
                piece = f"{run}/{len(pieces) + 1}"
                conductors[piece] = Conductor(piece, run, pole, here, there, step, piece, (), SPAN)
                pieces.append(piece)
            here = there
        length = sum(conductors[p].length_m for p in pieces)
        runs[run] = Run(
            run, SPAN, start, last, 1, "dc", tuple(pieces), tuple(own), length, length, (), 30.0, False, False, "",
            size=(sizes or {}).get(run),
        )  # fmt: skip
    return System(
        settings(**changes), table, nodes, runs, conductors, devices, {}, cases, None, (), (), (), ("hand-built.plate",)
    )
