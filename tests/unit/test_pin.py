"""Pinning writes choices into the plate: the smallest change of its text, and the same design afterwards."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest
from command import run, write
from comparing import BOAT, EXAMPLES, PLATES, document

from copperplate import diff
from copperplate.design import compile_plate
from copperplate.diff import pinning
from copperplate.syntax import parse
from copperplate.text import Source

NUMBERS = {
    "runs": ("size", "parallel", "area_mm2", "design_current_a", "ampacity_a", "drop_v", "drop_hot_v", "copper_mm2_m"),
    "devices": ("family", "rating_a", "needs_a", "interrupting_a", "prospective_fault_a", "end_fault_a", "far_end"),
    "loads": ("current_a", "voltage_v", "drop_v", "drop_percent", "budget_v", "worst_case"),
    "conductors": ("from_node", "to_node", "length_m", "resistance_ohm", "temperature_c", "current_a", "colour"),
}
"""What must be the same after pinning, by section of the design; the sections below are compared whole."""
WHOLE = ("sources", "parts", "routes", "nodes", "cases", "energy", "materials", "cuts", "terminals")


def figures(path: Path) -> dict[str, Any]:
    """The figures of a plate's design, without how they came about."""
    found = document(path.read_text(encoding="utf-8"), path.name)
    assert not [finding for finding in found["findings"] if finding["severity"] == "error"]
    parts = {
        name: [{key: item[key] for key in ("id", *keys)} for item in found[name]] for name, keys in NUMBERS.items()
    }
    return _rounded(parts | {name: found[name] for name in WHOLE})


def _rounded(value: Any) -> Any:
    """Numbers to twelve digits: a ring with stated sizes is reckoned by area, which ends in other last digits."""
    if isinstance(value, dict):
        return {key: _rounded(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_rounded(item) for item in value]
    return float(f"{value:.12g}") if isinstance(value, float) else value


@pytest.mark.parametrize("name", PLATES)
def test_the_design_of_each_example_is_the_same(name: str, tmp_path: Path) -> None:
    shutil.copytree(EXAMPLES / name, tmp_path / name)
    plate = tmp_path / name / f"{name}.plate"
    before, style = figures(plate), run("fmt", "--check", plate.name, cwd=plate.parent).returncode
    assert run("pin", "--sizes", plate.name, cwd=plate.parent).returncode == 0
    assert figures(plate) == before
    pinned = plate.read_text(encoding="utf-8")
    assert run("pin", "--sizes", plate.name, cwd=plate.parent).stdout == f"{plate.name}: nothing to pin\n"
    assert plate.read_text(encoding="utf-8") == pinned, "pinning is idempotent"
    assert run("fmt", "--check", plate.name, cwd=plate.parent).returncode == style
    design, _ = compile_plate(Source(name, pinned), lambda other: Source(other, (plate.parent / other).read_text()))
    assert design is not None
    laid = [design.runs[r.id] for r in design.system.runs.values() if r.role == "run" and r.length_m]
    assert all(result.stated for result in laid), "every size is checked from now on"
    assert all(result.rating.stated for result in design.devices.values() if result.rating.rating_a is not None)


def pinned(text: str, sizes: bool = False) -> str:
    source = Source("boat.plate", text)
    design, _ = compile_plate(source, lambda other: None)
    assert design is not None
    return pinning.apply_edits(text, pinning.edits(parse(source)[0], design, sizes))


LOOSE = BOAT.replace("cabin.1 -//-", "cabin -//-").replace("cabin.2 -//-", "cabin   -//-")


def test_ways_are_numbered_and_nothing_else_is_touched() -> None:
    assert LOOSE.count("cabin -//-") == 1
    assert pinned(LOOSE) == LOOSE.replace("cabin -//-", "cabin.1 -//-").replace("cabin   -//-", "cabin.2   -//-")
    moved = LOOSE.splitlines(keepends=True)
    first, second = (
        next(i for i, line in enumerate(moved) if line.startswith(word)) for word in ("cabin -", "cabin  ")
    )
    moved[first], moved[second] = moved[second], moved[first]
    assert "cabin.2 -//- 3 m -- fridge" in pinned("".join(moved)), "without a number the order of lines decides"


def test_pinned_ways_do_not_move_when_lines_do() -> None:
    lines = pinned(LOOSE).splitlines(keepends=True)
    again, _ = compile_plate(Source("boat.plate", "".join((*lines[:-3], *reversed(lines[-3:])))), lambda other: None)
    assert again is not None
    assert again.system.runs["fridge.run"].from_end == "cabin.1"


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("cabin.1 -//- 3 m -- fridge", "cabin.1 -//- [7.5 A] -- 3 m, 12 AWG -- fridge"),
        ("cabin.1 -//- [breaks 2 kA] -- 3 m -- fridge", "cabin.1 -//- [breaks 2 kA, 7.5 A] -- 3 m, 12 AWG -- fridge"),
        ("cabin.1 -//- [10 A] -- 3 m -- fridge", "cabin.1 -//- [10 A] -- 3 m, 12 AWG -- fridge"),
        ("cabin.1 -//- 3 m, 10 AWG -- fridge", "cabin.1 -//- [7.5 A] -- 3 m, 10 AWG -- fridge"),
        ("cabin.1 -//- 1 m, sheath -- [switch 10 A] -- 2 m -- fridge",
         "cabin.1 -//- [7.5 A] -- 1 m, sheath, 12 AWG -- [switch 10 A] -- 2 m -- fridge"),
        ("cabin.1 -//-  3 m  -- fridge   # cold", "cabin.1 -//- [7.5 A] --  3 m, 12 AWG  -- fridge   # cold"),
    ],
)  # fmt: skip
def test_sizes_and_ratings_are_written_where_they_belong(before: str, after: str) -> None:
    assert after in pinned(BOAT.replace("cabin.1 -//- 3 m -- fridge", before), sizes=True)


