"""Packs diff cleanly: a small change of a plate is a small change of every text in its pack.

Eight typical edits of every example, and how many lines may differ. What an edit moves electrically moves in the
files too: another load changes the current, the drop and the spare length of all that hang on the same feeder. Nothing
else may.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from difflib import unified_diff
from functools import cache

import pytest
from comparing import EXAMPLES, PLATES

from copperplate import drawing, report
from copperplate.design import compile_plate
from copperplate.text import Source

LISTS = ("materials.csv", "cuts.csv", "labels.csv")
EDITS = ("comment", "length", "load", "fuse", "way", "new", "removed", "rename")

BOUNDS: dict[str, dict[str, int]] = {
    # The digest of the plate, in the report and in the design, and nothing else.
    "comment": {"report.md": 2, "svg": 0, "circuits.csv": 0, "lists": 0, "design.json": 2},
    # One circuit: its rows, its label on two poles, its summary.
    "length": {"report.md": 45, "svg": 12, "circuits.csv": 4, "lists": 12, "design.json": 1200},
    "fuse": {"report.md": 30, "svg": 8, "circuits.csv": 4, "lists": 6, "design.json": 60},
    # The name stands on ladder and schedule, at four terminals and twice on each of four sleeves.
    "rename": {"report.md": 70, "svg": 110, "circuits.csv": 4, "lists": 30, "design.json": 140},
    # A row leaves its place on the ladder, in the schedule, at the panel and among the labels, and another takes it.
    "way": {"report.md": 60, "svg": 190, "circuits.csv": 6, "lists": 16, "design.json": 60},
    # The feeder carries more or less, and every figure behind it with it.
    "load": {"report.md": 180, "svg": 12, "circuits.csv": 60, "lists": 6, "design.json": 2000},
    "new": {"report.md": 180, "svg": 280, "circuits.csv": 60, "lists": 30, "design.json": 2000},
    "removed": {"report.md": 360, "svg": 200, "circuits.csv": 60, "lists": 30, "design.json": 2400},
}
"""Lines that may differ (removed and added both count), of about 1100 in a report, 4500 in the sheets, 30 circuits, 220
in the lists and 7500 in the design."""


@cache
def edits(name: str) -> Mapping[str, str]:
    """The plate of an example after each edit, made at its last but one circuit."""
    text = PLATES[name]
    run = [line for line in text.splitlines() if re.match(r"^[a-z-]+\.\d+ -//- .*-- [a-z-]+$", line)][-2]
    panel, load = run.split(".")[0], run.split()[-1]
    stated = next(line for line in text.splitlines() if line.startswith(f"load {load} "))
    free = max(int(way) for way in re.findall(rf"\b{panel}\.(\d+)\b", text)) + 1
    unit = " ft" if " ft" in run else " m"
    found = {
        "comment": text.replace(run, f"# looked at\n{run}"),
        "length": text.replace(run, re.sub(rf"[\d.]+(?={unit})", lambda m: f"{float(m[0]) + 0.5:g}", run, count=1)),
        "load": text.replace(stated, re.sub(r"[\d.]+(?= [WA]\b)", lambda m: f"{float(m[0]) * 1.1:g}", stated, count=1)),
        "fuse": text.replace(run, run.replace("-//- ", "-//- [10 A] -- ")),
        "way": text.replace(run, run.replace(run.split()[0], f"{panel}.{free}")),
        "new": text.replace(run, f'{run}\nload extra "Extra" 1 A, drop 10 %\n{panel}.{free} -//- 3{unit} -- extra'),
        "removed": without(text, run, stated, load),
        # The name stands on ladder and schedule, at four terminals and twice on each of four sleeves.
        "rename": re.sub(rf"\b{load}\b(?![\w-])", f"{load}-two", text),
    }
    assert list(found) == list(EDITS) and text not in found.values()
    return found


def without(text: str, run: str, stated: str, load: str) -> str:
    """A plate without one circuit, its load and the load's place in the cases."""
    more = re.compile(re.escape(stated) + r"\n(?:  .*\n)*")
    return re.sub(rf"(?:, {load}\b|\b{load}, )(?!\.)", "", more.sub("", text.replace(f"{run}\n", "")))


@cache
def pack(text: str) -> Mapping[str, str]:
    """The files of a pack by kind, all sheets as one."""

    def read(other: str) -> Source | None:
        return Source(other, next(EXAMPLES.glob(f"*/{other}")).read_text(encoding="utf-8"))

    design, findings = compile_plate(Source("a.plate", text), read)
    assert design is not None and not design.errors, [finding.message for finding in findings]
    found: dict[str, str] = {}
    for name, content in report.pack(design, drawing.sheets(design), "a").items():
        kind = "svg" if name.endswith(".svg") else name.removeprefix("a.")
        kind = "lists" if kind in LISTS else kind
        found[kind] = found.get(kind, "") + content
    return found


def changed_lines(old: str, new: str) -> int:
    lines = list(unified_diff(old.splitlines(), new.splitlines(), n=0, lineterm=""))[2:]
    return sum(line[0] in "+-" for line in lines)


@pytest.mark.parametrize("edit", EDITS)
@pytest.mark.parametrize("name", PLATES)
def test_a_small_edit_is_a_small_change(name: str, edit: str) -> None:
    before, after = pack(PLATES[name]), pack(edits(name)[edit])
    counted = {kind: changed_lines(before[kind], after[kind]) for kind in BOUNDS[edit]}
    assert all(counted[kind] <= bound for kind, bound in BOUNDS[edit].items()), counted
    if edit != "comment":
        assert counted["report.md"] and counted["circuits.csv"] and counted["svg"], "and it shows"
