"""Every figure of the report's tables is traced back to `NAME.design.json`, on the examples and on random plates."""

from __future__ import annotations

import json
import re
import sys
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from test_report_examples import EXAMPLES, compiled
from test_report_markdown import by_id, tables

from copperplate import drawing, report, schema
from copperplate.design import compile_plate
from copperplate.model.results import Design
from copperplate.text import Source

sys.path.append(str(Path(__file__).parents[1]))
from random_plates import plate

Row = dict[str, str]
Json = dict[str, Any]
SEEDS = range(3000, 3024)
FOOT = 0.3048


@pytest.fixture(scope="module", params=[*EXAMPLES, *SEEDS], ids=lambda it: getattr(it, "stem", str(it)))
def made(request: pytest.FixtureRequest) -> tuple[dict[str, list[Row]], Json, str]:
    design: Design | None
    if isinstance(request.param, int):
        design, _ = compile_plate(Source("random.plate", plate(request.param).text()), lambda _: None)
    else:
        design = compiled(request.param)
    if design is None or not design.system.runs or design.errors:
        pytest.skip("a file of parts, or a plate of which no pack is made")
    sheets = report.named(drawing.sheets(design), "x")
    text = report.markdown(report.document(design, sheets, detail=True))
    return tables(text), json.loads(schema.to_text(design)), text


def agrees(shown: str, value: float | None) -> bool:
    """Whether a cell is a value rounded to its own decimals; an empty one stands for none."""
    shown = shown.replace(" ", "").strip("*")
    if not shown or value is None:
        return not shown and value is None
    decimals = len(shown.partition(".")[2])
    return abs(float(shown) - value) <= 0.5001 * 10.0**-decimals + 1e-9 * abs(value)


def rows_of(found: dict[str, list[Row]], begin: str) -> Iterator[Row]:
    for caption, rows in found.items():
        if caption.startswith(begin):
            yield from (row for row in rows if any(row.values()))


def column(row: Row, head: str) -> str:
    return next(value for key, value in row.items() if key.partition(",")[0] == head)


def check(rows: Iterator[Row], key: str, facts: Json, columns: dict[str, Callable[[Json], float | None]]) -> int:
    """Every cell of the named columns against the facts of its row's subject; how many were seen."""
    seen = 0
    for row in rows:
        fact = facts[row[key].strip("`")]
        for head, value in columns.items():
            assert agrees(column(row, head), value(fact)), (row, head, value(fact))
            seen += 1
    return seen


def test_loads(made: tuple[dict[str, list[Row]], Json, str]) -> None:
    found, said, _ = made
    loads = by_id(said["loads"])
    works = lambda load: load["works_low_v"]  # noqa: E731
    assert all(load["solved_drop_v"] >= 0 for load in loads.values())
    seen = check(
        rows_of(found, "Voltage at every load"), "Address", loads,
        {
            "Current": lambda load: load["current_a"], "At load": lambda load: load["voltage_v"],
            "Works from": works,
            "Margin": lambda load: None if works(load) is None else load["voltage_v"] - works(load),
            "Solved": lambda load: load["solved_percent"], "Judged": lambda load: load["drop_percent"],
            "Budget": lambda load: load["budget_percent"], "Used": lambda load: 100 * load["drop_v"] / load["budget_v"],
        },
    )  # fmt: skip
    assert seen == 8 * len(loads)


def test_devices(made: tuple[dict[str, list[Row]], Json, str]) -> None:
    found, said, _ = made
    devices = by_id(said["devices"])
    kilo = lambda key: lambda device: None if device[key] is None else device[key] / 1000  # noqa: E731
    check(
        rows_of(found, "Every fuse and breaker"), "Device", devices,
        {
            "Rating": lambda device: device["rating_a"], "Needs": lambda device: device["needs_a"],
            "Ampacity": lambda device: device["smallest_ampacity_a"],
            "Largest fault": kilo("prospective_fault_a"), "Breaks": kilo("interrupting_a"),
            "Far-end fault": kilo("end_fault_a"), "Opens in": lambda device: device["opens_within_s"],
        },
    )  # fmt: skip
    unit = FOOT if said["system"]["units"] == "us" else 1.0
    check(
        rows_of(found, "Distance of each device"), "Device", devices,
        {"From its source": lambda device: device["distance_from_source_m"] / unit,
         "Limit": lambda d: None if d["placement_limit_m"] is None else d["placement_limit_m"] / unit},
    )  # fmt: skip
    guards = [d for d in said["devices"] if d["kind"] in ("fuse", "breaker")]
    listed = [row["Device"].strip("`") for row in rows_of(found, "Every fuse and breaker")]
    assert listed == [d["id"] for d in guards if d["id"] in listed] and len(listed) == len(guards)


