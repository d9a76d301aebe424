"""The real command as a user runs it, for the tests of the command line."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

GOOD = '''\
system "Small"
  nominal 12 V
  conductors mm2
battery house "Bank" 12 V, 35 Ah, agm
  range 12.0..14.4 V
  fault-current 0.9 kA
bus minus "Negative bar" negative, 100 A
panel block "Fuse block" blade, ways 6, 60 A, return minus
load fridge "Fridge" 50 W, drop 6 %
house.pos -- 0.15 m -- [main: fuse blade] -- 1 m -- block
house.neg -- 1.2 m -- minus
block.1 -//- 3.5 m -- fridge
'''


def run(*arguments: str | Path, cwd: Path, stdin: bytes | None = None) -> subprocess.CompletedProcess[str]:
    """The command as a user runs it; whatever happens, it must not show a defect of ours."""
    done = subprocess.run(
        [sys.executable, "-m", "copperplate", *map(str, arguments)],
        cwd=cwd,
        input=stdin,
        capture_output=True,
        timeout=240,
    )
    out, err = done.stdout.decode(), done.stderr.decode()
    assert "Traceback" not in out + err and "defect of ours" not in err, err
    return subprocess.CompletedProcess(done.args, done.returncode, out, err)


def write(folder: Path, text: str | bytes, name: str = "a.plate") -> Path:
    path = folder / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path
