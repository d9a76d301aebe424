"""Compile many random plates that are graphs and sum up what fails.

    python tests/random_graphs_sweep.py [FIRST] [LAST]      0 and 10000 unless stated
    python tests/random_graphs_sweep.py --record            the seeds of the tests, and what mended leaves their lists

Prints by check how many plates fail it with the first of them, tracebacks by their last line, and findings by code.
"""

from __future__ import annotations

import sys
import time
import tomllib
import traceback
from collections import Counter
from pathlib import Path

sys.path.append(str(Path(__file__).parent))
sys.path.append(str(Path(__file__).parent / "outside"))
from whole_plate import CHECKS, compiled

from random_graphs import graph

RECORD = Path(__file__).parent / "outside" / "data" / "random_graphs.toml"


def swept(seeds: range) -> tuple[dict[str, dict[int, str]], Counter[str], Counter[str]]:
    """By check the seeds that fail it with the first words of what is wrong; tracebacks; findings."""
    failed: dict[str, dict[int, str]] = {name: {} for name in ("unread", *CHECKS)}
    tracebacks: Counter[str] = Counter()
    codes: Counter[str] = Counter()
    for seed in seeds:
        try:
            plate = compiled(graph(seed))
        except Exception:
            tracebacks[f"{traceback.format_exc().splitlines()[-1]} (as in seed {seed})"] += 1
            continue
        if plate is None:
            failed["unread"][seed] = "no design"
            continue
        codes.update({code for code, _ in plate.severities})
        unread = [key for key, severity in plate.severities.items() if key[0] < "CP300" and severity == "error"]
        for name, wrong in [("unread", unread), *((name, check(plate)) for name, check in CHECKS.items())]:
            if wrong:
                failed[name][seed] = str(wrong[0])
    return failed, tracebacks, codes


def record() -> None:
    """Leave of the recorded seeds those that still fail."""
    before = tomllib.loads(RECORD.read_text(encoding="utf-8"))
    failed, _, _ = swept(range(300))
    lines = []
    for name in CHECKS:
        new = sorted(set(failed[name]) - set(before[name]))
        if new:
            print(f"{name}: {new} fail and are not recorded")
        lines.append(f"{name} = {sorted(set(failed[name]) & set(before[name]))}\n")
    RECORD.write_text("".join(lines), encoding="utf-8")


def summary(first: int, last: int) -> None:
    began = time.monotonic()
    failed, tracebacks, codes = swept(range(first, last))
    print(f"{last - first} plates in {time.monotonic() - began:.0f} s")
    for name, seeds in failed.items():
        print(f"{name}: {len(seeds)}")
        for seed, wrong in list(seeds.items())[:5]:
            print(f"    seed {seed}: {wrong}")
    print(f"tracebacks: {tracebacks.total()}")
    for words, count in tracebacks.most_common():
        print(f"    {count} x {words}")
    print("plates with a finding: " + ", ".join(f"{code} {count}" for code, count in sorted(codes.items())))


if __name__ == "__main__":
    if "--record" in sys.argv:
        record()
    else:
        bounds = [int(word) for word in sys.argv[1:]]
        summary(*(bounds or (0, 10_000)))