def test_wiring_and_circuits(made: tuple[dict[str, list[Row]], Json, str]) -> None:
    found, said, _ = made
    unit = FOOT if said["system"]["units"] == "us" else 1.0
    runs, devices, loads = (by_id(said[key]) for key in ("runs", "devices", "loads"))
    conductors = {c["marker"]: c for c in said["conductors"]} | {c["marker"]: c for c in said["links"]}
    wired = list(rows_of(found, "Every conductor"))
    check(iter(wired), "Tag", conductors, {"Length": lambda c: c["length_m"] / unit})
    assert {row["Tag"].strip("`") for row in wired} == set(conductors)
    for row in wired:
        size = runs[conductors[row["Tag"].strip("`")]["run"]]["size"]
        assert size is None or column(row, "Size").split(" x ")[-1] in (
            size.split()[0],
            size,
            size.replace("mm2", "mm²"),
        )
    for caption in (c for c in found if c.startswith("DC circuits of") or c.startswith("AC circuits of")):
        for row in (row for row in found[caption] if row["Address"]):
            device = devices.get(f"{caption.split('`')[1]}.{row['Way']}")
            load = loads.get(row["Address"].strip("`"))
            if device is None:
                continue
            run = runs[device["run"]]
            fuse = next(value for head, value in row.items() if head in ("Fuse, A", "Breaker, A", "Device, A"))
            assert agrees(fuse, device["rating_a"])
            assert agrees(column(row, "Length"), run["length_m"] / unit)
            if load is not None:
                assert agrees(column(row, "At load"), load["voltage_v"])


def test_paths_and_energy(made: tuple[dict[str, list[Row]], Json, str]) -> None:
    found, said, _ = made
    loads = by_id(said["loads"])
    for caption, rows in found.items():
        if caption.startswith("Voltage lost along the path of"):
            load = loads[caption.split("`")[1]]
            assert agrees(column(rows[-1], "Judged so far"), load["budget_v"])
            assert agrees(column(rows[-2], "Judged so far"), load["drop_v"])
            if "gives nothing in that case" not in caption:
                assert agrees(column(rows[-2], "Lost so far"), load["solved_drop_v"])
        if caption.startswith("A day's energy from"):
            lines = said["energy"][caption.split("`")[1]]["lines"]
            assert [row["Subject"].strip("`") for row in rows] == [line["subject"] for line in lines]
            assert all(agrees(row["A day, Wh"], line["wh"]) for row, line in zip(rows, lines, strict=True))
        if caption.startswith("Energy over a day spent in each case"):
            bank = re.findall(r"`([^`]+)`", caption)[0]
            taken = {x["subject"]: x["wh"] for x in said["energy"][bank]["lines"] if x["what"] in ("load", "output")}
            shares = {case["id"]: case["shares"] for case in said["cases"]}
            for row in rows:
                address = row["Address"].strip("`")
                for head, shown in row.items():
                    if head.endswith(", Wh"):
                        wh = taken[address] * shares[head.removesuffix(", Wh")].get(address, 0.0)
                        assert agrees(shown, wh if wh >= 0.5 else None), (row, head)


def test_terminals(made: tuple[dict[str, list[Row]], Json, str]) -> None:
    """Section 5, in the order of the design."""
    found, said, _ = made
    markers = {c["id"]: c["marker"] for c in (*said["conductors"], *said["links"])}
    rows = list(rows_of(found, "Every end"))
    assert len(rows) == len(said["terminals"])
    for row, fit in zip(rows, said["terminals"], strict=True):
        shown = [row["Tag"].strip("`"), row["Stands there"], row["Accepts"], row["Fitting"], row["Fit"]]
        verdict = {True: "fits", False: "**no fit**", None: "not stated"}[fit["fits"]]
        marker = markers.get(fit["conductor"], fit["conductor"])
        assert shown == [marker, *(fit[key] for key in ("terminal", "accepts", "fitting")), verdict]
        assert fit["size"].startswith(column(row, "Size").replace("mm²", "mm2"))


def test_loading(made: tuple[dict[str, list[Row]], Json, str]) -> None:
    """Section 8: bars, panels, runs and devices, each by what it may carry; routes."""
    found, said, _ = made
    parts, runs, devices = (by_id(said[key]) for key in ("parts", "runs", "devices"))
    entering = by_id(said["loads"])
    seen: list[str] = []
    for row in (*rows_of(found, "Bars, panels"), *rows_of(found, "Branches and devices")):
        where, carries, limit = row["Where"].strip("`"), column(row, "Carries"), column(row, "Of")
        seen.append(where)
        if where in runs and row["What"].startswith("conductor "):
            amperes, most = runs[where]["design_current_a"], runs[where]["ampacity_a"]
        elif where in devices:
            in_states = (state["devices"].get(where, 0.0) for state in said["states"])
            amperes = max(map(abs, (*devices[where]["current_a"].values(), *in_states)), default=0.0)
            most = devices[where]["rating_a"]
        else:
            assert where in parts and where not in entering
            amperes, most = None, parts[where]["values"]["current_a"]
        assert agrees(limit, most), row
        if amperes is not None:
            assert agrees(carries, amperes), row
            assert agrees(column(row, "Used"), 100 * amperes / most), row
        else:
            assert abs(float(column(row, "Used")) - 100 * float(carries) / most) <= 0.51 + 1 / most
    listed = [float(column(row, "Used")) for row in rows_of(found, "Branches and devices")]
    assert listed == sorted(listed, reverse=True), "fullest first"
    routes = by_id(said["routes"])
    for row in rows_of(found, "Routes that runs share"):
        route = routes[row["Route"].strip("`")]
        air = said["system"]["ambient_c"] if route["ambient_c"] is None else route["ambient_c"]
        assert agrees(column(row, "Air"), air) and agrees(row["Runs"], len(route["runs"]))
        assert agrees(row["Loaded conductors"], route["loaded_conductors"])