def test_a_fuse_gets_family_and_rating() -> None:
    assert "[main: fuse gg, " in pinned(BOAT.replace("fuse class-t", "fuse"), sizes=True)
    assert "[main: fuse class-t, breaks 20 kA, " in pinned(
        BOAT.replace("fuse class-t", "fuse class-t, breaks 20 kA"), sizes=True
    )


def test_a_comparison_says_pinned_and_no_more(tmp_path: Path) -> None:
    write(tmp_path, BOAT, "old.plate")
    write(tmp_path, BOAT, "new.plate")
    assert run("pin", "--sizes", "new.plate", cwd=tmp_path).returncode == 0
    done = run("diff", "old.plate", "new.plate", "--exit-code", "--format", "json", cwd=tmp_path)
    found = json.loads(done.stdout)
    assert done.returncode == 1 and {change["change"] for change in found["changes"]} == {"pinned"}
    assert "now stated as chosen" in diff.text(found)


def test_line_ends_byte_order_mark_and_standard_input(tmp_path: Path) -> None:
    plate = write(tmp_path, b"\xef\xbb\xbf" + LOOSE.replace("\n", "\r\n").encode(), "a.plate")
    assert run("pin", "a.plate", cwd=tmp_path).returncode == 0
    data = plate.read_bytes()
    assert data.startswith(b"\xef\xbb\xbf") and data.count(b"\n") == data.count(b"\r\n") and b"cabin.2" in data
    assert "cabin.1 -//-" in run("pin", "-", cwd=tmp_path, stdin=LOOSE.encode()).stdout


def test_a_plate_with_errors_is_left_as_it_is(tmp_path: Path) -> None:
    plate = write(tmp_path, LOOSE.replace("3 m -- fridge", "-- fridge"))
    before = plate.read_bytes()
    assert run("pin", "--sizes", plate.name, cwd=tmp_path).returncode == 1
    assert plate.read_bytes() == before
    assert run("pin", "no.plate", cwd=tmp_path).returncode == 2


def test_warmth_over_the_budget_is_a_figure_on_sizes_chosen_and_a_warning_on_sizes_stated(tmp_path: Path) -> None:
    plate = """system "Petrel"
  nominal 12 V
  rules iso-13297
  conductors mm2
battery house 12 V, 200 Ah, agm, range 12..14.4 V, fault-current 0.9 kA
bus minus negative, 250 A
panel helm blade, ways 4, return minus
load nav 25 W, critical
load pump 7 A, critical
house.pos -- 0.15 m -- [main: fuse class-t] -- 1 m -- helm
house.neg -- 1 m -- minus
helm.1 -//- 6 m -- nav
helm.2 -//- 4 m -- pump
"""

    def warm(text: str) -> dict[str, float]:
        (tmp_path / "a.plate").write_text(text)
        done = run("check", "a.plate", "--format", "json", cwd=tmp_path)
        return {f["subject"]: f["severity"] for f in json.loads(done.stdout)["findings"] if f["code"] == "CP313"}

    assert warm(plate) == {}
    assert run("pin", "--sizes", "a.plate", cwd=tmp_path).returncode == 0
    pinned_text = (tmp_path / "a.plate").read_text()
    stated = warm(pinned_text)
    assert stated and set(stated.values()) == {"warning"}
    held = plate.replace("  conductors mm2", "  conductors mm2\n  judge warm")
    assert warm(held) == {}
    assert set(warm(pinned_text.replace("  conductors mm2", "  conductors mm2\n  judge warm")).values()) == {"error"}
