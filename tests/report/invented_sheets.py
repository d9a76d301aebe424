"""Invented sheets for the tests of the report: a group for each conductor, device and part, as sheets carry them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from html import escape

from copperplate.model.results import Design
from copperplate.report import Sheet, named


@dataclass(frozen=True)
class Drawn:
    slug: str
    title: str
    svg: str
    zones: Mapping[str, str] = field(default_factory=dict)


def drawn(design: Design) -> tuple[Drawn, ...]:
    """An overview with the parts and a sheet with every conductor, one a line."""
    return (
        Drawn("overview", "Overview", _svg("overview", _parts(design))),
        Drawn("circuits", "DC circuits, cabin panel", _svg("circuits", _conductors(design))),
    )


def sheets(design: Design) -> tuple[Sheet, ...]:
    """The same with the names of a pack."""
    return named(drawn(design), "dunlin")


def _svg(name: str, groups: list[str]) -> str:
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="297mm" height="210mm" viewBox="0 0 297 210" role="img" '
        f'aria-labelledby="{name}-title" data-sheet="{name}"><title id="{name}-title">{name}</title>'
        "<style>[data-sheet] text{font-family:sans-serif;font-size:2.8px}[data-sheet] .c-pos{stroke:#B3121D}</style>"
        '<rect width="297" height="210" fill="#FFFFFF"/>' + "".join(groups) + "</svg>"
    )


def _parts(design: Design) -> list[str]:
    return [
        f'<g id="{part.id}" data-part="{part.id}"><title>{escape(part.title)}</title>'
        f'<rect x="{20 + 60 * (n % 4)}" y="{20 + 20 * (n // 4)}" width="50" height="12" fill="none" stroke="#111"/>'
        f'<text x="{22 + 60 * (n % 4)}" y="{28 + 20 * (n // 4)}">{escape(part.title)}</text></g>'
        for n, part in enumerate(design.system.parts.values())
    ]


def _conductors(design: Design) -> list[str]:
    colours = {"pos": "#B3121D", "neg": "#111111", "pe": "#1B6E34", "l": "#7A3E12", "n": "#1F4FA3"}
    return [
        f'<g id="{c.id}" data-conductor="{c.id}"><path d="M20 {12 + 5 * n}H{60 + 20 * c.length_m:.1f}" fill="none" '
        f'stroke="{colours[c.pole]}" stroke-width="0.5"/><text x="22" y="{11 + 5 * n}">{escape(c.marker)}</text></g>'
        for n, c in enumerate(design.system.conductors.values())
    ]
