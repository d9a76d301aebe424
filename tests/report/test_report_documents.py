"""The four documents of each example: their figures are those of `NAME.design.json`, the same fact has one figure in
every table, every finding reaches its reader, and the client reads no code and no address."""

from __future__ import annotations

import csv
import io
import json
import re
from typing import Any

import pytest
from test_report_examples import by_ending, example
from test_report_markdown import by_id, named

from copperplate.findings.codes import CODES

__all__ = ["example"]
FOOT = 0.3048


def chapter(text: str, name: str) -> str:
    return text.split(f"\n## {name}\n")[1].split("\n## ")[0]


@pytest.fixture
def told(example: Any) -> tuple[Any, str, dict[str, Any], dict[str, str]]:
    design, files = example
    return design, by_ending(files, ".report.md"), json.loads(by_ending(files, ".design.json")), files


def agrees(shown: str, value: float) -> bool:
    """Whether a figure is a value rounded to its own decimals."""
    decimals = len(shown.partition(".")[2])
    return abs(float(shown) - value) <= 0.5001 * 10.0**-decimals + 1e-9 * abs(value)


def answer(cell: str) -> tuple[str, list[str]]:
    """The mark of a cell of the matrix, and its figures."""
    mark, _, rest = cell.partition(" ")
    return mark.strip("*"), re.findall(r"\d+(?:\.\d+)?", rest)


def test_the_matrix_says_what_the_design_says(told: Any) -> None:
    """Every yes holds by the figures of the design, and a deviation is no yes."""
    _, text, said, _ = told
    devices = by_id(said["devices"])
    rows = named(text, "Each answer with its figure")
    protective = {d["id"] for d in said["devices"] if d["kind"] in ("fuse", "breaker")}
    assert {row["On the drawing"].strip("`") for row in rows} == protective
    for row in rows:
        device = devices[row["On the drawing"].strip("`")]
        cells = {head.split("?")[0]: answer(cell) for head, cell in row.items() if "?" in head}
        mark, (needs, rating) = cells["Carries"]
        assert agrees(needs, device["needs_a"]) and agrees(rating, device["rating_a"])
        assert (mark == "✓") == (device["rating_a"] >= device["needs_a"] * (1 - 1e-9))
        mark, figures = cells["Protects wire"]
        if device["smallest_ampacity_a"] is not None:
            assert agrees(figures[0], device["rating_a"]) and agrees(figures[1], device["smallest_ampacity_a"])
            assert (mark == "✓") == (device["rating_a"] <= device["smallest_ampacity_a"] * (1 + 1e-9))
        mark, figures = cells["Breaks the fault"]
        if device["prospective_fault_a"] is not None and device["interrupting_a"] is not None:
            fault, can = device["prospective_fault_a"], device["interrupting_a"]
            assert agrees(figures[0], fault / 1000) and agrees(figures[1], can / 1000)
            assert (mark == "✓") == (fault <= can * (1 + 1e-9))
            assert fault <= can or float(figures[0]) > float(figures[1]), "rounded onto its limit"
        if device["far_end"] == "not proven":
            assert cells["In time"][0].startswith("Q")


def test_every_piece_is_wired_once_as_the_design_says(told: Any) -> None:
    _, text, said, _ = told
    unit = FOOT if said["system"]["units"] == "us" else 1.0
    rows = {row["Marker"].strip("`"): row for row in named(text, "Every piece of wire")}
    wires = {c["marker"]: c for c in said["conductors"]} | {link["id"]: link for link in said["links"]}
    assert set(rows) == set(wires) and len(named(text, "Every piece of wire")) == len(wires)
    for marker, wire in wires.items():
        row = rows[marker]
        assert agrees(next(row[head] for head in row if head.startswith("Length")), wire["length_m"] / unit)
        assert row["Colour"] == wire["colour"]
        cut = float(next(row[head] for head in row if head.startswith("Cut")))
        assert cut * unit >= wire["length_m"] - 0.006
    assert all(row["Protected by"] == "earthing" for m, row in rows.items() if m.endswith(".pe"))


def test_the_same_fact_has_one_figure_in_every_table(told: Any) -> None:
    """Ratings, losses and budgets, table against table."""
    _, text, said, files = told
    matrix = {row["On the drawing"]: answer(row[next(h for h in row if h.startswith("Carries"))])[1][1]
              for row in named(text, "Each answer with its figure")}  # fmt: skip
    for caption in ("Bars, panels and feeders", "Branches and devices"):
        for row in named(text, caption):
            if row["Where"] in matrix:
                assert float(row["Of, A"]) == float(matrix[row["Where"]]), row
    volts = {row["Address"].strip("`"): row for row in named(text, "Voltage at every load")}
    loads = by_id(said["loads"])
    for name, row in volts.items():
        assert agrees(row["By rule, %"], loads[name]["drop_percent"])
        assert agrees(row["Warm, %"], loads[name]["solved_percent"])
        over = loads[name]["solved_percent"] > loads[name]["budget_percent"]
        assert not over or float(row["Warm, %"]) > float(row["Budget, %"]), "rounded onto its limit"
    tests = {row["id"]: row for row in csv.DictReader(io.StringIO(by_ending(files, ".tests.csv")))}
    titles = {part["id"]: part["title"] for part in said["parts"]}
    lost = {key.removeprefix("lost."): row for key, row in tests.items() if key.startswith("lost.")}
    assert lost
    for name, row in lost.items():
        assert row["unit"] == "V" and row["where"].startswith(titles[name])
        assert float(row["predicted"]) == pytest.approx(loads[name]["solved_drop_v"], rel=1e-5)
        assert float(row["amps_predicted"]) == pytest.approx(loads[name]["current_a"], rel=1e-5)


def test_every_open_finding_reaches_one_point_and_every_accepted_one_its_number(told: Any) -> None:
    design, text, _, _ = told
    client = chapter(text, "Client")
    standing = list(dict.fromkeys(CODES[f.code].question for f in design.findings if f.accepted is None))
    for question in standing:
        assert client.count(f"**{question.rstrip('.')}.**") == 1, question
    binding = {CODES[f.code].question for f in design.findings if f.accepted is None and f.severity != "advice"}
    assert ("> **Ready to install.**" in client) == (not binding)
    accepted = sum(f.accepted is not None for f in design.findings)
    assert all(f"**D{n}**" in client for n in range(1, accepted + 1))
    assert f"**D{accepted + 1}**" not in client


def test_the_client_reads_no_code_no_address_and_no_word_of_the_trade_of_this_program(told: Any) -> None:
    client = chapter(told[1], "Client")
    assert "`" not in client and not re.search(r"\bCP\d{3}\b", client)
    for word in ("judged", "solved", "finding", "design.json"):
        assert not re.search(rf"\b{word}\b", client, re.IGNORECASE), word
