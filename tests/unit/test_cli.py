"""The commands as a user runs them, on plates that are right."""

from __future__ import annotations

import csv
import io
import json
import os
import pty
import re
import subprocess
import sys
from pathlib import Path

import pytest
from command import GOOD, run, write

from copperplate import __version__
from copperplate.cli.main import COMMANDS
from copperplate.findings import CODES

ROOT = Path(__file__).resolve().parents[2]


def test_version_and_help_name_every_command(tmp_path: Path) -> None:
    assert run("--version", cwd=tmp_path).stdout == f"copperplate {__version__}\n"
    for arguments in ([], ["--help"], ["-h"]):
        done = run(*arguments, cwd=tmp_path)
        assert done.returncode == 0 and all(f"  {command} " in done.stdout for command in COMMANDS)
    for command in COMMANDS:
        assert run(command, "--help", cwd=tmp_path).stdout.startswith(f"Usage: copperplate {command} ")


def test_check_of_a_clean_plate(tmp_path: Path) -> None:
    write(tmp_path, GOOD)
    done = run("check", "a.plate", cwd=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout == "a.plate: 3 runs, 2 devices, nothing to say\n"


def test_check_reads_standard_input(tmp_path: Path) -> None:
    done = run("check", "-", cwd=tmp_path, stdin=GOOD.encode())
    assert done.returncode == 0 and "3 runs" in done.stdout


def test_check_of_many_plates_reports_each_and_sums_up(tmp_path: Path) -> None:
    (tmp_path / "boats").mkdir()
    write(tmp_path, GOOD)
    write(tmp_path / "boats", GOOD.replace("-- 1.2 m -- minus", "-- 1,2 m -- minus"), "b.plate")
    done = run("check", "a.plate", "boats/b.plate", cwd=tmp_path)
    assert done.returncode == 1
    assert "  boats/b.plate:11  house.neg -- 1,2 m -- minus\n" in done.stdout
    lines = done.stdout.splitlines()
    assert "a.plate: 3 runs, 2 devices, nothing to say" in lines
    assert any(re.match(r"1 error.* in boats/b\.plate", line) for line in lines)
    assert re.match(r"2 plates: 1 error", lines[-1])


def test_check_strict_counts_warnings(tmp_path: Path) -> None:
    """An alternator that nothing limits and that no case turns on is no error, but worth a word: a plate with a
    warning passes, and does not with --strict."""
    plate = GOOD + 'case night "Night" off fridge\n'
    write(tmp_path, plate)
    found = json.loads(run("check", "a.plate", "--format", "json", cwd=tmp_path).stdout)["findings"]
    assert [f["severity"] for f in found] == ["warning"]
    assert run("check", "a.plate", cwd=tmp_path).returncode == 0
    assert run("check", "--strict", "a.plate", cwd=tmp_path).returncode == 1
    (only,) = found
    write(tmp_path, plate + f'accept {only["code"]} {only["subject"]} "shed only"\n')
    accepted = run("check", "--strict", "a.plate", cwd=tmp_path)
    assert accepted.returncode == 0 and "1 accepted" in accepted.stdout
    again = json.loads(run("check", "a.plate", "--format", "json", cwd=tmp_path).stdout)["findings"]
    assert [f["accepted"] for f in again] == ["shed only"]


def test_check_for_machines(tmp_path: Path) -> None:
    (tmp_path / "boats").mkdir()
    write(tmp_path / "boats", GOOD.replace("3.5 m", "3,5 m"))
    value = json.loads(run("check", "boats/a.plate", "--format", "json", cwd=tmp_path).stdout)
    assert value["files"] == ["boats/a.plate"]
    assert {f["span"]["file"] for f in value["findings"] if f["span"]} == {"boats/a.plate"}
    log = json.loads(run("check", "boats/a.plate", "--format", "sarif", cwd=tmp_path).stdout)
    assert "CP101" in {result["ruleId"] for result in log["runs"][0]["results"]}


def test_use_reads_files_beside_the_plate_wherever_it_is_called_from(tmp_path: Path) -> None:
    (tmp_path / "boats" / "kit").mkdir(parents=True)
    write(tmp_path / "boats" / "kit", "part lamp load, 5 W, drop 10 %\n", "lamps.plate")
    text = GOOD + 'use "kit/lamps.plate"\nload mast "Mast" part lamp\nblock.2 -//- 3 m -- mast\n'
    write(tmp_path / "boats", text)
    done = run("check", "boats/a.plate", "--format", "json", cwd=tmp_path)
    assert done.returncode == 0
    assert json.loads(done.stdout)["files"] == ["boats/a.plate", "boats/kit/lamps.plate"]


def test_show_draws_the_tree(tmp_path: Path) -> None:
    write(tmp_path, GOOD)
    done = run("show", "a.plate", cwd=tmp_path)
    assert done.returncode == 0
    lines = done.stdout.splitlines()
    assert lines[0] == "house  12 V 35 Ah agm"
    assert re.match(r"└─ 0\.15 m .* mm² ─\[main .* A\]─ 1 m ─ block", lines[1])
    assert re.match(r"   └─ 1 +\S+ A +3\.5 m .* mm² +fridge +\S+ A +1[12]\.\d V +\S+ of 6 %", lines[2])
    assert "house.neg" in done.stdout


def test_why_prints_the_ladder_of_whatever_names_the_run(tmp_path: Path) -> None:
    write(tmp_path, GOOD)
    whole = run("why", "a.plate", "fridge.run", cwd=tmp_path)
    assert whole.returncode == 0 and whole.stdout.startswith("fridge.run   ")
    for row in ("design current", "length", "least gauge", "ampacity", "drop, whole path", "chosen", "assumed"):
        assert row in whole.stdout
    for address in ("fridge", "block.1", "fridge.run+", "fridge-"):
        assert run("why", "a.plate", address, cwd=tmp_path).stdout == whole.stdout
    assert run("why", "a.plate", "main", cwd=tmp_path).stdout.startswith("block.run   ")


def test_why_as_json_agrees_with_the_design(tmp_path: Path) -> None:
    write(tmp_path, GOOD)
    value = json.loads(run("why", "a.plate", "fridge", "--format", "json", cwd=tmp_path).stdout)
    assert run("build", "a.plate", cwd=tmp_path).returncode == 0
    design = json.loads((tmp_path / "build" / "a.design.json").read_text())
    (in_design,) = [r for r in design["runs"] if r["id"] == "fridge.run"]
    assert value["run"]["size"] == in_design["size"] and value["run"]["drop_v"] == in_design["drop_v"]
    assert {d["id"] for d in value["devices"]} >= {"block.1"}
    assert any(c["chosen"] for c in value["run"]["candidates"])
    assert all("reason" in rung for c in value["run"]["candidates"] for rung in c["rungs"])


def test_build_writes_the_whole_pack(tmp_path: Path) -> None:
    write(tmp_path, GOOD)
    done = run("build", "a.plate", cwd=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    names = {p.name for p in (tmp_path / "build").iterdir()}
    lists = {f"a.{name}.csv" for name in ("circuits", "materials", "cuts", "labels", "tests")}
    assert lists | {"a.report.md", "a.report.html", "a.design.json"} <= names
    assert any(re.fullmatch(r"a\.sheet-1-[a-z-]+\.svg", name) for name in names)
    for words in ("5 lists, design.json in build/", "largest drop", "main fuse"):
        assert words in done.stdout
    for path in (tmp_path / "build").iterdir():
        data = path.read_bytes()
        assert data and b"\r" not in data and str(tmp_path).encode() not in data
    rows = list(csv.reader(io.StringIO((tmp_path / "build" / "a.circuits.csv").read_text())))
    assert len(rows) >= 2 and len({len(row) for row in rows}) == 1


def test_build_gives_the_same_bytes_from_anywhere_and_under_any_hash_seed(tmp_path: Path) -> None:
    write(tmp_path, GOOD)
    packs = []
    for seed, plate, out in (("1", "a.plate", "one"), ("2", str(tmp_path / "a.plate"), "two")):
        environment = os.environ | {"PYTHONHASHSEED": seed}
        command = [sys.executable, "-m", "copperplate", "build", plate, "-o", out]
        subprocess.run(command, cwd=tmp_path, env=environment, check=True, capture_output=True)
        packs.append({p.name: p.read_bytes() for p in (tmp_path / out).iterdir()})
    assert packs[0] == packs[1]


def test_two_plates_of_one_name_are_refused_before_anything_is_written(tmp_path: Path) -> None:
    (tmp_path / "b").mkdir()
    write(tmp_path, GOOD)
    write(tmp_path / "b", GOOD)
    assert run("build", "a.plate", "b/a.plate", cwd=tmp_path).returncode == 2
    assert not (tmp_path / "build").exists()


def test_new_writes_a_plate_that_checks_clean(tmp_path: Path) -> None:
    done = run("new", "day-boat", cwd=tmp_path)
    assert done.returncode == 0 and "day-boat.plate" in done.stdout
    assert '"Day boat"' in (tmp_path / "day-boat.plate").read_text()
    assert run("check", "day-boat.plate", cwd=tmp_path).stdout.endswith("nothing to say\n")
    assert run("fmt", "--check", "day-boat.plate", cwd=tmp_path).returncode == 0
    again = run("new", "day-boat", cwd=tmp_path)
    assert again.returncode == 2 and "there already" in again.stderr


def test_new_takes_hostile_names_as_names(tmp_path: Path) -> None:
    assert run("new", 'a" "b\\', cwd=tmp_path).returncode == 0
    (plate,) = tmp_path.glob("*.plate")
    assert run("check", plate.name, cwd=tmp_path).returncode == 0
    assert run("new", "", cwd=tmp_path).returncode == 2


@pytest.mark.parametrize("example", ["launch", "camper", "cabin"])
def test_new_copies_an_example_whole(tmp_path: Path, example: str) -> None:
    assert run("new", "mine", "--like", example, cwd=tmp_path).returncode == 0
    assert (tmp_path / "mine.plate").read_text() == (ROOT / "examples" / example / f"{example}.plate").read_text()
    assert run("check", "mine.plate", cwd=tmp_path).returncode == 0


def test_explain_and_its_list(tmp_path: Path) -> None:
    listed = run("explain", cwd=tmp_path).stdout
    assert all(code in listed for code in CODES)
    page = run("explain", "cp104", cwd=tmp_path)
    assert page.returncode == 0 and page.stdout.startswith("# CP104 ")
    assert "CP10" in run("explain", "CP10", cwd=tmp_path).stderr


def test_tables_name_their_source(tmp_path: Path) -> None:
    assert "cfr/183-425-table-5" in run("tables", cwd=tmp_path).stdout
    table = run("tables", "cfr/183-425-table-5", cwd=tmp_path).stdout
    assert "33 CFR 183.425 Table 5" in table and re.search(r"^4/0 ", table, re.MULTILINE)


def in_a_terminal(
    *arguments: str, cwd: Path, module: tuple[str, ...] = ("-m", "copperplate"), **environment: str
) -> str:
    """What a terminal receives from the command."""
    try:
        ours, theirs = pty.openpty()
    except OSError as missing:
        pytest.skip(f"this machine has no terminals to give: {missing}")
    command = [sys.executable, *module, *arguments]
    process = subprocess.Popen(
        command, cwd=cwd, stdin=theirs, stdout=theirs, stderr=theirs, env={**os.environ, "TERM": "xterm", **environment}
    )
    os.close(theirs)
    received = b""
    while True:
        try:
            part = os.read(ours, 65536)
        except OSError:
            break
        if not part:
            break
        received += part
    process.wait()
    os.close(ours)
    return received.decode()


def test_colour_on_a_terminal_only_and_not_against_no_color(tmp_path: Path) -> None:
    write(tmp_path, GOOD.replace("3.5 m", "3,5 m"))
    assert "\x1b[" in in_a_terminal("check", "a.plate", cwd=tmp_path, NO_COLOR="")
    assert "\x1b[" not in in_a_terminal("check", "a.plate", cwd=tmp_path, NO_COLOR="1")
    assert "\x1b[" not in in_a_terminal("check", "a.plate", cwd=tmp_path, NO_COLOR="", TERM="dumb")
    assert "\x1b[" not in run("check", "a.plate", cwd=tmp_path).stdout


def test_completion_knows_commands_runs_and_codes(tmp_path: Path) -> None:
    write(tmp_path, GOOD)

    def complete(line: str) -> list[str]:
        words = line.split(" ")
        environment = os.environ | {
            "_COPPERPLATE_COMPLETE": "bash_complete",
            "COMP_WORDS": line,
            "COMP_CWORD": str(len(words) - 1),
        }
        command = [sys.executable, "-m", "copperplate"]
        done = subprocess.run(command, cwd=tmp_path, env=environment, capture_output=True, text=True)
        return [entry.partition(",")[2] for entry in done.stdout.splitlines()]

    assert "check" in complete("copperplate ch")
    assert "fridge.run" in complete("copperplate why a.plate fri")
    assert "CP104" in complete("copperplate explain CP10")
    assert complete("copperplate new x --like la") == ["launch"]


def test_a_bar_is_drawn_for_what_lasts_and_only_where_somebody_looks(tmp_path: Path) -> None:
    code = (
        "import time\nfrom copperplate.cli import printing\nprinting.BAR_AFTER_S = 0.05\n"
        "with printing.progress('building a.plate'): time.sleep({seconds})\n"
    )
    slow, quick = code.format(seconds=0.8), code.format(seconds=0)
    assert "building a.plate" in in_a_terminal("-c", slow, cwd=tmp_path, module=())
    assert "building" not in in_a_terminal("-c", quick, cwd=tmp_path, module=())
    done = subprocess.run([sys.executable, "-c", slow], cwd=tmp_path, capture_output=True, check=True)
    assert done.stdout == done.stderr == b""
