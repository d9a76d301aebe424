"""How fast it is, as ratios measured in one run: `python -m pytest tests/performance`.

Seconds say more of the machine than of the program, so each figure is held against another one of the same run.
"""

from __future__ import annotations

import resource
import subprocess
import sys
from pathlib import Path
from time import perf_counter

from large_plates import plate

ROUNDS = 7
CHECK_OVER_IMPORT = 2.5
GROWTH_OF_TENFOLD = 12.0


def seconds(*command: str) -> float:
    """Wall time of a whole process that ends well: a plate with errors would skip the re-check."""
    start = perf_counter()
    done = subprocess.run(command, capture_output=True, text=True)
    taken = perf_counter() - start
    assert done.returncode == 0, done.stdout + done.stderr
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


def processor_seconds(*command: str) -> float:
    """Processor time of a whole process that ends well: other work on the machine counts little."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    seconds(*command)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def test_growth_of_check_from_a_thousand_to_ten_thousand_circuits(tmp_path: Path) -> None:
    taken: dict[int, list[float]] = {1_000: [], 10_000: []}
    for circuits in taken:
        (tmp_path / f"{circuits}.plate").write_text(plate(circuits))
    for _ in range(3):
        for circuits, rounds in taken.items():
            file = tmp_path / f"{circuits}.plate"
            rounds.append(processor_seconds(sys.executable, "-m", "copperplate", "check", str(file)))
    small, large = min(taken[1_000]), min(taken[10_000])
    print(f"\n1,000 circuits {small:.2f} s, 10,000 {large:.2f} s: {large / small:.1f} of {GROWTH_OF_TENFOLD}")
    assert large / small <= GROWTH_OF_TENFOLD
