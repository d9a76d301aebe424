"""The plates of the atlas, the figures that must come out of them, and how each figure is read from a design.

A plate `NAME.plate` has a `NAME.toml` beside it:

- `given`: names for intermediate results, each a piece of arithmetic over those above it;
- `figure`: `quantity`, `of` what, `work` (the arithmetic), where it needs them `at` a node, in a `case`, from a `bank`,
  the `cut`; `because` in words; `tolerance`, a share (0.5 % unless stated); `fails`, the plain reason why the compiler
  does not tell it today;
- `finding`: `code`, `of` what, `because`, `fails` where it does not stand today;
- `undeserved`: a finding that stands today and must go, `because`;
- `fails`: what does not hold of the whole plate today, by its name in `WHOLE`, with the plain reason.

Arithmetic knows `cold` and `hot` (ohms of some metres of a size, at 20 °C and as hot as insulation of 105 °C allows),
`tinned_cold` and `tinned_hot`, `warm` (at a temperature), `heated` (the temperature by the square of the share of the
ampacity), `inf`, and where the plate leaves them out `size` of a run and `rating` of a device as they are chosen.
Copper is that of `design_network`.
"""

from __future__ import annotations

import ast
import json
import operator
import sys
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cache, partial
from math import inf, isclose, sqrt
from pathlib import Path
from typing import Any

sys.path.append(str(Path(__file__).parents[1] / "outside"))
from design_network import PER_KELVIN, Branch, Network, network, ohm_per_metre
from fault_sides import largest
from lasting_flow import Exposed, Flow, exposed, from_body, into, returned, thin_returns
from smallest_shorts import Shorts

from copperplate import schema
from copperplate.design import compile_plate
from copperplate.text import Source

FOLDER = Path(__file__).parent
PLATES = sorted(path.relative_to(FOLDER).with_suffix("").as_posix() for path in FOLDER.rglob("*.plate"))


def warm(metres: float, size: str, celsius: float, tinned: bool = False) -> float:
    """Ohms of a conductor at a temperature of its copper."""
    return ohm_per_metre(size, tinned) * metres * (1 + PER_KELVIN * (celsius - 20))


def heated(amperes: float, ampacity: float, ambient: float = 30, insulation: float = 105) -> float:
    """°C of copper: Ta + (Tmax - Ta)(I/Iz)²."""
    return ambient + (insulation - ambient) * (amperes / ampacity) ** 2


KNOWN: dict[str, Any] = {
    "warm": warm, "cold": partial(warm, celsius=20), "hot": partial(warm, celsius=105),
    "tinned_cold": partial(warm, celsius=20, tinned=True), "tinned_hot": partial(warm, celsius=105, tinned=True),
    "heated": heated, "sqrt": sqrt, "max": max, "min": min, "inf": inf,
}  # fmt: skip
SIGNS: dict[type, Callable[[Any, Any], Any]] = {
    ast.Add: operator.add, ast.Sub: operator.sub, ast.Mult: operator.mul, ast.Div: operator.truediv,
    ast.Pow: operator.pow,
}  # fmt: skip


def worked(text: str, given: Mapping[str, Any]) -> float:
    """A piece of arithmetic.

    >>> worked("12 / (a + 2)", {"a": 4.0})
    2.0
    """

    def value(node: ast.expr) -> Any:
        match node:
            case ast.Constant():
                return node.value
            case ast.BinOp():
                return SIGNS[type(node.op)](value(node.left), value(node.right))
            case ast.UnaryOp(op=ast.USub()):
                return -value(node.operand)
            case ast.Name():
                return given[node.id] if node.id in given else KNOWN[node.id]
            case ast.Call():
                return value(node.func)(*map(value, node.args))
        raise ValueError(f"no arithmetic: {text}")

    return float(value(ast.parse(text, mode="eval").body))


