"""Schedules, terminals and labels against `design.json`: every conductor is in one row with what the design says of it,
every end at its terminal, two labels on each conductor; and what a small edit moves on these sheets."""

from __future__ import annotations

import re
from collections import Counter
from functools import cache
from typing import Any

import pytest
from built import EXAMPLES, PLATES, design, example
from drawn_plates import random_plate
from svgcheck import Drawn, Group, faults, read

from copperplate import schema
from copperplate.drawing import Sheet, cut_names, sheets
from copperplate.model.results import Design

SERIES = """system "Barge"
  nominal 24 V
  ac 230 V
  rules iec-60364
  conductors mm2
  units metric
  paper a3
battery house 12.8 V, 200 Ah, lifepo4, series 2, parallel 3, link 0.3 m, fault-current 3 kA
  terminal stud M8
bus plus positive, 600 A, terminal stud M10
bus minus negative, 600 A, terminal stud M10
house.pos -- 0.3 m -- [main: fuse class-t] -- 0.5 m -- plus
house.neg -- 0.5 m -- minus
inverter inv "Inverter" 3000 W, 230 V
plus -- [inv-fuse: fuse class-t] -- 1 m -- inv.pos
inv.neg -- 1 m -- minus
panel mains "AC panel" ac, 16 A, ways 8
  terminal clamp 1..16 mm2
inv.ac-out -///- 1 m -- [guard: breaker 16 A, poles 2, residual 30 mA] -- 2 m -- mains
load kettle "Kettle" 1000 W, ac
mains.3 -///- [10 A] -- 6 m -- kettle
"""


def many(circuits: int) -> str:
    """A plate of so many circuits on panels of sixteen ways."""
    text = 'system "Ferry"\n  nominal 12 V\n  conductors mm2\n  units metric\n'
    text += "battery house 12.8 V, 400 Ah, lifepo4, fault-current 3 kA\n"
    text += "bus plus positive, 600 A\nbus minus negative, 600 A\n"
    text += "house.pos -- 0.3 m -- [main: fuse class-t] -- 0.5 m -- plus\nhouse.neg -- 0.5 m -- minus\n"
    for number in range(circuits):
        panel, way = divmod(number, 15)
        if way == 0:
            text += (
                f"panel p{panel} blade, ways 16, return minus\nplus -- [pf{panel}: fuse class-t] -- 2 m -- p{panel}\n"
            )
        text += (
            f'load lamp-{number} "Lamp number {number}" 0.4 A\np{panel}.{way + 1} -//- {2 + way} m -- lamp-{number}\n'
        )
    return text


PLATES_DRAWN = {
    **{name: None for name in PLATES},
    "series and parallel": SERIES,
    "150 circuits": many(150),
    **{f"random {seed}": random_plate(seed) for seed in range(401, 431)},
}


@cache
def drawn(name: str) -> tuple[Design, tuple[Sheet, ...]]:
    text = PLATES_DRAWN[name]
    if text is None:
        return example(name)
    found = design(text)
    return found, sheets(found)


def pages(name: str, kind: str) -> list[Drawn]:
    return [read(sheet.svg) for sheet in drawn(name)[1] if sheet.slug.startswith(kind)]


def rows(found: list[Drawn], *kinds: str) -> list[Group]:
    keys = [f"data-{kind}" for kind in kinds]
    return [group for page in found for group in page.groups if any(key in group.data for key in keys)]


def whole(group: Group) -> str:
    """The words of a row without spaces: a long name may be broken over its lines."""
    return "".join(text.content for text in group.texts).replace(" ", "")


def public(name: str) -> dict[str, Any]:
    return schema.to_json(drawn(name)[0])


@pytest.mark.parametrize("name", PLATES_DRAWN)
def test_every_conductor_is_one_row_of_the_schedule(name: str) -> None:
    """Marker, size, colour and both ends of the row are those of the design."""
    said = public(name)
    found = rows(pages(name, "schedule"), "scheduled", "link")
    at = {group.data.get("data-scheduled") or group.data["data-link"]: group for group in found}
    assert len(found) == len(at) and set(at) == {one["id"] for one in (*said["conductors"], *said["links"])}
    sizes = {run["id"]: run["size"] for run in said["runs"]}
    fittings: dict[str, list[dict[str, Any]]] = {}
    for end in said["terminals"]:
        fittings.setdefault(end["conductor"], []).append(end)
    for one in (*said["conductors"], *said["links"]):
        words = whole(at[one["id"]])
        assert one["marker"].replace(" ", "") in words
        assert (sizes[one["run"]] or "size open").replace("mm2", "mm²").replace(" ", "") in words
        assert not one["colour"] or one["colour"] in words
        for end in fittings.get(one["id"], ()):
            if end["terminal"].startswith("stud"):
                assert f"lug,{end['terminal']}".replace(" ", "") in words or f"lugs,{end['terminal']}" in words
            elif end["terminal"].startswith("clamp") and end["fitting"]:
                assert end["fitting"].split(",")[0].replace(" ", "") in words


