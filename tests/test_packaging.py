"""The command works from a wheel in a fresh environment, from an editable install and from a bare checkout: the
grammar, the tables of the standards, the pages and the examples are found in each."""

from __future__ import annotations

import os
import subprocess
import sys
import venv
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]


def run(*command: str | Path, cwd: Path, path: Path | None = None) -> str:
    """Standard output of a command that must succeed, run without anything of this environment."""
    environment = {k: v for k, v in os.environ.items() if not k.startswith(("PYTHON", "VIRTUAL_ENV", "COPPERPLATE"))}
    environment["PIP_DISABLE_PIP_VERSION_CHECK"] = "1"
    if path is not None:
        environment["PYTHONPATH"] = str(path)
    done = subprocess.run([str(c) for c in command], cwd=cwd, env=environment, capture_output=True, text=True)
    assert done.returncode == 0, f"{command}\n{done.stdout}\n{done.stderr}"
    return done.stdout


def exercise(command: list[str | Path], folder: Path, path: Path | None = None) -> None:
    """What needs the shipped files: a page, a table, the grammar and the tables through a check, an example."""
    folder.mkdir()
    assert run(*command, "--version", cwd=folder, path=path).startswith("copperplate 0.")
    assert "CP1" in run(*command, "explain", cwd=folder, path=path)
    first = run(*command, "explain", cwd=folder, path=path).split()[2]
    assert run(*command, "explain", first, cwd=folder, path=path).startswith(f"# {first}")
    assert "183.425" in run(*command, "tables", cwd=folder, path=path)
    run(*command, "new", "starter", cwd=folder, path=path)
    assert "nothing to say" in run(*command, "check", "starter.plate", cwd=folder, path=path)
    run(*command, "new", "mine", "--like", "launch", cwd=folder, path=path)
    assert "(" in run(*command, "check", "mine.plate", cwd=folder, path=path)


@pytest.fixture(scope="module")
def fresh(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """A fresh environment with the wheel, built from the source archive, and what it says it depends on."""
    folder = tmp_path_factory.mktemp("fresh")
    run(sys.executable, "-m", "build", "--no-isolation", "--outdir", folder / "dist", ROOT, cwd=folder)
    (wheel,) = (folder / "dist").glob("*.whl")
    venv.create(folder / "venv", with_pip=True)
    run(folder / "venv/bin/pip", "install", "--quiet", wheel, cwd=folder)
    yield folder
    assert not list(folder.glob("venv/lib/*/site-packages/tests")), "tests are no part of the wheel"


def test_wheel(fresh: Path) -> None:
    exercise([fresh / "venv/bin/copperplate"], fresh / "wheel")
    assert list(fresh.glob("venv/lib/*/site-packages/copperplate/design.schema.json"))


def test_checkout(fresh: Path) -> None:
    run(fresh / "venv/bin/pip", "uninstall", "--quiet", "--yes", "copperplate", cwd=fresh)
    exercise([fresh / "venv/bin/python", "-m", "copperplate"], fresh / "checkout", path=ROOT / "src")


def test_editable(fresh: Path) -> None:
    run(fresh / "venv/bin/pip", "install", "--quiet", "--no-deps", "--editable", ROOT, cwd=fresh)
    exercise([fresh / "venv/bin/copperplate"], fresh / "editable")