@dataclass(frozen=True)
class Figure:
    plate: str
    quantity: str
    of: str
    expected: float
    work: str
    at: str = ""
    bank: str = ""
    case: str = ""
    cut: tuple[str, ...] = ()
    because: str = ""
    tolerance: float = 0.005
    fails: str = ""

    @property
    def name(self) -> str:
        return "-".join(filter(None, (self.plate, self.quantity, self.of, self.at, self.bank, self.case)))

    def holds(self, told: float | None, factor: float = 1.0) -> bool:
        """Whether a figure that is told is the expected one, times a factor."""
        return told is not None and isclose(told, self.expected * factor, rel_tol=self.tolerance, abs_tol=1e-6)


@dataclass(frozen=True)
class Standing:
    """A finding, and why it stands or must go."""

    plate: str
    code: str
    of: str
    because: str
    fails: str = ""

    @property
    def key(self) -> tuple[str, str]:
        return self.code, self.of


@dataclass(frozen=True)
class Sheet:
    figures: tuple[Figure, ...]
    findings: tuple[Standing, ...]
    undeserved: tuple[Standing, ...]
    fails: dict[str, str]


@cache
def sheet(plate: str) -> Sheet:
    """What a plate is expected to tell."""
    data = tomllib.loads((FOLDER / f"{plate}.toml").read_text(encoding="utf-8"))
    given: dict[str, Any] = {"size": lambda run: _chosen(plate, "runs", run, "size")}
    given["rating"] = lambda device: _chosen(plate, "devices", device, "rating_a")
    for name, work in data.get("given", {}).items():
        given[name] = worked(str(work), given)
    figures = []
    for row in data.get("figure", ()):
        work = str(row.pop("work"))
        cut = tuple(sorted(row.pop("cut", ())))
        figures.append(Figure(plate=plate, expected=worked(work, given), work=work, cut=cut, **row))
    return Sheet(
        tuple(figures),
        tuple(Standing(plate=plate, **row) for row in data.get("finding", ())),
        tuple(Standing(plate=plate, **row) for row in data.get("undeserved", ())),
        data.get("fails", {}),
    )


def _chosen(plate: str, table: str, name: str, fact: str) -> Any:
    document = told(plate).document
    assert document is not None
    return _row(document, table, name)[fact]


@dataclass(frozen=True)
class Told:
    """What the compiler tells of a plate."""

    document: dict[str, Any] | None
    findings: frozenset[tuple[str, str]]
    severities: dict[tuple[str, str], str] = field(default_factory=dict)


@cache
def told(plate: str) -> Told:
    path = FOLDER / f"{plate}.plate"
    design, findings = compile_plate(Source(path.name, path.read_text(encoding="utf-8")), lambda name: None)
    document = json.loads(schema.to_text(design)) if design is not None else None
    severities = {(found.code, found.subject): found.severity for found in findings}
    return Told(document, frozenset(severities), severities)


@cache
def circuit(plate: str) -> Network | None:
    document = told(plate).document
    return network(document) if document is not None else None


@cache
def shorts(plate: str) -> Shorts:
    document = told(plate).document
    assert document is not None
    return Shorts(network(document), [case["open_devices"] for case in document["cases"]])


def _row(document: dict[str, Any], table: str, name: str) -> dict[str, Any]:
    return next((row for row in document[table] if row["id"] == name), {})


def _case_volts(document: dict[str, Any], figure: Figure) -> float | None:
    nodes = document["nodes"]
    high, low = (nodes.get(f"{figure.of}.{pole}", {}).get(figure.case) for pole in ("pos", "neg"))
    return None if high is None or low is None else high - low


def _lasting(document: dict[str, Any], figure: Figure) -> float | None:
    """`lasting_a` of a conductor: by direction, named after the end that the current comes from, amperes (null without
    limit) and the cut."""
    conductor = _row(document, "conductors", figure.of)
    direction = "forward" if conductor.get("from_node") == figure.at else "back"
    if "lasting_a" not in conductor:
        return None
    amperes = conductor["lasting_a"][direction]["amperes"]
    cut = tuple(sorted(conductor["lasting_a"][direction]["cut"]))
    if figure.cut and cut != figure.cut:
        return None
    return inf if amperes is None else float(amperes)