@pytest.mark.parametrize("name", PLATES_DRAWN)
def test_every_end_is_at_a_terminal_and_every_end_has_its_label(name: str) -> None:
    said = public(name)
    conductors = [one["id"] for one in (*said["conductors"], *said["links"])]
    ends = Counter(group.data["data-of"] for group in rows(pages(name, "terminals"), "end"))
    assert ends == Counter({one: 2 for one in conductors})
    parallel = {run["id"]: run["parallel"] for run in said["runs"]}
    labels = [group for group in rows(pages(name, "labels"), "label") if group.data["data-label"] == "sleeves"]
    wanted = Counter({one["id"]: parallel[one["run"]] for one in (*said["conductors"], *said["links"])})
    assert Counter(group.data["data-of"] for group in labels) == wanted
    markers = {one["id"]: one["marker"] for one in (*said["conductors"], *said["links"])}
    for group in labels:
        assert whole(group) == markers[group.data["data-of"]].replace(" ", "") * 4, "two sleeves, each says it twice"


@pytest.mark.parametrize("name", PLATES_DRAWN)
def test_devices_and_parts_are_drawn_and_devices_in_the_line_labelled(name: str) -> None:
    said = public(name)
    every = [read(sheet.svg) for sheet in drawn(name)[1]]
    assert {group.data["data-device"] for group in rows(every, "device")} >= {one["id"] for one in said["devices"]}
    assert {group.data["data-part"] for group in rows(every, "part")} >= {one["id"] for one in said["parts"]}
    labels = rows(pages(name, "labels"), "label")
    named = {group.data["data-of"] for group in labels if group.data["data-label"] == "device"}
    assert named == {one["id"] for one in said["devices"] if not one["panel"]}
    cards = {group.data["data-of"] for group in labels if group.data["data-label"] == "card"}
    assert cards >= {one["panel"] for one in said["devices"] if one["panel"]}


@pytest.mark.parametrize("name", ["series and parallel", "150 circuits"])
def test_these_sheets_have_no_fault(name: str) -> None:
    found, made = drawn(name)
    for sheet in made:
        if sheet.slug.startswith(("schedule", "terminals", "labels")):
            assert faults(sheet.svg, found) == [], sheet.title


def test_direct_and_alternating_current_never_share_a_schedule() -> None:
    found, made = drawn("launch/launch.plate")
    for sheet in made:
        if sheet.slug.startswith("schedule"):
            listed = [group.data["data-scheduled"] for group in rows([read(sheet.svg)], "scheduled")]
            kinds = {found.system.runs[found.system.conductors[name].run].current for name in listed}
            assert len(kinds) == 1


PATH = EXAMPLES / "launch/launch.plate"
TEXT = PATH.read_text(encoding="utf-8")
WAY = "cabin.11 -//- via cabin-trunk, 2 ft -- usb\n"
Places = dict[tuple[str, str, str, str], list[Any]]


def places(text: str) -> Places:
    """By sheet and thing: where the words of its row or label stand."""
    found: Places = {}
    for sheet in sheets(design(text, PATH.parent)):
        if sheet.slug.startswith(("schedule", "terminals", "labels")):
            for group in rows([read(sheet.svg)], "scheduled", "link", "end", "label"):
                kind, address = next(iter(group.data.items()))
                key = (sheet.slug, kind, address, group.data.get("data-of", ""))
                found.setdefault(key, []).extend((text.content, text.box) for text in group.texts)
    return found


def edited(old: str, new: str) -> str:
    assert TEXT.count(old) == 1, old
    return TEXT.replace(old, new)


ADDED = edited('load usb "USB sockets"', 'load usb "USB sockets"').replace(
    "accept CP415", 'load mast "Mast light" 1 A, drop 10 %\ncabin.15 -//- 12 ft -- mast\n\naccept CP415'
)


@pytest.mark.parametrize(
    ("text", "most"),
    [
        pytest.param(ADDED, 0, id="a circuit on a spare way"),
        pytest.param(edited(WAY, WAY.replace("2 ft", "3 ft")), 2, id="one length"),
        pytest.param(edited('"Chart plotter"', '"Chart plotter with a sounder"'), 1, id="a longer title"),
    ],
)
def test_a_small_edit_changes_its_own_rows(text: str, most: int) -> None:
    """A length is written in the two rows of its circuit alone; a title on the card of its panel; a circuit added to a
    spare way takes the room that is kept there."""
    before, after = places(TEXT), places(text)
    assert not before.keys() - after.keys()
    cards = {key for key in before if key[2] == "card"} if text == ADDED else set()
    assert len([key for key in before if before[key] != after[key] and key not in cards]) <= most


def test_a_circuit_removed_leaves_the_rows_of_others_in_their_places() -> None:
    """Its way becomes spare in the schedule, and its sleeves leave their room. Of the terminals those at the bar that
    it leaves and those of loads declared after it move up."""
    before, after = places(TEXT), places(re.sub(r"(?m)^cabin\.11 .*\n", "", TEXT))
    moved = {key for key in before if key in after and before[key] != after[key]}
    assert not [key for key in moved if key[0].startswith("schedule") or key[2] == "sleeves"]
    assert {key[2] for key in moved if key[0] == "terminals-bars"} == {"minus"}


def test_a_name_that_is_cut_is_told() -> None:
    long = "Heron, " + "a boat of very many words " * 5
    found = design(edited('"Heron, work launch 30 ft"', f'"{long.strip()}"'), PATH.parent)
    told = cut_names(found, sheets(found))
    assert [(f.code, f.subject, f.severity) for f in told] == [("CP510", "system", "advice")]
    assert cut_names(*drawn("launch/launch.plate")) == ()
