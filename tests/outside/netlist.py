"""A netlist for ngspice, written from `design.json` alone, and the node voltages that ngspice solves.

Every netlist is linear; what depends on the answer (warm copper, constant power) is corrected between two of them.
What is taken from the document: the wiring (conductors and legs of devices by node), resistances referred back to
20 °C with the law of their temperature, held voltages of the sources by case, and what each load asks for. No voltage
or current that the product solved enters, but for the currents that sources push at their rating.
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
    points = {p["id"]: p for p in document["points"]}
    parts = {part["id"]: part for part in document["parts"]}
    # A source that is off in this case holds nothing.
    held = {s["id"]: s["terminal_v"][case["id"]] for s in document["sources"] if s["terminal_v"].get(case["id"])}
    pushed = {s["id"]: s["current_a"].get(case["id"], 0.0) for s in document["sources"] if s["id"] not in held}
    shares, opened = case["shares"], set(case["open_devices"])
    lines = [f"* {document['system']['title']}, {case['id']}"]
    number = 0

    def put(text: str) -> None:
        nonlocal number
        number += 1
        lines.append(text.replace("#", str(number)))

    for c in document["conductors"]:
        if c["resistance_ohm"]:
            put(f"Rwire# {name[c['from_node']]} {name[c['to_node']]} {ohms[c['id']]!r}")
    for d in document["devices"]:
        if d["id"] in opened:
            continue
        for a, b in d["legs"]:
            if d["resistance_ohm"]:
                put(f"Rdev# {name[a]} {name[b]} {d['resistance_ohm']!r}")
            else:
                put(f"Vdev# {name[a]} {name[b]} 0")
    output: dict[str, str] = {}
    for source, at in held.items():
        pos, neg = _terminals(points, source, parts[source]["kind"], "output")
        output[source] = f"vsrc{len(output)}"
        lines.append(f"{output[source]} {name[pos]} {name[neg]} {at!r}")
        if pos.endswith(".ac-out.l1") and neg.endswith(".n"):
            put(f"Vsecond# {name[neg]} {name[pos.removesuffix('1') + '2']} {at!r}")
    for source, amperes in pushed.items():
        if not amperes or parts[source]["kind"] == "solar":
            continue  # What takes its current is the controller, whose input the document does not describe.
        pos, neg = _terminals(points, source, parts[source]["kind"], "output")
        put(f"Ipush# {name[neg]} {name[pos]} {amperes!r}")
    for part in document["parts"]:
        values, share = part["values"], shares.get(part["id"], 0.0)
        ends = _terminals(points, part["id"], part["kind"], "supply")
        if ends is None or not share:
            continue
        pos, neg = name[ends[0]], name[ends[1]]
        across = before[pos] - before[neg] if before else points[ends[0]]["nominal_v"]
        watts = 0.0
        if part["kind"] == "load":
            count = values["count"] * share
            if values.get("current_a"):
                put(f"Iload# {pos} {neg} {values['current_a'] * count!r}")
            elif values.get("resistance_ohm"):
                put(f"Rload# {pos} {neg} {values['resistance_ohm'] / count!r}")
            elif values.get("power_w") and points[ends[0]]["pole"] in ("l", "l1"):
                between = 2 if ends[1].endswith(".l2") else 1
                amperes = values["power_w"] * count / points[ends[0]]["nominal_v"] / between / values["power_factor"]
                put(f"Iload# {pos} {neg} {amperes!r}")
            elif values.get("power_w"):
                watts = values["power_w"] * count
        elif part["kind"] == "inverter" and part["id"] in held and before:
            given = -before[f"{output[part['id']]}#branch"] * held[part["id"]]
            watts = max(given / values["efficiency"], values.get("idle_w") or 0.0)
        elif part["kind"] == "inverter" and part["id"] not in held:
            watts = share * values["power_w"] / values["efficiency"]
        elif part["kind"] == "converter" and part["id"] in held:
            given = -before[f"{output[part['id']]}#branch"] * held[part["id"]] if before else 0.0
            watts = max(given / values["efficiency"], values.get("idle_w") or 0.0)
        elif part["kind"] in ("converter", "charger") and before:
            out = _terminals(points, part["id"], part["kind"], "output")
            given = pushed[part["id"]] * (before[name[out[0]]] - before[name[out[1]]])
            watts = given / values["efficiency"]
        if watts:
            put(f"Iload# {pos} {neg} {watts / across!r}")
    for part in document["parts"]:
        inlet, neutral = f"{part['id']}.ac-in.l", f"{part['id']}.ac-in.n"
        if part["kind"] != "inverter" or part["id"] not in held or inlet not in points or not before:
            continue
        supplies = [s for s in held if s != part["id"] and shares.get(s) and f"{s}.ac-out.l" in points]
        if any(points[f"{s}.ac-out.l"]["zone"] == points[inlet]["zone"] for s in supplies):
            # The transfer stands on the supply: what the outlet gives is taken from the inlet.
            put(f"Ihand# {name[inlet]} {name[neutral]} {-before[output[part['id']] + '#branch']!r}")
    for part in document["parts"]:
        if part["values"].get("isolation") == "common-negative":
            put(f"Vcommon# {name[part['id'] + '.in.neg']} {name[part['id'] + '.out.neg']} 0")
    for node in _islands(document, points, held, opened):
        put(f"Vref# {name[node]} 0 0")
    return "\n".join(lines)


def _islands(document: dict[str, Any], points: dict[str, Any], held: dict[str, float], opened: set[str]) -> list[str]:
    """One node of every part of the circuit that nothing joins to the rest: there its voltage counts from."""
    above: dict[str, str] = {}

    def top(node: str) -> str:
        while node in above:
            node = above[node]
        return node

    parts = {part["id"]: part["kind"] for part in document["parts"]}
    joined = [(c["from_node"], c["to_node"]) for c in document["conductors"]]
    joined += [
        (f"{part['id']}.in.neg", f"{part['id']}.out.neg")
        for part in document["parts"]
        if part["values"].get("isolation") == "common-negative"
    ]
    joined += [(a, b) for d in document["devices"] if d["id"] not in opened for a, b in d["legs"]]
    sides = ("output", "supply")
    joined += [pair for part, kind in parts.items() for s in sides if (pair := _terminals(points, part, kind, s))]
    for a, b in joined:
        first, second = top(a), top(b)
        if first != second:
            above[second] = first
    negatives = [_terminals(points, source, parts[source], "output")[1] for source in held]
    return list({top(node): node for node in [*points, *reversed(negatives)]}.values())


def _terminals(points: dict[str, Any], part: str, kind: str, side: str) -> tuple[str, str] | None:
    """The positive (or line) and negative (or neutral) node of a part's output or supply."""
    ports = {
        ("converter", "output"): ("out.",),
        ("converter", "supply"): ("in.",),
        ("controller", "supply"): ("pv.",),
        ("inverter", "output"): ("ac-out.",),
        ("shore", "output"): ("ac-out.",),
        ("generator", "output"): ("ac-out.",),
        ("charger", "supply"): ("ac-in.",),
        ("load", "supply"): ("", "ac-in."),
    }.get((kind, side), ("",))
    for port in ports:
        across = (("l1", "n"),) if side == "output" and f"{part}.{port}n" in points else (("l1", "l2"),)
        for first, last in (("pos", "neg"), ("l", "n"), *across):
            if f"{part}.{port}{first}" in points and f"{part}.{port}{last}" in points:
                return f"{part}.{port}{first}", f"{part}.{port}{last}"
    return None


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
