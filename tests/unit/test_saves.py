"""`fmt` and `pin` lose nobody's save, and leave a file the one that it was (`cli/writing.py`)."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import click
import pytest
from command import GOOD, run, write

from copperplate.cli import writing
from copperplate.cli.main import run as command

LOOSE = GOOD.replace("  nominal 12 V", "    nominal    12 V")


@pytest.mark.parametrize("name", ["fmt", "pin"])
def test_a_plate_that_is_saved_meanwhile_is_left_alone(
    tmp_path: Path, name: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    plate = write(tmp_path, LOOSE)
    saved = LOOSE.replace("3.5 m", "7 m").encode()
    real = writing.tempfile.mkstemp

    def saving(*arguments: object, **named: object) -> object:
        plate.write_bytes(saved)
        return real(*arguments, **named)  # type: ignore[call-overload]

    monkeypatch.setattr(writing.tempfile, "mkstemp", saving)
    assert command([name, *(["--sizes"] if name == "pin" else []), str(plate)]) == 2
    assert "was saved while it was read" in capsys.readouterr().err
    assert plate.read_bytes() == saved and os.listdir(tmp_path) == ["a.plate"]


def test_mode_and_link_are_kept_and_a_read_only_file_is_refused(tmp_path: Path) -> None:
    plate = write(tmp_path, LOOSE)
    plate.chmod(0o664)
    (tmp_path / "link.plate").symlink_to("a.plate")
    writing.replace_file(str(tmp_path / "link.plate"), b"new", LOOSE.encode())
    assert (tmp_path / "link.plate").is_symlink() and plate.read_bytes() == b"new"
    assert stat.S_IMODE(plate.stat().st_mode) == 0o664
    plate.write_text(LOOSE)
    plate.chmod(0o444)
    done = run("fmt", "a.plate", cwd=tmp_path)
    assert done.returncode == 2 and "a.plate: it is read-only" in done.stderr and plate.read_text() == LOOSE


@pytest.mark.skipif(os.geteuid() != 0, reason="only root gives files away")
def test_the_owner_is_kept(tmp_path: Path) -> None:
    plate = write(tmp_path, LOOSE)
    os.chown(plate, 1234, 2345)
    assert run("fmt", "a.plate", cwd=tmp_path).returncode == 0
    assert (plate.stat().st_uid, plate.stat().st_gid) == (1234, 2345)


def test_where_the_owner_cannot_be_kept_nothing_is_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    plate = write(tmp_path, LOOSE)

    def refuse(*_: object) -> None:
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(os, "chown", refuse)
    monkeypatch.setattr(os, "geteuid", lambda: 4321)
    with pytest.raises(click.ClickException, match="keep its owner"):
        writing.replace_file(str(plate), b"new", LOOSE.encode())
    assert plate.read_text() == LOOSE and os.listdir(tmp_path) == ["a.plate"]


def test_other_names_of_the_file_are_told(tmp_path: Path) -> None:
    plate = write(tmp_path, LOOSE)
    os.link(plate, tmp_path / "b.plate")
    done = run("fmt", "a.plate", cwd=tmp_path)
    assert done.returncode == 0 and "hard links" in done.stderr
    assert (tmp_path / "b.plate").read_text() == LOOSE and plate.read_text() != LOOSE
