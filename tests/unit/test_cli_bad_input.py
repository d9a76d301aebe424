"""Bad input through the real command: located findings, the agreed exit codes, no traceback, nothing half written."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from command import GOOD, run, write


def findings(folder: Path, text: str | bytes) -> list[dict]:
    """The findings of a plate that has errors, as JSON; each has a place."""
    write(folder, text)
    done = run("check", "a.plate", "--format", "json", cwd=folder)
    found = json.loads(done.stdout)["findings"]
    assert done.returncode == 1 and any(f["severity"] == "error" for f in found)
    for f in found:
        assert f["span"] is None or (f["span"]["line"] >= 1 and f["span"]["column"] >= 1)
    return found


def errors(folder: Path, text: str | bytes) -> list[dict]:
    return [f for f in findings(folder, text) if f["severity"] == "error"]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "empty"),
        ("\n\n# nothing but a comment\n", "system"),
        (bytes(range(256)) * 40, ""),
        (b"\xff\xfe\x00\x01" * 100, ""),
        (GOOD.replace("load fridge", "lode fridge"), "lode"),
        (GOOD.replace("12 V, 35 Ah", "12 V, 35 Ap"), "Ap"),
        (GOOD.replace("-- 0.15 m --", "-- 0,15 m --"), ""),
        (GOOD.replace("3.5 m", "3.5"), "3.5"),
        (GOOD.replace("3.5 m", "3.5 mA"), "mA"),
        (GOOD.replace("block.1 -//- 3.5 m -- fridge", "block.1 -//- fridge"), "length"),
        (GOOD + 'load fridge "Again" 5 W\n', "fridge"),
        (GOOD.replace("0.9 kA", "0 A"), "0"),
        (GOOD.replace("house.neg -- 1.2 m -- minus\n", ""), "house"),
        (GOOD + "house.neg -- 1 m -- nowhere\n", "nowhere"),
        (GOOD + 'use "a.plate"\n', "use"),
    ],
)
def test_a_plate_that_is_wrong_makes_located_errors(tmp_path: Path, text: str | bytes, words: str) -> None:
    found = errors(tmp_path, text)
    assert any(words in json.dumps(f, ensure_ascii=False) for f in found), found
    assert any(f["span"] is not None for f in found)


def test_a_loop_of_use_is_shown_as_a_path(tmp_path: Path) -> None:
    write(tmp_path, 'use "c.plate"\n', "b.plate")
    write(tmp_path, 'use "b.plate"\n', "c.plate")
    found = errors(tmp_path, GOOD + 'use "b.plate"\n')
    assert any("b.plate" in f["message"] + "".join(f["notes"]) and "c.plate" in json.dumps(f) for f in found)


def test_a_used_file_that_is_no_text_is_told_once(tmp_path: Path) -> None:
    write(tmp_path, b"\xff\xfe\x00", "b.plate")
    (found,) = errors(tmp_path, GOOD + 'use "b.plate"\n')
    assert found["code"] == "CP100" and found["span"]["file"] == "b.plate"


def test_use_never_leaves_the_folder(tmp_path: Path) -> None:
    write(tmp_path, "part lamp load, 5 W\n", "outside.plate")
    inner = tmp_path / "inner"
    inner.mkdir()
    os.symlink(tmp_path / "outside.plate", inner / "link.plate")
    for name in ("../outside.plate", str(tmp_path / "outside.plate"), "link.plate", "missing.plate"):
        assert errors(inner, GOOD + f'use "{name}"\n')


def test_a_bar_fed_at_two_voltages(tmp_path: Path) -> None:
    other = GOOD + 'battery big "Other bank" 25.6 V, 100 Ah, lifepo4\n  fault-current 3 kA\n'
    other += "big.pos -- [fuse class-t] -- 1 m -- block\nbig.neg -- 1 m -- minus\n"
    found = errors(tmp_path, other.replace("block.1", "block.2"))
    assert any("block" in f["subject"] + f["message"] for f in found), found


def test_ten_thousand_loads(tmp_path: Path) -> None:
    loads = "".join(f'load l{n} "Load {n}" 5 W\n' for n in range(10_000))
    lines = "".join(f"block -//- 2 m -- l{n}\n" for n in range(10_000))
    write(tmp_path, GOOD.replace(", ways 6", "") + loads + lines)
    assert run("check", "a.plate", cwd=tmp_path).returncode in (0, 1)


def test_ten_thousand_mistakes(tmp_path: Path) -> None:
    assert len(errors(tmp_path, GOOD + "".join(f"block -//- 2 -- l{n}\n" for n in range(10_000)))) >= 10_000


@pytest.mark.parametrize("command", ["check", "build", "show", "fmt"])
@pytest.mark.parametrize("path", ["missing.plate", "folder", "around.plate"])
def test_no_such_plate(tmp_path: Path, command: str, path: str) -> None:
    """Of a link that leads to itself nobody can read, not even the administrator."""
    (tmp_path / "folder").mkdir()
    (tmp_path / "around.plate").symlink_to("around.plate")
    done = run(command, path, cwd=tmp_path)
    assert done.returncode == 2 and path in done.stderr and done.stdout == ""


def test_devices_are_read_like_files(tmp_path: Path) -> None:
    assert run("check", "/dev/null", cwd=tmp_path).returncode == 1
    done = run("check", "/dev/zero", cwd=tmp_path)
    assert done.returncode == 2 and "larger" in done.stderr


@pytest.mark.parametrize(
    "arguments",
    [
        ["--wrong"], ["checks", "a.plate"], ["check"], ["check", "--format", "xml", "a.plate"],
        ["check", "a.plate", "--x"], ["explain", "CP000"], ["tables", "no-such-table"],
        ["why", "a.plate"], ["why", "a.plate", "frigde"],
        ["new"], ["new", "b", "--like", "lunch"], ["new", "a.plate"], ["new", "no/such/folder"],
    ],
)  # fmt: skip
def test_a_command_line_that_cannot_run(tmp_path: Path, arguments: list[str]) -> None:
    before = write(tmp_path, GOOD).read_bytes()
    done = run(*arguments, cwd=tmp_path)
    assert done.returncode == 2 and done.stderr.startswith("copperplate: ") and done.stdout == ""
    assert done.stderr.count("\n") <= 3
    assert [p.name for p in tmp_path.iterdir()] == ["a.plate"] and (tmp_path / "a.plate").read_bytes() == before


def test_a_near_miss_is_named(tmp_path: Path) -> None:
    write(tmp_path, GOOD)
    assert "fridge" in run("why", "a.plate", "frigde", cwd=tmp_path).stderr
    assert "launch" in run("new", "b", "--like", "lunch", cwd=tmp_path).stderr


def test_a_failed_build_leaves_the_last_good_pack(tmp_path: Path) -> None:
    plate = write(tmp_path, GOOD)
    assert run("build", "a.plate", "-o", "out", cwd=tmp_path).returncode == 0
    before = {p.name: p.read_bytes() for p in (tmp_path / "out").iterdir()}
    assert {"a.report.md", "a.report.html", "a.design.json", "a.circuits.csv"} <= set(before)
    plate.write_text(GOOD.replace("3.5 m", "3.5"))
    done = run("build", "a.plate", "-o", "out", cwd=tmp_path)
    assert done.returncode == 1 and "1 error" in done.stdout
    after = {p.name: p.read_bytes() for p in (tmp_path / "out").iterdir() if ".draft." not in p.name}
    assert after == before


def test_a_build_that_cannot_write_changes_nothing(tmp_path: Path) -> None:
    write(tmp_path, GOOD)
    (tmp_path / "out" / "a.design.json").mkdir(parents=True)
    done = run("build", "a.plate", "-o", "out", cwd=tmp_path)
    assert done.returncode == 2 and "a.design.json" in done.stderr
    assert [p.name for p in (tmp_path / "out").iterdir()] == ["a.design.json"]
    (tmp_path / "file").write_text("")
    assert run("build", "a.plate", "-o", "file", cwd=tmp_path).returncode == 2
    assert run("build", "a.plate", "-o", "/dev/null/x", cwd=tmp_path).returncode == 2


def test_a_second_build_writes_the_same_bytes_and_removes_old_sheets(tmp_path: Path) -> None:
    write(tmp_path, GOOD)
    out = tmp_path / "out"
    assert run("build", "a.plate", "-o", "out", cwd=tmp_path).returncode == 0
    before = {p.name: p.read_bytes() for p in out.iterdir()}
    (out / "a.sheet-9-old.svg").write_text("")
    (out / "mine.txt").write_text("kept")
    assert run("build", str(tmp_path / "a.plate"), "-o", "out", cwd=tmp_path).returncode == 0
    assert {p.name: p.read_bytes() for p in out.iterdir()} == before | {"mine.txt": b"kept"}


def test_a_reader_that_stops_reading_hears_nothing_more(tmp_path: Path) -> None:
    write(tmp_path, GOOD + "".join(f"block -//- 2 -- l{n}\n" for n in range(3_000)))
    command = f"{sys.executable} -m copperplate check a.plate | head -1; echo ${{PIPESTATUS[0]}}"
    done = subprocess.run(["bash", "-c", command], cwd=tmp_path, capture_output=True, text=True)
    assert done.stderr == "" and done.stdout.splitlines()[-1] == "1"


@pytest.mark.parametrize("closed", [">&-", "2>&-", "<&-"])
def test_streams_that_are_closed(tmp_path: Path, closed: str) -> None:
    write(tmp_path, GOOD)
    command = f"{sys.executable} -m copperplate check a.plate {closed}"
    done = subprocess.run(["bash", "-c", command], cwd=tmp_path, capture_output=True, text=True)
    assert done.returncode == 0 and "Traceback" not in done.stderr


def test_a_narrow_encoding_is_no_reason_to_fail(tmp_path: Path) -> None:
    write(tmp_path, GOOD.replace('"Fridge"', '"Kühlschrank ❄"'))
    environment = os.environ | {"PYTHONIOENCODING": "ascii"}
    for command in ("show a.plate", "why a.plate fridge", "check a.plate"):
        done = subprocess.run(
            [sys.executable, "-m", "copperplate", *command.split()], cwd=tmp_path, env=environment, capture_output=True
        )
        assert done.returncode == 0 and done.stderr == b"" and done.stdout.isascii()


def test_one_missing_plate_hides_nothing_of_the_others(tmp_path: Path) -> None:
    """Exit code 2 tells that one could not be read; the findings, packs and styles of the rest are there."""
    write(tmp_path, GOOD.replace("3.5 m", "3,5 m"), "a.plate")
    write(tmp_path, GOOD.replace("3.5 m", "3.5  m"), "b.plate")
    done = run("check", "a.plate", "none.plate", "b.plate", cwd=tmp_path)
    assert done.returncode == 2 and done.stderr == "copperplate: cannot read none.plate: no such file or directory\n"
    assert "CP101" in done.stdout and "b.plate: 3 runs" in done.stdout
    for form in ("json", "sarif"):
        machine = run("check", "a.plate", "none.plate", "--format", form, cwd=tmp_path)
        assert machine.returncode == 2 and "CP101" in machine.stdout
    built = run("build", "none.plate", "b.plate", cwd=tmp_path)
    assert built.returncode == 2 and (tmp_path / "build" / "b.design.json").is_file()
    styled = run("fmt", "none.plate", "b.plate", cwd=tmp_path)
    assert styled.returncode == 2 and styled.stdout == "formatted b.plate\n"
    assert run("check", "none.plate", cwd=tmp_path).stdout == ""
