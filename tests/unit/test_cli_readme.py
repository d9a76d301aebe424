"""What README.md shows is what the program does."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

from command import run, write

from copperplate.cli.main import COMMANDS

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
PLATE = README.split("```plate\n", 1)[1].split("```", 1)[0]


def block(mark: str) -> str:
    """The code block below a comment of README.md."""
    return README.split(f"<!-- {mark} -->\n```", 1)[1].split("\n", 1)[1].split("```", 1)[0]


def shown(*arguments: str, cwd: Path) -> str:
    command = [sys.executable, "-m", "copperplate", *arguments]
    environment = os.environ | {"COLUMNS": "100"}
    return subprocess.run(command, cwd=cwd, env=environment, capture_output=True, text=True).stdout


def test_the_plate_has_nothing_to_say(tmp_path: Path) -> None:
    write(tmp_path, PLATE, "day-boat.plate")
    assert "nothing to say" in run("check", "day-boat.plate", cwd=tmp_path).stdout
    assert len(PLATE.splitlines()) <= 16


def test_the_samples_are_what_is_printed(tmp_path: Path) -> None:
    plate = write(tmp_path, PLATE, "day-boat.plate")
    assert shown("show", "day-boat.plate", cwd=tmp_path) == block("show")
    plate.write_text(PLATE.replace("6 m, 16 AWG", "40 m, 16 AWG"))
    assert shown("check", "day-boat.plate", cwd=tmp_path).startswith(block("finding"))


def test_every_command_is_named() -> None:
    assert all(re.search(f"`copperplate {command}[ `]", README) for command in COMMANDS)


def test_the_test_command_is_what_continuous_integration_runs(tmp_path: Path) -> None:
    """`.ci/run` takes it from here: the same extraction gives the same text."""
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    extraction = next(line for line in script.splitlines() if line.startswith("tests="))
    done = subprocess.run(
        ["bash", "-c", f'{extraction}\nprintf "%s\\n" "$tests"'], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert done.stdout == block("tests")
    assert done.stdout.rstrip().endswith(".venv/bin/python -m pytest")


def test_the_plate_of_the_language_page_has_no_errors(tmp_path: Path) -> None:
    page = (ROOT / "docs" / "language.md").read_text(encoding="utf-8")
    write(tmp_path, page.split("```plate\n", 1)[1].split("```", 1)[0])
    done = run("check", "a.plate", cwd=tmp_path)
    assert done.returncode == 0, done.stdout
