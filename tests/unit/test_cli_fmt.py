"""`fmt` through the real command: what it writes, what it refuses to write, and its exit codes."""

from __future__ import annotations

import os
import stat
from pathlib import Path

from command import GOOD, run, write

UNTIDY = GOOD.replace("house.pos -- 0.15 m --", "house.pos   --   0.15   m--") + "# last words\n"


def test_formats_in_place_once(tmp_path: Path) -> None:
    plate = write(tmp_path, UNTIDY)
    plate.chmod(0o640)
    first = run("fmt", "a.plate", cwd=tmp_path)
    assert (first.returncode, first.stdout) == (0, "formatted a.plate\n")
    assert "house.pos -- 0.15 m -- [main: fuse blade]" in plate.read_text() and "# last words" in plate.read_text()
    assert stat.S_IMODE(plate.stat().st_mode) == 0o640
    again = run("fmt", "a.plate", cwd=tmp_path)
    assert (again.returncode, again.stdout) == (0, "")
    assert [p.name for p in tmp_path.iterdir()] == ["a.plate"]


def test_check_and_diff_write_nothing(tmp_path: Path) -> None:
    plate = write(tmp_path, UNTIDY)
    checked = run("fmt", "--check", "a.plate", cwd=tmp_path)
    assert (checked.returncode, checked.stdout) == (1, "a.plate is not in the one style\n")
    shown = run("fmt", "--diff", "a.plate", cwd=tmp_path)
    assert shown.returncode == 1 and shown.stdout.startswith("--- a.plate\n+++ a.plate\n")
    assert "\n-house.pos   --   0.15   m--" in shown.stdout and "\n+house.pos -- 0.15 m --" in shown.stdout
    assert plate.read_text() == UNTIDY
    tidy = run("fmt", "-", cwd=tmp_path, stdin=UNTIDY.encode()).stdout
    write(tmp_path, tidy)
    for option in ("--check", "--diff"):
        done = run("fmt", option, "a.plate", cwd=tmp_path)
        assert (done.returncode, done.stdout) == (0, "")


def test_standard_input_goes_to_standard_output(tmp_path: Path) -> None:
    done = run("fmt", "-", cwd=tmp_path, stdin=UNTIDY.encode())
    assert done.returncode == 0
    again = run("fmt", "-", cwd=tmp_path, stdin=done.stdout.encode())
    assert again.stdout == done.stdout


def test_line_ends_and_byte_order_mark_are_part_of_the_style(tmp_path: Path) -> None:
    tidy = run("fmt", "-", cwd=tmp_path, stdin=GOOD.encode()).stdout
    plate = write(tmp_path, b"\xef\xbb\xbf" + tidy.replace("\n", "\r\n").encode())
    assert run("fmt", "--check", "a.plate", cwd=tmp_path).returncode == 1
    assert run("fmt", "a.plate", cwd=tmp_path).returncode == 0
    assert plate.read_bytes() == tidy.encode()


def test_what_is_no_text_is_left_alone(tmp_path: Path) -> None:
    plate = write(tmp_path, b"\xff\xfe\x00\x01")
    done = run("fmt", "a.plate", cwd=tmp_path)
    assert done.returncode == 1 and "CP100" in done.stdout
    assert plate.read_bytes() == b"\xff\xfe\x00\x01"


def test_statements_with_mistakes_stay_as_they_are(tmp_path: Path) -> None:
    plate = write(tmp_path, UNTIDY + "house.neg   --   1,5 m -- minus\n")
    assert run("fmt", "a.plate", cwd=tmp_path).returncode == 0
    assert "house.neg   --   1,5 m -- minus\n" in plate.read_text()
    assert "house.pos -- 0.15 m --" in plate.read_text()


def test_a_link_stays_a_link(tmp_path: Path) -> None:
    (tmp_path / "real").mkdir()
    write(tmp_path / "real", UNTIDY)
    os.symlink("real/a.plate", tmp_path / "link.plate")
    assert run("fmt", "link.plate", cwd=tmp_path).returncode == 0
    assert (tmp_path / "link.plate").is_symlink()
    assert (tmp_path / "real" / "a.plate").read_text() != UNTIDY
