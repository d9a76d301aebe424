"""What one statement counts has a most, which a finding tells; the most itself is taken and drawn in good time."""

from __future__ import annotations

import time
from pathlib import Path

import pytest
from command import GOOD, run, write
from resolving import resolved

from copperplate.model.attributes import attributes_of
from copperplate.model.parts import COMPONENTS

BATTERY = 'battery house "Bank" 12 V, 35 Ah, agm'
COUNTS = {
    "ways": ("blade, ways 6", "blade, ways {}"),
    "parallel": (BATTERY, BATTERY + ", parallel {}"),
    "series": (BATTERY, BATTERY + ", series {}"),
    "studs": ("negative, 100 A", "negative, 100 A, studs {}"),
    "outlets": ("load fridge", "load plug \"P\" 1 A, outlets {}\nload fridge"),
    "parallel of a conductor": ("house.pos -- 0.15 m", "house.pos -- 0.15 m, 50 mm2, parallel {}"),
}


@pytest.mark.parametrize("count", COUNTS)
@pytest.mark.parametrize("number", [100_000, 4_000_000_000])
def test_a_count_beyond_its_most_is_told(count: str, number: int) -> None:
    before, after = COUNTS[count]
    assert before in GOOD
    _, findings = resolved(GOOD.replace(before, after.format(number)))
    told = [f for f in findings if f.code in ("CP126", "CP127")]
    assert [f.code for f in told] == ["CP127"] and "is the most that one statement takes" in told[0].message


def test_every_count_has_a_most() -> None:
    counts = [row for kind in COMPONENTS for row in attributes_of(kind) if row.form == "count"]
    assert counts and all(1 < row.most <= 1000 for row in counts)


def test_the_largest_panel_is_built_within_a_minute(tmp_path: Path) -> None:
    begun = time.perf_counter()
    done = run("build", write(tmp_path, GOOD.replace("ways 6", "ways 200")), "-o", tmp_path / "out", cwd=tmp_path)
    assert done.returncode == 0 and time.perf_counter() - begun < 60
