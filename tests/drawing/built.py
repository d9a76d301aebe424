"""Designs for the tests of the sheets: compiled from text, or from the plates of the examples."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import replace
from functools import cache
from pathlib import Path

from copperplate.design import compile_plate
from copperplate.drawing import Sheet, sheets
from copperplate.model.results import Design
from copperplate.text import Source

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
PLATES = ("launch/launch.plate", "camper/camper.plate", "cabin/cabin.plate", "rescue/mended.plate")


def design(text: str, folder: Path | None = None) -> Design:
    """The design of a plate, whatever its findings; without the errors, which would mark its sheets as drafts."""

    def read(name: str) -> Source | None:
        path = folder / name if folder is not None else None
        return Source(name, path.read_text(encoding="utf-8")) if path is not None and path.is_file() else None

    found, findings = compile_plate(Source("test.plate", text), read)
    assert found is not None, findings
    return replace(found, findings=tuple(finding for finding in found.findings if finding.severity != "error"))


@cache
def example(name: str) -> tuple[Design, tuple[Sheet, ...]]:
    """The design of an example and its sheets."""
    path = EXAMPLES / name
    found = design(path.read_text(encoding="utf-8"), path.parent)
    return found, sheets(found)


def svgs(found: Design) -> list[str]:
    return [sheet.svg for sheet in sheets(found)]


def printed_by_hash_seeds(script: str) -> set[str]:
    """What a script that may import these modules prints under two seeds of the hash."""
    head = f"import sys, hashlib; sys.path.insert(0, {str(Path(__file__).parent)!r})\n"
    return {
        subprocess.run(
            [sys.executable, "-c", head + script],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    }
