"""Motor starts held by the least copper: against an integer program, and by hand on plates."""

from __future__ import annotations

import random

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp

from copperplate.design import compile_plate
from copperplate.findings import Finding
from copperplate.model.results import Design
from copperplate.sizing.branch_and_bound import SideConstraint, branch_and_bound
from copperplate.sizing.instance import BudgetedPath, Option
from copperplate.text import Source

AREAS = (1.31, 2.08, 3.31, 5.26, 8.37, 13.3, 21.1, 33.6, 53.5)

BOAT = """system "Small boat"
  nominal 12 V
  rules cfr-183
  conductors awg
battery house "Bank" 12.8 V, 100 Ah, lifepo4
  range 12.0..14.4 V
  fault-current 3 kA
bus plus "Positive bus" positive, 350 A
bus minus "Negative bus" negative, 350 A
load winch "Winch" 20 A, intermittent, drop 10 %, works 11..15 V{start}
load lamp "Lamp" 5 A, drop 3 %
house.pos -- 0.3 m -- [main: fuse class-t] -- 0.5 m -- plus
house.neg -- 0.8 m -- minus
plus -- [fuse class-t] -- 5 m{size} -- winch.pos
winch.neg -- 5 m{size} -- minus
plus -- [fuse] -- 3 m -- lamp.pos
lamp.neg -- 3 m -- minus
"""


def compiled(text: str) -> tuple[Design, tuple[Finding, ...]]:
    design, findings = compile_plate(Source("boat.plate", text), lambda name: None)
    assert design is not None
    return design, findings


def instance(seed: int) -> tuple[list[list[Option]], list[BudgetedPath], list[SideConstraint]]:
    """Feeders from one source, branches on each; some branches are motors with a second budget of warm ohms."""
    rng = random.Random(seed)
    options: list[list[Option]] = []
    metres: list[float] = []

    def unit(length: float) -> int:
        options.append([Option(17.8e-3 / a, a, round(a * length * 1e9)) for a in AREAS])
        metres.append(length)
        return len(options) - 1

    main = unit(rng.uniform(1, 4))
    paths: list[BudgetedPath] = []
    constraints: list[SideConstraint] = []
    for _ in range(rng.randint(1, 3)):
        feeder = unit(rng.uniform(1, 6))
        for _ in range(rng.randint(1, 3)):
            own = unit(rng.uniform(2, 15))
            amperes, below = rng.uniform(2, 12), rng.uniform(10, 30)
            carried = {main: below * 2, feeder: below, own: amperes}
            ampere_metres = tuple((u, i * metres[u]) for u, i in carried.items())
            paths.append(BudgetedPath(rng.choice((0.36, 0.6, 1.2)), ampere_metres))
            if rng.random() < 0.6:
                added = amperes * rng.uniform(2, 6)
                lost = {
                    u: tuple(
                        (i + added) * metres[u] * o.ohm_per_m * (1.0 + 0.3 / (1 + n)) for n, o in enumerate(options[u])
                    )
                    for u, i in carried.items()
                }
                constraints.append(SideConstraint(rng.uniform(0.7, 2.0), lost))
    # The same feeder current for all its branches, as on a plate.
    carried_by: dict[int, float] = {}
    even = []
    for path in paths:
        even.append(BudgetedPath(path.budget_v, tuple((u, carried_by.setdefault(u, am)) for u, am in path.units)))
    return options, even, [constraint for constraint in constraints if constraint.can_hold()]


