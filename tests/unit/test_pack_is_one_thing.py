"""A pack is one thing (`cli/pack.py`): a build that is killed at any step, or that finds the disk full, leaves a folder
that `verify` never calls whole while it is mixed, and one more build makes it whole.

What the oracle knows is only the two packs that were asked for: their names and bytes."""

from __future__ import annotations

import os
import resource
import signal
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path

import click
import pytest
from click.testing import CliRunner
from command import GOOD, run, write

from copperplate.cli import pack
from copperplate.cli.verify import verify

FIRST = {"a.sheet-1-power.svg": b"one", "a.sheet-2-ac.svg": b"gone later", "a.design.json": b"{1}", "a.cuts.csv": b"1"}
SECOND = {"a.sheet-1-power.svg": b"two", "a.report.md": b"new", "a.design.json": b"{2}", "a.cuts.csv": b"2"}


def put(folder: Path, files: dict[str, bytes]) -> None:
    pack.write_pack(folder, "a", "a.plate", {"a.plate": "0" * 64}, files)


def holds(folder: Path, files: dict[str, bytes]) -> bool:
    """Whether the folder holds these files and their manifest and nothing else."""
    there = {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}
    return there.pop("a.pack.json", None) is not None and there == files


def called_whole(folder: Path) -> bool:
    return CliRunner().invoke(verify, [str(folder)], standalone_mode=False).return_value == 0


def killed_at(step: int, folder: Path, monkeypatch_all: Callable[[Callable[[], None]], None]) -> bool:
    """Run the second build in a process that dies, without a chance to tidy up, at its `step`th call of the system;
    False where it ended before."""
    child = os.fork()
    if child == 0:
        count = 0

        def die_in_time() -> None:
            nonlocal count
            count += 1
            if count == step:
                os._exit(9)

        monkeypatch_all(die_in_time)
        try:
            put(folder, SECOND)
        finally:
            os._exit(0)
    _, status = os.waitpid(child, 0)
    return os.waitstatus_to_exitcode(status) == 9


