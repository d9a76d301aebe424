"""The network against a dense nodal solve in NumPy and against ngspice, on random circuits.

NumPy: modified nodal analysis (Ho, Ruehli, Brennan, The modified nodal approach to network analysis, 1975) written
plainly, constant power by repeated substitution. ngspice: Debian package `ngspice`, operating point of a netlist
with behavioural sources for constant power. Both are oracles; neither is used at run time.
"""

from __future__ import annotations

import random
import re
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest

from copperplate.network.circuit import Circuit
from copperplate.network.kirchhoff import Answer, Question, prepare, settle

SPICE = shutil.which("ngspice")


def random_circuit(rng: random.Random, loops: int) -> tuple[Circuit, Question]:
    """Two poles of a plate: a tree of wires and zero-ohm devices for each, loads of every law between them, one or
    two held sources, and `loops` wires more than a tree has."""
    size = rng.randint(4, 14)
    wires: list[tuple[int, int]] = []
    ohms: list[float] = []
    ties: list[tuple[int, int, float]] = [(0, 1, 12.0)]
    plus, minus = [0], [1]
    points = 2
    for _ in range(size):
        for pole in (plus, minus):
            at = rng.choice(pole)
            if rng.random() < 0.3:
                ties.append((at, points, 0.0))
            else:
                wires.append((at, points))
                ohms.append(10 ** rng.uniform(-4, -1.5))
            pole.append(points)
            points += 1
    for _ in range(loops):
        pole = rng.choice((plus, minus))
        a, b = rng.sample(pole, 2)
        wires.append((a, b))
        ohms.append(10 ** rng.uniform(-3, -1))
    if loops:
        wires += [(points, plus[1]), (points + 1, minus[1])]
        ohms += [0.002, 0.003]
        ties.append((points, points + 1, 12.1))
        points += 2
    loads, amperes, siemens, watts = [], [], [], []
    for a, b in zip(plus[1:], minus[1:], strict=True):
        law = rng.choice(("amperes", "siemens", "watts", ""))
        loads.append((a, b))
        amperes.append(rng.uniform(-3, 8) if law == "amperes" else 0.0)
        siemens.append(1 / rng.uniform(2, 40) if law == "siemens" else 0.0)
        watts.append(rng.uniform(1, 40) if law == "watts" else 0.0)
    return (
        Circuit(points, wires, ties, loads, (True,) * len(loads), (1,)),
        Question(ohms, amperes, siemens, watts),
    )


def dense(circuit: Circuit, question: Question) -> tuple[np.ndarray, np.ndarray]:
    """Volts of the points and amperes of the ties, by modified nodal analysis."""
    n, m = circuit.points, len(circuit.ties)
    plain = np.zeros((n + m, n + m))

    def stamp(a: int, b: int, g: float) -> None:
        plain[a, a] += g
        plain[b, b] += g
        plain[a, b] -= g
        plain[b, a] -= g

    for (a, b), r in zip(circuit.wires, question.ohms, strict=True):
        stamp(a, b, 1 / r)
    for (a, b), g in zip(circuit.loads, question.siemens, strict=True):
        stamp(a, b, g)
    right = np.zeros(n + m)
    for k, (a, b, volts) in enumerate(circuit.ties):
        plain[a, n + k] = plain[n + k, a] = 1
        plain[b, n + k] = plain[n + k, b] = -1
        right[n + k] = volts
    reference = circuit.references[0]
    plain[reference] = 0
    plain[reference, reference] = 1
    volts = np.full(n, 0.0)
    volts[0] = 12.0
    drawn = [12.0] * len(circuit.loads)
    for _ in range(400):
        rhs = right.copy()
        for k, (a, b) in enumerate(circuit.loads):
            current = question.amperes[k] + question.watts[k] / drawn[k]
            rhs[a] -= current
            rhs[b] += current
        rhs[reference] = 0
        solved = np.linalg.solve(plain, rhs)
        now = [solved[a] - solved[b] for a, b in circuit.loads]
        if max(abs(x - y) for x, y in zip(now, drawn, strict=True)) < 1e-14 * 12:
            break
        drawn = now
    return solved[:n], solved[n:]


def wires_of(circuit: Circuit, question: Question, volts: np.ndarray) -> np.ndarray:
    pairs = zip(circuit.wires, question.ohms, strict=True)
    return np.array([(volts[a] - volts[b]) / r for (a, b), r in pairs])


@pytest.mark.parametrize("loops", [0, 1, 4])
def test_random_circuits_against_a_dense_solve(loops: int) -> None:
    rng = random.Random(20 + loops)
    for _ in range(60):
        circuit, question = random_circuit(rng, loops)
        answer = settle(prepare(circuit), question)
        assert answer.collapsed == () and answer.settled
        volts, ties = dense(circuit, question)
        assert np.allclose(answer.volts, volts, rtol=1e-10, atol=1e-10)
        assert np.allclose(answer.tie_a, ties, rtol=1e-7, atol=1e-7)
        assert np.allclose(answer.wire_a, wires_of(circuit, question, volts), rtol=1e-7, atol=1e-7)


def balance(circuit: Circuit, answer: Answer) -> float:
    """The largest sum of currents at any point."""
    sums = [0.0] * circuit.points
    for (a, b), i in (
        *zip(circuit.wires, answer.wire_a, strict=True),
        *zip([(a, b) for a, b, _ in circuit.ties], answer.tie_a, strict=True),
        *zip(circuit.loads, answer.load_a, strict=True),
    ):
        sums[a] += i
        sums[b] -= i
    return max(map(abs, sums))


