"""The plates of the atlas, the figures that must come out of them, and how each figure is read from a design.

A plate `NAME.plate` has a `NAME.toml` beside it:

- `given`: names for intermediate results, each a piece of arithmetic over those above it;
- `figure`: `quantity`, `of` what, `work` (the arithmetic), where it needs them `at` a node, in a `case`,
  the `cut`; `because` in words; `tolerance`, a share (0.5 % unless stated); `fails`, the plain reason why the compiler
  does not tell it today;
- `finding`: `code`, `of` what (`*`: whatever it names first), `because`, `fails` where it does not stand today;
- `undeserved`: a finding that stands today and must go, `because`;
- `fails`: what does not hold of the whole plate today, by its name in `CHECKS` of `whole_plate`, with the plain reason.

Arithmetic knows `cold` and `hot` (ohms of some metres of a size, at 20 °C and as hot as insulation of 105 °C allows),
`tinned_cold` and `tinned_hot`, `warm` (at a temperature), `heated` (the temperature by the square of the share of the
ampacity), `inf`, and where the plate leaves them out `size` of a run and `rating` of a device as they are chosen.
Copper is that of `design_network`.
"""

from __future__ import annotations

import ast
import operator
import sys
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache, partial
from math import inf, isclose, sqrt
from pathlib import Path
from typing import Any

sys.path.append(str(Path(__file__).parents[1] / "outside"))
from design_network import PER_KELVIN, ohm_per_metre
from fault_sides import largest
from lasting_flow import Flow, from_body, into, returned
from whole_plate import Compiled, compiled

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
    case: str = ""
    cut: tuple[str, ...] = ()
    because: str = ""
    tolerance: float = 0.005
    fails: str = ""

    @property
    def name(self) -> str:
        return "-".join(filter(None, (self.plate, self.quantity, self.of, self.at, self.case)))

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

    def is_that(self, code: str, subject: str) -> bool:
        """Whether a finding is the one meant; `of` is "*" where one finding stands for several devices."""
        return code == self.code and self.of in (subject, "*")


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
    return plate_of(plate).row(table, name)[fact]


@cache
def plate_of(name: str) -> Compiled:
    """A plate of the atlas, compiled."""
    plate = compiled((FOLDER / f"{name}.plate").read_text(encoding="utf-8"), f"{name}.plate")
    assert plate is not None
    return plate


def _case_volts(plate: Compiled, figure: Figure) -> float | None:
    nodes = plate.document["nodes"]
    high, low = (nodes.get(f"{figure.of}.{pole}", {}).get(figure.case) for pole in ("pos", "neg"))
    return None if high is None or low is None else high - low


def _lasting(plate: Compiled, figure: Figure) -> float | None:
    """`lasting_a` of a conductor: by direction, named after the end that the current comes from, amperes (null without
    limit) and the cut."""
    conductor = plate.row("conductors", figure.of)
    direction = "forward" if conductor.get("from_node") == figure.at else "back"
    amperes = conductor["lasting_a"][direction]["amperes"]
    cut = tuple(sorted(conductor["lasting_a"][direction]["cut"]))
    if figure.cut and cut != figure.cut:
        return None
    return inf if amperes is None else float(amperes)


TELLERS: dict[str, Callable[[Compiled, Figure], float | None]] = {
    "design current": lambda p, f: p.row("runs", f.of).get("design_current_a"),
    "ampacity": lambda p, f: p.row("runs", f.of).get("ampacity_a"),
    "area": lambda p, f: p.row("runs", f.of).get("area_mm2"),
    "rating": lambda p, f: p.row("devices", f.of).get("rating_a"),
    "needs": lambda p, f: p.row("devices", f.of).get("needs_a"),
    "volts": lambda p, f: p.row("loads", f.of).get("voltage_v") if not f.case else _case_volts(p, f),
    "volts at start": lambda p, f: p.row("loads", f.of).get("start_v"),
    "judged drop": lambda p, f: p.row("loads", f.of).get("drop_v"),
    "highest volts": lambda p, f: p.row("loads", f.of).get("highest_v"),
    "current of a conductor": lambda p, f: p.row("conductors", f.of).get("current_a", {}).get(f.case),
    "largest fault": lambda p, f: p.row("devices", f.of).get("prospective_fault_a"),
    "smallest short": lambda p, f: p.row("devices", f.of).get("end_fault_a"),
    "lasting": _lasting,
    "lasting return": _lasting,
    "lasting from the body": _lasting,
}
"""What the document tells of each quantity."""
FLOWS = {"lasting": into, "lasting return": returned, "lasting from the body": from_body}


def flow_of(figure: Figure) -> Flow:
    """What flows for ever by the oracle."""
    net = plate_of(figure.plate).net
    conductor = next(branch for branch in net.branches if branch.name == figure.of)
    return FLOWS[figure.quantity](net, conductor, figure.at)


def _smallest(figure: Figure) -> float | None:
    cleared = plate_of(figure.plate).shorts.smallest.get(figure.of)
    if cleared is None or (figure.at and cleared.short.node != figure.at):
        return None
    return cleared.amperes


ORACLES: dict[str, Callable[[Figure], float | None]] = {
    "largest fault": lambda f: largest(plate_of(f.plate).net, f.of),
    "smallest short": _smallest,
    "lasting": lambda f: flow_of(f).amperes,
    "lasting return": lambda f: flow_of(f).amperes,
    "lasting from the body": lambda f: flow_of(f).amperes,
}
"""What the oracles outside reckon of each quantity."""
