"""Figures of finished designs worked out again from `design.json` alone, with NumPy and the formulas of handbooks.

Areas: ASTM B258 for AWG, d = 0.127 mm x 92^((36 - n) / 39); resistance at 20 °C: 1/58 ohm mm²/m for AWG (NBS Handbook
100), the largest of class 5 in IEC 60228 for mm². Judged drop: K = 10.75 ohm circular mil per foot in US small-craft
practice, 0.0164 ohm mm²/m in the small-craft standard (both from memory). Faults: e.m.f. fully charged over the lowest
resistance, copper of the ungrounded side at 20 °C, every battery together (common practice, no source).
"""

from __future__ import annotations

import math
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest

sys.path.append(str(Path(__file__).parents[1]))
from copperplate.design import compile_plate
from copperplate.schema import to_json
from copperplate.text import Source
from random_plates import plate

IEC_60228 = {
    0.5: 39.0, 0.75: 26.0, 1.0: 19.5, 1.5: 13.3, 2.5: 7.98, 4.0: 4.95, 6.0: 3.30, 10.0: 1.91, 16.0: 1.21, 25.0: 0.780,
    35.0: 0.554, 50.0: 0.386, 70.0: 0.272, 95.0: 0.206, 120.0: 0.161, 150.0: 0.129, 185.0: 0.106, 240.0: 0.0801,
}  # fmt: skip
"""ohm/km at 20 °C, plain copper, class 5."""
EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


def area(size: str) -> float:
    number, system = size.split()
    if system == "mm2":
        return float(number)
    gauge = 1 - int(number[0]) if "/0" in number else int(number)
    return math.pi / 4 * (0.127 * 92 ** ((36 - gauge) / 39)) ** 2


def ohm_per_m(size: str) -> float:
    return IEC_60228[float(size.split()[0])] / 1000 if size.endswith("mm2") else 1 / 58 / area(size)


def designs(kind: str) -> list[dict[str, Any]]:
    """The examples, or random plates of a kind, those without an error."""
    if kind == "examples":
        paths = [EXAMPLES / name / f"{name}.plate" for name in ("launch", "camper", "cabin")]
        texts = [path.read_text(encoding="utf-8") for path in paths]
    else:
        texts = [plate(seed, kind).text() for seed in range(2000, 2040)]  # type: ignore[arg-type]

    def read(name: str) -> Source:
        return Source(name, (EXAMPLES / "camper" / name).read_text(encoding="utf-8"))

    made = [compile_plate(Source("x.plate", text), read)[0] for text in texts]
    return [to_json(design) for design in made if design is not None and design.rechecked]


KINDS = ("examples", "radial", "looped", "any")


@pytest.fixture(scope="module", params=KINDS)
def found(request) -> list[dict[str, Any]]:
    made = designs(request.param)
    assert len(made) >= (3 if request.param == "examples" else 30)
    return made


def positive(design: dict[str, Any]) -> set[str]:
    return {point["id"] for point in design["points"] if point["pole"] in ("pos", "mid")}


def test_areas_copper_and_metres(found):
    for design in found:
        by_run: dict[str, float] = {}
        for conductor in design["conductors"]:
            by_run[conductor["run"]] = by_run.get(conductor["run"], 0.0) + conductor["length_m"]
        for run in design["runs"]:
            if run["size"] is None or "SAE" in run["size"]:
                continue
            assert run["area_mm2"] == pytest.approx(area(run["size"]), rel=2e-4), run["id"]
            if run["role"] == "run":
                copper = run["area_mm2"] * by_run.get(run["id"], 0.0) * run["parallel"]
                assert run["copper_mm2_m"] == pytest.approx(copper, rel=1e-9, abs=1e-9), run["id"]


def test_judged_drops(found):
    """The steps of each path, as current times length times the profile's own figure, and the percent of nominal."""
    for design in found:
        runs = {run["id"]: run for run in design["runs"]}
        conductors = {conductor["id"]: conductor for conductor in design["conductors"]}
        rule = {"cfr-183": 10.75 * 506.7075e-6 / 0.3048, "iso-13297": 0.0164}.get(design["system"]["rules"])
        cases = [case["id"] for case in design["cases"] if case["kind"] == "load"]
        for load in design["loads"]:
            total = sum(step["judged_v"] for step in load["path"])
            assert load["drop_v"] == pytest.approx(total, rel=1e-9, abs=1e-12), load["id"]
            assert load["drop_percent"] == pytest.approx(100 * total / load["nominal_v"], rel=1e-9, abs=1e-12)
            for step in load["path"] if rule else ():
                conductor = conductors.get(step["through"])
                if conductor is None or not runs[conductor["run"]]["size"]:
                    continue
                run = runs[conductor["run"]]
                ohm = rule * conductor["length_m"] / area(run["size"]) / run["parallel"]
                solved = max(abs(conductor["current_a"][case]) for case in cases)
                # Judged with the sizing current, which one way alone never has below the solved one.
                if len([s for s in design["sources"] if s["kind"] == "battery"]) == 1 and "ring-run" not in run["id"]:
                    assert abs(step["judged_v"]) >= solved * ohm * (1 - 2e-3) - 1e-9, (load["id"], step["through"])