GROUPS = ("conductor", "cable", "lug", "ferrule", "splice", "fuse", "holder", "breaker", "device")
TITLES = (
    "Conductors by size", "AC cables by size", "Lugs by size", "Ferrules by size", "Splices", "Fuses by family",
    "Fuse holders", "Breakers", "Switches and other devices",
)  # fmt: skip


def test_materials_and_cuts(made: tuple[dict[str, list[Row]], Json, str]) -> None:
    """Section 11: every line of the lists, none more, and the lengths of the cut list."""
    found, said, _ = made
    unit = FOOT if said["system"]["units"] == "us" else 1.0
    for group, title in zip(GROUPS, TITLES, strict=True):
        lines = [line for line in said["materials"] if line["group"] == group]
        rows = list(rows_of(found, title))
        assert [row["Item"] for row in rows] == [line["item"] for line in lines]
        for row, line in zip(rows, lines, strict=True):
            quantity = line["quantity"] / (unit if line["unit"] == "m" else 1.0)
            assert agrees(next(v for head, v in row.items() if head.startswith(("Total", "Quantity"))), quantity)
            listed = next(value for head, value in row.items() if head in ("For", "Ends"))
            assert re.findall(r"`([^`]+)`", listed) == list(dict.fromkeys(line["where"]))
    assert {line["group"] for line in said["materials"]} <= set(GROUPS)
    cuts = {cut["conductor"]: cut for cut in said["cuts"]}
    rows = list(rows_of(found, "Cut list"))
    assert len(rows) == len(said["cuts"])
    for row in rows:
        cut = cuts[row["Tag"].strip("`")]
        assert agrees(column(row, "Length"), cut["length_m"] / unit) and agrees(row["Cores"], cut["cores"])
        assert agrees(column(row, "Cut at"), cut["cut_m"] / unit) and row["Colours"] == cut["colour"]
    total = sum(float(column(row, "Total").replace(" ", "")) for row in rows_of(found, "Copper by size"))
    copper = sum(cut["cut_m"] * cut["cores"] for cut in said["cuts"]) / unit
    assert abs(total - copper) <= 0.006 * max(1, len(list(rows_of(found, "Copper by size"))))


def test_assumptions_sources_and_checks(made: tuple[dict[str, list[Row]], Json, str]) -> None:
    """Sections 12 to 14: every assumption, source, constant, rating and voltage of the design, and none more."""
    found, said, _ = made
    assumed = list(rows_of(found, "Values that the plate left open"))
    shared = Counter((a["text"], a["source"]) for a in said["assumptions"])
    assert len(assumed) == len(shared)
    for row, ((_, _), times) in zip(assumed, shared.items(), strict=True):
        more = re.search(r" and (\d+) more$", row["Where"])
        assert len(re.findall(r"`[^`]+`", row["Where"])) + int(more[1] if more else 0) == times
    published = list(rows_of(found, "Published sources"))
    assert len(published) == len(said["published"])
    for row, source in zip(published, said["published"], strict=True):
        assert [row["Title"], row["Clause"]] == [source["title"], source["clause"]]
    constants = list(rows_of(found, "Constants of the rule profile"))
    assert [row["Constant"] for row in constants] == list(said["rules"])
    for row in constants:
        assert float(row["Value"]) == pytest.approx(said["rules"][row["Constant"]]["value"], rel=1e-4)
        assert row["Status"] == said["rules"][row["Constant"]]["status"]
    devices, loads = by_id(said["devices"]), by_id(said["loads"])
    rated = [row for row in rows_of(found, "Before power") if row["Check"] == "rating fitted"]
    wanted = [d["id"] for d in said["devices"] if d["kind"] in ("fuse", "breaker") and d["rating_a"] is not None]
    assert [row["Where"].strip("`") for row in rated] == wanted
    for row in rated:
        assert agrees(row["Expected"].removesuffix(" A"), devices[row["Where"].strip("`")]["rating_a"])
    powered = list(rows_of(found, "After power"))
    assert [row["Load"].strip("`") for row in powered] == list(loads)
    check(
        iter(powered), "Load", loads,
        {"Current": lambda load: load["current_a"], "Lost": lambda load: load["solved_drop_v"],
         "At load": lambda load: load["voltage_v"]},
    )  # fmt: skip
    assert all(row["Case"] == loads[row["Load"].strip("`")]["worst_case"] for row in powered)
