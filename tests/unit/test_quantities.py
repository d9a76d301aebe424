"""Figures as quantities of pint: every figure that states its unit has one, and pint reckons with it."""

from __future__ import annotations

import dataclasses
import re
import subprocess
import sys
from pathlib import Path

import pint
import pytest
from comparing import EXAMPLES

from copperplate import make
from copperplate.model import COMPONENTS, results, system
from copperplate.units import Measured

ROOT = EXAMPLES.parent
ROOMS = (*vars(results).values(), *vars(system).values(), *COMPONENTS)
MEASURED = dict.fromkeys(t for t in ROOMS if isinstance(t, type) and issubclass(t, Measured) and t is not Measured)
RATIOS = {"efficiency", "health", "duty", "usable", "power_factor", "subtransient", "limits"}
"""Figures that have no unit, and limits, whose keys name theirs."""


@pytest.fixture(scope="module")
def design() -> results.Design:
    made = make({"launch.plate": (EXAMPLES / "launch" / "launch.plate").read_bytes()}, "launch.plate")
    assert made.design is not None
    return made.design


@pytest.mark.parametrize("kind", MEASURED, ids=lambda kind: kind.__name__)
def test_every_figure_has_a_unit_that_pint_knows(kind: type) -> None:
    for field in dataclasses.fields(kind):
        if re.fullmatch(r"float( \| None)?|Mapping\[str, float\]", str(field.type)) and field.name not in RATIOS:
            value = object.__new__(kind)
            object.__setattr__(value, field.name, 2.0)
            assert value.quantity(field.name).magnitude == 2.0


def test_pint_reckons_with_them(design: results.Design) -> None:
    """Conversions are pint's own, from the definitions of the SI."""
    load = design.loads["bilge"]
    drop, amperes = load.quantity("drop_v"), load.quantity("current_a")
    assert isinstance(drop, pint.Quantity)
    assert drop.to("mV").magnitude == pytest.approx(1000 * load.drop_v)
    assert (drop * amperes).to("mW").magnitude == pytest.approx(1000 * load.drop_v * load.current_a)
    assert load.quantity("drop_percent").to("").magnitude == pytest.approx(load.drop_percent / 100)
    with pytest.raises(pint.DimensionalityError):
        drop + amperes
    run = design.runs[load.run]
    assert run.quantity("insulation_c").to("degF").magnitude == pytest.approx(run.insulation_c * 9 / 5 + 32)
    assert run.quantity("copper_mm2_m").to("cm**3").magnitude == pytest.approx(run.copper_mm2_m)


def test_figures_by_case_take_the_case(design: results.Design) -> None:
    device = next(iter(design.devices.values()))
    case, amperes = next(iter(device.current_a.items()))
    assert device.quantity("current_a", case) == pint.get_application_registry().Quantity(amperes, "A")
    with pytest.raises(KeyError):
        device.quantity("current_a", "no such case")


def test_limits_take_the_unit_of_their_key(design: results.Design) -> None:
    name, source = next((name, s) for s in design.sources.values() for name in s.limits if name == "max_discharge_a")
    assert source.quantity("limits", name).to("mA").magnitude == pytest.approx(1000 * source.limits[name])


def test_what_is_no_known_figure_is_an_error(design: results.Design) -> None:
    load = next(load for load in design.loads.values() if load.start_v is None)
    with pytest.raises(ValueError, match="start_v is not known"):
        load.quantity("start_v")
    with pytest.raises(ValueError, match="worst_case is no figure with a unit"):
        load.quantity("worst_case")
    with pytest.raises(AttributeError):
        load.quantity("drop_mv")


def test_the_page_runs(tmp_path: Path) -> None:
    blocks = re.findall(r"```python\n(.*?)```", (ROOT / "docs" / "python.md").read_text(encoding="utf-8"), re.DOTALL)
    assert len(blocks) == 3
    done = subprocess.run([sys.executable, "-c", "\n".join(blocks)], cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    assert "launch.report.html" in done.stdout and "millivolt" in done.stdout and "ampere" in done.stdout


def test_nothing_but_a_quantity_loads_pint() -> None:
    script = "import sys, copperplate.model.results, copperplate; copperplate.make; assert 'pint' not in sys.modules"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
