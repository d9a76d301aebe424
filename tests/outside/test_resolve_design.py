"""Every voltage and every drawn current of every case again from `design.json`, to 1e-6 relative."""

from __future__ import annotations

import copy
import json
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from dense_solve import solved
from test_ngspice import BETWEEN, TRANSFER

sys.path.append(str(Path(__file__).parents[1]))
from copperplate.design import compile_plate
from copperplate.schema import to_text
from copperplate.text import Source
from random_plates import plate

ROOT = Path(__file__).resolve().parents[2]
PLATES = {
    "two banks, each with its own ohms": """system "Two banks"
  nominal 12 V
  rules cfr-183
battery a "A" 12 V, 100 Ah, agm, fault-current 1 kA
battery b "B" 12 V, 100 Ah, agm, internal-resistance 9 mohm
bus plus "Plus" positive, 300 A
bus minus "Minus" negative, 300 A
load pump "Pump" 200 W
load lamp "Lamp" 3 ohm
a.pos -- [fa: fuse class-t] -- 0.5 m -- plus
b.pos -- [fb: fuse class-t] -- 2.5 m -- plus
a.neg -- 0.5 m -- minus
b.neg -- 2.5 m -- minus
plus -- [fuse class-t] -- 4 m -- pump.pos
pump.neg -- 4 m -- minus
plus -- [shunt 100 A, resistance 1 mohm] -- [fuse class-t] -- 4 m -- lamp.pos
lamp.neg -- 4 m -- minus
""",
    "a bank charged over a common negative": """system "Common negative"
  nominal 24 V
  rules iso-13297
  conductors mm2
  ac 230 V
battery a "A" 25.6 V, 200 Ah, lifepo4, fault-current 3 kA
battery b "B" 25.6 V, 100 Ah, lifepo4, fault-current 2 kA
bus plus "Plus" positive, 300 A
bus minus "Minus" negative, 300 A
converter up "Charger of B" 20 A, in 24 V, out 28.4 V, charges, common-negative
converter down "To 12 V" 20 A, in 24 V, out 13 V, common-negative
inverter inv "Inverter/charger" 1500 W, 230 V, charges 30 A, efficiency 92 %, idle 15 W
shore inlet "Shore" 16 A, 230 V, bonds-neutral
load lamp "Lamp" 50 W
load radio "Radio" 60 W
load kettle "Kettle" 900 W, ac
a.pos -- [fa: fuse class-t] -- 0.5 m -- plus
a.neg -- 0.5 m -- minus
b.pos -- [fb: fuse] -- 0.6 m -- lamp.pos
b.neg -- 0.6 m -- lamp.neg
plus -- [fuse] -- 2 m -- up.in.pos
up.in.neg -- 2 m -- minus
up.out.pos -- 2 m -- [fuse] -- b.pos
plus -- [fuse] -- 1 m -- down.in.pos
down.in.neg -- 1 m -- minus
down.out -//- [fuse] -- 4 m -- radio
plus -- [fuse class-t] -- 1 m -- inv.pos
inv.neg -- 1 m -- minus
inlet -///- 2 m -- [shore: breaker, poles 2, residual 30 mA] -- 6 m -- inv.ac-in
inv.ac-out -///- [out: breaker, poles 2, residual 30 mA] -- 4 m -- kettle
case berth "At the berth" on inlet, lamp, radio, kettle
case sea "At sea" on inv, lamp, radio, kettle
""",
    "a supply handed through": TRANSFER,
    "a split supply": BETWEEN,
}


def documents() -> Iterator[tuple[str, str, Path | None]]:
    paths = [ROOT / "examples" / name / f"{name}.plate" for name in ("launch", "camper", "cabin")]
    for path in (*paths, *sorted((ROOT / "tests" / "atlas").rglob("*.plate"))):
        yield path.stem, path.read_text(encoding="utf-8"), path.parent
    yield from ((name, text, None) for name, text in PLATES.items())
    for kind in ("radial", "looped", "any"):
        for seed in range(7000, 7020):
            yield f"{kind} {seed}", plate(seed, kind).text(), None


def compiled(name: str, text: str, folder: Path | None = None) -> dict[str, Any]:
    def read(used: str) -> Source:
        assert folder is not None
        return Source(used, (folder / used).read_text(encoding="utf-8"))

    design, findings = compile_plate(Source(f"{name}.plate", text), read)
    if design is None or any(finding.code == "CP301" for finding in findings):
        pytest.skip("it does not compile, or a supply breaks down: there are no voltages")
    document: dict[str, Any] = json.loads(to_text(design))
    return document


def missed(document: dict[str, Any]) -> list[str]:
    """Nodes and parts whose figure in some case is another than the document states."""
    found: list[str] = []
    for case in (case["id"] for case in document["cases"]):
        volts, drawn = solved(document, case)
        stated = {node: by_case[case] for node, by_case in document["nodes"].items()}
        found += [node for node in stated if volts[node] != pytest.approx(stated[node], rel=1e-6, abs=1e-9)]
        for draw, amperes in zip(document["circuit"]["draws"], drawn, strict=True):
            if amperes != pytest.approx(draw["current_a"][case], rel=1e-6, abs=1e-9):
                found.append(draw["part"])
    return found


@pytest.mark.parametrize(("name", "text", "folder"), [pytest.param(*each, id=each[0]) for each in documents()])
def test_voltages_follow_from_the_document(name: str, text: str, folder: Path | None) -> None:
    assert not missed(compiled(name, text, folder))


def test_a_figure_that_is_off_by_a_thousandth_is_missed() -> None:
    document = compiled("two", PLATES["two banks, each with its own ohms"])
    for path in (
        ("conductors", "pump.pos.run", "resistance_ohm", "everything"),
        ("circuit", "holds", "a", "inside_ohm"),
        ("circuit", "draws", "pump", "watts"),
        ("circuit", "draws", "lamp", "siemens"),
    ):
        changed = copy.deepcopy(document)
        place = changed
        for step in path[:-1]:
            rows = {row.get("id", row.get("part")): row for row in place} if isinstance(place, list) else place
            place = rows[step]
        place[path[-1]] *= 1.001
        assert missed(changed), path