TELLERS: dict[str, Callable[[dict[str, Any], Figure], float | None]] = {
    "design current": lambda d, f: _row(d, "runs", f.of).get("design_current_a"),
    "ampacity": lambda d, f: _row(d, "runs", f.of).get("ampacity_a"),
    "area": lambda d, f: _row(d, "runs", f.of).get("area_mm2"),
    "rating": lambda d, f: _row(d, "devices", f.of).get("rating_a"),
    "needs": lambda d, f: _row(d, "devices", f.of).get("needs_a"),
    "volts": lambda d, f: _row(d, "loads", f.of).get("voltage_v") if not f.case else _case_volts(d, f),
    "volts at start": lambda d, f: _row(d, "loads", f.of).get("start_v"),
    "judged drop": lambda d, f: _row(d, "loads", f.of).get("drop_v"),
    "highest volts": lambda d, f: _row(d, "loads", f.of).get("highest_v"),
    "current of a source": lambda d, f: _row(d, "sources", f.of).get("current_a", {}).get(f.case),
    "current of a conductor": lambda d, f: _row(d, "conductors", f.of).get("current_a", {}).get(f.case),
    "largest fault": lambda d, f: _row(d, "devices", f.of).get("prospective_fault_a"),
    "smallest short": lambda d, f: _row(d, "devices", f.of).get("end_fault_a"),
    "lasting": _lasting,
    "lasting return": _lasting,
    "lasting from the body": _lasting,
}
"""What the document tells of each quantity."""


def _conductor(net: Network, name: str) -> Branch:
    return next(branch for branch in net.branches if branch.name == name)


def _flow(plate: str, figure: Figure) -> Flow:
    net = circuit(plate)
    assert net is not None
    kind = {"lasting": into, "lasting return": returned, "lasting from the body": from_body}[figure.quantity]
    return kind(net, _conductor(net, figure.of), figure.at)


def _largest(plate: str, figure: Figure) -> float:
    net = circuit(plate)
    assert net is not None
    return largest(net, figure.of)


def _smallest(plate: str, figure: Figure) -> float | None:
    cleared = shorts(plate).smallest.get(figure.of)
    if cleared is None or (figure.at and cleared.short.node != figure.at):
        return None
    return cleared.amperes


def _short(plate: str, figure: Figure) -> float | None:
    currents = shorts(plate).currents
    if figure.bank:
        return currents.get((figure.of, figure.bank))
    return min((amperes for (node, _), amperes in currents.items() if node == figure.of and amperes > 0), default=None)


ORACLES: dict[str, Callable[[str, Figure], float | None]] = {
    "largest fault": _largest,
    "smallest short": _smallest,
    "short": _short,
    "lasting": lambda p, f: _flow(p, f).amperes,
    "lasting return": lambda p, f: _flow(p, f).amperes,
    "lasting from the body": lambda p, f: _flow(p, f).amperes,
}
"""What the oracles outside reckon of each quantity; `short` is of theirs alone."""


def _findings(plate: str, codes: set[str]) -> set[str]:
    """The runs that findings of some codes name, by themselves or by a device or conductor of theirs; by the device of
    a way the feeder of its panel too."""
    document = told(plate).document
    assert document is not None
    subjects = {subject for code, subject in told(plate).findings if code in codes}
    run_of = {row["id"]: row["run"] for table in ("devices", "conductors") for row in document[table]}
    panels = {device["panel"] for device in document["devices"] if device["id"] in subjects and device["panel"]}
    feeders = {run["id"] for run in document["runs"] if run["to"].split(".")[0] in panels}
    return {run_of.get(subject, subject) for subject in subjects} | feeders


LASTING = {"CP305", "CP401", "CP402", "CP403", "CP404", "CP432", "CP433"}
"""Findings on what flows for ever in a conductor."""


