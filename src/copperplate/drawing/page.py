"""A page as drawn, before the set gives it its number and its frame."""

from __future__ import annotations

from dataclasses import dataclass, field

from copperplate.drawing.paper import Key, Paper
from copperplate.drawing.pen import Group


@dataclass
class Page:
    """`slug` and `title` as the sheet will carry them. `shows`: keys of what stands here that other sheets refer
    to (`rail:plus`, `part:inv`, `circuits:cabin.feed`, `ac:inv`). `strokes`: classes of stroke for the legend, in
    the order of the legend. `cut`: texts that no room was found for."""

    slug: str
    title: str
    groups: list[Group] = field(default_factory=list)
    shows: list[str] = field(default_factory=list)
    remark: str = ""
    cut: list[str] = field(default_factory=list)
    paper: Paper | None = None
    """Its own paper; None where it stands on that of the plate."""
    keys: list[Key] = field(default_factory=list)
    """What its legend shows beside strokes."""
    zones: dict[str, str] = field(default_factory=dict)
    """By address, the zone that a thing stands in."""

    def show(self, key: str) -> None:
        if key not in self.shows:
            self.shows.append(key)


def numbered(made: list[Page], slug: str) -> list[Page]:
    """The same sheets with their names; the first keeps its own when more are added."""
    for place, page in enumerate(made, 1):
        page.slug = slug if place == 1 else f"{slug}-{place}"
        page.title += "" if place == 1 else f", part {place}"
    return made
