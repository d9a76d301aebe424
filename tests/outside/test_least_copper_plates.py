"""The total copper of whole plates, from their text through the compiler, against `scipy.optimize.milp` (HiGHS) on a
program that is made of `design.json` alone."""

from __future__ import annotations

import json
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from plate_program import optimum

sys.path.append(str(Path(__file__).parents[1]))
from copperplate import schema
from copperplate.design import compile_plate
from copperplate.text import Source
from random_plates import Plate, plate

PLATES = 200


def judged_by_budget(seed: int) -> Plate:
    """A radial plate under a profile whose judging figure is a plain formula, without stated sizes on feeders and
    without voltage windows, which the program does not know."""
    drawn = plate(seed, "radial", 2, 30)
    boat = seed % 3 > 0
    return replace(
        drawn,
        rules="cfr-183" if boat else "iso-13297",
        series="awg" if boat else "mm2",
        insulation_c=drawn.insulation_c if boat else 90.0,
        chassis=False,
        extra=(),
        inverter_w=min(drawn.inverter_w, 1.0) * 1500,
        loads=tuple(
            replace(load, back="", run_words=(), words=tuple(w for w in load.words if "works" not in w))
            for load in drawn.loads
        ),
        panels=tuple(replace(panel, run_words=()) for panel in drawn.panels),
    )


def documents(first: int, wanted: int) -> list[dict[str, Any]]:
    """The designs of so many plates of 5 to 40 runs that have no error."""
    found: list[dict[str, Any]] = []
    seed = first
    while len(found) < wanted:
        design, _ = compile_plate(Source("random.plate", judged_by_budget(seed).text()), lambda name: None)
        assert design is not None
        if not design.errors and 5 <= len(design.runs) <= 40:
            found.append(json.loads(schema.to_text(design)))
        seed += 1
        assert seed < first + 2 * wanted
    return found


@pytest.mark.parametrize("part", range(4))
def test_the_copper_of_a_plate_is_the_least(part: int) -> None:
    for document in documents(1000 * part, PLATES // 4):
        total = sum(run["copper_mm2_m"] for run in document["runs"])
        assert total == pytest.approx(optimum(document).copper_mm2_m, rel=1e-7)
