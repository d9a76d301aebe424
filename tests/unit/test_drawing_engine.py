"""The engine of order: what it is asked, and what is said where it is missing."""

from __future__ import annotations

import shutil

import click
import pytest

from copperplate.design import compile_plate
from copperplate.drawing import LayoutEngineMissing, engine, sheets
from copperplate.model.results import Design
from copperplate.text import Source

COLUMNS = [("a", "m"), ("a", "n"), ("b", "m"), ("c", "n")]


@pytest.mark.skipif(shutil.which("dot") is None, reason="needs Graphviz")
def test_it_keeps_every_bar_whole_where_that_can_be() -> None:
    upper, lower = engine.ranks(COLUMNS)
    assert upper in (["b", "a", "c"], ["c", "a", "b"])
    assert lower == (["m", "n"] if upper[0] == "b" else ["n", "m"])


def test_without_it_the_remedy_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", "")
    with pytest.raises(LayoutEngineMissing, match="apt install graphviz"):
        engine.ranks(COLUMNS)


def test_plates_whose_bars_need_no_better_order_draw_without_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", "")
    assert sheets(compiled(ONE_BAR))
    with pytest.raises(LayoutEngineMissing):
        sheets(compiled(BROKEN_BARS))


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


def compiled(text: str) -> Design:
    design, findings = compile_plate(Source("test.plate", text), lambda name: None)
    assert design is not None, findings
    return design


def test_a_command_that_draws_says_what_is_missing(monkeypatch: pytest.MonkeyPatch) -> None:
    """The command could not run: exit code 2 and one sentence, by click's exception for that."""
    from copperplate.cli.drawn import drawn

    monkeypatch.setenv("PATH", "")
    with pytest.raises(click.ClickException, match="apt install graphviz"):
        drawn(compiled(BROKEN_BARS))
