"""The sheets of the examples satisfy every rule that can be read from the SVG."""

from __future__ import annotations

import pytest
from built import EXAMPLES, PLATES, design, example, printed_by_hash_seeds
from svgcheck import read, set_faults

from copperplate.drawing import sheets


@pytest.mark.parametrize("name", PLATES)
def test_an_example_is_drawn_without_a_fault(name: str) -> None:
    found, drawn = example(name)
    assert set_faults([sheet.svg for sheet in drawn], found) == []
    assert [sheet.number for sheet in drawn] == list(range(1, len(drawn) + 1))
    assert {sheet.of for sheet in drawn} == {len(drawn)}
    assert len({sheet.slug for sheet in drawn}) == len(drawn)


@pytest.mark.parametrize("name", PLATES)
def test_an_example_has_its_kinds_of_sheet(name: str) -> None:
    _, drawn = example(name)
    slugs = " ".join(sheet.slug for sheet in drawn)
    for kind in ("wiring-diagram", "dc-circuits-"):
        assert kind in slugs


@pytest.mark.parametrize("paper", ["a4", "a3", "letter"])
def test_every_paper_draws(paper: str) -> None:
    path = EXAMPLES / "launch/launch.plate"
    found = design(path.read_text(encoding="utf-8").replace("paper letter", f"paper {paper}"))
    drawn = sheets(found)
    sizes = {"a4": (297.0, 210.0), "a3": (420.0, 297.0), "letter": (279.4, 215.9)}
    assert {(sheet.width_mm, sheet.height_mm) for sheet in drawn[1:]} == {sizes[paper]}
    assert set_faults([sheet.svg for sheet in drawn], found) == []


def test_every_sheet_carries_the_caution_the_revision_and_its_number() -> None:
    found, drawn = example("launch/launch.plate")
    for sheet in drawn:
        texts = [text.content for text in read(sheet.svg).texts]
        assert any("licensed practice prevail" in text for text in texts)
        assert f"Sheet {sheet.number} of {len(drawn)}" in texts
        letter, _, change = found.system.settings.revision.partition(", ")
        assert {letter, change, found.system.settings.date} <= set(texts)
        assert found.system.settings.status in texts


def test_loads_are_given_with_current_volts_and_drop() -> None:
    found, drawn = example("launch/launch.plate")
    ladders = [sheet for sheet in drawn if sheet.slug.startswith("dc-circuits-cabin")]
    texts = [text.content for ladder in ladders for text in read(ladder.svg).texts]
    for name, result in found.loads.items():
        if found.system.runs[result.run].from_end.startswith("cabin"):
            volts, drop = f"{result.voltage_v:.2f} V at load", f"({result.drop_percent:.1f} % drop)"
            assert any(volts in text and drop in text for text in texts), name


def test_the_same_bytes_under_any_hash_seed() -> None:
    script = (
        "from built import example, PLATES\n"
        "print(hashlib.sha256(''.join(s.svg for p in PLATES for s in example(p)[1]).encode()).hexdigest())"
    )
    assert len(printed_by_hash_seeds(script)) == 1
