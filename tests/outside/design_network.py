"""The circuit of a design as a plain graph, read from NAME.design.json alone: the ground of the oracles beside it.

Nothing of the compiler is imported. Copper is reckoned anew from the size that a run has: IEC 60228:2004 table 3
(class 5, ohm per km at 20 °C) for mm2, the geometry of ASTM B258 and 1/58 ohm mm2/m (NBS Handbook 100) for AWG,
0.00393 per kelvin (the same). A bank and what a source gives are read as the document tells them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from math import inf
from typing import Any

CLASS_5 = {
    "0.5": (39.0, 40.1), "0.75": (26.0, 26.7), "1": (19.5, 20.0), "1.5": (13.3, 13.7), "2.5": (7.98, 8.21),
    "4": (4.95, 5.09), "6": (3.30, 3.39), "10": (1.91, 1.95), "16": (1.21, 1.24), "25": (0.780, 0.795),
    "35": (0.554, 0.565), "50": (0.386, 0.393), "70": (0.272, 0.277), "95": (0.206, 0.210), "120": (0.161, 0.164),
    "150": (0.129, 0.132),
}  # fmt: skip
"""Size in mm2: ohm per km plain and tinned."""
PER_KELVIN = 0.00393
RUNAWAY = 3.0
"""What an alternator that does not limit itself gives, of its rating (common practice, no source)."""
SUN = 1.25
"""What an array gives, of its short-circuit current (NEC 690.8(A)(1))."""


def ohm_per_metre(size: str, tinned: bool = False) -> float:
    """Of one conductor at 20 °C.

    >>> round(1000 * ohm_per_metre("2.5 mm2"), 2), round(1000 * ohm_per_metre("2/0 AWG"), 4)
    (7.98, 0.2557)
    """
    number, series = size.split()
    if series == "mm2":
        return CLASS_5[number][tinned] / 1000
    if series != "AWG":
        raise ValueError(f"no published figure here for {size}")
    gauge = 1 - int(number[0]) if number.endswith("/0") else int(number)
    diameter_mm = 0.127 * 92 ** ((36 - gauge) / 39)
    return 1 / 58 / (3.141592653589793 / 4 * diameter_mm**2)


@dataclass(frozen=True)
class Branch:
    """A conductor, one leg of a device, or a join without ohms, between two nodes of one pole."""

    name: str
    what: str
    """"conductor", "join", or the kind of a device."""
    a: str
    b: str
    pole: str
    cold_ohm: float = 0.0
    hot_ohm: float = 0.0
    rating_a: float = inf
    """Of a fuse or breaker; None in the document is inf here."""
    ampacity_a: float = inf
    metres: float = 0.0
    sheath: bool = False
    run: str = ""

    @property
    def opens(self) -> bool:
        return self.what in ("fuse", "breaker")

    @property
    def one_way(self) -> bool:
        """An output of a splitter or a charger: current passes from `a` to `b` alone."""
        return self.what == "diode"


@dataclass(frozen=True)
class Supply:
    """What pushes current from its minus to its plus. `limit_a` is inf for a battery."""

    name: str
    kind: str
    plus: str
    minus: str
    limit_a: float
    full_v: float = 0.0
    low_v: float = 0.0
    ohm: float = 0.0

    @property
    def stores(self) -> bool:
        return self.kind == "battery"


@dataclass(frozen=True)
class Taker:
    """What takes current from plus to minus: a load, the supply side of an inverter, charger or converter."""

    name: str
    plus: str
    minus: str


@dataclass(frozen=True)
class Network:
    branches: tuple[Branch, ...]
    supplies: tuple[Supply, ...]
    takers: tuple[Taker, ...]
    poles: dict[str, str]
    """By node."""
    kinds: dict[str, str]
    """By node: the kind of its part; none inside a run and behind a way's own device."""
    body: tuple[str, ...]
    """Nodes of conducting earths."""
    floating: bool

    def lines(self, *poles: str) -> list[Branch]:
        return [branch for branch in self.branches if branch.pole in poles]

    def banked(self, *poles: str) -> list[Branch]:
        """The lines by which a bank drives a current: none goes back through a splitter."""
        return [branch for branch in self.lines(*poles) if not branch.one_way]


def network(document: dict[str, Any]) -> Network:
    """The direct-current circuit and the lines of alternating current of a design."""
    parts = {part["id"]: part for part in document["parts"]}
    poles = {point["id"]: point["pole"] for point in document["points"]}
    body = tuple(p["id"] for p in document["parts"] if p["kind"] == "earth" and p["values"].get("conducts"))
    branches = [*_conductors(document, parts, poles), *_devices(document)]
    branches += list(_joins(document, poles, Ways(branches)))
    return Network(
        tuple(branches),
        tuple(_supplies(document, parts, poles)),
        tuple(_takers(document, poles)),
        poles,
        {p["id"]: parts[p["part"]]["kind"] for p in document["points"] if p["part"] and not p["port"].isdigit()},
        body,
        document["system"]["negative"] == "floating",
    )


def _conductors(document: dict[str, Any], parts: dict[str, Any], poles: dict[str, str]) -> Iterator[Branch]:
    runs = {run["id"]: run for run in document["runs"]}
    tinned = document["system"]["tinned"]
    for conductor in document["conductors"]:
        run = runs[conductor["run"]]
        cold = 0.0
        if run["size"]:
            cold = ohm_per_metre(run["size"], tinned) * conductor["length_m"] / run["parallel"]
        hot = cold * (1 + PER_KELVIN * ((run["insulation_c"] or 20.0) - 20))
        landing = sum(_landing_ohm(parts.get(conductor[end])) for end in ("from_node", "to_node"))
        yield Branch(
            conductor["id"], "conductor", conductor["from_node"], conductor["to_node"], conductor["pole"],
            cold + landing, hot + landing, inf, run["ampacity_a"] or inf, conductor["length_m"], conductor["sheath"],
            run["id"],
        )  # fmt: skip