def _unnamed(plate: str, found: list[Exposed]) -> list[str]:
    named = _findings(plate, LASTING)
    return [
        f"{e.conductor} carries {e.carries_a} A, {e.into_a:g} A come from {e.end}" for e in found if e.run not in named
    ]


def every_side(plate: str) -> list[str]:
    """The devices of which the compiler tells another largest fault than the dense solve."""
    document, net = told(plate).document, circuit(plate)
    assert document is not None and net is not None
    wrong = []
    for device in document["devices"]:
        amperes = device["prospective_fault_a"]
        if device["pole"] == "pos" and amperes is not None:
            expected = largest(net, device["id"])
            if not isclose(amperes, expected, rel_tol=0.005):
                wrong.append(f"{device['id']}: {amperes:.5g} A, and {expected:.5g} A is right")
    return wrong


def every_short(plate: str) -> list[str]:
    """The devices of which the compiler tells another smallest short than the dense solves; where no bank drives any
    through a device, it is left to its converter."""
    document = told(plate).document
    assert document is not None
    wrong = []
    for device in document["devices"]:
        cleared = shorts(plate).smallest.get(device["id"])
        if device["pole"] == "pos" and device["kind"] in ("fuse", "breaker") and cleared is not None:
            amperes = device["end_fault_a"]
            if amperes is None or not isclose(amperes, cleared.amperes, rel_tol=0.005):
                at = f"{cleared.short.node} to {cleared.short.to}"
                wrong.append(f"{device['id']}: {amperes} A, and {cleared.amperes:.5g} A is right ({at})")
    return wrong


def exposed_conductors(plate: str) -> list[str]:
    """Ungrounded conductors that carry less than flows in them for ever, are on no short tap and in no finding."""
    document, net = told(plate).document, circuit(plate)
    assert document is not None and net is not None
    return _unnamed(plate, exposed(net, {name: row["value"] for name, row in document["rules"].items()}))


def exposed_returns(plate: str) -> list[str]:
    """Returns that carry less than flows in them for ever, and are in no finding."""
    net = circuit(plate)
    assert net is not None
    return _unnamed(plate, thin_returns(net))


def undue_errors(plate: str) -> list[str]:
    """Errors on what flows for ever in a conductor, in runs where nothing is exposed."""
    document, net = told(plate).document, circuit(plate)
    assert document is not None and net is not None
    rules = {name: row["value"] for name, row in document["rules"].items()}
    runs = {e.run for e in [*exposed(net, rules), *thin_returns(net)]}
    behind = {row["id"]: {row["run"], *row["protects"]} for row in document["devices"]}
    wrong = []
    for (code, subject), severity in told(plate).severities.items():
        named = code in ("CP401", "CP403", "CP404", "CP432") and severity == "error"
        if named and not runs & behind.get(subject, {subject}):
            wrong.append(f"{code} {subject}")
    return wrong


def overrun_designs(plate: str) -> list[str]:
    """Runs in which a case drives more than their design current."""
    document = told(plate).document
    assert document is not None
    design = {run["id"]: run["design_current_a"] or 0.0 for run in document["runs"]}
    return [
        f"{row['id']}: {amperes:.5g} A in {case}, designed for {design[row['run']]:.5g} A"
        for row in document["conductors"]
        for case, amperes in row["current_a"].items()
        if row["pole"] != "pe" and abs(amperes) > design[row["run"]] * 1.0001 + 1e-9
    ]


def disagreements(plate: str) -> list[str]:
    """What the compiler's own re-check says against the design."""
    return sorted(f"{code} {subject}" for code, subject in told(plate).findings if code.startswith("CP59"))


WHOLE: dict[str, Callable[[str], list[str]]] = {
    "sides": every_side,
    "shorts": every_short,
    "exposed": exposed_conductors,
    "returns": exposed_returns,
    "undue": undue_errors,
    "currents": overrun_designs,
    "recheck": disagreements,
}
"""What holds of every plate: the functions list what does not."""
