"""What the commands print of the examples, held as text.

After a change that is meant: `pytest tests/goldens --snapshot-update`, and read the difference.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from syrupy.assertion import SnapshotAssertion

from copperplate.cli.main import run

SCREENS = [
    *(("check", f"{name}/{name}.plate") for name in ("launch", "camper", "cabin")),
    ("check", "rescue/broken.plate", "rescue/mended.plate"),
    ("check", "rescue/broken.plate", "--format", "json"),
    ("check", "rescue/broken.plate", "--format", "sarif"),
    *(("show", f"{name}/{name}.plate") for name in ("launch", "camper", "cabin")),
    ("show", "rescue/broken.plate"),
    ("why", "launch/launch.plate", "bilge"),
    ("why", "launch/launch.plate", "house.pos"),
    ("why", "camper/camper.plate", "fan"),
    ("why", "camper/camper.plate", "dcdc.in.pos.run", "--format", "json"),
    ("why", "cabin/cabin.plate", "bench"),
    ("diff", "rescue/broken.plate", "rescue/mended.plate"),
    ("diff", "rescue/broken.plate", "rescue/mended.plate", "--format", "markdown"),
    *(("stock", f"{name}/{name}.plate", "--at-most", "5") for name in ("launch", "camper", "cabin")),
]


@pytest.fixture(autouse=True)
def _terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    """A hundred columns, and no colour."""
    monkeypatch.setenv("COLUMNS", "100")
    monkeypatch.chdir(Path(__file__).parents[2] / "examples")


@pytest.mark.parametrize("arguments", SCREENS, ids=" ".join)
def test_a_screen_is_as_committed(
    arguments: tuple[str, ...], snapshot: SnapshotAssertion, capsys: pytest.CaptureFixture[str]
) -> None:
    code = run(list(arguments))
    printed = capsys.readouterr()
    assert f"{printed.out}{printed.err}exit code {code}" == snapshot
