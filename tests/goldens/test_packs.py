"""The committed packs of the examples are what `build` writes today: read them as text in a review.

After a change that is meant: `copperplate build examples/NAME/NAME.plate -o examples/NAME/pack` for each example.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

EXAMPLES = Path(__file__).parents[2] / "examples"
PACKED = ("launch", "camper", "cabin")


@pytest.mark.parametrize("name", PACKED)
def test_a_pack_is_as_committed(name: str, tmp_path: Path) -> None:
    """Same input, same bytes, under another hash seed and in another folder."""
    command = [sys.executable, "-m", "copperplate", "build", f"{name}/{name}.plate", "-o", str(tmp_path)]
    environment = {**os.environ, "PYTHONHASHSEED": "1"}
    done = subprocess.run(command, cwd=EXAMPLES, env=environment, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    written = {path.name: path.read_bytes() for path in sorted(tmp_path.iterdir())}
    committed = {path.name: path.read_bytes() for path in sorted((EXAMPLES / name / "pack").iterdir())}
    assert sorted(written) == sorted(committed)
    changed = [file for file, data in written.items() if data != committed[file]]
    assert not changed, f"build examples/{name} again if this is meant"
