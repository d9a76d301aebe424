"""Sheet 1 holds the whole system: on the examples, on ordinary topologies and on random plates, with planted faults."""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest
from built import design, example
from diagramcheck import LEAST_USED, MOST_EMPTY, diagram_faults, largest_empty, used, zones
from drawn_plates import random_plate
from svgcheck import faults, read

from copperplate.drawing import sheets
from copperplate.drawing.paper import Paper
from copperplate.model.results import Design
from copperplate.report.sheets import named, shown_on

ATLAS = sorted((Path(__file__).resolve().parents[1] / "atlas").glob("*.plate"))
SEEDS = range(1, 25)


@cache
def of_atlas(path: Path) -> tuple[Design, str]:
    found = design(path.read_text(encoding="utf-8"), path.parent)
    return found, sheets(found)[0].svg


KNOWN = {
    "17-bow-bank-on-a-long-feeder": "does not touch it",
    "24-two-chargers-for-a-charger-of-two-outputs": "ends on nothing",
    "36-parallel-runs-a-fuse-each": "does not touch it",
    "38-bar-fed-twice": "does not touch it",
}
"""What is not drawn as it should be yet: a device bolted to a bar that its lead leads to in a flag."""


@pytest.mark.parametrize("path", ATLAS, ids=[path.stem for path in ATLAS])
def test_an_ordinary_topology_is_drawn_whole(path: Path) -> None:
    found, svg = of_atlas(path)
    assert faults(svg, found) == []
    left = KNOWN.get(path.stem, "nothing is left out")
    assert [fault for fault in diagram_faults(svg, found) if left not in fault] == []


@pytest.mark.parametrize("name", ["launch/launch.plate", "camper/camper.plate", "cabin/cabin.plate"])
def test_an_example_is_drawn_whole_and_fills_its_sheet(name: str) -> None:
    found, drawn = example(name)
    assert diagram_faults(drawn[0].svg, found) == []
    share, empty = used(drawn[0].svg)
    assert share >= 0.40 and empty <= MOST_EMPTY
    assert share >= LEAST_USED


@pytest.mark.parametrize("seed", SEEDS)
def test_a_random_system_is_drawn_whole(seed: int) -> None:
    found = design(random_plate(seed))
    svg = sheets(found)[0].svg
    assert faults(svg, found) == []
    assert [fault for fault in diagram_faults(svg, found) if "cables over leads" not in fault] == []


def test_points_to_check_carry_letters_and_no_codes() -> None:
    _, drawn = example("launch/launch.plate")
    assert not [text.content for text in read(drawn[0].svg).texts if re.search(r"\bCP\d{3}\b", text.content)]


def lost_part(svg: str) -> str:
    return svg.replace('data-part="alt"', 'data-other="alt"')


def lost_path(svg: str) -> str:
    return svg.replace('data-conductor="alt.pos.run"', 'data-other=""')


def lost_row(svg: str) -> str:
    return re.sub(r'data-run="fridge.run"', 'data-run=""', svg)


def short_path(svg: str) -> str:
    path = re.compile(r'(data-conductor="alt.neg.run".*?d="M[\d.]+ [\d.]+V)([\d.]+)', re.DOTALL)
    return path.sub(r"\g<1>115", svg, count=1)


def moved_bolt(svg: str) -> str:
    start = svg.index('data-device="alt.pos.fuse"')
    end = svg.index("</g>", start)
    body = re.sub(r'y="([\d.]+)"', lambda m: f'y="{float(m[1]) + 4:.2f}"', svg[start:end])
    body = re.sub(r"M([\d.]+) ([\d.]+)V([\d.]+)", lambda m: f"M{m[1]} {float(m[2]) + 4}V{float(m[3]) + 4}", body)
    return svg[:start] + body + svg[end:]


PLANTED: list[tuple[Callable[[str], str], str]] = [
    (lost_part, "alt is not on the diagram"),
    (lost_path, "alt.pos.run is neither a path nor a row"),
    (lost_row, "fridge.run+ is neither a path nor a row"),
    (short_path, "alt.neg.run ends on nothing"),
    (moved_bolt, "alt.pos.fuse is bolted to plus and does not touch it"),
]


@pytest.mark.parametrize(("plant", "message"), PLANTED, ids=[plant.__name__ for plant, _ in PLANTED])
def test_a_planted_fault_is_found(plant: Callable[[str], str], message: str) -> None:
    found, drawn = example("launch/launch.plate")
    planted = plant(drawn[0].svg)
    assert planted != drawn[0].svg
    assert any(message in fault for fault in diagram_faults(planted, found)), diagram_faults(planted, found)


