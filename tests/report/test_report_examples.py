"""Report, page, lists and design of every example plate, through the compiler."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from test_report_html import read_page
from test_report_lists import rows
from test_report_markdown import named
from test_schema import SCHEMA, described

from copperplate import drawing, report, schema
from copperplate.design import compile_plate
from copperplate.model.results import Design
from copperplate.text import Source

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*/*.plate"))


def compiled(path: Path, change: tuple[str, str] = ("", "")) -> Design | None:
    """The design of a plate, after one change of its text."""

    def read(name: str) -> Source | None:
        beside = path.parent / name
        return Source(name, beside.read_text(encoding="utf-8")) if beside.is_file() else None

    text = path.read_text(encoding="utf-8")
    assert change[0] in text
    design, _ = compile_plate(Source(path.name, text.replace(*change, 1)), read)
    return design


@pytest.fixture(scope="module", params=EXAMPLES, ids=lambda path: path.stem)
def example(request: pytest.FixtureRequest) -> tuple[Design, dict[str, str]]:
    design = compiled(request.param)
    if design is None or not design.system.runs or design.errors:
        pytest.skip("a file of parts, or a plate of which no pack is made")
    return design, report.pack(design, drawing.sheets(design), request.param.stem)


def by_ending(files: dict[str, str], ending: str) -> str:
    return next(text for name, text in files.items() if name.endswith(ending))


def public(files: dict[str, str]) -> dict[str, Any]:
    return json.loads(by_ending(files, ".design.json"))


def test_design_json_follows_its_schema(example: tuple[Design, dict[str, str]]) -> None:
    design, files = example
    jsonschema.Draft202012Validator(SCHEMA).validate(public(files))
    described(schema.to_json(design), SCHEMA, "design")


def test_the_page_is_closed_in_itself(example: tuple[Design, dict[str, str]]) -> None:
    reader = read_page(by_ending(example[1], ".report.html"))
    assert len(reader.ids) == len(set(reader.ids))
    assert all(not re.search(r"\s", identity) for identity in reader.ids)
    assert all(link.startswith("#") and link[1:] in reader.ids for link in reader.links)
    assert reader.fetched == ["data:,"]


def test_every_wiring_row_is_on_a_sheet_and_back(example: tuple[Design, dict[str, str]]) -> None:
    design, files = example
    listed = {row["Marker"].strip("`") for row in named(by_ending(files, ".report.md"), "Every piece")}
    page = by_ending(files, ".report.html")
    for conductor in design.system.conductors.values():
        assert conductor.marker in listed
        key = re.escape(f"wire.{conductor.marker}")
        assert re.search(rf'<tr role="row" id="[^"]*" data-at="{re.escape(conductor.id)}" data-key="{key}"', page)
        assert re.search(rf'<a href="#s\d+-{re.escape(conductor.id)}">', page), conductor.id


def test_power_of_loads_and_heat_of_conductors_is_what_the_bank_gives(example: tuple[Design, dict[str, str]]) -> None:
    """Conservation of energy (Tellegen): in every case that only the bank feeds, the power at the loads' terminals and
    I²R of every conductor and device of its zone are together what leaves the bank."""
    _, files = example
    text = by_ending(files, ".report.md")
    said = public(files)
    for bank, balance in said["energy"].items():
        title = next(part["title"] for part in said["parts"] if part["id"] == bank)
        listed = f". Power of each load on {title}" in text
        rows = named(text, f"Power of each load on {title}") if listed else []
        titles = {c["id"]: c["title"] or c["id"][:1].upper() + c["id"][1:] for c in said["cases"]}
        zone = next(point["zone"] for point in said["points"] if point["part"] == bank and point["pole"] == "pos")
        zones = {point["id"]: point["zone"] for point in said["points"]}
        for case in balance["cases"]:
            sources = [s for s in said["sources"] if s["id"] != bank and s["current_a"].get(case["case"])]
            if any(zones.get(f"{s['id']}.pos") == zone for s in sources) or not case["given_w"]:
                continue
            loads = sum(float(row[f"{titles[case['case']]}, W"] or 0) for row in rows)
            heat = sum(
                c["resistance_ohm"][case["case"]] * c["current_a"][case["case"]] ** 2
                for c in said["conductors"]
                if zones[c["from_node"]] == zone and c["resistance_ohm"]
            )
            assert loads + heat == pytest.approx(case["given_w"], rel=0.01), case


def test_bars_carry_what_their_conductors_bring(example: tuple[Design, dict[str, str]]) -> None:
    """Kirchhoff's current law on the design's own currents: half of all that flows at a bar, in its worst case."""
    _, files = example
    said = public(files)
    rows = named(by_ending(files, ".report.md"), "Bars, panels and feeders")
    shown = {row["Where"].strip("`"): float(row["Carries, A"]) for row in rows}
    for bus in (part for part in said["parts"] if part["kind"] == "bus" and part["values"].get("current_a")):
        nodes = {point["id"] for point in said["points"] if point["part"] == bus["id"]}
        flows = [(c["current_a"], (c["from_node"] in nodes) + (c["to_node"] in nodes)) for c in said["conductors"]] + [
            (d["current_a"], sum(end in nodes for leg in d["legs"] for end in leg)) for d in said["devices"]
        ]
        half = max(sum(abs(a.get(case["id"], 0.0)) * times for a, times in flows) / 2 for case in said["cases"])
        for state in said["states"]:
            ends = [(state["conductors"].get(c["id"], 0.0), (c["from_node"], c["to_node"])) for c in said["conductors"]]
            ends += [(state["devices"].get(d["id"], 0.0), leg) for d in said["devices"] for leg in d["legs"]]
            half = max(half, sum(abs(a) * sum(end in nodes for end in pair) for a, pair in ends) / 2)
        half /= 2 if len({node for node in nodes if not node.endswith(".pe")}) == 2 else 1
        assert shown[bus["id"]] == pytest.approx(half, abs=0.06), bus["id"]


def test_copper_by_size_is_what_the_cut_list_weighs(example: tuple[Design, dict[str, str]]) -> None:
    """8.89 kg per dm³, annealed copper (IEC 60028, from memory); areas as the design states them."""
    _, files = example
    said = public(files)
    areas = {run["size"]: run["area_mm2"] / run["parallel"] for run in said["runs"] if run["size"]}
    kilograms = sum(cut["cores"] * cut["cut_m"] * areas[cut["size"]] * 8.89e-3 for cut in said["cuts"])
    shown = re.search(r"^\| Wire and cable .* ([\d.]+) kg of copper", by_ending(files, ".report.md"), re.MULTILINE)
    assert shown and float(shown[1]) == pytest.approx(kilograms, abs=0.51)


def test_lists_hold_every_conductor_and_run(example: tuple[Design, dict[str, str]]) -> None:
    design, files = example
    assert [row["run"] for row in rows(by_ending(files, ".circuits.csv"))] == list(design.system.runs)
    ends = sum(design.runs[c.run].parallel for c in (*design.system.conductors.values(), *design.links)) * 2
    assert len(rows(by_ending(files, ".labels.csv"))) == ends
    for ending in (".materials.csv", ".cuts.csv"):
        rows(by_ending(files, ending))


def test_one_longer_circuit_moves_its_own_rows_and_the_totals() -> None:
    """A length that changes no size: the wiper of the launch, 14 ft to 15 ft."""
    path = next(path for path in EXAMPLES if path.stem == "launch")
    reports = [
        report.markdown(report.document(design, report.named(drawing.sheets(design), "launch"))).splitlines()
        for design in (compiled(path), compiled(path, ("5 ft -- wiper", "6 ft -- wiper")))
        if design is not None
    ]
    assert len(reports) == 2 and len(reports[0]) == len(reports[1])
    changed = [old for old, new in zip(*reports, strict=True) if old != new]
    assert 0 < len(changed) <= 30, changed
