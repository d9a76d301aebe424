"""The engine of order: what it is asked, and what is said where it is missing."""

from __future__ import annotations

import shutil

import pytest

from copperplate.drawing import LayoutEngineMissing, engine

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