def watch(before: Callable[[], None]) -> None:
    """Let `before` be called ahead of every call that changes a disk, and after half of every write."""
    import builtins

    for name in ("replace", "unlink", "mkdir", "rmdir", "fsync"):
        real = getattr(os, name)

        def watched(*arguments: object, real: Callable[..., object] = real, **named: object) -> object:
            before()
            return real(*arguments, **named)

        setattr(os, name, watched)
    opened = builtins.open

    class Half:
        def __init__(self, file: object) -> None:
            self.file = file

        def __enter__(self) -> Half:
            return self

        def __exit__(self, *_: object) -> None:
            self.file.close()  # type: ignore[attr-defined]

        def write(self, content: bytes) -> None:
            self.file.write(content[: len(content) // 2])  # type: ignore[attr-defined]
            self.file.flush()  # type: ignore[attr-defined]
            before()
            self.file.write(content[len(content) // 2 :])  # type: ignore[attr-defined]

        def __getattr__(self, name: str) -> object:
            return getattr(self.file, name)

    def watched_open(path: object, mode: str = "r", *more: object, **named: object) -> object:
        if "x" not in mode and "w" not in mode:
            return opened(path, mode, *more, **named)  # type: ignore[call-overload]
        before()
        return Half(opened(path, mode, *more, **named))  # type: ignore[call-overload]

    builtins.open = watched_open  # type: ignore[assignment]


@pytest.mark.parametrize("earlier", [None, FIRST], ids=["into an empty folder", "over an earlier pack"])
def test_killed_at_every_step(tmp_path: Path, earlier: dict[str, bytes] | None) -> None:
    mixed = 0
    for step in range(1, 200):
        folder = tmp_path / str(step)
        folder.mkdir()
        if earlier is not None:
            put(folder, earlier)
            assert holds(folder, earlier) and called_whole(folder)
        if not killed_at(step, folder, watch):
            break
        whole = holds(folder, SECOND) or (earlier is not None and holds(folder, earlier))
        mixed += not whole
        assert whole or not called_whole(folder), f"killed at step {step}, a mixed folder is called whole"
        put(folder, SECOND)
        assert os.listdir(folder) and not list(folder.glob(".*")), f"killed at step {step}, the waiting folder stays"
        assert holds(folder, SECOND) and called_whole(folder), f"killed at step {step}, the next build does not mend it"
    assert step > 15 and mixed > 5, "the steps were not watched"


@pytest.mark.parametrize("step", range(1, 30))
def test_a_build_with_errors_finishes_what_was_begun(tmp_path: Path, step: int) -> None:
    """`settle`, which every build calls first, ends in the one pack or in the other, never between them."""
    put(tmp_path, FIRST)
    killed_at(step, tmp_path, watch)
    pack.settle(tmp_path, "a")
    assert (holds(tmp_path, FIRST) or holds(tmp_path, SECOND)) and called_whole(tmp_path)


@pytest.mark.parametrize("room", [0, 1, 200, 400])
def test_a_disk_that_is_full_leaves_the_earlier_pack(tmp_path: Path, room: int) -> None:
    put(tmp_path, FIRST)
    large = {**SECOND, "a.report.md": b"x" * 1000}
    child = os.fork()
    if child == 0:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (room, room))
        try:
            put(tmp_path, large)
        except click.ClickException as problem:
            os._exit(7 if "cannot write into" in problem.message else 8)
        os._exit(0)
    assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 7
    assert holds(tmp_path, FIRST) and called_whole(tmp_path)


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A file system of 64 kB, where the machine lets us have one."""
    folder = tmp_path / "disk"
    folder.mkdir()
    mounted = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", folder], capture_output=True)
    if mounted.returncode:
        pytest.skip("no file system may be mounted here")
    yield folder
    subprocess.run(["umount", folder], check=True)


def test_a_small_disk_that_fills(small_disk: Path, tmp_path: Path) -> None:
    put(small_disk, FIRST)
    with pytest.raises(click.ClickException, match="cannot write into"):
        put(small_disk, {"a.report.md": b"x" * 100_000})
    assert holds(small_disk, FIRST) and called_whole(small_disk)
    done = run("build", write(tmp_path, GOOD), "-o", small_disk, cwd=tmp_path)
    assert done.returncode == 2 and "No space left" in done.stderr
    assert holds(small_disk, FIRST) and called_whole(small_disk)


def test_verify_tells_what_is_wrong(tmp_path: Path) -> None:
    done = run("verify", tmp_path, cwd=tmp_path)
    assert done.returncode == 1 and "no pack is here" in done.stdout
    folder = tmp_path / "build"
    assert run("build", write(tmp_path, GOOD), cwd=tmp_path).returncode == 0
    done = run("verify", "build", cwd=tmp_path)
    assert done.returncode == 0 and "a: whole" in done.stdout and "a.plate" in done.stdout
    (folder / "a.cuts.csv").write_text("other")
    (folder / "a.labels.csv").unlink()
    (folder / "a.sheet-99-power.svg").write_text("<svg/>")
    (folder / "b.pack.json").write_text("{}")
    done = run("verify", "build", cwd=tmp_path)
    assert done.returncode == 1
    for words in (
        "a: a.cuts.csv is not as it was written",
        "a: a.labels.csv is missing",
        "a: a.sheet-99-power.svg is of another pack",
        "b: b.pack.json is no manifest of a pack",
    ):
        assert words in done.stdout
    assert run("build", "a.plate", cwd=tmp_path).returncode == 0
    (folder / "b.pack.json").unlink()
    assert run("verify", "build", cwd=tmp_path).returncode == 0


def test_what_a_reader_keeps_beside_a_pack_stays(tmp_path: Path) -> None:
    own = tmp_path / "a.loads.csv"
    put(tmp_path, FIRST)
    own.write_bytes(b"mine")
    put(tmp_path, SECOND)
    assert own.read_bytes() == b"mine"
    assert not (tmp_path / "a.sheet-2-ac.svg").exists()
