"""The set: every sheet of a design, numbered, framed and written."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from copperplate import units
from copperplate.drawing import alternating, captions, circuits, control, draft, lettering, routeplan
from copperplate.drawing.branches import branches
from copperplate.drawing.cables import supply
from copperplate.drawing.captions import Task
from copperplate.drawing.diagram import sheet
from copperplate.drawing.page import Page
from copperplate.drawing.paper import Key, frame, issued, stroke_key
from copperplate.drawing.pen import Group, Polyline, extent, write
from copperplate.drawing.wiring import DcWiring
from copperplate.model import Settings
from copperplate.model.results import Design
from copperplate.model.sheet import Sheet
from copperplate.standards.colours import colour_words


def sheets(design: Design, since: Settings | None = None) -> tuple[Sheet, ...]:
    """The sheets of a design in order. Same design, same bytes. `since`: the settings of the revision before, whose
    issue the strip names too, where it is another. Of a design with errors, the drawings alone, marked as a draft."""
    task = Task(design, DcWiring(design.system))
    sections = branches(task.wiring)
    forest = supply(design.system)
    first, pages = Page("", ""), list[Page]()
    for _ in range(4):
        pages = [first, *circuits.pages(task, sections), *control.pages(task), *alternating.pages(task, forest)]
        pages += routeplan.pages(task)
        numbers, spots = _numbers(pages), _spots(task, pages)
        if numbers == task.numbers and spots == task.spots and first.groups:
            break
        task = replace(task, numbers=numbers, spots=spots)
        first = sheet.page(task, sections, forest)
        task = replace(task, zones=first.zones)
    _settle_homes(pages)
    if design.errors:
        draft.mark(design, [(page, page.paper or task.paper) for page in pages])
    before = issued(since) if since is not None and issued(since) != issued(design.system.settings) else ""
    return tuple(_finish(task, page, number, len(pages), before) for number, page in enumerate(pages, 1))


def _numbers(pages: list[Page]) -> Mapping[str, tuple[int, ...]]:
    numbers: dict[str, tuple[int, ...]] = {}
    for number, page in enumerate(pages, 1):
        for key in page.shows:
            numbers[key] = (*numbers.get(key, ()), number)
    return numbers


def _zones(task: Task, page: Page) -> Mapping[str, str]:
    """By address, the zone of the first thing that shows it on a page."""
    paper = page.paper or task.paper
    zones = dict(page.zones)
    for group in page.groups:
        if group.items and group.address and group.layer not in ("tint", "rule", "frame"):
            left, top, _, _ = extent(group.items[0])
            zones.setdefault(group.address, paper.zone(max(left, paper.left), max(top, paper.top)))
    return zones


def _spots(task: Task, pages: Sequence[Page]) -> Mapping[str, str]:
    """By what sheets show, its zone on the first of them."""
    spots: dict[str, str] = {}
    for page in pages:
        zones = _zones(task, page) if page.shows else {}
        for key in page.shows:
            name = key.partition(":")[2]
            zone = zones.get(name) or zones.get(name.rpartition(".")[0])
            if zone:
                spots.setdefault(key, zone)
    return spots


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
    """The strokes that occur."""
    used = {item.style for group in groups for item in group.items if isinstance(item, Polyline)}
    return [stroke_key(style, word) for style, word in WORDS.items() if f"c-{style}" in used]


def _finish(task: Task, page: Page, number: int, count: int, since: str) -> Sheet:
    settings = task.design.system.settings
    paper = page.paper or task.paper
    keys = [*_keys(page.groups), *page.keys]
    basis = [*_basis(task), *filter(None, (page.remark, _colours(task, page)))]
    block, cut = frame(paper, settings, page.title, number, count, keys, basis, since)
    title = f"{lettering.clean(settings.title)}: {page.title}, sheet {number} of {count}"
    svg = write([*page.groups, *block], paper.width, paper.height, title, page.remark, f"sheet-{number}")
    texts = tuple(dict.fromkeys((*page.cut, *cut)))
    return Sheet(number, count, page.slug, page.title, svg, paper.width, paper.height, _zones(task, page), texts)


def _basis(task: Task) -> list[str]:
    """What the sheets rest on: widths of strokes, rules, ambient and insulation, budget, lengths."""
    settings = task.design.system.settings
    widths = "to 14, 8, 2 AWG and above" if settings.conductors == "awg" else "to 2.5, 10, 35 mm² and above"
    ambient = units.show(settings.ambient_c, "degF" if settings.units == "us" else "degC")
    share, volts = settings.drop.share, settings.drop.volts
    budget = units.show(share, "%") if share is not None else units.show(volts or 0.0, "V")
    return [
        f"Width of a conductor: {widths}.",
        f"{task.design.profile_title}.",
        f"Ambient {ambient}, insulation {units.show(settings.insulation_c, 'degC')}.",
        f"Drop budget {budget} where a load states none.",
        "Lengths one way.",
    ]


def _colours(task: Task, page: Page) -> str:
    """`RD red, BK black.`: the letters of the conductors drawn or listed on a page."""
    names = [group.address for group in page.groups if group.kind in ("conductor", "scheduled")]
    links = {link.id: link.colour for link in task.design.links}
    names += [group.address for group in page.groups if group.kind == "link"]
    letters = dict.fromkeys(links.get(name) or captions.colour(task, name) for name in names)
    words = [f"{letter} {colour_words(letter)}" for letter in letters if letter]
    return ", ".join(words) + "." if words else ""
