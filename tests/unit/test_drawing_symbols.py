"""The pen and the table of symbols."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Any
from xml.etree import ElementTree

import pytest

from copperplate.design import compile_plate
from copperplate.drawing import pen, sheets, symbols
from copperplate.model import DEVICE_ROLES
from copperplate.model.parts import COMPONENTS, Load, Part
from copperplate.text import Source, Span


def test_every_device_kind_has_a_symbol() -> None:
    assert set(symbols.DEVICES) == set(DEVICE_ROLES)


def test_every_component_has_a_symbol() -> None:
    assert set(COMPONENTS) == set(symbols.PARTS)


@pytest.mark.parametrize("kind", DEVICE_ROLES)
def test_a_turned_symbol_lies_on_the_rung(kind: str) -> None:
    upright, turned = symbols.DEVICES[kind], symbols.DEVICES[kind].turned()
    assert (turned.left, turned.right) == (upright.top, upright.bottom)
    assert (turned.top, turned.bottom) == (-upright.right, -upright.left)
    assert len(turned.items) == len(upright.items)


def load(title: str, **values: Any) -> Load:
    return Load(id="x", title=title, span=Span(Source("test.plate", ""), 0, 0), **values)


@pytest.mark.parametrize("title", ["Cabin lights", "Bilge pump", "Beleuchtung", "USB sockets", "Radio"])
def test_no_word_of_a_title_chooses_the_symbol_of_a_load(title: str) -> None:
    assert symbols.part_symbol(load(title)) == symbols.PLAIN
    assert symbols.part_symbol(load(title, outlets=4)) != symbols.PLAIN


PLATE = """system "Test"
  nominal 12 V
  ac 230 V
battery house 12.8 V, 100 Ah, lifepo4, fault-current 3 kA
bus plus positive
bus minus negative
panel block blade, return minus
shore dock 16 A, 230 V
panel mains ac, 16 A
load direct 3 A
load lamp 1 A
load fan 1 A
load boiler 500 W, ac
house.pos -- 0.3 m -- [main: fuse class-t] -- 0.5 m -- plus
house.neg -- 0.5 m -- minus
plus -- [fuse] -- 1 m -- block
plus -- [direct-fuse: fuse] -- 1 m -- direct.pos
direct.neg -- 1 m -- minus
block.1 -//- 3 m -- lamp -- 1 m -- fan
dock -///- 3 m -- [inlet: breaker 16 A, poles 2, residual 30 mA] -- 2 m -- mains
mains.1 -///- 3 m -- boiler
"""


class Lantern(Load):
    """A sort of load under another word."""

    kind = "lantern"


@dataclass(frozen=True, kw_only=True)
class Appliance(Part):
    """No sort of load by its type, and one by what it does."""

    kind = "appliance"
    reaches = Load.reaches
    roles = Load.roles


@pytest.mark.parametrize("kind", [Lantern, Appliance])
def test_a_kind_that_no_table_knows_is_drawn_by_what_it_does(kind: type[Part]) -> None:
    design, findings = compile_plate(Source("test.plate", PLATE), lambda name: None)
    assert design is not None, findings
    parts = dict(design.system.parts)
    for load in design.system.of(Load):
        parts[load.id] = kind(**{field.name: getattr(load, field.name) for field in fields(kind)})
    other = replace(design, system=replace(design.system, parts=parts))
    assert [sheet.svg for sheet in sheets(other)] == [sheet.svg for sheet in sheets(design)]


def test_text_is_data() -> None:
    evil = "</title><script>alert('x')</script>&amp;\x00\u202e\"'"
    group = pen.Group("part", evil, "symbol", title=evil, home=True).add(pen.words(1, 2, evil))
    svg = pen.write([group], 297, 210, evil, evil, "sheet-1")
    assert "<script" not in svg
    root = ElementTree.fromstring(svg.replace("\x00", ""))
    assert all(element.tag.endswith(("svg", "title", "desc", "style", "rect", "g", "text")) for element in root.iter())


def test_numbers_have_two_decimals_at_most() -> None:
    assert [pen.number(value) for value in (1, 1.5, 2.0049, -0.001, 10.999)] == ["1", "1.5", "2", "0", "11"]


@pytest.mark.parametrize(
    ("area", "weight"), [(2.5, 0.35), (2.08, 0.35), (4, 0.5), (8.37, 0.5), (16, 0.8), (33.6, 0.8), (50, 1.2)]
)
def test_strokes_by_size(area: float, weight: float) -> None:
    assert pen.weight_of(area) == weight
