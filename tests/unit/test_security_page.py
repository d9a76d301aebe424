"""Every sentence of docs/security.md has a test that exists."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "security.md").read_text(encoding="utf-8")
NAMED = re.findall(r"`(test_\w+\.py)(?:::(test_\w+))?`", PAGE)


def test_every_sentence_names_a_test_that_is_there() -> None:
    promises = PAGE[: PAGE.index("## What is not promised")]
    points = [point for point in promises.split("\n- ")[1:] if "sets limits of time and memory" not in point]
    assert len(points) > 10 and all("`test_" in point for point in points)
    for file, test in NAMED:
        (path,) = (ROOT / "tests").rglob(file)
        assert not test or f"def {test}(" in path.read_text(encoding="utf-8"), f"{file} has no {test}"
