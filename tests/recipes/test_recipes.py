"""The recipes of docs/revisions.md, as they stand there, in a real git repository and through real pre-commit."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PAGE = (ROOT / "docs" / "revisions.md").read_text(encoding="utf-8")
PLATE = (ROOT / "examples" / "launch" / "launch.plate").read_text(encoding="utf-8")
RUN = next(line for line in PLATE.splitlines() if line.startswith("cabin.10 -//- "))
LONGER = PLATE.replace(RUN, RUN.replace(" ft", ".5 ft", 1))

pytestmark = pytest.mark.skipif(shutil.which("git") is None, reason="git is not installed")


def recipe(name: str) -> str:
    """The code block below a recipe's mark."""
    return PAGE.split(f"<!-- recipe: {name} -->\n```", 1)[1].split("\n", 1)[1].split("```", 1)[0]


class Repository:
    """A git repository of its own, where `copperplate` is the one under test."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder / "work"
        home = folder / "home"
        for made in (self.folder, home):
            made.mkdir()
        command = home / "copperplate"
        command.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m copperplate "$@"\n')
        command.chmod(0o755)
        self.environment = os.environ | {
            "HOME": str(home),
            "PATH": f"{home}:{Path(sys.executable).parent}:{os.environ['PATH']}",
            "PRE_COMMIT_HOME": str(home / "hooks"),
            "GIT_CONFIG_NOSYSTEM": "1",
            "GIT_PAGER": "cat",
            "COLUMNS": "100",
            **{f"GIT_{who}_{what}": "a@example.org" for who in ("AUTHOR", "COMMITTER") for what in ("NAME", "EMAIL")},
        }
        self.git("init", "-q", "-b", "main")

    def run(self, *command: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            command, cwd=self.folder, env=self.environment, capture_output=True, text=True, timeout=300
        )

    def git(self, *arguments: str) -> str:
        done = self.run("git", *arguments)
        assert done.returncode == 0, done.stdout + done.stderr
        return done.stdout

    def script(self, name: str) -> None:
        done = self.run("bash", "-euo", "pipefail", "-c", recipe(name))
        assert done.returncode == 0, done.stdout + done.stderr

    def write(self, name: str, text: str) -> None:
        path = self.folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")

    def commit(self, message: str) -> None:
        self.git("add", ".")
        self.git("commit", "-q", "--no-verify", "-m", message)


@pytest.fixture
def repository(tmp_path: Path) -> Repository:
    made = Repository(tmp_path)
    made.write("boats/launch.plate", PLATE)
    made.commit("A")
    return made


def test_git_diff_shows_the_system(repository: Repository) -> None:
    repository.script("textconv")
    repository.write("boats/launch.plate", LONGER)
    lines = repository.git("diff", "--", "boats").splitlines()
    changed = [line for line in lines if line[:1] in "+-" and line[:3] not in ("+++", "---")]
    assert [line[0] for line in changed] == ["-", "+"] and all("horn" in line for line in changed), changed
    assert "18.5 ft" in changed[1]
    assert "-//-" in repository.git("diff", "--no-textconv", "--", "boats")


def test_git_diff_of_a_plate_with_errors_goes_on(repository: Repository) -> None:
    repository.script("textconv")
    repository.write("boats/launch.plate", LONGER + "nonsense\n")
    assert "18.5 ft" in repository.git("diff", "--", "boats")


def test_git_difftool_says_what_changed(repository: Repository) -> None:
    repository.script("difftool")
    repository.write("boats/launch.plate", LONGER)
    assert "~ horn.run  0.5 ft longer" in repository.git("difftool", "--tool", "plate", "HEAD", "--", "*.plate")
    repository.commit("B")
    assert "0.5 ft longer" in repository.git("difftool", "--tool", "plate", "HEAD~1", "HEAD")


def test_git_difftool_finds_what_a_plate_uses(repository: Repository) -> None:
    repository.script("difftool")
    for path in (ROOT / "examples" / "camper").glob("*.plate"):
        repository.write(f"vans/{path.name}", path.read_text(encoding="utf-8"))
    repository.commit("van")
    camper = (repository.folder / "vans" / "camper.plate").read_text(encoding="utf-8")
    run = next(line for line in camper.splitlines() if line.startswith("block.9 -//-"))
    repository.write("vans/camper.plate", camper.replace(run, run.replace(" m --", "5 m --")))
    told = repository.git("difftool", "--tool", "plate")
    assert "longer" in told and "error" not in told


def test_the_comment(repository: Repository) -> None:
    repository.write("vans/same.plate", PLATE)
    repository.commit("more")
    repository.git("checkout", "-q", "-b", "proposal")
    repository.write("boats/launch.plate", LONGER)
    repository.write("vans/a new one.plate", PLATE)
    repository.write("vans/same.plate", PLATE + "# words\n")
    repository.commit("B")
    repository.script("comment")
    comment = (repository.folder / "comment.md").read_text(encoding="utf-8")
    assert comment.count("### What changed") == 2 and "0.5 ft longer" in comment
    assert "vans/a new one.plate is new" in comment and "same.plate" not in comment
    assert repository.git("status", "--porcelain").split() == ["??", "comment.md"]


def test_pre_commit_stops_an_error_and_mends_the_style(repository: Repository) -> None:
    pytest.importorskip("pre_commit", reason="pre-commit is not installed")
    repository.write(".pre-commit-config.yaml", recipe("pre-commit"))
    repository.git("add", ".")
    assert repository.run(sys.executable, "-m", "pre_commit", "install").returncode == 0
    repository.git("commit", "-qm", "hooks")
    repository.write("boats/launch.plate", PLATE.replace("fuse class-t] -- 3 ft", "fuse class-t, 5 A] -- 3 ft"))
    repository.git("add", ".")
    stopped = repository.run("git", "commit", "-m", "a fuse too small")
    assert stopped.returncode != 0 and "error CP4" in stopped.stdout + stopped.stderr
    repository.write("boats/launch.plate", LONGER.replace("  nominal 12 V", "   nominal   12 V"))
    repository.git("add", ".")
    assert repository.run("git", "commit", "-m", "out of style").returncode != 0
    assert (repository.folder / "boats" / "launch.plate").read_text(encoding="utf-8") == LONGER
    repository.git("add", ".")
    repository.git("commit", "-m", "mended")


def test_the_hooks_of_this_repository_are_those_of_the_recipe() -> None:
    yaml = pytest.importorskip("yaml", reason="it comes with pre-commit")
    manifest = ROOT / ".pre-commit-hooks.yaml"
    done = subprocess.run(
        [sys.executable, "-m", "pre_commit", "validate-manifest", str(manifest)], capture_output=True, text=True
    )
    assert done.returncode == 0, done.stdout + done.stderr
    defined = {hook["id"]: (hook["entry"], hook["files"]) for hook in yaml.safe_load(manifest.read_text())}
    local = yaml.safe_load(recipe("pre-commit"))["repos"][0]["hooks"]
    assert defined == {hook["id"]: (hook["entry"], hook["files"]) for hook in local}


def test_every_recipe_is_run_here() -> None:
    source = Path(__file__).read_text(encoding="utf-8")
    marks = [part.split(" -->", 1)[0] for part in PAGE.split("<!-- recipe: ")[1:]]
    assert marks and all(f'"{mark}"' in source for mark in marks)
