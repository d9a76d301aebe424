"""The check of the sheets finds what is planted: a check that cannot fail proves nothing."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from built import example
from svgcheck import faults, set_faults

PLATE = "launch/launch.plate"


def sheet(slug: str) -> str:
    """A sheet, or the first of several of one thing."""
    return next(s.svg for s in example(PLATE)[1] if s.slug in (slug, f"{slug}-part-1"))


def inside(svg: str, markup: str, layer: str = "symbol") -> str:
    """`svg` with `markup` as the last of its layer."""
    start = svg.index(f'<g class="layer-{layer}">')
    end = svg.find('\n<g class="layer-', start + 1)
    place = svg.rindex("</g>", start, end if end != -1 else len(svg))
    return svg[:place] + markup + svg[place:]


def path_of(svg: str, conductor: str) -> str:
    found = re.search(rf'<g[^>]*data-conductor="{re.escape(conductor)}".*?</g>', svg, re.DOTALL)
    assert found is not None
    return re.search(r'\sd="([^"]*)"', found[0])[1]  # type: ignore[index]


def text_at(x: float, y: float, words: str = "planted", size: float = 2.8) -> str:
    return f'<g data-planted=""><text x="{x}" y="{y}" font-size="{size}">{words}</text></g>'


def place_of(svg: str, words: str) -> tuple[float, float]:
    found = re.search(rf'<text x="([\d.]+)" y="([\d.]+)"[^>]*>(?:<tspan[^>]*>)?{re.escape(words)}', svg)
    assert found is not None
    return float(found[1]), float(found[2])


def over_text(svg: str) -> str:
    x, y = place_of(svg, "Refrigerator")
    return inside(svg, text_at(x + 2, y + 1))


def on_stroke(svg: str) -> str:
    x, y = place_of(svg, "Refrigerator")
    return inside(svg, text_at(x + 40, y + 2))


def on_symbol(svg: str) -> str:
    x, y = place_of(svg, "Refrigerator")
    return inside(svg, text_at(x - 9.2, y + 3.0, "i"))


def outside(svg: str) -> str:
    return inside(svg, text_at(1, 100))


def small(svg: str) -> str:
    return inside(svg, text_at(150, 176, size=2.5))


def slanted(svg: str) -> str:
    data = path_of(svg, "fridge.run+")
    return svg.replace(f'd="{data}"', f'd="{data}L60 60"')


def jog(svg: str) -> str:
    data = path_of(svg, "fridge.run+")
    x, y = re.match(r"M([\d.]+) ([\d.]+)", data).groups()  # type: ignore[union-attr]
    return svg.replace(f'd="{data}"', f'd="M{x} {y}V{float(y) + 0.2:.2f}H{float(x) + 20:.2f}"')


def crossing(svg: str) -> str:
    data = path_of(svg, "fridge.run+")
    x, y = re.match(r"M([\d.]+) ([\d.]+)", data).groups()  # type: ignore[union-attr]
    stroke = f'<path class="c-pos" d="M{float(x) + 50} {float(y) - 4}V{float(y) + 4}" stroke-width="0.5"/>'
    return inside(svg, f'<g data-conductor="lights.run+x">{stroke}</g>', "conductor")


def overlapping(svg: str) -> str:
    data = path_of(svg, "fridge.run+")
    group = f'<g data-conductor="other"><path class="c-pos" d="{data}" stroke-width="0.5"/></g>'
    return inside(svg, group, "conductor")


def through_box(svg: str) -> str:
    data = path_of(svg, "inv.pos.run")
    x, y = re.match(r"M([\d.]+) ([\d.]+)", data).groups()  # type: ignore[union-attr]
    return svg.replace(f'd="{data}"', f'd="M{x} {y}V{float(y) + 40:.2f}"')


def through_symbol(svg: str) -> str:
    data = path_of(svg, "fridge.run+")
    return svg.replace(f'd="{data}"', f'd="{data.replace("H", "H1")}"', 1)


def twice(svg: str) -> str:
    found = re.search(r'<g[^>]*data-conductor="fridge.run\+".*?</g>', svg, re.DOTALL)
    assert found is not None
    return inside(svg, re.sub(r' id="[^"]*"', "", found[0]), "conductor")


def solid_negative(svg: str) -> str:
    return svg.replace(";stroke-dasharray:3.6 1.2", "")


def dashed_red(svg: str) -> str:
    return svg.replace(".c-neg{fill:none;stroke:#111111", ".c-neg{fill:none;stroke:#B3121D")


def dashed_positive(svg: str) -> str:
    return svg.replace(".c-pos{fill:none;stroke:#B3121D", ".c-pos{fill:none;stroke:#B3121D;stroke-dasharray:3 1")


def yellow(svg: str) -> str:
    return svg.replace(".c-pos{fill:none;stroke:#B3121D", ".c-pos{fill:none;stroke:#E0C020")


def pale(svg: str) -> str:
    return inside(svg, text_at(150, 176).replace("<text", '<text style="fill:#AAAAAA"'))


def odd_paper(svg: str) -> str:
    return svg.replace('width="279.4mm"', 'width="281mm"', 1)


def scaled(svg: str) -> str:
    return svg.replace('viewBox="0 0 279.4 215.9"', 'viewBox="0 0 300 230"', 1)


def untitled(svg: str) -> str:
    return re.sub(r"<desc.*?</desc>", "", svg)


def same_id(svg: str) -> str:
    return inside(svg, '<g id="fridge.run+" data-planted=""/>')


def broken(svg: str) -> str:
    return svg.replace("</svg>", "")


def in_strip(svg: str) -> str:
    return inside(svg, text_at(90, 206.5, "i"))


def empty(svg: str) -> str:
    return inside(svg, text_at(150, 176, ""))


def mixed(svg: str) -> str:
    group = '<g data-conductor="shore.run.l"><path class="c-l" d="M100 181H110" stroke-width="0.5"/></g>'
    return inside(svg, group, "conductor")


ON_LADDER: list[tuple[Callable[[str], str], str]] = [
    (over_text, "texts overlap"),
    (on_stroke, "text on a stroke"),
    (on_symbol, "text on a stroke: i / w of"),
    (outside, "text outside the frame"),
    (small, "text of 2.5 mm"),
    (slanted, "a slanted piece"),
    (jog, "a jog of less than 0.3 mm"),
    (crossing, "cross: "),
    (overlapping, "overlap: "),
    (through_symbol, "fridge.run+ passes through"),
    (twice, "fridge.run+ twice"),
    (solid_negative, "no dashes on c-neg"),
    (dashed_positive, "dashes on c-pos"),
    (dashed_red, "dashes on c-neg"),
    (yellow, "a yellow stroke"),
    (pale, "too little contrast: planted"),
    (odd_paper, "no listed sheet size"),
    (scaled, "the viewBox"),
    (untitled, "no role, title or description"),
    (same_id, "the id fridge.run+ twice"),
    (broken, "not well-formed"),
    (in_strip, "text in the strip"),
    (empty, "an empty text"),
    (mixed, "an AC line and a DC positive"),
]


@pytest.mark.parametrize(("plant", "message"), ON_LADDER, ids=[plant.__name__ for plant, _ in ON_LADDER])
def test_a_planted_fault_is_found(plant: Callable[[str], str], message: str) -> None:
    clean = sheet("dc-circuits-cabin")
    assert faults(clean) == []
    planted = plant(clean)
    assert planted != clean
    assert any(message in fault for fault in faults(planted)), faults(planted)


def test_a_conductor_through_a_box_is_found() -> None:
    clean = sheet("wiring-diagram")
    assert any("inv.pos.run passes through" in fault for fault in faults(through_box(clean)))


def symbol_of(svg: str, kind: str, address: str) -> str:
    """The markup of the symbol of a device or part, with what it is drawn of."""
    layer = svg[svg.index('<g class="layer-symbol">') :]
    found = re.search(rf'<g[^>]*data-{kind}="{re.escape(address)}"[^>]*>.*?</g>', layer, re.DOTALL)
    assert found is not None
    return found[0]


def first_stroke(markup: str, lean: bool = False) -> tuple[float, float, float, float]:
    """The ends of the first stroke of a symbol; `lean`: of the first that is neither upright nor level."""
    letter = "L" if lean else "[HVL]"
    found = re.search(rf'd="M([\d.]+) ([\d.]+)({letter})([\d. ]+)"', markup)
    assert found is not None, markup
    x, y, turn, rest = float(found[1]), float(found[2]), found[3], [float(value) for value in found[4].split()]
    return x, y, rest[0] if turn in "HL" else x, rest[-1] if turn in "VL" else y


@pytest.mark.parametrize(
    ("kind", "address", "lean"),
    [("device", "isolator", True), ("part", "house", False), ("part", "inv", True), ("device", "meter", False)],
)
def test_a_text_on_the_outline_of_a_symbol_is_found(kind: str, address: str, lean: bool) -> None:
    clean = sheet("wiring-diagram")
    x, y, right, bottom = first_stroke(symbol_of(clean, kind, address), lean)
    planted = inside(clean, text_at((x + right) / 2 - 0.5, (y + bottom) / 2 + 1, "i"))
    assert any(f"text on a stroke: i / o of {{'data-{kind}': '{address}'" in fault for fault in faults(planted))


@pytest.mark.parametrize(("kind", "address"), [("device", "isolator"), ("part", "inv")])
def test_a_conductor_through_the_outline_of_a_symbol_is_found(kind: str, address: str) -> None:
    clean = sheet("wiring-diagram")
    x, y, right, bottom = first_stroke(symbol_of(clean, kind, address), lean=True)
    level = (y + bottom) / 2
    path = f'<path class="c-neg" d="M{min(x, right) - 1:.2f} {level:.2f}H{max(x, right) + 1:.2f}" stroke-width="0.5"/>'
    planted = inside(clean, f'<g data-conductor="other">{path}</g>', "conductor")
    wanted = f"other crosses the symbol of {{'data-{kind}': '{address}'"
    assert any(wanted in fault for fault in faults(planted)), faults(planted)


def planted_set(change: Callable[[str], str]) -> list[str]:
    found, drawn = example(PLATE)
    return set_faults([change(s.svg) for s in drawn], found)


def test_a_missing_conductor_is_found() -> None:
    gone = planted_set(lambda svg: re.sub('data-conductor="fridge.run[+]"', 'data-gone=""', svg))
    assert "fridge.run+ is on no sheet" in gone


def test_a_missing_label_is_found() -> None:
    assert any("fridge.run+ is not labelled" in f for f in planted_set(lambda svg: svg.replace(">fridge+<", "><")))


def test_a_missing_device_and_part_are_found() -> None:
    gone = planted_set(lambda svg: svg.replace('data-device="main"', "").replace('data-part="inv"', ""))
    assert "device main is on no sheet" in gone
    assert "part inv is on no sheet" in gone


def test_an_invented_conductor_is_found() -> None:
    other = planted_set(lambda svg: svg.replace('data-conductor="fridge.run+"', 'data-conductor="freezer.run+"'))
    assert "freezer.run+ is no conductor" in other


def test_an_id_on_two_sheets_is_found() -> None:
    found, drawn = example(PLATE)
    doubled = [s.svg for s in drawn] + [drawn[0].svg]
    assert any("on two sheets" in fault for fault in set_faults(doubled, found))