def test_currents_at_every_point_sum_to_zero() -> None:
    """Kirchhoff's first law."""
    rng = random.Random(7)
    for loops in (0, 2, 5):
        circuit, question = random_circuit(rng, loops)
        assert balance(circuit, settle(prepare(circuit), question)) < 1e-10


@pytest.mark.skipif(SPICE is None, reason="ngspice is not installed")
@pytest.mark.parametrize("loops", [0, 3])
def test_random_circuits_against_ngspice(loops: int, tmp_path: Path) -> None:
    rng = random.Random(40 + loops)
    for _ in range(6):
        circuit, question = random_circuit(rng, loops)
        answer = settle(prepare(circuit), question)
        found = spice(circuit, question, tmp_path)
        assert found and max(abs(found[p] - answer.volts[p]) for p in found) < 1e-7


def spice(circuit: Circuit, question: Question, folder: Path) -> dict[int, float]:
    """Node voltages by ngspice; the reference is its node 0."""
    zero = circuit.references[0]

    def node(point: int) -> str:
        return "0" if point == zero else f"n{point}"

    lines = ["* random circuit", ".options reltol=1e-12 abstol=1e-14 vntol=1e-13 gmin=1e-18"]
    for k, ((a, b), r) in enumerate(zip(circuit.wires, question.ohms, strict=True)):
        lines.append(f"R{k} {node(a)} {node(b)} {r!r}")
    for k, (a, b, volts) in enumerate(circuit.ties):
        lines.append(f"V{k} {node(a)} {node(b)} {volts!r}")
    for k, (a, b) in enumerate(circuit.loads):
        law = f"{question.amperes[k]!r} + {question.siemens[k]!r}*V({node(a)},{node(b)})"
        if question.watts[k]:
            law += f" + {question.watts[k]!r}/V({node(a)},{node(b)})"
        lines.append(f"B{k} {node(a)} {node(b)} I={law}")
    lines += [".nodeset " + " ".join(f"V({node(a)})=12" for a, _ in circuit.loads if a != zero), ".control"]
    lines += ["set numdgt=16", "op", "print all", ".endc", ".end"]
    file = folder / "circuit.cir"
    file.write_text("\n".join(lines) + "\n")
    done = subprocess.run([str(SPICE), "-b", str(file)], capture_output=True, text=True)
    return {int(p): float(v) for p, v in re.findall(r"^n(\d+) = (\S+)", done.stdout, re.MULTILINE)}


def test_maximum_power_and_collapse() -> None:
    """Maximum power transfer: behind E and R a load gets at most E²/4R, at E/2. Textbook theorem; 12 V and 0.1 ohm
    give 360 W."""
    plan = prepare(Circuit(3, [(0, 1)], [(0, 2, 12.0)], [(1, 2)], [True], [2]))
    just = settle(plan, Question([0.1], [0.0], [0.0], [359.99]))
    assert just.collapsed == () and 6.0 < just.load_v[0] < 6.1
    over = settle(plan, Question([0.1], [0.0], [0.0], [361.0]))
    assert over.collapsed == (0,)
    assert over.bearable * 361.0 == pytest.approx(360.0, rel=1e-3)


def test_only_the_load_that_asks_for_too_much_is_left_out() -> None:
    circuit = Circuit(4, [(0, 1), (0, 2)], [(0, 3, 12.0)], [(1, 3), (2, 3)], [True, True], [3])
    answer = settle(prepare(circuit), Question([0.5, 0.01], [0, 0], [0, 0], [100.0, 50.0]))
    assert answer.collapsed == (0,)
    assert answer.load_a[1] * answer.load_v[1] == pytest.approx(50.0, rel=1e-12)


def test_devices_in_parallel_share_equally() -> None:
    """Zero-ohm devices side by side: nothing tells how they share, so equally."""
    circuit = Circuit(3, [(1, 2)], [(0, 2, 12.0), (0, 1, 0.0), (0, 1, 0.0)], [(1, 2)], [False], [2])
    answer = settle(prepare(circuit), Question([1e6], [6.0]))
    assert answer.tie_a[1] == pytest.approx(answer.tie_a[2], abs=1e-9) == pytest.approx(3.0, abs=1e-4)


def test_unlike_sources_joined_without_resistance_are_told() -> None:
    plan = prepare(Circuit(2, [], [(0, 1, 12.0), (0, 1, 24.0)]))
    assert plan.islands.conflicts == (1,)


def test_merging_and_splitting_a_wire_at_a_point_changes_no_voltage() -> None:
    rng = random.Random(3)
    for _ in range(20):
        circuit, question = random_circuit(rng, 2)
        first = settle(prepare(circuit), question)
        wires, ohms = list(circuit.wires), list(question.ohms)
        k = rng.randrange(len(wires))
        share = rng.uniform(0.1, 0.9)
        (a, b), r = wires[k], ohms[k]
        wires[k], ohms[k] = (a, circuit.points), r * share
        wires.append((circuit.points, b))
        ohms.append(r * (1 - share))
        split = Circuit(circuit.points + 1, wires, circuit.ties, circuit.loads, circuit.coupled, circuit.references)
        question = Question(ohms, question.amperes, question.siemens, question.watts)
        second = settle(prepare(split), question)
        assert np.allclose(first.volts, second.volts[:-1], rtol=1e-11, atol=1e-11)
