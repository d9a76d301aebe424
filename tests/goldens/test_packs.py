"""The committed packs of the examples are what `build` writes today: read them as text in a review.

After a change that is meant: `pytest tests/goldens --snapshot-update`.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from syrupy.assertion import SnapshotAssertion
from syrupy.data import SnapshotCollections
from syrupy.extensions.single_file import SingleFileSnapshotExtension, WriteMode
from syrupy.location import PyTestLocation
from syrupy.types import SnapshotIndex

EXAMPLES = Path(__file__).parents[2] / "examples"
PACKED = ("launch", "camper", "cabin")


class Pack(SingleFileSnapshotExtension):
    """The snapshots of one example are the files of its pack, by their own names."""

    file_extension = ""
    _write_mode = WriteMode.TEXT

    @classmethod
    def dirname(cls, *, test_location: PyTestLocation) -> str:
        if test_location.filepath != __file__:
            return super().dirname(test_location=test_location)
        return str(EXAMPLES / test_location.item.callspec.params["name"] / "pack")

    @classmethod
    def get_file_basename(cls, *, test_location: PyTestLocation, index: SnapshotIndex) -> str:
        return str(index)

    def discover_snapshots(
        self, *, test_location: PyTestLocation, ignore_extensions: list[str] | None = None
    ) -> SnapshotCollections:
        """None: which committed file is no longer written, the test itself says."""
        return SnapshotCollections()


@pytest.mark.parametrize("name", PACKED)
def test_a_pack_is_as_committed(name: str, tmp_path: Path, snapshot: SnapshotAssertion) -> None:
    """Same input, same bytes, under another hash seed and in another folder."""
    command = [sys.executable, "-m", "copperplate", "build", f"{name}/{name}.plate", "-o", str(tmp_path)]
    environment = {**os.environ, "PYTHONHASHSEED": "1"}
    done = subprocess.run(command, cwd=EXAMPLES, env=environment, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    pack = snapshot.use_extension(Pack)
    written = sorted(tmp_path.iterdir())
    for path in written:
        assert path.read_bytes().decode() == pack(name=path.name)
    committed = {path.name for path in (EXAMPLES / name / "pack").iterdir()}
    assert committed == {path.name for path in written}, "delete what is no longer written"
