"""Systems of both poles built by hand, for tests of rooms that need no plate."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from copperplate.model import Budget, Case, Conductor, Device, Node, Part, Route, Run, Settings, Size, Stock, System
from copperplate.text import Source, Span

SPAN = Span(Source("hand-built.plate", "hand built\n"), 0, 4)
SOURCES = ("charger", "controller", "alternator", "solar")


def settings(**changes: Any) -> Settings:
    values: dict[str, Any] = dict(
        title="Hand built", nominal_v=12.0, rules="cfr-183", ambient_c=30.0, insulation_c=105.0,
        drop=Budget(share=0.03), units="metric", conductors="awg", tinned=False, negative="earthed", ac="",
        frequency_hz=60.0, continuous_factor=None, client="", site="", designer="", revision="", date="",
        document="", status="", paper="a4", span=SPAN,
    )  # fmt: skip
    return Settings(**(values | changes))


class Builder:
    """Collects parts and runs, and makes a `System` of them as a plate would be resolved.

    `pair` lays a run of two conductors, devices in its positive; `single` one conductor. Ends are "house",
    "plus", "cabin.3" or "inv.pos"; for a pair they name parts, whose poles are filled in. `zone` of a node is that
    of the run that reaches it first."""

    def __init__(self, **changes: Any) -> None:
        self.settings = settings(**changes)
        self.parts: dict[str, Part] = {}
        self.nodes: dict[str, Node] = {}
        self.runs: dict[str, Run] = {}
        self.conductors: dict[str, Conductor] = {}
        self.devices: dict[str, Device] = {}
        self.routes: dict[str, Route] = {}
        self.cases: list[Case] = []

    def part(self, id: str, kind: str, title: str = "", **values: Any) -> Part:
        extra = {k: values.pop(k) for k in ("terminals", "advised", "comparable") if k in values}
        found = Part(id, kind, title or id, SPAN, values, frozenset(values), {k: SPAN for k in values}, **extra)
        self.parts[id] = found
        return found

    def node(self, id: str, pole: Any, zone: str, nominal_v: float | None = None) -> str:
        owner = "" if ":" in id else id.split(".")[0]
        port = id.partition(".")[2]
        volts = self.settings.nominal_v if nominal_v is None else nominal_v
        self.nodes.setdefault(id, Node(id, owner, port, pole, zone, volts))
        return id

    def _ends(self, end: str) -> tuple[str, str]:
        name, _, port = end.partition(".")
        part = self.parts[name]
        if part.kind == "bus":
            return name, name
        if part.kind == "panel":
            back = str(part.get("return", f"{name}.neg"))
            return (f"{name}.{port}" if port else f"{name}.feed"), back
        stem = f"{name}.{port}" if port else name
        return f"{stem}.pos", f"{stem}.neg"

    def pair(self, near: str, far: str, *line: Any, zone: str = "house", nominal_v: float | None = None, id: str = "", **run: Any) -> str:
        """A run of two: `line` are metres and devices as (id, kind) or (id, kind, facts)."""
        run_id = id or f"{far}.run"
        pos_near, neg_near = self._ends(near)
        pos_far, neg_far = self._ends(far)
        own: list[str] = []
        name, _, way = near.partition(".")
        if self.parts[name].kind == "panel" and way.isdigit():
            feed = self.node(f"{name}.feed", "pos", zone, nominal_v)
            self.node(pos_near, "pos", zone, nominal_v)
            self.devices[near] = Device(
                near, "fuse", "", run_id, "pos", ((feed, pos_near),), SPAN, family="blade", panel=name, way=int(way)
            )  # fmt: skip
            own.append(near)
        plus = self._line(run_id, f"{run_id}+", "pos", pos_near, pos_far, line, zone, nominal_v, own)
        metres = sum(step for step in line if not isinstance(step, tuple))
        minus = self._line(run_id, f"{run_id}-", "neg", neg_near, neg_far, (metres,), zone, nominal_v, [])
        self._run(run_id, near, far, 2, (*plus, *minus), own, metres, 2 * metres, run)
        return run_id

    def single(self, near: str, far: str, *line: Any, pole: Any = "pos", zone: str = "house", nominal_v: float | None = None, id: str = "", **run: Any) -> str:
        """A run of one conductor between two nodes."""
        bus_far = self.parts[far.split(".")[0]].kind in ("bus", "junction", "earth")
        run_id = id or (f"{near}.run" if bus_far else f"{far}.run")
        own: list[str] = []
        start, end = (f"{e}.feed" if self.parts[e.split(".")[0]].kind == "panel" and "." not in e else e for e in (near, far))
        pieces = self._line(run_id, run_id, pole, start, end, line, zone, nominal_v, own)
        metres = sum(step for step in line if not isinstance(step, tuple))
        self._run(run_id, near, far, 1, pieces, own, metres, metres, run)
        return run_id

    def _line(
        self, run: str, stem: str, pole: Any, start: str, end: str, line: tuple[Any, ...], zone: str,
        nominal_v: float | None, own: list[str],
    ) -> tuple[str, ...]:  # fmt: skip
        here = self.node(start, pole, zone, nominal_v)
        lengths = [step for step in line if not isinstance(step, tuple)]
        pieces: list[str] = []
        for index, step in enumerate(line):
            last = index == len(line) - 1
            there = self.node(end if last else f"{run}:{index + 1}", pole, zone, nominal_v)
            if isinstance(step, tuple):
                facts = step[2] if len(step) > 2 else {}
                self.devices[step[0]] = Device(step[0], step[1], "", run, pole, ((here, there),), SPAN, **facts)
                own.append(step[0])
            else:
                piece = stem if len(lengths) == 1 else f"{stem}/{len(pieces) + 1}"
                self.conductors[piece] = Conductor(piece, run, pole, here, there, step, piece, (), SPAN)
                pieces.append(piece)
            here = there
        return tuple(pieces)

    def _run(
        self, id: str, near: str, far: str, count: int, pieces: tuple[str, ...], own: list[str], metres: float,
        around: float, run: Mapping[str, Any],
    ) -> None:  # fmt: skip
        values: dict[str, Any] = dict(routes=(), ambient_c=self.settings.ambient_c, engine_space=False, sheath=False, laid="")
        self.runs[id] = Run(id, SPAN, near, far, count, "dc", pieces, tuple(own), metres, around, **(values | dict(run)))

    def case(self, id: str, kind: Any, shares: Mapping[str, float], open_devices: tuple[str, ...] = ()) -> None:
        self.cases.append(Case(id, id, kind, dict(shares), frozenset(open_devices), False, SPAN))

    def build(self, stock: Stock | None = None) -> System:
        """The system; without cases of its own, the two that a plate implies."""
        cases = self.cases or [
            Case("everything", "everything on", "load", {p: 1.0 for p, part in self.parts.items() if part.kind in ("load", "inverter", "converter") and not part.get("charges")}, frozenset(), True, None),
            Case("charging", "charging", "charge", {p: 1.0 for p, part in self.parts.items() if part.kind in SOURCES or part.get("charges") or part.get("charges_a")}, frozenset(), True, None),
        ]
        return System(
            self.settings, self.parts, self.nodes, self.runs, self.conductors, self.devices, self.routes, tuple(cases),
            stock, (), (), (), ("hand-built.plate",),
        )  # fmt: skip


def launch(**changes: Any) -> Builder:
    """A small boat: battery, bars, a panel with three circuits, an inverter on leads of its own."""
    from copperplate.model import Window

    b = Builder(**changes)
    b.part("house", "battery", voltage_v=12.0, series=1, parallel=1, range=Window(12.0, 14.4), fault_current_a=5000.0)
    b.part("plus", "bus", polarity="positive")
    b.part("minus", "bus", polarity="negative")
    b.part("cabin", "panel", **{"return": "minus"})
    b.part("fridge", "load", power_w=60.0, works=Window(10.5, 15.0))
    b.part("lights", "load", current_a=0.25, count=8, drop=Budget(share=0.10))
    b.part("horn", "load", current_a=8.0, intermittent=True)
    b.part("inv", "inverter", power_w=1500.0, efficiency=0.92)
    b.single("house.pos", "plus", 0.4, ("main", "fuse", {"family": "class-t"}), 0.3, ("isolator", "switch"), 0.9)
    b.single("house.neg", "minus", 0.5, ("shunt", "shunt"), 0.4, pole="neg")
    b.single("plus", "cabin", ("cabin.fuse", "fuse", {}), 1.0)
    b.pair("cabin.1", "fridge", 4.5)
    b.pair("cabin.2", "lights", 7.0, size=Size("12", "AWG"))
    b.pair("cabin.3", "horn", 3.0)
    b.single("plus", "inv.pos", ("inv.fuse", "fuse", {"family": "class-t"}), 1.2)
    b.single("inv.neg", "minus", 1.3, pole="neg")
    return b
