"""Reading a plate of an earlier revision runs nothing that the repository's own settings name. Each trap would write
a file `sprung`; the first test shows that a trap springs where git is asked without our settings."""

from __future__ import annotations

import os
import subprocess
from pathlib import Path

import pytest
from command import GOOD, run, write

PLAIN = os.environ | {
    "GIT_AUTHOR_NAME": "A", "GIT_AUTHOR_EMAIL": "a@example.org", "GIT_COMMITTER_NAME": "A",
    "GIT_COMMITTER_EMAIL": "a@example.org", "GIT_CONFIG_GLOBAL": os.devnull, "GIT_CONFIG_NOSYSTEM": "1",
}  # fmt: skip


def git(folder: Path, *arguments: str, check: bool = True) -> str:
    done = subprocess.run(["git", *arguments], cwd=folder, env=PLAIN, capture_output=True, text=True)
    assert done.returncode == 0 or not check, done.stderr
    return done.stdout


@pytest.fixture
def repository(tmp_path: Path) -> Path:
    git(tmp_path, "init", "-q")
    write(tmp_path, GOOD)
    git(tmp_path, "add", ".")
    git(tmp_path, "commit", "-qm", "A")
    write(tmp_path, GOOD.replace("3.5 m", "4 m"))
    return tmp_path


def trap(repository: Path) -> str:
    """A command that leaves a mark."""
    script = repository / ".git" / "trap.sh"
    script.write_text(f"#!/bin/sh\ntouch '{repository}/sprung'\nexit 1\n")
    script.chmod(0o755)
    return str(script)


def lose_the_content(repository: Path) -> None:
    """Take the plate's blob out of the object store, as a partial clone lacks it."""
    name = git(repository, "rev-parse", "HEAD:a.plate").strip()
    (repository / ".git" / "objects" / name[:2] / name[2:]).unlink()


def promise(repository: Path, address: str) -> None:
    git(repository, "config", "core.repositoryFormatVersion", "1")
    git(repository, "config", "extensions.partialClone", "origin")
    git(repository, "config", "remote.origin.url", address)
    git(repository, "config", "remote.origin.promisor", "true")
    git(repository, "config", "protocol.allow", "always")
    git(repository, "config", "protocol.ext.allow", "always")


def test_the_trap_of_a_promised_object_springs_in_plain_git(repository: Path) -> None:
    promise(repository, f"ext::{trap(repository)}")
    lose_the_content(repository)
    git(repository, "cat-file", "blob", "HEAD:a.plate", check=False)
    assert (repository / "sprung").exists()


@pytest.mark.parametrize("form", ["ext", "ssh", "file", "helper"])
def test_what_is_missing_is_not_fetched(repository: Path, form: str, monkeypatch: pytest.MonkeyPatch) -> None:
    command = trap(repository)
    git(repository, "config", "core.sshCommand", command)
    git(repository, "config", "remote.origin.uploadpack", command)
    (repository / ".git" / "git-remote-trap").symlink_to(command)
    monkeypatch.setenv("PATH", f"{repository / '.git'}{os.pathsep}{os.environ['PATH']}")
    addresses = {"ext": f"ext::{command}", "ssh": "ssh://nowhere/a", "file": f"file://{repository}"}
    addresses["helper"] = "trap::x"
    promise(repository, addresses[form])
    lose_the_content(repository)
    done = run("diff", "HEAD:a.plate", "a.plate", cwd=repository)
    assert not (repository / "sprung").exists()
    assert done.returncode == 2 and len(done.stderr.splitlines()) == 1, done.stderr
    assert "revision HEAD names a.plate, but this copy of the repository lacks its content" in done.stderr


def test_hooks_watchers_and_filters_are_not_run(repository: Path) -> None:
    command = trap(repository)
    (repository / "hooks").mkdir()
    for hook in ("post-checkout", "fsmonitor-watchman", "post-index-change", "reference-transaction", "pre-auto-gc"):
        (repository / "hooks" / hook).symlink_to(command)
    for setting in ("core.fsmonitor", "core.pager", "core.editor", "core.askPass", "diff.external", "core.gitProxy"):
        git(repository, "config", setting, command)
    for setting in ("filter.trap.smudge", "filter.trap.clean", "filter.trap.process", "diff.trap.textconv"):
        git(repository, "config", setting, command)
    git(repository, "config", "core.hooksPath", str(repository / "hooks"))
    (repository / ".gitattributes").write_text("*.plate filter=trap diff=trap\n")
    for old in ("HEAD:a.plate", ":a.plate", "HEAD:none.plate", "nowhere:a.plate"):
        run("diff", old, "a.plate", cwd=repository)
        assert not (repository / "sprung").exists(), old
    done = run("diff", "HEAD:a.plate", "a.plate", cwd=repository)
    assert done.returncode == 0 and "0.5 m longer" in done.stdout, done.stdout + done.stderr
