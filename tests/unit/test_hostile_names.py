"""Arguments and names of files cannot steer a terminal, and a name that no pack can bear is refused in a sentence."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from command import GOOD

ESCAPE = "\x1b[2J\x07"
ARGUMENTS = (
    ("check", f"no{ESCAPE}.plate"),
    (f"ch{ESCAPE}eck",),
    ("check", f"a{ESCAPE}.plate"),
    ("build", f"a{ESCAPE}.plate"),
    ("build", "a.plate", "-o", f"out{ESCAPE}"),
    ("fmt", f"loose{ESCAPE}.plate"),
    ("fmt", "--check", f"loose{ESCAPE}.plate"),
    ("show", f"a{ESCAPE}.plate"),
    ("why", "a.plate", f"fridge{ESCAPE}"),
    ("explain", f"CP4{ESCAPE}"),
    ("tables", f"awg{ESCAPE}"),
    ("stock", f"a{ESCAPE}.plate"),
    ("pin", f"a{ESCAPE}.plate"),
    ("diff", f"HEAD:{ESCAPE}", "a.plate"),
    ("diff", f"a{ESCAPE}.plate", "a.plate"),
    ("new", f"fresh{ESCAPE}"),
    ("new", "b", "--like", f"lau{ESCAPE}"),
    ("verify", f"{ESCAPE}"),
)


def run(folder: Path, *arguments: str | bytes) -> subprocess.CompletedProcess[bytes]:
    command = [sys.executable, "-m", "copperplate", *arguments]
    return subprocess.run(command, cwd=folder, capture_output=True, timeout=240)


@pytest.mark.parametrize("arguments", ARGUMENTS, ids=[" ".join(words).replace(ESCAPE, "^") for words in ARGUMENTS])
def test_nothing_of_an_argument_steers_the_terminal(tmp_path: Path, arguments: tuple[str, ...]) -> None:
    for name in ("a.plate", f"a{ESCAPE}.plate"):
        (tmp_path / name).write_text(GOOD)
    (tmp_path / f"loose{ESCAPE}.plate").write_text(GOOD.replace("  nominal", "    nominal"))
    done = run(tmp_path, *arguments)
    printed = (done.stdout + done.stderr).decode()
    assert printed.strip() and done.returncode in (0, 1, 2)
    assert "\x1b" not in printed and "\x07" not in printed
    assert "Traceback" not in printed and "defect of ours" not in printed


@pytest.mark.skipif(sys.platform != "linux", reason="names of any bytes")
@pytest.mark.parametrize("name", [b"\xff\xfe.plate", b".plate", b"l" * 220 + b".plate", b"a\nb.plate"])
def test_a_name_works_or_is_refused_in_a_sentence(tmp_path: Path, name: bytes) -> None:
    (tmp_path / os.fsdecode(name)).write_text(GOOD)
    for command in ("check", "build", "fmt", "show", "pin"):
        done = run(tmp_path, command, name)
        printed = done.stdout + done.stderr
        assert b"Traceback" not in printed and b"defect of ours" not in printed, printed
        assert done.returncode == 0 or (done.returncode == 2 and len(done.stderr.splitlines()) == 1), done
    assert not list(tmp_path.glob("build/.*")), "nothing half written, nothing hidden"
