"""The pen and the table of symbols."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any
from xml.etree import ElementTree

import pytest

from copperplate.drawing import pen, symbols
from copperplate.model.kinds import DEVICE_KINDS, KINDS

POINTS_ONLY = {"bus", "junction", "earth", "load", "battery"}
"""Components that are bars, dots, earths, or drawn by symbols of their own."""


def test_every_device_kind_has_a_symbol() -> None:
    assert set(symbols.DEVICES) == set(DEVICE_KINDS)


def test_every_component_has_a_symbol() -> None:
    assert {kind.word for kind in KINDS.values() if kind.component} - POINTS_ONLY == set(symbols.PARTS)


@pytest.mark.parametrize("kind", DEVICE_KINDS)
def test_a_turned_symbol_lies_on_the_rung(kind: str) -> None:
    upright, turned = symbols.DEVICES[kind], symbols.DEVICES[kind].turned()
    assert (turned.left, turned.right) == (upright.top, upright.bottom)
    assert (turned.top, turned.bottom) == (-upright.right, -upright.left)
    assert len(turned.items) == len(upright.items)


def load(title: str, **values: Any) -> Any:
    return SimpleNamespace(id="x", title=title, get=lambda key, default=None: values.get(key, default))


def test_the_words_of_a_title_choose_the_symbol_of_a_load() -> None:
    lamp = symbols.load_symbol(load("Cabin lights"))
    assert lamp is symbols.load_symbol(load("NAVIGATION LIGHTS"))
    assert lamp is not symbols.load_symbol(load("Bilge pump"))
    assert symbols.load_symbol(load("Radio")) is symbols.PLAIN
    assert symbols.load_symbol(load("Galley", outlets=4)) is symbols.load_symbol(load("USB sockets"))


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
