"""Packs diff cleanly: a small change of a plate is a small change of every text in its pack.

Eight typical edits of every example, and how many lines of the texts may differ. What an edit moves electrically moves
in the files too: another load changes the current, the drop and the spare length of all that hang on the same feeder.
Nothing else may. The sheets are held by address, whatever their number: only the changed circuit's own elements, its
panel, the totals, and loads of which the design says other figures may read differently; where a row more takes a
sheet more, headings and title blocks too. In an edit that neither adds nor moves a row nothing may stand elsewhere.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from difflib import unified_diff
from functools import cache
from xml.etree import ElementTree

import pytest
from comparing import EXAMPLES, PLATES

from copperplate import drawing, report
from copperplate.design import compile_plate
from copperplate.text import Source

SVG = "{http://www.w3.org/2000/svg}"
LISTS = ("materials.csv", "cuts.csv", "labels.csv")
EDITS = ("comment", "length", "load", "fuse", "way", "new", "removed", "rename")

BOUNDS: dict[str, dict[str, int]] = {
    # The digest of the plate, in the report and in the design, and nothing else.
    "comment": {"report.md": 2, "circuits.csv": 0, "lists": 0, "design.json": 2},
    # One circuit: its rows, its label on two poles, its summary.
    "length": {"report.md": 45, "circuits.csv": 4, "lists": 12, "design.json": 1200},
    "fuse": {"report.md": 30, "circuits.csv": 4, "lists": 6, "design.json": 60},
    # The name stands on ladder and schedule, at four terminals and twice on each of four sleeves.
    "rename": {"report.md": 70, "circuits.csv": 4, "lists": 30, "design.json": 140},
    # A row leaves its place on the ladder, in the schedule, at the panel and among the labels, and another takes it.
    "way": {"report.md": 60, "circuits.csv": 6, "lists": 16, "design.json": 60},
    # The feeder carries more or less, and every figure behind it with it.
    "load": {"report.md": 230, "circuits.csv": 60, "lists": 6, "design.json": 2000},
    "new": {"report.md": 180, "circuits.csv": 60, "lists": 30, "design.json": 2000},
    "removed": {"report.md": 360, "circuits.csv": 60, "lists": 30, "design.json": 2400},
}
"""Lines that may differ (removed and added both count), of about 1300 in a report, 30 circuits, 220 in the lists and
7500 in the design."""

STILL = ("comment", "length", "load", "fuse")
"""Edits that leave every row in its place."""
Address = tuple[tuple[str, str], ...]


def concerned(name: str) -> tuple[str, str, tuple[str, str]]:
    """The load at the far end of an example's last but one circuit, the panel that feeds it, its way and a free one."""
    run = circuit(name)
    panel, way = run.split()[0].split(".")
    used = re.findall(rf"\b{panel}\.(\d+)\b", PLATES[name])
    return run.split()[-1], panel, (way, str(max(map(int, used)) + 1))


def circuit(name: str) -> str:
    return [line for line in PLATES[name].splitlines() if re.match(r"^[a-z-]+\.\d+ -//- .*-- [a-z-]+$", line)][-2]


@cache
def edits(name: str) -> Mapping[str, str]:
    """The plate of an example after each edit, made at its last but one circuit."""
    text = PLATES[name]
    run = circuit(name)
    load, panel, (_, free) = concerned(name)
    stated = next(line for line in text.splitlines() if line.startswith(f"load {load} "))
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
        assert counted["report.md"] and counted["circuits.csv"], "and it shows"


def addressed(sheets: str) -> tuple[dict[Address, list[str]], dict[Address, list[object]]]:
    """What stands on the sheets at each address (the innermost `data-` attributes): the words, and the marks with their
    places."""
    words: dict[Address, list[str]] = {}
    marks: dict[Address, list[object]] = {}

    def walk(element: ElementTree.Element, address: Address) -> None:
        address = tuple((k, v) for k, v in sorted(element.attrib.items()) if k.startswith("data-")) or address
        if element.tag == f"{SVG}text":
            words.setdefault(address, []).append("".join(element.itertext()))
        marks.setdefault(address, []).append((element.tag, sorted(element.attrib.items())))
        for child in element:
            walk(child, address)

    for sheet in sheets.split("</svg>")[:-1]:
        walk(ElementTree.fromstring(f"{sheet}</svg>"), ())
    return words, marks


def figures(text: str) -> dict[str, object]:
    """What `design.json` says of every load."""
    return {load["id"]: {**load, "path": None} for load in json.loads(text)["loads"]}


@pytest.mark.parametrize("edit", EDITS)
@pytest.mark.parametrize("name", PLATES)
def test_only_what_an_edit_concerns_changes_on_the_sheets(name: str, edit: str) -> None:
    before, after = pack(PLATES[name]), pack(edits(name)[edit])
    (words, marks), (new_words, new_marks) = addressed(before["svg"]), addressed(after["svg"])
    load, panel, ways = concerned(name)
    own = re.compile(rf"(?:{load}|{load}-two|extra)(?:[ .+-].*)?|{panel}\.(?:{'|'.join(ways)})")
    said, now = figures(before["design.json"]), figures(after["design.json"])
    more = before["svg"].count("</svg>") != after["svg"].count("</svg>")
    others = {subject for subject in said if said[subject] != now.get(subject)}

    def concerns(address: Address) -> bool:
        """Whether an element is the circuit's, its panel's with its card, a total, or a load's with new figures."""
        facts = dict(address)
        subject = facts.get("data-of") or next(iter(facts.values()), "")
        if any(own.fullmatch(value) for value in facts.values()) or facts.get("data-margin"):
            return True
        if facts.keys() in ({"data-card"}, {"data-route"}):  # a list of circuits, a total, how many share a route
            return True
        if more and facts.keys() & {"data-strip", "data-heads", "data-legend"}:
            return True
        if facts.keys() == {"data-label"} and edit in ("new", "removed"):  # how many negatives end on a bar
            return True
        if facts.get("data-run", "").removesuffix(".run") in others:
            return True
        return subject == panel or ("data-part" in facts and facts["data-part"] in others)

    changed = [key for key in dict.fromkeys([*words, *new_words]) if words.get(key) != new_words.get(key)]
    assert [key for key in changed if not concerns(key)] == []
    assert changed if edit != "comment" else not changed, "and it shows"
    if edit in STILL:
        moved = [key for key in {**marks, **new_marks} if marks.get(key) != new_marks.get(key)]
        assert [key for key in moved if key not in changed] == []
