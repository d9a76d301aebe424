"""The public interface, and that its page runs as it stands."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest
from command import GOOD, run
from comparing import EXAMPLES

import copperplate

ROOT = EXAMPLES.parent
LAUNCH = EXAMPLES / "launch" / "launch.plate"


def test_the_page_runs_as_it_stands() -> None:
    page = (ROOT / "docs" / "python.md").read_text(encoding="utf-8")
    code = "\n".join(re.findall(r"```python\n(.*?)```", page, re.DOTALL))
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    assert "copperplate-design/" in done.stdout and "bilge" in done.stdout


def test_it_gives_what_the_commands_write(tmp_path: Path) -> None:
    design = copperplate.compile(LAUNCH)
    assert run("build", str(LAUNCH), "-o", str(tmp_path), cwd=EXAMPLES).returncode == 0
    written = {path.name: path.read_text(encoding="utf-8") for path in tmp_path.iterdir()}
    del written["launch.pack.json"]
    assert copperplate.pack(design, "launch") == written
    assert [sheet.svg for sheet in copperplate.draw(design)] == [
        written[name] for name in sorted(written, key=_number) if ".sheet-" in name
    ]
    assert json.loads(written["launch.design.json"]) == copperplate.to_json(design)


def _number(name: str) -> int:
    found = re.search(r"sheet-(\d+)", name)
    return int(found[1]) if found else 0


def test_a_change_is_compared_as_by_the_command(tmp_path: Path) -> None:
    longer = GOOD.replace("3.5 m", "5 m")
    (tmp_path / "plate").write_text(GOOD)
    (tmp_path / "new").write_text(longer)
    told = json.loads(run("diff", "plate", "new", "--format", "json", cwd=tmp_path).stdout)
    made = copperplate.compare(copperplate.compile(GOOD), copperplate.compile(longer))
    assert made["changes"] == told["changes"] != []


def test_what_cannot_be_made_is_said(tmp_path: Path) -> None:
    with pytest.raises(copperplate.PlateError) as none:
        copperplate.compile("")
    assert none.value.findings and none.value.findings[0].message in str(none.value)
    broken = copperplate.compile(GOOD.replace("-- fridge", "-- frige"))
    assert "CP202" in {f.code for f in broken.errors}
    with pytest.raises(ValueError, match="has errors"):
        copperplate.draw(broken)
    with pytest.raises(FileNotFoundError):
        copperplate.compile(tmp_path / "gone.plate")


def test_a_plate_reads_no_file_outside_its_folder(tmp_path: Path) -> None:
    (tmp_path / "parts.plate").write_text("part roof-fan load, 4 A\n")
    inner = tmp_path / "boat"
    inner.mkdir()
    plate = inner / "a.plate"
    plate.write_text(GOOD + 'use "../parts.plate"\n')
    assert "CP212" in {f.code for f in copperplate.compile(plate).errors}
    plate.write_text(GOOD.replace("load fridge", 'use "parts.plate"\nload fan "Fan" part roof-fan\nload fridge'))
    (inner / "parts.plate").write_text("part roof-fan load, 4 A\n")
    assert "fan" in copperplate.compile(plate).system.parts


def test_there_is_no_other_public_name() -> None:
    assert all(callable(getattr(copperplate, name)) for name in copperplate.__all__ if name != "__version__")
    with pytest.raises(AttributeError):
        _ = copperplate.nothing
