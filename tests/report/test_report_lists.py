"""The CSV lists of a pack: RFC 4180 (quoting, one head line, as many fields in every record), safe in spreadsheets."""

from __future__ import annotations

import csv
import io
import itertools
import json
import re
from pathlib import Path
from typing import Any

import pytest
from invented_design import design, partial
from invented_sheets import drawn

from copperplate.report import lists, pack

LISTS = (lists.circuits, lists.materials, lists.cuts, lists.labels)


def rows(text: str) -> list[dict[str, str]]:
    assert "\r" not in text and text.endswith("\n")
    found = list(csv.reader(io.StringIO(text), strict=True))
    assert len({len(record) for record in found}) == 1
    return [dict(zip(found[0], record, strict=True)) for record in found[1:]]


@pytest.mark.parametrize("write", LISTS)
def test_every_record_has_every_field(write: Any) -> None:
    assert rows(write(design()))
    rows(write(partial()))


def test_lists_say_what_the_design_says() -> None:
    made = design()
    files = pack(made, drawn(made), "dunlin")
    public = json.loads(files["dunlin.design.json"])
    by_run = {run["id"]: run for run in public["runs"]}
    circuits = rows(files["dunlin.circuits.csv"])
    assert [row["run"] for row in circuits] == list(by_run)
    for row in circuits:
        assert row["size"] == by_run[row["run"]]["size"]
        assert float(row["length_m"]) == pytest.approx(by_run[row["run"]]["length_m"], abs=0.0005)
    cut = rows(files["dunlin.cuts.csv"])
    assert sorted(row["tag"] for row in cut) == sorted(c["marker"] for c in public["conductors"])
    reels = [(row["size"], row["colour"]) for row in cut]
    assert len(dict.fromkeys(reels)) == sum(one != two for one, two in itertools.pairwise([("", ""), *reels]))


def test_two_labels_a_conductor_tell_both_ends() -> None:
    found = rows(lists.labels(design()))
    fridge = [row for row in found if row["marker"] == "fridge+"]
    assert [(row["at"], row["other_end"]) for row in fridge] == [("panel.1", "fridge +"), ("fridge +", "panel.1")]


@pytest.mark.parametrize("words", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1+1", "\uff1d1", '"quoted", and\nbroken'])
def test_no_cell_of_text_runs_as_a_formula(words: str) -> None:
    made = design(titles={"fridge": words})
    for write in LISTS:
        for row in rows(write(made)):
            for cell in row.values():
                assert not cell.startswith(("=", "+", "-", "@", "\t", "\r", "\uff1d"))


def test_files_of_a_pack_have_the_stem_and_a_stable_order() -> None:
    made = design()
    assert list(pack(made, drawn(made), "launch")) == [
        "launch.report.md", "launch.report.html", "launch.sheet-1-overview.svg", "launch.sheet-2-circuits.svg",
        "launch.circuits.csv", "launch.materials.csv", "launch.cuts.csv", "launch.labels.csv", "launch.tests.csv",
        "launch.design.json",
    ]  # fmt: skip
    assert pack(made, drawn(made), "launch") == pack(design(), drawn(design()), "launch")


def test_the_page_of_the_lists_names_their_columns() -> None:
    page = (Path(__file__).parents[2] / "docs" / "lists.md").read_text(encoding="utf-8")
    said = {column.strip("`").removesuffix("…") for column in re.findall(r"`[a-z_]+…?`", page)}
    for write in (lists.labels, lists.cuts, lists.materials):
        for column in rows(write(design()))[0]:
            assert re.sub(r"_m$", "_", column) in said, column


def test_links_of_a_bank_have_labels_too() -> None:
    found = [row for row in rows(lists.labels(design())) if row["marker"].startswith("house.link")]
    assert [(row["at"], row["other_end"]) for row in found] == [
        ("house 1 +", "house 2 +"), ("house 2 +", "house 1 +"), ("house 1 -", "house 2 -"), ("house 2 -", "house 1 -"),
    ]  # fmt: skip
