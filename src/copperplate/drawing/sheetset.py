"""The set: every sheet of a design, numbered, framed and written."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from copperplate.drawing import alternating, captions, circuits, control, lettering, margin, oneline, overview, power
from copperplate.drawing.bay import Power
from copperplate.drawing.bays import bays
from copperplate.drawing.branches import LadderSection, branches
from copperplate.drawing.cables import SupplyForest, supply
from copperplate.drawing.captions import Task
from copperplate.drawing.labels import labels
from copperplate.drawing.page import Page
from copperplate.drawing.paper import Key, frame, issued
from copperplate.drawing.pen import Group, Polyline, write
from copperplate.drawing.schedule import schedules
from copperplate.drawing.terminals import terminals
from copperplate.drawing.wire_groups import wire_groups
from copperplate.drawing.wiring import DcWiring
from copperplate.model import Settings
from copperplate.model.results import Design
from copperplate.model.sheet import Sheet
from copperplate.standards.colours import LETTERS


def sheets(design: Design, since: Settings | None = None) -> tuple[Sheet, ...]:
    """The sheets of a design in order. Same design, same bytes. `since`: the settings of the revision before, whose
    issue the strip names too, where it is another."""
    task = Task(design, DcWiring(design.system))
    wiring = _derived(task)
    lists = _lists(task, wiring.sections)
    pages = _pages(task, wiring, lists)
    for _ in range(4):
        numbers = _numbers(pages)
        if numbers == task.numbers:
            break
        task = replace(task, numbers=numbers)
        pages = _pages(task, wiring, lists)
    _settle_homes(pages)
    before = issued(since) if since is not None and issued(since) != issued(design.system.settings) else ""
    return tuple(_finish(task, page, number, len(pages), before) for number, page in enumerate(pages, 1))


@dataclass(frozen=True)
class _Derived:
    """What the sheets show of the wiring, whatever their numbers."""

    sections: list[LadderSection]
    power: Power
    supply: SupplyForest


def _derived(task: Task) -> _Derived:
    sections, used, sides = branches(task.wiring)
    drawn = bays(task.wiring, used, sides, [section.rail for section in sections])
    return _Derived(sections, drawn, supply(task.design.system))


def _lists(task: Task, sections: list[LadderSection]) -> list[Page]:
    """Schedules, terminals and labels, which refer to no other sheet."""
    groups = wire_groups(task, sections)
    return [*schedules(task, groups), *terminals(task, groups), *labels(task, groups)]


def _pages(task: Task, wiring: _Derived, lists: list[Page]) -> list[Page]:
    """Every page of the set in order."""
    power_pages = power.pages(task, wiring.power, _leaves(task, wiring.sections))
    circuit_pages = circuits.pages(task, wiring.sections)
    ac_pages = alternating.pages(task, wiring.supply)
    first = overview.pages(task, oneline.bars(task, wiring.power, wiring.sections, wiring.supply))
    made = [*first, *power_pages, *circuit_pages, *control.pages(task), *ac_pages, *lists]
    shown = {group.address for page in made for group in page.groups if group.kind == "part"}
    unwired = [part.id for part in task.design.system.parts.values() if part.id not in shown]
    margin.fill(task, first[0], [page.title for page in made], unwired)
    return made


def _leaves(task: Task, sections: list[LadderSection]) -> dict[str, str]:
    flags: dict[str, str] = {}
    for section in sections:
        if not section.panel:
            for node in (section.rail, section.back):
                if node:
                    flags[node] = f"circuits on {task.sheet(f'circuits:{section.rail}')}"
    return flags


def _numbers(pages: list[Page]) -> Mapping[str, tuple[int, ...]]:
    numbers: dict[str, tuple[int, ...]] = {}
    for number, page in enumerate(pages, 1):
        for key in page.shows:
            numbers[key] = (*numbers.get(key, ()), number)
    return numbers


def _settle_homes(pages: list[Page]) -> None:
    """Gives each address the id at its first place in the set."""
    seen: set[str] = set()
    for page in pages:
        for group in page.groups:
            if group.kind in ("conductor", "device", "part", "row") and group.address not in seen:
                seen.add(group.address)
                group.home = True


WORDS = {
    "pos": "positive",
    "neg": "negative",
    "l": "line",
    "l1": "line 1",
    "l2": "line 2",
    "n": "neutral",
    "pe": "earth",
    "dc": "DC circuit (+ and −)",
    "ac": "AC circuit",
}


def _keys(groups: list[Group]) -> list[Key]:
    used = {item.style for group in groups for item in group.items if isinstance(item, Polyline)}
    return [Key(style, word) for style, word in WORDS.items() if f"c-{style}" in used]


def _finish(task: Task, page: Page, number: int, count: int, since: str) -> Sheet:
    settings = task.design.system.settings
    keys = _keys(page.groups)
    remark = " ".join(text for text in (page.remark, _colours(task, page)) if text)
    block, cut = frame(task.paper, settings, page.title, number, count, keys, remark, since)
    title = f"{lettering.clean(settings.title)}: {page.title}, sheet {number} of {count}"
    svg = write([*page.groups, *block], task.paper.width, task.paper.height, title, page.remark, f"sheet-{number}")
    texts = tuple(dict.fromkeys((*page.cut, *cut)))
    return Sheet(number, count, page.slug, page.title, svg, task.paper.width, task.paper.height, texts)


def _colours(task: Task, page: Page) -> str:
    """`RD red, BK black.`: the letters of the conductors drawn or listed on a page."""
    names = [group.address for group in page.groups if group.kind in ("conductor", "scheduled")]
    links = {link.id: link.colour for link in task.design.links}
    names += [group.address for group in page.groups if group.kind == "link"]
    letters = dict.fromkeys(links.get(name) or captions.colour(task, name) for name in names)
    words = [f"{letter} {LETTERS[letter]}" for letter in letters if letter in LETTERS]
    return ", ".join(words) + "." if words else ""
