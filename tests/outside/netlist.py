"""A netlist for ngspice, written from `design.json` alone, and the node voltages that ngspice solves.

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


def netlist(document: dict[str, Any], case: dict[str, Any]) -> tuple[str, dict[str, str]]:
    """The netlist of one case, and the names of its nodes by the ids of the document."""
    name = {node: f"n{number}" for number, node in enumerate(document["nodes"])}
    points = {p["id"]: p for p in document["points"]}
    runs = {run["id"]: run for run in document["runs"]}
    parts = {part["id"]: part for part in document["parts"]}
    held = {s["id"]: s["terminal_v"][case["id"]] for s in document["sources"] if case["id"] in s["terminal_v"]}
    pushed = {s["id"]: s["current_a"].get(case["id"], 0.0) for s in document["sources"] if s["id"] not in held}
    shares, opened = case["shares"], set(case["open_devices"])
    lines = [f"* {document['system']['title']}, {case['id']}"]
    number = 0

    def put(text: str) -> None:
        nonlocal number
        number += 1
        lines.append(text.replace("#", str(number)))

    for c in document["conductors"]:
        run = runs[c["run"]]
        if c["resistance_ohm"] is None:
            continue
        a, b = name[c["from_node"]], name[c["to_node"]]
        cold = c["resistance_ohm"] / (1 + ALPHA * (c["temperature_c"] - 20))
        rise = (run["insulation_c"] - run["ambient_c"]) / run["ampacity_a"] ** 2 if run["ampacity_a"] else 0.0
        put(f"Vsense# {a} m# 0")
        at = lines[-1].split()[0].lower()
        ambient = run["ambient_c"] - 20
        put(f"Bwire# m{number} {b} V=i({at})*{cold!r}*(1+{ALPHA}*({ambient!r}+{rise!r}*i({at})*i({at})))")
        # The middle node belongs to the sense source written just before.
        lines[-1] = lines[-1].replace(f" m{number} ", f" m{number - 1} ")
    for d in document["devices"]:
        if d["id"] in opened:
            continue
        for a, b in d["legs"]:
            if d["resistance_ohm"]:
                put(f"Rdev# {name[a]} {name[b]} {d['resistance_ohm']!r}")
            else:
                put(f"Vdev# {name[a]} {name[b]} 0")
    earthed: set[str] = set()
    output: dict[str, str] = {}
    for source, volts in held.items():
        pos, neg = _terminals(points, source, parts[source]["kind"], "output")
        put(f"Vsrc# {name[pos]} {name[neg]} {volts!r}")
        output[source] = lines[-1].split()[0].lower()
        zone = points[neg]["zone"]
        if zone not in earthed:
            earthed.add(zone)
            put(f"Vref# {name[neg]} 0 0")
    for source, amperes in pushed.items():
        pos, neg = _terminals(points, source, parts[source]["kind"], "output")
        put(f"Ipush# {name[neg]} {name[pos]} {amperes!r}")
    for part in document["parts"]:
        values, share = part["values"], shares.get(part["id"], 0.0)
        ends = _terminals(points, part["id"], part["kind"], "supply")
        if ends is None or not share:
            continue
        pos, neg = name[ends[0]], name[ends[1]]
        if part["kind"] == "load":
            count = values["count"] * share
            if values.get("current_a"):
                put(f"Iload# {pos} {neg} {values['current_a'] * count!r}")
            elif values.get("resistance_ohm"):
                put(f"Rload# {pos} {neg} {values['resistance_ohm'] / count!r}")
            elif values.get("power_w"):
                put(f"Bload# {pos} {neg} I={values['power_w'] * count!r}/v({pos},{neg})")
        elif part["kind"] == "inverter":
            put(f"Bload# {pos} {neg} I={share * values['power_w'] / values['efficiency']!r}/v({pos},{neg})")
        elif part["kind"] == "converter" and part["id"] in held:
            given = f"abs(i({output[part['id']]}))*{held[part['id']]!r}/{values['efficiency']!r}"
            idle = values.get("idle_w") or 0.0
            put(f"Bload# {pos} {neg} I=max({given},{idle!r})/v({pos},{neg})")
        elif part["kind"] == "converter":
            out = _terminals(points, part["id"], part["kind"], "output")
            given = f"{pushed[part['id']]!r}*v({name[out[0]]},{name[out[1]]})/{values['efficiency']!r}"
            put(f"Bload# {pos} {neg} I={given}/v({pos},{neg})")
    return "\n".join(lines), name


def _terminals(points: dict[str, Any], part: str, kind: str, side: str) -> tuple[str, str] | None:
    """The positive and negative node of a part's output or supply."""
    ports = {
        ("converter", "output"): "out.",
        ("converter", "supply"): "in.",
        ("controller", "supply"): "pv.",
    }.get((kind, side), "")
    found = tuple(f"{part}.{ports}{pole}" for pole in ("pos", "neg"))
    if all(node in points for node in found):
        return found[0], found[1]
    return None


def solve(text: str, folder: Path) -> dict[str, float]:
    """Node voltages of the operating point as ngspice gives them, by its own node names."""
    path = folder / "plate.cir"
    control = (
        "\n.options reltol=1e-10 abstol=1e-10 vntol=1e-10 gmin=1e-15 itl1=1000\n.control\nset numdgt=14\nop\n"
        "print all\n.endc\n.end\n"
    )
    path.write_text(text + control, encoding="utf-8")
    done = subprocess.run(["ngspice", "-b", str(path)], capture_output=True, text=True, timeout=120, check=False)
    found = re.findall(r"^(n\d+) = (\S+)", done.stdout, re.MULTILINE)
    assert found, done.stdout[-2000:] + done.stderr[-2000:]
    return {node: float(volts) for node, volts in found}