def test_heat_of_a_fault(found):
    """k = 226 sqrt(ln(1 + (final - initial) / (234.5 + initial))), IEC 60364-5-54; final 160 °C to 105 °C."""
    compared = 0
    for design in found:
        runs = {run["id"]: run for run in design["runs"]}
        for device in design["devices"]:
            stands = [
                226**2 * math.log1p((160 - run["insulation_c"]) / (234.5 + run["insulation_c"]))
                * (area(run["size"]) * run["parallel"]) ** 2
                for run in (runs[name] for name in device["protects"])
                if run["size"] and run["insulation_c"] <= 105
            ]  # fmt: skip
            if device["k2s2"] is not None and stands and device["far_end"] == "opens":
                assert device["k2s2"] == pytest.approx(min(stands), rel=1e-3), device["id"]
                assert device["i2t"] is None or device["i2t"] <= device["k2s2"]
                compared += 1
    assert compared >= 5


def test_temperatures(found):
    """T = Ta + (Tmax - Ta) (I / Iz)², Iz after every factor: losses grow with the square of the current. Of all
    conductors at once, in their hottest case."""
    compared = 0
    for design in found:
        runs = {run["id"]: run for run in design["runs"]}
        rows = [
            (run["ambient_c"], run["insulation_c"], max(map(abs, one["current_a"].values())), run["ampacity_a"], one)
            for one in design["conductors"]
            if (run := runs[one["run"]])["ampacity_a"] and one["pole"] != "pe" and one["current_a"]
        ]
        ambient, hottest, amperes, carries = np.array([row[:4] for row in rows]).T
        wanted = ambient + (hottest - ambient) * np.minimum(amperes / carries, 1.0) ** 2
        assert np.array([row[4]["temperature_c"] for row in rows]) == pytest.approx(wanted, rel=1e-3, abs=0.05)
        compared += len(rows)
    assert compared >= 100


def test_cuts_and_metres(found):
    """Every piece a tenth longer than laid, 0.15 m at least (common practice, no source); what is bought is their sum
    by size and colour."""
    for design in found:
        runs = {run["id"]: run for run in design["runs"]}
        length, cut = np.array([(cut["length_m"], cut["cut_m"]) for cut in design["cuts"]]).T
        assert np.all(cut >= length + np.maximum(0.1 * length, 0.15) - 1e-6)
        laid = sum(
            one["length_m"] * runs[one["run"]]["parallel"]
            for one in design["conductors"]
            if runs[one["run"]]["current"] == "dc" and runs[one["run"]]["size"] and runs[one["run"]]["role"] == "run"
        )
        links = sum(link["length_m"] for link in design["links"])
        single = sum(c["length_m"] for c in design["cuts"] if c["cores"] == 1)
        alternating = sum(
            one["length_m"] * runs[one["run"]]["parallel"]
            for one in design["conductors"]
            if runs[one["run"]]["current"] == "ac" and runs[one["run"]]["size"] and runs[one["run"]]["conductors"] == 1
        )
        assert single == pytest.approx(laid + links + alternating, rel=1e-6), design["system"]
        bought = sum(line["quantity"] for line in design["materials"] if line["group"] in ("conductor", "cable"))
        assert bought == pytest.approx(cut.sum(), rel=1e-6)


def test_days(found):
    """A day is the sum of its lines, and the days of autonomy are what is usable over it."""
    for design in found:
        for bank, day in design["energy"].items():
            assert day["daily_wh"] == pytest.approx(sum(line["wh"] for line in day["lines"]), rel=1e-9, abs=1e-9), bank
            if day["autonomy_days"] is not None:
                assert day["autonomy_days"] == pytest.approx(day["usable_wh"] / day["daily_wh"], rel=1e-9)
