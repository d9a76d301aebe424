"""A netlist for ngspice, written from `design.json` alone, and the node voltages that ngspice solves.

Every netlist is linear; what depends on the answer (warm copper, constant power) is corrected between two of them.
What is taken from the document: the wiring (conductors and legs of devices by node), resistances referred back to
20 °C with the law of their temperature, and from `circuit` what sources hold and by what law parts draw. No voltage or
current that the product solved enters, but for the nodes that are at 0 V.
"""

from __future__ import annotations

import re
import subprocess
from pathlib import Path
from typing import Any

ALPHA = 0.00393
"""Temperature coefficient of copper at 20 °C, 1/K (IEC 60028)."""


def solve_case(document: dict[str, Any], case: dict[str, Any], folder: Path) -> dict[str, float]:
    """Node voltages of one case by the ids of the document. Conductors warm up with their own current, and loads of
    constant power draw by their own voltage: solved, corrected and solved again until the voltages stand."""
    name = {node: f"n{number}" for number, node in enumerate(document["nodes"])}
    runs = {run["id"]: run for run in document["runs"]}
    wires = [c for c in document["conductors"] if c["resistance_ohm"]]
    hottest = {c["id"]: max(c["resistance_ohm"].values()) for c in wires}
    cold = {c["id"]: hottest[c["id"]] / (1 + ALPHA * (c["temperature_c"] - 20)) for c in wires}
    amperes = dict.fromkeys(cold, 0.0)
    volts: dict[str, float] = {}
    solved: dict[str, float] = {}
    for _ in range(60):
        ohms = {}
        for c in wires:
            run = runs[c["run"]]
            rise = run["insulation_c"] - run["ambient_c"] if run["ampacity_a"] else 0.0
            heating = (amperes[c["id"]] / run["ampacity_a"]) ** 2 if run["ampacity_a"] else 0.0
            ohms[c["id"]] = cold[c["id"]] * (1 + ALPHA * (run["ambient_c"] + rise * heating - 20))
        solved = solve(netlist(document, case, name, ohms, solved), folder)
        last, volts = volts, {node: solved[short] for node, short in name.items() if short in solved}
        amperes = {c["id"]: (volts[c["from_node"]] - volts[c["to_node"]]) / ohms[c["id"]] for c in wires}
        if last and max(abs(volts[node] - last[node]) for node in volts) < 1e-9:
            break
    return volts


def netlist(
    document: dict[str, Any],
    case: dict[str, Any],
    name: dict[str, str],
    ohms: dict[str, float],
    before: dict[str, float],
) -> str:
    """The netlist of one case, with the resistance of each conductor and a short name for each node. `before` is the
    answer that powers are turned into currents with; without one, at the nominal voltage."""
    circuit, this = document["circuit"], case["id"]
    lines = [f"* {document['system']['title']}, {this}"]
    number = 0

    def put(text: str) -> None:
        nonlocal number
        number += 1
        lines.append(text.replace("#", str(number)))

    for c in document["conductors"]:
        if c["resistance_ohm"]:
            put(f"Rwire# {name[c['from_node']]} {name[c['to_node']]} {ohms[c['id']]!r}")
    for d in document["devices"]:
        for a, b in d["legs"] if d["id"] not in case["open_devices"] else ():
            if d["resistance_ohm"]:
                put(f"Rdev# {name[a]} {name[b]} {d['resistance_ohm']!r}")
            else:
                put(f"Vdev# {name[a]} {name[b]} 0")
    for a, b in circuit["ties"]:
        put(f"Vtie# {name[a]} {name[b]} 0")
    given_w: dict[str, float] = {}
    for n, hold in enumerate(h for h in circuit["holds"] if this in h["volts"]):
        to_node, volts = name[hold["to_node"]], hold["volts"][this]
        if hold["inside_ohm"]:
            put(f"Rinside# inside{n} {to_node} {hold['inside_ohm']!r}")
            to_node = f"inside{n}"
        lines.append(f"vsrc{n} {to_node} {name[hold['from_node']]} {volts!r}")
        given_w[hold["to_node"]] = abs(before[f"vsrc{n}#branch"] * volts) if before else 0.0
    points = {p["id"]: p for p in document["points"]}
    # What pushes comes first: a charger takes what it gives.
    for draw in sorted(circuit["draws"], key=lambda draw: draw["role"] != "push"):
        share, a, b = draw["share"][this], name[draw["from_node"]], name[draw["to_node"]]
        across = before[a] - before[b] if before else points[draw["from_node"]]["nominal_v"]
        amperes, watts = share * draw["amperes"], share * draw["watts"]
        if draw["role"] == "push":
            given_w[draw["from_node"]] = -amperes * across
        conversion, transfer = draw["conversion"], draw["transfer"]
        if conversion is not None and share:
            given = sum(given_w.get(node, 0.0) for node in conversion["outputs"])
            most = float("inf") if conversion["limit_w"] is None else share * conversion["limit_w"]
            watts = max(min(given, most) / conversion["efficiency"], conversion["idle_w"]) / conversion["lines"]
        if transfer is not None and this in transfer["cases"]:
            amperes += sum(given_w.get(node, 0.0) for node in transfer["outputs"]) / transfer["volts"]
        if watts:
            amperes += watts / across
        if amperes:
            put(f"Idraw# {a} {b} {amperes!r}")
        if share * draw["siemens"]:
            put(f"Rdraw# {a} {b} {1 / (share * draw['siemens'])!r}")
    for node in _at_zero(document, case):
        put(f"Vref# {name[node]} 0 0")
    return "\n".join(lines)


def _at_zero(document: dict[str, Any], case: dict[str, Any]) -> list[str]:
    """One node of every part of the circuit that nothing joins to the rest: there its voltage counts from."""
    above: dict[str, str] = {}

    def top(node: str) -> str:
        while node in above:
            node = above[node]
        return node

    circuit = document["circuit"]
    joined = [(c["from_node"], c["to_node"]) for c in document["conductors"]] + [tuple(t) for t in circuit["ties"]]
    joined += [(a, b) for d in document["devices"] if d["id"] not in case["open_devices"] for a, b in d["legs"]]
    joined += [(h["from_node"], h["to_node"]) for h in circuit["holds"] if case["id"] in h["volts"]]
    for a, b in joined:
        first, second = top(a), top(b)
        if first != second:
            above[second] = first
    zero = {top(node): node for node, volts in document["nodes"].items() if volts[case["id"]] == 0.0}
    assert set(zero) == {top(node) for node in document["nodes"]}, "no node at 0 V"
    return list(zero.values())


def solve(text: str, folder: Path) -> dict[str, float]:
    """Node voltages of the operating point as ngspice gives them, by its own node names."""
    path = folder / "plate.cir"
    control = (
        "\n.options reltol=1e-8 abstol=1e-7 vntol=1e-8 gmin=1e-12 itl1=1000\n.control\nset numdgt=14\nop\n"
        "print all\n.endc\n.end\n"
    )
    path.write_text(text + control, encoding="utf-8")
    done = subprocess.run(["ngspice", "-b", str(path)], capture_output=True, text=True, timeout=120, check=False)
    found = re.findall(r"^(n\d+|vsrc\d+#branch) = (\S+)", done.stdout, re.MULTILINE)
    assert found, done.stdout[-2000:] + done.stderr[-2000:]
    return {node: float(volts) for node, volts in found}
