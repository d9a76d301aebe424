"""How fast it is, as ratios measured in one run: `python -m pytest tests/performance`.

Seconds say more of the machine than of the program, so each figure is held against another one of the same run.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from time import perf_counter

from large_plates import plate

ROUNDS = 7
CHECK_OVER_IMPORT = 2.5
GROWTH_OF_TENFOLD = 12.0

MEASURE = """
import gc, sys, time
from copperplate.design import compile_plate
from copperplate.text import Source
gc.disable()
source = Source("measured.plate", open(sys.argv[1], encoding="utf-8").read())
start = time.process_time()
design, findings = compile_plate(source, lambda name: None)
print(time.process_time() - start, len(design.system.runs))
"""


def seconds(*command: str) -> float:
    """Wall time of a whole process that ends without a defect."""
    start = perf_counter()
    done = subprocess.run(command, capture_output=True, text=True)
    taken = perf_counter() - start
    assert done.returncode in (0, 1), done.stderr
    return taken


def test_check_of_forty_circuits_against_bare_imports(tmp_path: Path) -> None:
    file = tmp_path / "forty.plate"
    file.write_text(plate(40))
    check, bare = [], []
    for _ in range(ROUNDS):
        bare.append(seconds(sys.executable, "-c", "import pint, lark"))
        check.append(seconds(sys.executable, "-m", "copperplate", "check", str(file)))
    ratio = min(check) / min(bare)
    print(f"\ncheck {min(check):.3f} s, bare imports {min(bare):.3f} s: {ratio:.2f} of {CHECK_OVER_IMPORT}")
    assert ratio <= CHECK_OVER_IMPORT


def test_growth_from_a_thousand_to_ten_thousand_circuits(tmp_path: Path) -> None:
    taken = {}
    for circuits in (1_000, 10_000):
        file = tmp_path / f"{circuits}.plate"
        file.write_text(plate(circuits))
        rounds = []
        for _ in range(2):
            done = subprocess.run([sys.executable, "-c", MEASURE, str(file)], capture_output=True, text=True, check=True)
            took, runs = done.stdout.split()
            assert int(runs) > circuits
            rounds.append(float(took))
        taken[circuits] = min(rounds)
    growth = taken[10_000] / taken[1_000]
    print(f"\n1,000 circuits {taken[1_000]:.2f} s, 10,000 {taken[10_000]:.2f} s: {growth:.1f} of {GROWTH_OF_TENFOLD}")
    assert growth <= GROWTH_OF_TENFOLD
