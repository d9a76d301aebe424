"""The re-check can fail: every unsafe change of a sound plate is caught, and what it passes is safe by another way.

The other way is the compiler's own checks. They share the model and the tables with the re-check and no line of the
computation, so the two stand against each other in both directions: an error without a disagreement would be a hole in
the re-check, a disagreement without an error one in the compiler.
"""

from __future__ import annotations

import random
import sys
from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest

sys.path.append(str(Path(__file__).parents[1]))
from audit_mutations import forged, pinned, spoilt

from copperplate import audit
from copperplate.design import compile_plate, design_system
from copperplate.model.results import Design
from copperplate.text import Source
from random_plates import plate

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
NAMES = ("launch", "camper", "cabin")
KINDS = ("radial", "looped", "any")
SEEDS = range(16)
"""Three times sixteen plates, of which more than forty have no error."""
TOLD = frozenset({"CP412", "CP415", "CP419", "CP424", "CP426", "CP430", "CP431", "CP607", "CP608", "CP612", "CP703"})
"""What is only told and not refused, and what the re-check finds where it has not been told."""


def sound(text: str) -> Design | None:
    def read(name: str) -> Source | None:
        return Source(name, (EXAMPLES / "camper" / name).read_text(encoding="utf-8"))

    design, _ = compile_plate(Source("sound.plate", text), read)
    return design if design is not None and design.rechecked else None


def example(name: str) -> Design:
    design = sound((EXAMPLES / name / f"{name}.plate").read_text(encoding="utf-8"))
    assert design is not None
    return design


def compared(design: Design, most: int | None, counts: Counter[str]) -> None:
    """Up to `most` changes of a plate (None: all), each by both ways."""
    system, source = pinned(design), Source("changed.plate", "")
    plain, _ = design_system(system, source, broken=False, mend=False)
    assert plain is not None
    if plain.errors:
        return
    counts["plates"] += 1
    changes = list(spoilt(system))
    if most is not None and len(changes) > most:
        changes = random.Random(len(changes)).sample(changes, most)
    for kind, subject, changed in changes:
        made, _ = design_system(changed, source, broken=False, mend=False)
        assert made is not None
        warned = replace(made, findings=tuple(f for f in made.findings if f.severity != "error"))
        disagreements = audit.recheck(warned)
        unsafe = [f"{f.code} {f.message}" for f in made.errors if not f.code.startswith("CP59")]
        told = [f"{f.code} {f.message}" for f in disagreements]
        assert bool(unsafe) == bool(told), (kind, subject, unsafe, told)
        counts["unsafe" if unsafe else "safe"] += 1
        silent = {f.code for f in warned.findings} & TOLD
        if not unsafe and silent:
            assert audit.recheck(replace(warned, findings=())), (kind, subject, silent)
            counts["silent"] += 1


@pytest.mark.parametrize("name", NAMES)
def test_every_unsafe_change_of_an_example_is_caught(name: str) -> None:
    counts: Counter[str] = Counter()
    compared(example(name), 100, counts)
    print(name, dict(counts), file=sys.stderr)
    assert counts["unsafe"] >= 40 and counts["safe"] >= 25, counts


@pytest.mark.parametrize("kind", KINDS)
def test_every_unsafe_change_of_random_plates_is_caught(kind) -> None:
    counts: Counter[str] = Counter()
    for seed in SEEDS:
        design = sound(plate(seed, kind).text())
        if design is not None:
            compared(design, 8, counts)
    print(kind, dict(counts), file=sys.stderr)
    assert counts["plates"] >= 14 and counts["unsafe"] >= 45 and counts["safe"] >= 35, counts


def lies_caught(design: Design, most: int | None) -> Counter[str]:
    counts: Counter[str] = Counter()
    lies = list(forged(design))
    if most is not None and len(lies) > most:
        lies = random.Random(len(lies)).sample(lies, most)
    for kind, subject, lie in lies:
        assert audit.recheck(lie), (kind, subject)
        counts[kind] += 1
    return counts


@pytest.mark.parametrize("name", NAMES)
def test_every_forged_figure_of_an_example_is_caught(name: str) -> None:
    counts = lies_caught(example(name), 300)
    print(name, sum(counts.values()), dict(counts), file=sys.stderr)
    assert sum(counts.values()) >= 300 and len(counts) >= 14, counts


@pytest.mark.parametrize("kind", KINDS)
def test_every_forged_figure_of_random_plates_is_caught(kind) -> None:
    total: Counter[str] = Counter()
    for seed in SEEDS:
        design = sound(plate(seed, kind).text())
        if design is not None:
            total += lies_caught(design, 25)
    print(kind, sum(total.values()), dict(total), file=sys.stderr)
    assert sum(total.values()) >= 300 and len(total) >= 14, total
