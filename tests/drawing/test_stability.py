"""What a small edit moves on the sheets: a circuit added, removed or lengthened moves nothing else."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from built import EXAMPLES, design
from svgcheck import Rect, places

from copperplate.drawing import sheets

PATH = EXAMPLES / "launch/launch.plate"
TEXT = PATH.read_text(encoding="utf-8")
Places = dict[tuple[str, str, str], list[Rect]]


def drawn(text: str, folder: Path = PATH.parent) -> Places:
    """By sheet, kind and address: where each thing lies."""
    found: Places = {}
    for sheet in sheets(design(text, folder)):
        if sheet.slug.startswith("overview"):
            continue
        for (kind, address), boxes in places(sheet.svg).items():
            found[sheet.slug, kind, address] = boxes
    return found


def moved(before: Places, after: Places) -> list[tuple[str, str, str]]:
    """What stands in both and not in the same place."""
    return [key for key in before if key in after and before[key] != after[key]]


def edited(old: str, new: str) -> str:
    assert TEXT.count(old) == 1, old
    return TEXT.replace(old, new)


LOAD = 'load usb "USB sockets"'
WAY = "cabin.11 -//- via cabin-trunk, 2 ft -- usb\n"


@pytest.mark.parametrize(
    "text",
    [
        pytest.param(
            edited(LOAD, 'load anchor-light "Anchor light" 1 A, drop 10 %\n' + LOAD).replace(
                WAY, WAY + "cabin.15 -//- 12 ft -- anchor-light\n"
            ),
            id="added to a spare way",
        ),
        pytest.param(edited(WAY, ""), id="removed"),
        pytest.param(edited("cabin.10 -//- 18 ft -- horn", "cabin.10 -//- 19 ft -- horn"), id="lengthened"),
        pytest.param(edited('"Radio" 5.5 A', '"Radio" 4.5 A'), id="a smaller load"),
        pytest.param(edited('"Chart plotter"', '"Chart plotter with a sounder"'), id="a longer title"),
    ],
)
def test_nothing_else_moves(text: str) -> None:
    assert moved(drawn(TEXT), drawn(text)) == []


def test_a_circuit_fed_straight_from_the_bar_moves_nothing_else() -> None:
    text = edited(
        'inverter inv "Inverter"',
        'load thruster "Bow thruster" 60 A, intermittent, drop 10 %\ninverter inv "Inverter"',
    )
    text += "\nplus -- [thruster-fuse: fuse class-t] -- 18 ft -- thruster.pos\nthruster.neg -- 18 ft -- minus\n"
    assert moved(drawn(TEXT), drawn(text)) == []


FED = re.compile(r"(?m)^(plus -- \[[^\]\n]+\] -- )(\d+(?:\.\d+)?) (m|ft)( -- \S+)$")


@pytest.mark.parametrize("name", ["launch", "camper", "cabin"])
def test_a_device_inserted_between_others_moves_at_most_a_quarter(name: str) -> None:
    """In every column of the power sheet that hangs from a fuse: of what stays on its sheet at most a quarter moves.
    A column that no longer fits begins the next sheet; the first keeps its name."""
    path = EXAMPLES / name / f"{name}.plate"
    text = path.read_text(encoding="utf-8")
    before = drawn(text, path.parent)
    columns = list(FED.finditer(text))
    assert len(columns) >= 3
    for run in columns:
        half = f"{float(run[2]) / 2:g} {run[3]}"
        longer = f"{run[1]}{half} -- [inserted: switch 300 A] -- {half}{run[4]}"
        after = drawn(text[: run.start()] + longer + text[run.end() :], path.parent)
        assert any(key[1:] == ("device", "inserted") for key in after)
        assert len(moved(before, after)) <= len(before) / 4, run[0]


def test_comments_and_order_of_unrelated_statements_change_no_byte() -> None:
    other = TEXT.replace("# Sources\n", "# Where the energy comes from\n\n")
    one, two = (tuple(s.svg for s in sheets(design(text, PATH.parent))) for text in (TEXT, other))
    assert one == two
