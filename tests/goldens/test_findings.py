"""What `check` prints of the plate that draws each finding on its page, held as text.

After a change that is meant: `pytest tests/goldens --snapshot-update`, and read the difference.
"""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
from syrupy.assertion import SnapshotAssertion

sys.path.append(str(Path(__file__).parents[1] / "unit"))
from test_findings_pages import BY_SHEETS, DEFECTS_ONLY, example, page_of

from copperplate.cli.main import run
from copperplate.findings import CODES


@pytest.mark.parametrize("code", sorted({*CODES} - DEFECTS_ONLY - {*BY_SHEETS}))
def test_a_finding_is_as_committed(
    code: str, snapshot: SnapshotAssertion, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    drawn = example(page_of(code), "Draws it")
    for name, content in {"page.plate": drawn.plate, **drawn.files}.items():
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_bytes(content)
    monkeypatch.setenv("COLUMNS", "100")
    monkeypatch.chdir(tmp_path)
    run(["check", "page.plate"])
    printed = capsys.readouterr().out
    assert f" {code}  " in printed
    assert printed == snapshot