def _landing_ohm(part: dict[str, Any] | None) -> float:
    """Half of what a conducting earth has between any two of its places, at each landing."""
    if part is None or part["kind"] != "earth" or not part["values"].get("conducts"):
        return 0.0
    return (part["values"].get("resistance_ohm") or 0.0) / 2


def _devices(document: dict[str, Any]) -> Iterator[Branch]:
    for device in document["devices"]:
        rated = device["rating_a"] if device["kind"] in ("fuse", "breaker") else None
        for a, b in device["legs"]:
            pole = next(p["pole"] for p in document["points"] if p["id"] == a)
            ohm = device["resistance_ohm"]
            yield Branch(device["id"], device["kind"], a, b, pole, ohm, ohm, inf if rated is None else rated,
                         run=device["run"])  # fmt: skip


def _joins(document: dict[str, Any], poles: dict[str, str], ways: Ways) -> Iterator[Branch]:
    """A common negative, but where both of its negatives have runs to one bar; the negatives of a string and of its
    lowest battery, which is tapped."""
    batteries = {part["id"] for part in document["parts"] if part["kind"] == "battery"}
    for a, b in document["circuit"]["ties"]:
        if {a.split(".")[0], b.split(".")[0]} <= batteries:
            yield Branch(f"{a} {b}", "join", a, b, poles[a])
    for part in document["parts"]:
        if part["values"].get("isolation") == "common-negative":
            a, b = f"{part['id']}.in.neg", f"{part['id']}.out.neg"
            if a in poles and b in poles and b not in ways.reached([a]):
                yield Branch(f"{part['id']} negative", "join", a, b, "neg")


def _supplies(document: dict[str, Any], parts: dict[str, Any], poles: dict[str, str]) -> Iterator[Supply]:
    for source in document["sources"]:
        name, kind, limits = source["id"], source["kind"], source["limits"]
        values = parts[name]["values"]
        if kind == "battery":
            low = (values.get("range") or {}).get("low")
            series = values.get("series", 1)
            yield Supply(
                name, kind, f"{name}.pos", f"{name}.neg", inf, source["emf_full_v"] or 0.0,
                low * series if low is not None else min(source["terminal_v"].values()),
                source["resistance_low_ohm"] or 0.0,
            )  # fmt: skip
            continue
        amperes = limits.get("current_a")
        plus, minus = f"{name}.pos", f"{name}.neg"
        if kind == "solar":
            amperes = SUN * values["isc_a"] * values.get("parallel", 1)
        elif kind == "alternator" and not values.get("self_limiting"):
            amperes = RUNAWAY * amperes
        elif kind == "inverter":
            amperes = limits.get("charges_a")
            yield from _lines_of(name, kind, limits["power_w"] / values["ac_v"], poles)
        elif kind == "converter":
            plus, minus = f"{name}.out.pos", f"{name}.out.neg"
        elif kind in ("shore", "generator"):
            if amperes is None and limits.get("power_w"):
                amperes = limits["power_w"] / values["voltage_v"]
            yield from _lines_of(name, kind, amperes, poles)
            continue
        if amperes and plus in poles:
            yield Supply(name, kind, plus, minus, amperes)


def _lines_of(name: str, kind: str, amperes: float, poles: dict[str, str]) -> Iterator[Supply]:
    for line in ("l", "l1", "l2"):
        if f"{name}.ac-out.{line}" in poles:
            yield Supply(name, kind, f"{name}.ac-out.{line}", f"{name}.ac-out.n", amperes)


def _takers(document: dict[str, Any], poles: dict[str, str]) -> Iterator[Taker]:
    for part in document["parts"]:
        name, kind = part["id"], part["kind"]
        if kind in ("load", "inverter") and f"{name}.pos" in poles:
            yield Taker(name, f"{name}.pos", f"{name}.neg")
        elif kind == "converter":
            yield Taker(name, f"{name}.in.pos", f"{name}.in.neg")
        elif kind == "controller" and f"{name}.pv.pos" in poles:
            yield Taker(name, f"{name}.pv.pos", f"{name}.pv.neg")
        for line in ("l", "l1", "l2"):
            if kind in ("load", "charger", "inverter") and f"{name}.ac-in.{line}" in poles:
                yield Taker(name, f"{name}.ac-in.{line}", f"{name}.ac-in.n")


class Ways:
    """The ways between nodes that branches make."""

    def __init__(self, branches: Iterable[Branch]) -> None:
        self.beside: dict[str, list[str]] = {}
        for branch in branches:
            self.beside.setdefault(branch.a, []).append(branch.b)
            self.beside.setdefault(branch.b, []).append(branch.a)

    def reached(self, start: Iterable[str], without: Iterable[str] = ()) -> set[str]:
        """The nodes that some nodes reach, the ways over other nodes left out."""
        shut = set(without)
        seen = set(start) - shut
        ahead = list(seen)
        while ahead:
            for other in self.beside.get(ahead.pop(), ()):
                if other not in seen and other not in shut:
                    seen.add(other)
                    ahead.append(other)
        return seen

    def groups(self, nodes: Iterable[str]) -> dict[str, str]:
        """By node: a name that all nodes share which reach each other."""
        names: dict[str, str] = {}
        for node in nodes:
            if node not in names:
                names |= dict.fromkeys(self.reached([node]), node)
        return names
