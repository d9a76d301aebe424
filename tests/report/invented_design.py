"""An invented design for the tests of the report: small, coherent, every field used.

The electrics are plain sums over an invented launch, made to be written and read; they are no reference. Tests
that need the compiler's own numbers compile a plate instead.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from copperplate.findings.model import Finding, Measure, Related
from copperplate.model import (
    Accept,
    Advice,
    Assumption,
    Budget,
    Case,
    Conductor,
    Device,
    Link,
    Node,
    Note,
    Part,
    Route,
    Run,
    Settings,
    Size,
    Stock,
    System,
    Terminal,
    Traced,
    Window,
)
from copperplate.model.attributes import fields_of
from copperplate.model.kinds import KINDS
from copperplate.model.results import (
    Candidate,
    ConductorResult,
    Conversion,
    Cut,
    Design,
    DeviceResult,
    ElementDraw,
    EnergyLine,
    EnergyResult,
    Fit,
    Holding,
    LoadResult,
    Material,
    PathStep,
    PublishedSource,
    Rating,
    Rung,
    RunResult,
    SourceResult,
    Transfer,
)
from copperplate.text import Source as Text
from copperplate.text import Span

K = 0.0178
"""Ohm mm2 per m: near enough to copper for an invented design."""
LOW_V, FULL_V = 12.0, 14.4
AMPACITY = {"1.5": 25.0, "2.5": 35.0, "4": 45.0, "6": 60.0, "10": 90.0, "50": 225.0, "120": 450.0}
RULE = "Invented table 5, 105 °C"
LOADS: tuple[tuple[str, str, float, float, str, str, float], ...] = (
    # id, title, amperes, metres one way, route, size, fuse
    ("fridge", "Refrigerator", 5.21, 4.2, "port-locker", "2.5", 7.5),
    ("fan", "Cabin fan", 1.50, 3.1, "deckhead", "1.5", 3.0),
    ("cabin-lights", "Cabin lights", 2.00, 5.6, "deckhead", "1.5", 3.0),
    ("deck-lights", "Deck flood lights", 4.40, 7.4, "deckhead", "2.5", 7.5),
    ("water-pump", "Fresh-water pump", 6.00, 4.8, "port-locker", "2.5", 7.5),
    ("bilge-pump", "Bilge pump", 7.50, 5.2, "port-locker", "6", 10.0),
    ("vhf", "VHF radio", 5.50, 2.6, "", "2.5", 7.5),
    ("nav-lights", "Navigation lights", 1.80, 8.9, "deckhead", "2.5", 3.0),
    ("plotter", "Chart plotter", 2.40, 2.9, "", "1.5", 5.0),
    ("horn", "Horn", 5.00, 4.1, "deckhead", "1.5", 7.5),
)
CASES = ("everything", "charging")


def trace(value: float, unit: str, quantity: str, formula: str = "", source: str = "", **inputs: Any) -> Traced:
    return Traced(
        value,
        unit,
        quantity,
        formula,
        tuple((name.replace("_", " "), number, "") for name, number in inputs.items()),
        source,
        "stated" if source else "",
    )


def size(number: str) -> Size:
    return Size(number, "mm2")


TEXT = Text(
    "dunlin.plate", "".join(f"# line {n} of an invented plate, long enough to point at\n" for n in range(1, 60))
)


def span(line: int, column: int = 1, length: int = 12) -> Span:
    start = TEXT.line_starts[line - 1] + column - 1
    return Span(TEXT, start, start + length)


class Bench:
    """Collects parts, runs and results; `design()` freezes them."""

    def __init__(self, lengths: dict[str, float] | None = None, titles: dict[str, str] | None = None) -> None:
        self.lengths = lengths or {}
        self.titles = titles or {}
        self.parts: dict[str, Part] = {}
        self.nodes: dict[str, Node] = {}
        self.runs: dict[str, Run] = {}
        self.conductors: dict[str, Conductor] = {}
        self.devices: dict[str, Device] = {}
        self.run_results: dict[str, RunResult] = {}
        self.conductor_results: dict[str, ConductorResult] = {}
        self.device_results: dict[str, DeviceResult] = {}
        self.loads: dict[str, LoadResult] = {}
        self.node_v: dict[str, dict[str, float]] = {}
        self.fits: list[Fit] = []
        self.cuts: list[Cut] = []
        self.line = 1

    def part(self, name: str, kind: str, title: str, ports: tuple[str, ...], **values: Any) -> None:
        self.line += 1
        terminals = {"": values.pop("terminal")} if "terminal" in values else {}
        advised = {"": values.pop("advised")} if "advised" in values else {}
        comparable = values.pop("comparable", None)
        made = KINDS[kind].type
        self.parts[name] = made(
            **fields_of(made, values),
            id=name,
            title=self.titles.get(name, title),
            span=span(self.line),
            stated=frozenset(values),
            terminals=terminals,
            advised=advised,
            comparable=comparable,
        )
        for port in ports:
            node = f"{name}.{port}" if port else name
            pole = {"neg": "neg", "in.neg": "neg", "out.neg": "neg"}.get(port, "pos")
            if kind == "bus" and values.get("polarity") == "negative":
                pole = "neg"
            self.node(node, name, port, pole)

    def node(self, node: str, part: str, port: str, pole: Any, volts: float = 11.9) -> None:
        self.nodes[node] = Node(node, part, port, pole, "house", 12.0)
        self.node_v[node] = {"everything": volts if pole == "pos" else 0.1, "charging": volts + 2.4}

    def run(
        self,
        name: str,
        from_end: str,
        to_end: str,
        pieces: list[tuple[str, str, str, str, float]],
        number: str,
        amperes: float,
        guards: tuple[str, ...],
        length: float,
        governed: Any = "drop",
        routes: tuple[str, ...] = (),
        devices: tuple[str, ...] = (),
        current: Any = "dc",
        colours: tuple[str, ...] = ("RD", "BK"),
        **more: Any,
    ) -> None:
        """`pieces`: (suffix, pole, from node, to node, metres)."""
        ids = tuple(name + suffix for suffix, *_ in pieces)
        total = sum(metres for *_, metres in pieces)
        conductors = len({pole for _, pole, *_ in pieces})
        self.line += 1
        self.runs[name] = Run(
            name,
            span(min(self.line, 58)),
            from_end,
            to_end,
            conductors,
            current,
            ids,
            devices,
            length,
            total,
            routes,
            40.0 if routes else 30.0,
            False,
            False,
            "bundle" if routes else "",
            **more,
        )
        area = float(number)
        ladder = tuple(
            Candidate(
                size(other),
                1,
                (
                    Rung("minimum", "ok", "ok", trace(1.5, "mm²", "least gauge", source="Invented rule 2")),
                    Rung(
                        "ampacity", "ok", f"{AMPACITY[other]:.0f}", trace(AMPACITY[other], "A", "ampacity", source=RULE)
                    ),
                    Rung("protection", "ok", "10"),
                    Rung(
                        "drop",
                        "ok" if float(other) >= area else "refused",
                        f"{amperes * total * K / float(other) / 0.12:.1f} %",
                        trace(
                            amperes * total * K / float(other) / 0.12,
                            "%",
                            "voltage drop",
                            "current x length x K / area",
                            "Invented rule 4",
                            current=amperes,
                            length=total,
                        ),
                    ),
                    Rung("advice", "not judged", "none stated"),
                    Rung("terminal", "refused" if float(other) > 6 > area else "ok", "clamp 0.75 to 6 mm²"),
                    Rung("stock", "ok", "any size"),
                ),
                chosen=other == number,
            )
            for other in AMPACITY
            if abs(list(AMPACITY).index(other) - list(AMPACITY).index(number)) <= 2
        )
        self.run_results[name] = RunResult(
            name,
            size(number),
            1,
            area,
            False,
            governed,
            trace(amperes, "A", "design current", "power / (lowest voltage - budget)", volts=LOW_V),
            trace(
                AMPACITY[number] * 0.93, "A", "ampacity", "table x ambient", RULE, table=AMPACITY[number], ambient=0.93
            ),
            AMPACITY[number],
            (trace(0.93, "", "ambient 40 °C", "sqrt((Tc - Ta) / (Tc - 30))", "Invented formula"),),
            105.0,
            40.0,
            amperes * total * 0.0172 / area,
            amperes * total * K / area,
            ladder,
            guards,
            0.1 + 0.7 * (len(self.runs) % 5),
            0.2 + 0.1 * (len(self.runs) % 7),
            size("10") if number == "6" else None,
            total * area,
            ("4 mm² would do if the budget were 4 %",) if number == "6" else (),
        )
        for (suffix, pole, start, end, metres), colour in zip(pieces, _cycle(colours, pieces), strict=True):
            conductor = name + suffix
            marker = conductor.replace(".run", "")
            self.conductors[conductor] = Conductor(
                conductor,
                name,
                pole,
                start,
                end,
                metres,
                marker,  # type: ignore[arg-type]
                tuple((route, metres) for route in routes),
                span(min(self.line, 58)),
            )
            sign = -1.0 if pole == "neg" else 1.0
            self.conductor_results[conductor] = ConductorResult(
                conductor,
                {"everything": K * metres / area, "charging": K * metres / area},
                47.5,
                {"everything": amperes, "charging": -sign * 0.0},
                colour,
            )
            self.cuts.append(
                Cut(
                    marker,
                    f"{number} mm2",
                    colour,
                    metres,
                    round(metres + 0.15, 2),
                    start,
                    end,
                    f"lug {number} mm² M6",
                    f"ferrule {number} mm²",
                )
            )
            for node in (start, end):
                known = node.split(":")[0] == node
                self.fits.append(
                    Fit(
                        conductor,
                        node,
                        "clamp 0.75 to 6 mm²" if known else "not stated",
                        "0.75 to 6 mm²" if known else "",
                        f"{number} mm²",
                        f"ferrule {number} mm²" if known else "",
                        True if known and area <= 6 else None,
                    )
                )

    def device(
        self,
        name: str,
        kind: Any,
        run: str,
        legs: tuple[tuple[str, str], ...],
        rating: float | None,
        needs: float,
        protects: tuple[str, ...] = (),
        family: str = "blade",
        breaks: float | None = 1000.0,
        panel: str = "",
        way: int | None = None,
        far: Any = "opens",
        title: str = "",
    ) -> None:
        self.devices[name] = Device(
            name, kind, title, run, "pos", legs, span(12), family, None, breaks, 32.0, 0.0, None, 1, None, panel, way
        )
        protective = kind in ("fuse", "breaker")
        self.device_results[name] = DeviceResult(
            name,
            Rating(
                name,
                family,
                trace(needs, "A", "continuous current x 1.25"),
                rating,
                False,
                breaks,
                32.0,
                "ISO 8820-3",
                "from memory",
            ),
            protects,
            60.0 if protective else None,
            0.3 if protective else None,
            1.829 if protective else None,
            "72 in from a battery, invented rule 460" if protective else "",
            trace(2300.0, "A", "prospective fault", "e.m.f. / resistance", volts=14.4) if protective else None,
            breaks,
            trace(310.0, "A", "far-end fault", "lowest volts / highest resistance") if protective else None,
            0.08 if protective and far == "opens" else None,
            4200.0 if protective else None,
            52000.0 if protective else None,
            far if protective else "",
            {"everything": needs / 1.25, "charging": -0.0},
        )


def _cycle(colours: tuple[str, ...], pieces: list[Any]) -> list[str]:
    by_pole = {"pos": colours[0], "neg": colours[-1], "l": "BN", "n": "BU", "pe": "GNYE"}
    return [by_pole[pole] for _, pole, *_ in pieces]


def design(
    lengths: dict[str, float] | None = None,
    titles: dict[str, str] | None = None,
    title: str = "Dunlin, work launch 9 m",
) -> Design:
    """The invented launch; `lengths` in metres by load id and `titles` by part id change it."""
    b = Bench(lengths, titles)
    b.part(
        "house",
        "battery",
        "House bank",
        ("pos", "neg"),
        voltage_v=12.8,
        capacity_ah=200.0,
        chemistry="lifepo4",
        series=1,
        parallel=2,
        range=Window(12.0, 14.4),
        fault_current_a=5000.0,
        terminal=Terminal("stud", "M8"),
    )
    b.part("plus", "bus", "Positive bus", ("",), polarity="positive", current_a=300.0, terminal=Terminal("stud", "M10"))
    b.part(
        "minus", "bus", "Negative bus", ("",), polarity="negative", current_a=300.0, terminal=Terminal("stud", "M10")
    )
    b.part(
        "panel",
        "panel",
        "Cabin fuse block",
        ("feed",),
        ways=13,
        family="blade",
        **{"return": "minus"},
        terminal=Terminal("clamp", "", size("0.75"), size("6")),
    )
    b.part(
        "inv",
        "inverter",
        "Inverter",
        ("pos", "neg", "ac-out.l", "ac-out.n"),
        power_w=1500.0,
        efficiency=0.92,
        ac_v=230.0,
        advised=Advice(size("50"), 4.0),
    )
    for name, label, amperes, *_ in LOADS:
        b.part(
            name,
            "load",
            label,
            ("pos", "neg"),
            current_a=amperes,
            works=Window(10.5, 15.0),
            drop=Budget(0.03),
            critical=name == "bilge-pump",
            comparable=(size("4"), "leaflet of a like pump"),
        )
    b.part("kettle", "load", "Galley kettle", ("ac-in.l", "ac-in.n", "ac-in.pe"), power_w=1000.0, ac=True)
    b.part("hull", "earth", "Hull point", ("",), conducts=False)

    b.node("house.pos.run:1", "", "", "pos")
    b.node("house.pos.run:2", "", "", "pos")
    b.node("house.neg.run:1", "", "", "neg")
    b.node("inv.pos.run:1", "", "", "pos")
    b.node("panel.run:1", "", "", "pos")
    b.device(
        "main",
        "fuse",
        "house.pos.run",
        (("house.pos.run:1", "house.pos.run:2"),),
        300.0,
        278.8,
        ("house.pos.run",),
        "class-t",
        20000.0,
        far="not proven",
        title="Main fuse",
    )
    b.device("isolator", "switch", "house.pos.run", (("house.pos.run:2", "house.pos.run:3"),), 300.0, 223.0)
    b.node("house.pos.run:3", "", "", "pos")
    b.run(
        "house.pos.run",
        "house.pos",
        "plus",
        [
            ("/1", "pos", "house.pos", "house.pos.run:1", 0.3),
            ("/2", "pos", "house.pos.run:3", "plus", 0.8),
        ],
        "120",
        223.0,
        ("main",),
        1.1,
        "shared budget",
        devices=("main", "isolator"),
    )
    b.device("shunt", "shunt", "house.neg.run", (("house.neg", "house.neg.run:1"),), 500.0, 223.0)
    b.run(
        "house.neg.run",
        "house.neg",
        "minus",
        [("/1", "neg", "house.neg.run:1", "minus", 1.2)],
        "120",
        223.0,
        ("main",),
        1.2,
        "shared budget",
        devices=("shunt",),
    )
    b.run(
        "house.link",
        "house",
        "house",
        [],
        "120",
        111.5,
        (),
        0.4,
        "link",
        role="link",
        count=2,
    )
    b.device(
        "inv.pos.fuse",
        "fuse",
        "inv.pos.run",
        (("plus", "inv.pos.run:1"),),
        175.0,
        170.0,
        ("inv.pos.run",),
        "class-t",
        20000.0,
    )
    b.run(
        "inv.pos.run",
        "plus",
        "inv.pos",
        [("", "pos", "inv.pos.run:1", "inv.pos", 1.5)],
        "50",
        136.0,
        ("inv.pos.fuse",),
        1.5,
        "advice",
        devices=("inv.pos.fuse",),
    )
    b.run(
        "inv.neg.run",
        "inv.neg",
        "minus",
        [("", "neg", "inv.neg", "minus", 1.4)],
        "50",
        136.0,
        ("inv.pos.fuse",),
        1.4,
        "advice",
    )
    b.device(
        "panel.fuse", "fuse", "panel.run", (("plus", "panel.run:1"),), 80.0, 51.4, ("panel.run",), "single-bolt", 2000.0
    )
    b.run(
        "panel.run",
        "plus",
        "panel",
        [("", "pos", "panel.run:1", "panel.feed", 2.5)],
        "50",
        51.4,
        ("panel.fuse",),
        2.5,
        "shared budget",
        devices=("panel.fuse",),
    )
    b.run(
        "hull.run", "minus", "hull", [("", "neg", "minus", "hull", 1.5)], "10", 0.5, (), 1.5, "earth table", earth=True
    )

    for way, (name, _, amperes, metres, route, number, fuse) in enumerate(LOADS, 1):
        metres = b.lengths.get(name, metres)
        run = f"{name}.run"
        b.node(f"panel.{way}", "panel", str(way), "pos")
        b.device(
            f"panel.{way}",
            "fuse",
            run,
            (("panel.feed", f"panel.{way}"),),
            fuse,
            amperes * 1.25,
            (run,),
            panel="panel",
            way=way,
        )
        b.run(
            run,
            f"panel.{way}",
            name,
            [
                ("+", "pos", f"panel.{way}", f"{name}.pos", metres),
                ("-", "neg", f"{name}.neg", "minus", metres),
            ],
            number,
            amperes,
            (f"panel.{way}",),
            metres,
            "drop" if number != "1.5" else "minimum",
            (route,) if route else (),
            (f"panel.{way}",),
        )
        steps = [
            ("house +", "", "", 0.0, 0.0),
            ("plus", "house.pos.run", "120", 1.1, 164.0),
            ("panel feed", "panel.run", "50", 2.5, 51.4),
            (f"{name} +", f"{run}+", number, metres, amperes),
            ("minus", f"{run}-", number, metres, amperes),
            ("house -", "house.neg.run/1", "120", 1.2, 164.0),
        ]
        path = tuple(
            PathStep(
                reached,
                through,
                f"{area} mm²" if area else "",
                length,
                current,
                K * length * current / float(area or 1),
                0.0164 * length * current / float(area or 1),
            )
            for reached, through, area, length, current in steps
        )
        solved = sum(step.lost_v for step in path)
        judged = sum(step.judged_v for step in path)
        b.node_v[f"{name}.pos"] = {"everything": LOW_V - solved / 2, "charging": FULL_V}
        b.node_v[f"{name}.neg"] = {"everything": solved / 2, "charging": 0.0}
        budget = 3.0 if name == "bilge-pump" else 6.0
        b.loads[name] = LoadResult(
            name,
            amperes,
            LOW_V - solved,
            FULL_V,
            12.0,
            judged,
            judged / 0.12,
            solved,
            solved / 0.12,
            budget * 0.12,
            budget,
            10.5,
            15.0,
            "everything",
            "house",
            run,
            path,
        )
    b.run(
        "kettle.run",
        "inv.ac-out",
        "kettle",
        [
            (".l", "l", "inv.ac-out.l", "kettle.ac-in.l", 3.0),
            (".n", "n", "inv.ac-out.n", "kettle.ac-in.n", 3.0),
            (".pe", "pe", "hull", "kettle.ac-in.pe", 3.0),
        ],
        "2.5",
        4.4,
        (),
        3.0,
        "not sized",
        current="ac",
    )

    routes = {
        name: Route(
            name,
            words,
            3.0,
            40.0,
            False,
            "bundle",
            False,
            tuple(f"{load[0]}.run" for load in LOADS if load[4] == name),
            span(3),
        )
        for name, words in (("port-locker", "Port locker"), ("deckhead", "Deckhead"))
    }
    settings = Settings(
        title,
        12.0,
        "cfr-183",
        30.0,
        105.0,
        Budget(0.06),
        "metric",
        "mm2",
        True,
        "earthed",
        "230",
        50.0,
        None,
        "Harbour works department (invented)",
        "Slip 3, boat shed",
        "JX, design office",
        "B, fridge feed and bilge pump added",
        "2026-11-25",
        "DUN-E-001",
        "Issued for review, not for installation",
        "a4",
        span(1),
        frozenset({"nominal_v"}),
    )
    cases = (
        Case("everything", "Everything on", "load", {name: 1.0 for name, *_ in LOADS}, frozenset(), True, None),
        Case("charging", "Everything charging", "charge", {}, frozenset({"isolator"}), True, None),
    )
    system = System(
        settings,
        b.parts,
        b.nodes,
        b.runs,
        b.conductors,
        b.devices,
        routes,
        cases,
        Stock((size("1.5"), size("2.5"), size("6")), 4, span(50)),
        (Accept("CP416", "panel.2", "the fan is on its own switch, checked on site", span(51)),),
        (Note("The AC wiring is by others.", span(52)),),
        (),
        ("dunlin.plate", "parts.plate"),
    )
    findings = (
        Finding(
            "CP313",
            "warning",
            "bilge-pump",
            "`bilge-pump` loses 3.28 % solved with hot copper, above its 3 %",
            span(20),
            "this run",
            ("judged by the profile's figure it loses 2.97 %",),
            "accept, or widen the budget",
            (Related(span(14), "its budget"),),
            Measure(3.28, 3.0, "%"),
            "Invented rule 4",
        ),
        Finding(
            "CP431",
            "warning",
            "main",
            "`main`: no published curve is at hand, so its opening at the far end is not proven",
            span(21),
            "",
            (),
            "get the fuse's curve",
            (),
            Measure("not proven", 5.0, "s"),
        ),
        Finding(
            "CP416",
            "warning",
            "panel.2",
            "a branch fault may open `panel.fuse` before `panel.2`",
            span(22),
            accepted="the fan is on its own switch, checked on site",
        ),
        Finding("CP605", "advice", "inv", "the stud of `inv` takes up to 70 mm²", span(23)),
    )
    return Design(
        system=system,
        source_name="dunlin.plate",
        source_sha256="7c1e40aa93d2" + "0" * 52,
        profile="cfr-183",
        profile_title="33 CFR 183 subpart I",
        runs=b.run_results,
        conductors=b.conductor_results,
        devices=b.device_results,
        loads=b.loads,
        sources={
            "house": SourceResult(
                "house",
                "battery",
                {"everything": LOW_V, "charging": FULL_V},
                {"everything": 164.0, "charging": -40.0},
                13.6,
                0.00136,
                10000.0,
                {"max_discharge_a": 300.0, "max_charge_a": 200.0},
            ),
        },
        node_v=b.node_v,
        holdings=(
            Holding(
                "house",
                "house.neg",
                "house.pos",
                0.0,
                {"everything": LOW_V, "charging": FULL_V},
                {"everything": 164.0, "charging": -40.0},
            ),
        ),
        draws=(
            ElementDraw(
                "fridge",
                "supply",
                "fridge.pos",
                "fridge.neg",
                5.0,
                0.0,
                0.0,
                None,
                None,
                {"everything": 1.0, "charging": 0.0},
                {"everything": 5.0, "charging": 0.0},
            ),
            ElementDraw(
                "inv",
                "supply",
                "inv.pos",
                "inv.neg",
                0.0,
                0.0,
                0.0,
                Conversion(("inv.ac-out.l",), 1500.0, 0.92, 20.0, 1),
                Transfer(("inv.ac-out.l",), 230.0, ("charging",)),
                {"everything": 1.0, "charging": 0.0},
                {"everything": 96.0, "charging": 0.0},
            ),
        ),
        energy=(
            EnergyResult(
                "house",
                (
                    EnergyLine("fridge", "10 h x 60 W", 600.0),
                    EnergyLine("cabin-lights", "4 h x 24 W", 96.0),
                    EnergyLine("inv", "losses, 2 h", 110.0),
                ),
                806.0,
                4096.0,
                5.08,
                (("charger", 40.0, 7.1),),
            ),
        ),
        materials=(
            Material("conductor", "2.5 mm² RD", 40.2, "m", ("fridge+", "deck-lights+")),
            Material("conductor", "2.5 mm² BK", 40.2, "m", ("fridge-", "deck-lights-")),
            Material("conductor", "120 mm² RD", 1.5, "m", ("house.pos/1", "house.pos/2")),
            Material("lug", "lug 120 mm² M10", 4, "pc", ("house.pos/2",)),
            Material("ferrule", "ferrule 2.5 mm²", 24, "pc", ("fridge+",)),
            Material("fuse", "blade 7.5 A", 6, "pc", ("panel.1", "panel.4")),
            Material("device", "switch 300 A", 1, "pc", ("isolator",)),
        ),
        cuts=tuple(b.cuts),
        fits=tuple(b.fits),
        assumptions=(
            Assumption("system", "insulation of 105 °C is assumed", "common practice, no source"),
            Assumption("main", "no return impedance is counted in a fault, the larger current of two readings"),
        ),
        sources_used=(
            PublishedSource("Invented code of wiring", "2026", "table 5", "verified"),
            PublishedSource("ISO 8820-3", "2015", "5.2", "from memory"),
        ),
        constants={
            "device_factor": trace(1.25, "", "continuous factor", source="Invented rule 3"),
            "drop_default": trace(0.03, "share", "default budget", source="Invented rule 4"),
        },
        findings=findings,
        not_covered=("AC cables are drawn and listed; this version does not size them: `kettle.run`.",),
        links=(
            Link("house.link/1", "house.link", "house", "pos", 1, 2, 0.2, "RD"),
            Link("house.link/2", "house.link", "house", "neg", 1, 2, 0.2, "BK"),
        ),
        rechecked=True,
    )


def partial() -> Design:
    """The same as it stands with errors: nothing sized beyond the first run, an error finding, no re-check."""
    whole = design()
    first = dict(list(whole.runs.items())[:1])
    error = Finding("CP311", "error", "horn", "`horn` gets 9.9 V and works from 10.5 V", span(31))
    return replace(
        whole,
        runs={run: replace(r, size=None, ampacity=None) for run, r in first.items()},
        conductors={},
        devices={},
        loads={},
        sources={},
        node_v={},
        holdings=(),
        draws=(),
        energy=(),
        materials=(),
        cuts=(),
        fits=(),
        assumptions=(),
        findings=(error,),
        rechecked=False,
    )
