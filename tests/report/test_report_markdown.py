"""The report in Markdown: its tables say what the design says, a change moves few rows, a plate's text is data."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any, get_args

import pytest
from invented_design import design, partial
from invented_sheets import sheets
from markdown_it import MarkdownIt

from copperplate import schema
from copperplate.report import document, markdown
from copperplate.report.blocks import Mark, Table

HOSTILE = (
    "<script>alert(1)</script>", "| a | b |", "`code` **bold** _em_ [x](y) ![i](j) &lt; &#60;", "<!-- page -->",
    "[ ]", "# heading", "1. one", "\u202egnp.exe", "line\nbreak\ttab", "~~~", "$x$", "\\", "=1+1", "ﺗﺠﺮﺑﺔ 試験 ✓",
)  # fmt: skip


def tables(text: str) -> dict[str, list[dict[str, str]]]:
    """The captioned tables of a report by the words of their caption, rows by head; read without our reader."""
    found: dict[str, list[dict[str, str]]] = {}
    caption = ""
    head: list[str] = []
    for line in text.splitlines():
        if line.startswith("Table "):
            caption = line.split(". ", 1)[1]
            head = []
        elif line.startswith("| "):
            cells = [cell.strip() for cell in re.split(r"(?<!\\)\|", line)[1:-1]]
            if not head:
                head = cells
            elif not set(line) <= set("|-: "):
                found.setdefault(caption, []).append(dict(zip(head, cells, strict=True)))
        elif line:
            caption, head = "", []
    return found


def named(text: str, start: str) -> list[dict[str, str]]:
    return next(rows for caption, rows in tables(text).items() if caption.startswith(start))


@pytest.fixture(scope="module")
def report() -> str:
    made = design()
    return markdown(document(made, sheets(made)))


@pytest.fixture(scope="module")
def public() -> dict[str, Any]:
    return json.loads(schema.to_text(design()))


def by_id(items: list[dict[str, Any]]) -> dict[str, dict[str, Any]]:
    return {item["id"]: item for item in items}


def test_every_section_stands_once_and_in_order(report: str) -> None:
    numbers = [int(n) for n in re.findall(r"^## (\d+) ", report, re.MULTILINE)]
    assert numbers == list(range(1, 16))
    counted = [int(n) for n in re.findall(r"^Table (\d+)\. ", report, re.MULTILINE)]
    assert counted == list(range(1, len(counted) + 1))


def test_what_is_not_covered_stands_before_the_summary(report: str) -> None:
    front = report.split("## 1 Summary")[0]
    assert "> **Notice.** AC cables are drawn and listed; this version does not size them: `kettle.run`." in front


def test_comments_are_of_the_closed_list_and_alone_on_their_lines(report: str) -> None:
    for line in report.splitlines():
        if "<!--" in line:
            found = re.fullmatch(r"<!-- ([a-z]+)( [a-z0-9]+)* -->", line)
            assert found and found[1] in (*get_args(Mark), "chart", "page")


def test_circuits_say_what_the_design_says(report: str, public: dict[str, Any]) -> None:
    runs, loads, devices = (by_id(public[key]) for key in ("runs", "loads", "devices"))
    rows = [row for row in named(report, "DC circuits of `panel`") if row["Address"]]
    assert len(rows) == 10
    for row in rows:
        load = row["Address"].strip("`")
        run = runs[f"{load}.run"]
        assert float(row["Load, A"]) == pytest.approx(run["design_current_a"], abs=0.005)
        assert float(row["Fuse, A"]) == devices[run["protected_by"][0]]["rating_a"]
        assert f"{row['Size, mm²']} mm2" == run["size"]
        assert float(row["Length, m"]) == run["length_m"]
        assert float(row["At load, V"]) == pytest.approx(loads[load]["voltage_v"], abs=0.005)
        assert row["Size set by"] == run["governed_by"]
        assert float(row["Spare, m"]) == pytest.approx(run["spare_length_m"], abs=0.005)
        assert row["Route"] == " ".join(run["routes"])


def test_spare_ways_are_shown(report: str) -> None:
    ways = [row["Way"] for row in named(report, "DC circuits of `panel`")]
    assert ways == [str(n) for n in range(1, 14)]
    assert [row["Way"] for row in named(report, "DC circuits of `panel`") if row["Circuit"] == "spare"] == [
        "11",
        "12",
        "13",
    ]


def test_every_conductor_is_in_the_wiring_list_with_its_sheet(report: str, public: dict[str, Any]) -> None:
    rows = named(report, "Every conductor")
    runs = by_id(public["runs"])
    links = [f"{run['id']}/{n + 1}" for run in public["runs"] if run["role"] == "link" for n in range(run["count"])]
    assert [row["Tag"].strip("`") for row in rows] == [*(c["marker"] for c in public["conductors"]), *links]
    for row, conductor in zip(rows[: -len(links)], public["conductors"], strict=True):
        assert f"{row['Size, mm²']} mm2" == runs[conductor["run"]]["size"]
        assert (row["Colour"], float(row["Length, m"])) == (conductor["colour"], conductor["length_m"])
        assert row["Sheet"] == "2"
        assert (row["Pulled"], row["Ended"]) == ("[ ]", "[ ]")


def test_ends_are_named_by_what_a_hand_finds_there(report: str) -> None:
    rows = {row["Tag"].strip("`"): row for row in named(report, "Every conductor")}
    assert (rows["house.pos/1"]["From"], rows["house.pos/1"]["To"]) == ("house 1 +", "main")
    assert (rows["house.pos/2"]["From"], rows["house.pos/2"]["To"]) == ("isolator", "plus")
    assert (rows["inv.pos"]["From"], rows["inv.pos"]["To"]) == ("inv.pos.fuse", "inv +")
    assert (rows["fridge-"]["From"], rows["fridge-"]["To"]) == ("fridge -", "minus")
    assert rows["house.pos/1"]["Protected by"] == "before main"
    assert rows["house.pos/2"]["Protected by"] == "main"


def test_protection_and_volts_say_what_the_design_says(report: str, public: dict[str, Any]) -> None:
    devices, loads = by_id(public["devices"]), by_id(public["loads"])
    rows = named(report, "Every fuse and breaker")
    assert [row["Device"].strip("`") for row in rows] == [
        d["id"] for d in public["devices"] if d["kind"] in ("fuse", "breaker")
    ]
    for row in rows:
        device = devices[row["Device"].strip("`")]
        assert float(row["Rating, A"]) == device["rating_a"]
        assert float(row["Needs, A"]) == pytest.approx(device["needs_a"], abs=0.0051)
        assert float(row["Largest fault, kA"]) == pytest.approx(device["prospective_fault_a"] / 1000, abs=0.005)
        assert float(row["Breaks, kA"]) == device["interrupting_a"] / 1000
        assert row["Family"] == device["family"]
    for row in named(report, "Voltage at every load"):
        load = loads[row["Address"].strip("`")]
        for head, key in (("Solved, %", "solved_percent"), ("Judged, %", "drop_percent"), ("At load, V", "voltage_v")):
            assert float(row[head]) == pytest.approx(load[key], abs=0.005)


def test_the_path_adds_up_to_the_drop_of_the_load(report: str, public: dict[str, Any]) -> None:
    loads = by_id(public["loads"])
    for caption, rows in tables(report).items():
        if caption.startswith("Voltage lost along the path"):
            load = loads[caption.split("`")[1]]
            *_, last, budget = rows
            assert float(last["Lost so far, V"]) == pytest.approx(load["solved_drop_v"], abs=0.0005)
            assert float(last["Judged so far, V"]) == pytest.approx(load["drop_v"], abs=0.0005)
            assert float(budget["Judged so far, V"]) == pytest.approx(load["budget_v"], abs=0.0005)


def test_three_circuits_give_their_reasons_and_all_with_detail(report: str) -> None:
    made = design()
    assert len(re.findall(r"^### 9\.", report, re.MULTILINE)) == 3
    runs = len(re.findall(r"^### 9\.", markdown(document(made, detail=True)), re.MULTILINE))
    assert runs == len(made.runs)


def test_one_changed_length_changes_the_rows_of_its_circuit_only(report: str) -> None:
    made = design({"plotter": 3.0})
    before, after = report.splitlines(), markdown(document(made, sheets(made))).splitlines()
    assert len(before) == len(after)
    changed = [(old, new) for old, new in zip(before, after, strict=True) if old != new]
    assert 0 < len(changed) <= 12
    start = next(n for n, line in enumerate(before) if ". Copper by size." in line)
    totals = before[start : start + 12]
    assert all("plotter" in old or "Copper to buy" in old or old in totals for old, _ in changed)
    assert sum(old in totals for old, _ in changed) <= 1


def test_a_long_title_moves_only_its_own_rows(report: str) -> None:
    made = design(titles={"plotter": "Chart plotter with a title that is far wider than any column of this report"})
    before, after = report.splitlines(), markdown(document(made, sheets(made))).splitlines()
    assert all("plotter" in old for old, new in zip(before, after, strict=True) if old != new)


@pytest.mark.parametrize("words", HOSTILE)
def test_text_of_a_plate_is_data(words: str) -> None:
    """As CommonMark reads it: the words are there as they are, and no element more than without them."""
    from copperplate.report.words import plain

    made = design(titles={"fridge": words}, title=words)
    text, clean = (markdown(document(d, sheets(d))) for d in (made, design()))
    tokens, before = (MarkdownIt("commonmark", {"html": False}).enable("table").parse(t) for t in (text, clean))
    assert [token.type for token in tokens] == [token.type for token in before]
    shown = ["".join(t.content for t in token.children or ()) for token in tokens if token.type == "inline"]
    assert shown[0] == plain(words) and shown.count(plain(words)) >= 3
    ticks = [cell for b in document(made) if isinstance(b, Table) for row in b.cells for cell in row if cell.tick]
    assert all(cell.words == "[ ]" for cell in ticks) and (plain(words) == "[ ]") <= (text.count("\\[ \\]") >= 3)
    assert "\u202e" not in text


def test_a_design_with_errors_can_be_read_too() -> None:
    text = markdown(document(partial()))
    assert "**Result: 1 error;" in text and "This design is refused" in text
    heads = re.findall(r"^## \d+ (.+)", text, re.MULTILINE)
    assert heads[:2] == ["Summary", "Sheets"] and "Volts at the loads" in heads
    assert not {"Materials", "Sign-off"} & set(heads), "nothing to buy by and nothing to sign"


def test_the_same_text_under_any_hash_seed() -> None:
    script = (
        "from invented_design import design; from invented_sheets import drawn; from copperplate.report import pack;"
        "import hashlib; d = design(); p = pack(d, drawn(d), 'dunlin');"
        "print(hashlib.sha256(repr(p).encode()).hexdigest())"
    )
    prints = {
        subprocess.run(
            [sys.executable, "-c", script],
            env={**os.environ, "PYTHONHASHSEED": seed},
            cwd=Path(__file__).parent,
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(prints) == 1