@pytest.mark.parametrize("seed", range(60))
def test_starts_cost_no_more_copper_than_an_integer_program_finds(seed: int) -> None:
    options, paths, constraints = instance(seed)
    choice = branch_and_bound(options, paths, constraints)
    held = [path for n, path in enumerate(paths) if n not in choice.beyond]
    assert all(constraint.holds(choice.taken) for constraint in constraints)
    width = len(AREAS)
    cost = np.array([o.copper / 1e9 for unit in options for o in unit])
    rows, upper = [], []
    for path in held:
        row = np.zeros(len(cost))
        for unit, ampere_metres in path.units:
            row[unit * width : (unit + 1) * width] = [ampere_metres * o.ohm_per_m for o in options[unit]]
        rows.append(row)
        upper.append(path.budget_v)
    for constraint in constraints:
        row = np.zeros(len(cost))
        for unit, volts in constraint.lost_v.items():
            row[unit * width : (unit + 1) * width] = volts
        rows.append(row)
        upper.append(constraint.budget_v)
    whole = np.kron(np.eye(len(options)), np.ones(width))
    best = milp(
        cost,
        constraints=[LinearConstraint(np.array(rows), -np.inf, upper), LinearConstraint(whole, 1, 1)],
        integrality=np.ones(len(cost)),
        bounds=Bounds(0, 1),
    )
    spent = sum(options[u][t].copper for u, t in enumerate(choice.taken) if t is not None) / 1e9
    assert best.success and choice.exact
    assert spent == pytest.approx(best.fun, rel=1e-6)


def test_a_start_sizes_the_leads_of_its_motor() -> None:
    steady, _ = compiled(BOAT.format(start="", size=""))
    design, findings = compiled(BOAT.format(start=", inrush 90 A", size=""))
    assert not [f for f in findings if f.code == "CP427" or f.severity == "error"]
    assert design.rechecked
    run, load = design.runs["winch.pos.run"], design.loads["winch"]
    assert run.governed_by == "start" and run.area_mm2 > steady.runs["winch.pos.run"].area_mm2
    # By hand, 12 V less the start's 90 A and the lamp's 5 A through the battery's leads: wire tables give 6 AWG 0.3951,
    # 4 AWG 0.2485 and 2 AWG 0.1563 ohm a thousand feet at 20 °C (from memory), 0.393 % a kelvin more up to 105 °C. The
    # 70 A that the start adds lose 13.6 V / 3 kA within the battery, whose terminals are held while the winch runs.
    metres_per_kft = 304.8
    ohm = {"6 AWG": 0.3951 / metres_per_kft, "4 AWG": 0.2485 / metres_per_kft, "2 AWG": 0.1563 / metres_per_kft}
    held = 12.0 - 70 * 13.6 / 3000
    cold = held - 95 * 1.6 * ohm[design.runs["house.pos.run"].size.label] - 90 * 10 * ohm[run.size.label]
    hot = held - (held - cold) * (1 + 0.00393 * 85)
    assert load.start_a == 90.0 and load.start_v is not None
    assert hot < load.start_v < cold and load.start_v >= 11.0


def test_stated_leads_smaller_than_a_start_asks_for_are_told() -> None:
    design, _ = compiled(BOAT.format(start=", inrush 90 A", size=""))
    sizes = [c.size for c in design.runs["winch.pos.run"].candidates]
    chosen = sizes.index(design.runs["winch.pos.run"].size)
    _, findings = compiled(BOAT.format(start=", inrush 90 A", size=f", {sizes[chosen - 2].label}"))
    # Stated sizes are checked: the battery's leads, which are free, grow as far as they can help.
    assert "CP427" in {f.code for f in findings}


def test_a_start_that_no_size_can_hold_is_told() -> None:
    _, findings = compiled(BOAT.format(start=", inrush 9000 A", size=""))
    assert "CP427" in {f.code for f in findings}


def test_a_larger_start_never_needs_less_copper() -> None:
    """Up to what its battery can start: 180 A more would lose 0.8 V of the 1 V within it, which no size makes good."""
    spent = []
    for amperes in (20, 40, 60, 90, 140):
        design, _ = compiled(BOAT.format(start=f", inrush {amperes} A", size=""))
        spent.append(sum(run.copper_mm2_m for run in design.runs.values()))
    assert spent == sorted(spent) and spent[-1] > spent[0]
