"""The engines of order: what they are asked, that which of them ran leaves no mark, and what is said without one."""

from __future__ import annotations

import os
import random
import shutil
from importlib import metadata
from pathlib import Path

import pytest

from copperplate.cli.main import run
from copperplate.design import compile_plate
from copperplate.drawing import LayoutEngineMissing, engine, order, sheets
from copperplate.model.results import Design
from copperplate.text import Source

COLUMNS = [("a", "m"), ("a", "n"), ("b", "m"), ("c", "n")]


def has_pure() -> bool:
    try:
        return bool(metadata.files(engine.PURE))
    except metadata.PackageNotFoundError:
        return False


needs_dot = pytest.mark.skipif(shutil.which("dot") is None, reason="needs Graphviz")
needs_pure = pytest.mark.skipif(not has_pure(), reason="needs the extra `layout`")


@pytest.fixture
def no_dot(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", "")


@pytest.fixture
def no_engine(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", "")
    monkeypatch.setattr(engine, "PURE", "no-such-engine")


def keeps_every_bar_whole() -> None:
    upper, lower = engine.ranks(COLUMNS)
    assert upper in (["b", "a", "c"], ["c", "a", "b"])
    assert lower == (["m", "n"] if upper[0] == "b" else ["n", "m"])


@needs_dot
def test_dot_keeps_every_bar_whole_where_that_can_be(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(engine, "PURE", "no-such-engine")
    keeps_every_bar_whole()


@needs_pure
@pytest.mark.usefixtures("no_dot")
def test_the_engine_that_pip_brings_keeps_every_bar_whole_where_that_can_be() -> None:
    keeps_every_bar_whole()


@needs_pure
def test_a_dot_that_does_not_run_is_passed_over(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    broken = tmp_path / "dot"
    broken.write_text("#!/bin/sh\nexit 1\n", encoding="utf-8")
    broken.chmod(0o755)
    monkeypatch.setenv("PATH", str(tmp_path))
    keeps_every_bar_whole()


@pytest.mark.usefixtures("no_engine")
def test_without_either_both_remedies_are_named() -> None:
    with pytest.raises(LayoutEngineMissing) as raised:
        engine.ranks(COLUMNS)
    assert "apt install graphviz" in str(raised.value)
    assert "copperplate[layout]" in str(raised.value)


@pytest.mark.usefixtures("no_engine")
def test_plates_with_few_bars_draw_without_either() -> None:
    assert sheets(compiled(ONE_BAR))
    assert sheets(compiled(BROKEN_BARS))
    with pytest.raises(LayoutEngineMissing):
        sheets(compiled(MANY_BARS))


HEAD = (
    'system "Test"\n  nominal 12 V\nbus pa positive\nbus pb positive\nbus pc positive\nbus m negative\nbus n negative\n'
)


def battery(name: str, upper: str, lower: str) -> str:
    return (
        f"battery {name} 12.8 V, 100 Ah, lifepo4, fault-current 3 kA\n"
        f"{name}.pos -- 0.3 m -- [{name}-fuse: fuse class-t] -- 1 m -- {upper}\n{name}.neg -- 1 m -- {lower}\n"
    )


ONE_BAR = HEAD + battery("a", "pa", "m") + battery("b", "pa", "m")
BROKEN_BARS = HEAD + "".join(
    battery(name, upper, lower)
    for name, upper, lower in (("a", "pa", "m"), ("d", "pa", "n"), ("b", "pb", "m"), ("c", "pc", "n"))
)


def many_bars(seed: int) -> str:
    """Five to seven bars in each row and batteries between bars taken at random."""
    drawn = random.Random(seed)
    upper = [f"p{n}" for n in range(drawn.randint(5, 7))]
    lower = [f"n{n}" for n in range(drawn.randint(5, 7))]
    text = 'system "Test"\n  nominal 12 V\n'
    text += "".join(f"bus {name} positive\n" for name in upper) + "".join(f"bus {name} negative\n" for name in lower)
    pairs = [(top, drawn.choice(lower)) for top in upper] + [(drawn.choice(upper), bottom) for bottom in lower]
    return text + "".join(battery(f"b{n}", top, bottom) for n, (top, bottom) in enumerate(pairs))


MANY_BARS = many_bars(1)


def compiled(text: str) -> Design:
    design, findings = compile_plate(Source("test.plate", text), lambda name: None)
    assert design is not None, findings
    return design


@pytest.mark.usefixtures("no_engine")
def test_a_command_that_draws_says_what_is_missing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The command could not run: exit code 2 and one sentence, which is no apology for a defect."""
    plate = tmp_path / "bars.plate"
    plate.write_text(MANY_BARS)
    assert run(["build", str(plate), "-o", str(tmp_path / "build")]) == 2
    said = capsys.readouterr().err
    assert said.startswith("copperplate: no layout engine: ") and "apt install graphviz" in said
    assert said.count("\n") == 1 and not (tmp_path / "build").exists()


@needs_dot
@needs_pure
@pytest.mark.parametrize("seed", range(1, 31))
def test_the_same_bytes_with_either_engine(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    design = compiled(many_bars(seed))
    asked: list[object] = []
    ranks = engine.ranks
    monkeypatch.setattr(engine, "ranks", lambda columns: asked.append(columns) or ranks(columns))
    path = os.environ["PATH"]
    monkeypatch.setattr(engine, "PURE", "no-such-engine")
    with_dot = sheets(design)
    monkeypatch.setattr(engine, "PURE", "graphviz-pure")
    monkeypatch.setenv("PATH", "")
    with_pure = sheets(design)
    monkeypatch.setenv("PATH", path)
    assert asked
    assert [sheet.svg for sheet in with_dot] == [sheet.svg for sheet in with_pure]


@pytest.mark.parametrize("name", ["launch", "camper", "cabin"])
def test_the_examples_ask_no_engine(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """So their sheets are the same with either and with none."""
    text = (Path(__file__).resolve().parents[2] / f"examples/{name}/{name}.plate").read_text(encoding="utf-8")
    with_engine = [sheet.svg for sheet in sheets(compiled(text))]
    monkeypatch.setenv("PATH", "")
    monkeypatch.setattr(engine, "PURE", "no-such-engine")
    assert [sheet.svg for sheet in sheets(compiled(text))] == with_engine


@needs_dot
@pytest.mark.parametrize("seed", range(1, 13))
def test_the_order_of_the_engine_breaks_at_most_one_bar_more_than_trying_every_order(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    drawn = random.Random(seed)
    text = HEAD + "bus pd positive\nbus o negative\n"
    upper, lower = ["pa", "pb", "pc", "pd"], ["m", "n", "o"]
    pairs = [(drawn.choice(upper), drawn.choice(lower)) for _ in range(7)]
    design = compiled(text + "".join(battery(f"b{n}", top, bottom) for n, (top, bottom) in enumerate(pairs)))
    tried = pieces(design)
    monkeypatch.setattr(order, "FEW", 0)
    assert tried <= pieces(design) <= tried + 1


def pieces(design: Design) -> int:
    """In how many pieces the bars of a design are drawn."""
    return sum(sheet.svg.count(" data-rail=") for sheet in sheets(design))
