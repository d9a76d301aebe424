"""Sheets as the report sees them: a file name, a title, an SVG whose ids are addresses of the plate."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from html import unescape
from xml.etree import ElementTree

from copperplate.model.results import Design
from copperplate.model.sheet import Sheet as Drawn

SVG, XLINK = "http://www.w3.org/2000/svg", "http://www.w3.org/1999/xlink"
ElementTree.register_namespace("", SVG)
ElementTree.register_namespace("xlink", XLINK)
_REFERENCES = ("aria-labelledby", "aria-describedby", "aria-controls", "aria-owns")
_NO_ADDRESS = ("data-sheet", "data-marks", "data-label", "data-draft")
"""Data attributes of groups that are a page, marks of changes or errors or labels, and show no address."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet of a pack: `filename` as the pack names it, `svg` its text."""

    filename: str
    title: str
    svg: str
    zones: Mapping[str, str] = field(default_factory=dict)
    """By address, the zone of the sheet that a thing stands in, as `C3`."""


def named(drawn: Iterable[Drawn], stem: str) -> tuple[Sheet, ...]:
    """The sheets of the pack of `stem`, numbered in their order: `launch.sheet-1-overview.svg`."""
    return tuple(Sheet(f"{stem}.sheet-{n}-{s.slug}.svg", s.title, s.svg, s.zones) for n, s in enumerate(drawn, 1))


_SIZE = re.compile(r'<svg[^>]*?\bwidth="([\d.]+)mm"[^>]*?\bheight="([\d.]+)mm"')


def size_mm(sheet: Sheet) -> tuple[float, float]:
    """Width and height that a sheet states; that of A4 lying where it states none."""
    stated = _SIZE.search(sheet.svg)
    return (float(stated[1]), float(stated[2])) if stated else (297.0, 210.0)


_CONDUCTOR = re.compile(r'\bdata-conductor="([^"]*)"')
_DATA = re.compile(r'\bdata-([a-z]+)="([^"]*)"')
_LISTED = ("scheduled", "link", "end", "of", "heads", "label", "free", "laid")
"""Kinds of groups that are rows of a list or labels."""


def shown_on(design: Design, sheets: Sequence[Sheet]) -> Mapping[str, tuple[str, ...]]:
    """By address of a conductor, link, device or part: the sheets that draw it, or those that list it where none draws
    it, each with the zone (`2/C3`)."""
    system = design.system
    known = {*system.conductors, *system.devices, *system.parts, *(link.id for link in design.links)}
    drawn: dict[str, tuple[str, ...]] = {}
    listed: dict[str, tuple[str, ...]] = {}
    for n, sheet in enumerate(sheets, 1):
        for kind, address in dict.fromkeys((kind, unescape(value)) for kind, value in _DATA.findall(sheet.svg)):
            places = listed if kind in _LISTED else drawn
            place = f"{n}/{sheet.zones[address]}" if address in sheet.zones else str(n)
            if address in known and place not in places.get(address, ()):
                places[address] = (*places.get(address, ()), place)
    return listed | drawn


def inline(sheet: Sheet, number: int, rows: Mapping[str, str]) -> str:
    """The sheet's SVG for a page that holds others too: every id made the page's own (`s2-fridge.run+`), every
    group of an address a link to its row where `rows` (address -> id of a row) has one. Text that is no SVG gives
    an empty string."""
    try:
        root = ElementTree.fromstring(sheet.svg)
    except ElementTree.ParseError:
        return ""
    if root.tag != f"{{{SVG}}}svg":
        return ""
    _flatten(root)
    prefix = f"s{number}-"
    for element in root.iter():
        for name, value in list(element.attrib.items()):
            if name == "id":
                element.set(name, prefix + value)
            elif name.startswith("aria-"):
                element.set(name, " ".join(prefix + word for word in value.split()) if name in _REFERENCES else value)
            elif name in ("href", f"{{{XLINK}}}href") and value.startswith("#"):
                element.set(name, f"#{prefix}{value[1:]}")
            elif "url(#" in value:
                element.set(name, value.replace("url(#", f"url(#{prefix}"))
    root.set("role", "group")
    _link(root, rows)
    return ElementTree.tostring(root, encoding="unicode")


def _flatten(root: ElementTree.Element) -> None:
    """Pages that lie inside a drawing as groups in their places: a page's rules for drawings are not for them."""
    for page in root.findall(f"{{{SVG}}}svg"):
        place = {"transform": f"translate({page.get('x', '0')} {page.get('y', '0')})"}
        kept = {name: value for name, value in page.attrib.items() if name in ("data-sheet", "font-family")}
        page.tag = f"{{{SVG}}}g"
        page.attrib.clear()
        page.attrib.update(place | kept)


def _link(parent: ElementTree.Element, rows: Mapping[str, str]) -> None:
    """Wraps each outermost group of an address into a link to its row."""
    for place, child in enumerate(list(parent)):
        address = _address(child)
        if not address:
            _link(child, rows)
            continue
        child.set("data-at", address)
        if address in rows:
            link = ElementTree.Element(f"{{{SVG}}}a", {"href": f"#{rows[address]}"})
            if child.find(f".//{{{SVG}}}text") is None:
                link.set("aria-label", child.findtext(f"{{{SVG}}}title") or address)
            link.append(child)
            parent.remove(child)
            parent.insert(place, link)


def _address(element: ElementTree.Element) -> str:
    """The address that a group shows: its first data attribute carries it."""
    if element.tag != f"{{{SVG}}}g":
        return ""
    shown = (name for name in element.attrib if name.startswith("data-") and name not in _NO_ADDRESS)
    return element.attrib.get(next(shown, ""), "")


def conductors(sheets: Sequence[Sheet]) -> list[str]:
    """Addresses of the conductors that the sheets show."""
    names = (unescape(value) for sheet in sheets for value in _CONDUCTOR.findall(sheet.svg))
    return list(dict.fromkeys(names))


def homes(sheets: Sequence[Sheet]) -> dict[str, str]:
    """By address: the id that `inline` gives its place in the set. Groups with an id come before groups that
    only carry the address; those get no id and cannot be reached by a link."""
    ids: dict[str, str] = {}
    for n, sheet in enumerate(sheets, 1):
        try:
            root = ElementTree.fromstring(sheet.svg)
        except ElementTree.ParseError:
            continue
        for element in root.iter():
            address = _address(element)
            if address and element.get("id"):
                ids.setdefault(address, f"s{n}-{element.get('id')}")
    return ids
