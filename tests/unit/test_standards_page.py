"""docs/tables.md says what the program holds: every table, every figure of every profile, every family."""

from __future__ import annotations

from pathlib import Path

import pytest

from copperplate.model.kinds import FAMILIES, PROFILES
from copperplate.standards import STATUSES, fuses, profile, tables

PAGE = (Path(__file__).parents[2] / "docs" / "tables.md").read_text("utf-8")
LINES = frozenset(PAGE.splitlines())


def test_every_status_is_explained():
    assert all(f"| {status} | {meaning} |" in LINES for status, meaning in STATUSES.items())


@pytest.mark.parametrize("table", tables(), ids=lambda t: t.name)
def test_every_table_is_listed_as_it_is(table):
    assert f"| `{table.name}` | {table.title} | {table.edition} | {table.status} |" in LINES


def test_no_table_is_listed_that_is_not_there():
    listed = [line for line in PAGE[PAGE.index("## Tables") :].splitlines() if line.startswith("| `")]
    assert len(listed) == len(tables())


@pytest.mark.parametrize("name", PROFILES)
def test_every_figure_of_a_profile_is_listed_as_it_is(name):
    rules = profile(name)
    assert f"### {rules.id}: {rules.title}" in LINES
    assert rules.counting in PAGE
    section = PAGE[PAGE.index(f"### {rules.id}:") :]
    section = section[: section.index("\n#", 1)]
    for key, figure in rules.constants().items():
        value = f"{figure.value:g} {figure.unit}".strip()
        assert f"| {figure.quantity} ({key}) | {value} | {figure.source} | {figure.status} |" in section


@pytest.mark.parametrize("name", FAMILIES)
def test_every_family_is_listed(name):
    family = fuses.family(name)
    row = next(line for line in LINES if line.startswith(f"| `{name}` | {family.standard} |"))
    assert f"{family.ratings_a[-1]:g} A" in row
    assert (f"{family.interrupting_a / 1000:g} kA" if family.interrupting_a else "its maker's") in row
