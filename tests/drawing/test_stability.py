"""What a small edit moves on the sheets: a circuit added, removed or lengthened moves nothing else."""

from __future__ import annotations

from pathlib import Path

import pytest
from built import EXAMPLES, design
from svgcheck import Rect, places

from copperplate.drawing import sheets

PATH = EXAMPLES / "launch/launch.plate"
TEXT = PATH.read_text(encoding="utf-8")
Places = dict[tuple[str, str, str], list[Rect]]


def drawn(text: str, folder: Path = PATH.parent) -> Places:
    """By sheet, kind and address: where each thing lies. The wiring diagram is fitted to its paper anew."""
    found: Places = {}
    for sheet in sheets(design(text, folder)):
        if sheet.slug == "wiring-diagram":
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


def test_comments_and_order_of_unrelated_statements_change_no_byte() -> None:
    other = TEXT.replace("# Sources\n", "# Where the energy comes from\n\n")
    one, two = (tuple(s.svg for s in sheets(design(text, PATH.parent))) for text in (TEXT, other))
    assert one == two
