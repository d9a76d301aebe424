"""One mistake, one finding: single mistakes planted in clean plates draw one error each."""

from __future__ import annotations

import random
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from copperplate.making import make

PLATES = {path.stem: path.read_text(encoding="utf-8") for path in sorted((Path(__file__).parent / "planted").iterdir())}
QUANTITY = re.compile(r"\b(\d+(?:\.\d+)?) (m|V|A|W|Ah|kA|h|%)(?![\w/])")
EACH = 100
"""So many of a plate: 200 together."""


def errors(text: str) -> list[str]:
    made = make({"a.plate": text.encode()}, "a.plate")
    return [f"{f.code} {f.subject}: {f.message}" for f in made.findings if f.severity == "error"]


def spoilt(line: str) -> Iterator[tuple[str, str]]:
    """What people mistype in one line: (what, the line)."""
    quantity = QUANTITY.search(line)
    if quantity:
        number, unit = quantity.groups()
        yield "no unit", line.replace(quantity[0], number, 1)
        if unit != "%":
            yield "a unit that is none", line.replace(quantity[0], f"{number} q{unit}", 1)
        yield "a decimal comma", line.replace(quantity[0], f"{number.partition('.')[0]},5 {unit}", 1)
    words = line.split()
    if "-- " in line or "-//- " in line or "-///- " in line:
        far, near = words[-1], words[0]
        if re.fullmatch(r"[a-z][a-z.-]{3,}", far):
            yield "a misspelt far end", f"{line.removesuffix(far)}{far[:-1]}zz"
        if re.fullmatch(r"[a-z][a-z0-9.-]{3,}", near):
            yield "a misspelt near end", f"q{near}{line.removeprefix(near)}"
        if "[" in line:
            yield "a device that is none", re.sub(r"\[(?:([a-z0-9-]+): )?[a-z]+", r"[\1x: zork", line, count=1)
            yield "an open bracket", line.replace("]", "", 1)
        if "-//- " in line:
            yield "no stroke behind the length", re.sub(r"( m) -- (?=[a-z]+$)", r"\1 ", line)
    elif line.startswith(" "):
        yield "a misspelt word", line.replace(words[0], f"{words[0]}e", 1)
        yield "a line that is not indented", line.lstrip()
    else:
        yield "a misspelt kind", f"{words[0][:-1]}x{line.removeprefix(words[0])}"
        yield "a word too many", f"{line}, zork"
        if len(words) > 1:
            yield "another name", re.sub(r"^(\S+) ([a-z][\w-]*)", r"\1 \2zz", line)
        if '"' in line:
            yield "a lost quote", line.replace('"', "", 1)


def planted(text: str) -> list[tuple[str, str]]:
    lines = text.splitlines()
    found = []
    for at, line in enumerate(lines):
        if line.strip() and not line.startswith("#"):
            for what, wrong in spoilt(line):
                if wrong != line:
                    found.append(
                        (f"line {at + 1}, {what}: {wrong.strip()}", "\n".join([*lines[:at], wrong, *lines[at + 1 :]]))
                    )
    return found


@pytest.mark.parametrize("name", PLATES)
def test_the_plates_are_clean(name: str) -> None:
    assert errors(PLATES[name]) == []


@pytest.mark.parametrize("part", range(4))
@pytest.mark.parametrize("name", PLATES)
def test_a_single_mistake_draws_one_error(name: str, part: int) -> None:
    chosen = random.Random(7).sample(planted(PLATES[name]), EACH)
    several, silent = [], 0
    for what, text in chosen[part::4]:
        drawn = errors(text)
        silent += not drawn
        if len(drawn) > 1:
            several.append((what, drawn))
    assert several == []
    assert silent <= len(chosen[part::4]) // 5, "what is forgiven, or only a warning"


def test_what_rests_on_all_that_is_connected_waits_until_the_plate_can_be_read() -> None:
    """Without its shore supply the trailer's mains would be reckoned at 12 V, and every breaker be too small."""
    drawn = errors(PLATES["trailer"].replace("shore inlet", "shorx inlet"))
    assert drawn == ["CP203 shorx: no statement begins with `shorx`"]


def test_a_name_that_is_missing_is_told_once_for_all_that_use_it() -> None:
    text = PLATES["narrow-boat"].replace(
        'panel fuses "Fuse panel" blade, ways 10, return minus', "panel fuses blade, return mines"
    )
    assert [line.split(":")[0] for line in errors(text)] == ["CP202 fuses"]