def test_a_wrong_zone_is_found() -> None:
    """The ring of bars is closed by a flag with the zone of the bar that it leads to."""
    _, svg = of_atlas(next(path for path in ATLAS if path.stem.startswith("35-")))
    flag = re.search(r">to west ([A-Z]\d+)<", svg)
    assert flag is not None
    assert list(zones(read(svg))) == []
    assert list(zones(read(svg.replace(f">to west {flag[1]}<", ">to west D1<"))))


def test_a_cable_over_many_leads_is_found() -> None:
    found, drawn = example("cabin/cabin.plate")
    svg = drawn[0].svg
    for lead in ("well.neg.run", "mppt.neg.run"):
        found_path = re.search(rf'data-conductor="{lead}".*?d="M([\d.]+) ([\d.]+)V([\d.]+)"', svg, re.DOTALL)
        assert found_path is not None
        x, y = float(found_path[1]), (float(found_path[2]) + float(found_path[3])) / 2
        end = svg.index("</g>", svg.index('<g class="layer-conductor">'))
        stroke = f'<path class="c-l" d="M{x - 3} {y}H{x + 3}" stroke-width="0.5"/>'
        svg = f'{svg[:end]}</g><g data-conductor="other" data-run="inv-feed">{stroke}{svg[end:]}'
    planted = svg
    assert any("cables over leads" in fault for fault in diagram_faults(planted, found))


def test_an_empty_sheet_is_found() -> None:
    """By hand: of five rows of six cells with two filled, the largest empty rectangle is three whole rows."""
    filled = [[False] * 6 for _ in range(5)]
    filled[0][0] = filled[1][3] = True
    assert largest_empty(filled) == 18
    _, drawn = example("launch/launch.plate")
    layer = re.compile(r'<g class="layer-(?:symbol|conductor|bar|mark)">.*?\n</g>\n(?=<g class|</svg)', re.DOTALL)
    bare = layer.sub("", drawn[0].svg)
    share, empty = used(bare)
    assert share < LEAST_USED and empty > MOST_EMPTY


def test_sheets_and_report_name_places_that_are_true() -> None:
    """A ladder names the zone of its panel on sheet 1, the face on sheet 1 that of the ladder; the report's table of
    conductors the zones of each. All are looked up in the drawings that they speak of."""
    found, drawn = example("launch/launch.plate")
    every = [read(sheet.svg) for sheet in drawn]

    def lies_in(name: str, place: str) -> bool:
        number, zone = place.split("/")
        sheet = every[int(number) - 1]
        paper = Paper("", sheet.width, sheet.height)
        groups = [group for group in sheet.groups if name in group.data.values() and group.layer != "frame"]
        corners = [text.box for group in groups for text in group.texts]
        corners += [shape.ink for group in groups for shape in group.shapes]
        return zone in {
            paper.zone(a + (c - a) * right / 20, b + (d - b) * down / 20)
            for a, b, c, d in corners for right in range(21) for down in range(21)
        }  # fmt: skip

    ladder = next(sheet for sheet in every if any("fed at" in text.content for text in sheet.texts))
    fed = next(text.content.rpartition(" ")[2] for text in ladder.texts if "fed at" in text.content)
    face = next(text.content for text in every[0].texts if text.content.startswith("circuits "))
    assert lies_in("cabin", fed)
    if "/" in face:
        assert lies_in("cabin", face.removeprefix("circuits "))
    else:  # Circuits on several sheets are told by their numbers.
        first, last = map(int, re.findall(r"\d+", face))
        panels = [{g.data.get("data-way", "").partition(".")[0] for g in sheet.groups} for sheet in every]
        assert all("cabin" in panels[number - 1] for number in range(first, last + 1)) and "cabin" not in panels[last]
    shown = shown_on(found, named(drawn, "launch"))
    assert all(lies_in(name, place) for name in found.system.conductors for place in shown[name])
    assert not lies_in("cabin", "1/F8")


def test_the_route_plan_holds_every_metre_that_lies_in_a_route() -> None:
    """A row for each conductor in each route, with the metres that the design states; a row taken out is missed."""
    found, drawn = example("launch/launch.plate")
    plans = [sheet for sheet in drawn if sheet.slug.startswith("route-plan")]
    wanted = sorted((name, c.id) for c in found.system.conductors.values() for name in {n for n, _ in c.routes})

    def rows(svg: str) -> list[tuple[str, str]]:
        return [(g.data["data-route"], g.data["data-laid"]) for g in read(svg).groups if "data-laid" in g.data]

    assert wanted and sorted(row for plan in plans for row in rows(plan.svg)) == wanted
    assert all(faults(plan.svg, found) == [] for plan in plans)
    taken = plans[0].svg.replace(f'data-laid="{wanted[0][1]}"', 'data-other=""', 1)
    assert len(rows(taken)) == len(rows(plans[0].svg)) - 1
