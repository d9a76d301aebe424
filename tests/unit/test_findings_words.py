"""Every template of the table of findings becomes a whole sentence: with the figures of the plates on its page, and
where no plate of the page gives them with sample figures."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any

import pytest
from test_findings_pages import BY_SHEETS, DEFECTS_ONLY, example, page_of

from copperplate.findings import CODES, Each, Entry, Finding
from copperplate.findings.entry import Text, alternatives, render, slots

SLOT = re.compile(r"\{(\w+)(?::([^{}]*))?\}")
SAMPLES: tuple[tuple[str, Any], ...] = (
    (r"names|and|any|either|list|or|first \d+|who .+", ["port-lamp", "starboard-lamp"]),
    (r"an", "inverter"),
    (r"if", True),
    (r".*", 12.5),
)
"""A figure by the form of its slot: of forms that fit the first; what is shown as it is may be a number."""


@cache
def drawn(code: str) -> tuple[Finding, ...]:
    """The findings of a code that the plates of its page draw."""
    page = page_of(code)
    headings = [h for h in ("Draws it", "Draws it too") if f"\n## {h}\n" in page and code not in DEFECTS_ONLY]
    return tuple(f for h in headings for f in example(page, h).findings(code in BY_SHEETS) if f.code == code)


def rows(entry: Entry) -> Iterator[tuple[str, Text | Each]]:
    """The texts of a row by what they are, without those that it leaves out."""
    texts: dict[str, Text | Each] = {name: getattr(entry, name) for name in ("message", "label", "help", "rule")}
    texts |= {f"note {number}": note for number, note in enumerate(entry.notes, 1)}
    texts |= {f"related {name}": label for name, label in entry.related.items()}
    return ((name, text) for name, text in texts.items() if text)


def mappings(text: Text | Each, finding: Finding) -> list[Mapping[str, Any]]:
    """The figures that a finding gives a text: several for one that is said of each of several things."""
    if not isinstance(text, Each):
        return [finding.figures]
    each = finding.figures.get(text.each) or ()
    return [{**finding.figures, **(more if isinstance(more, Mapping) else {"each": more})} for more in each]


def filled(alternative: str, figures: Mapping[str, Any], *, whole: bool) -> dict[str, Any]:
    """The figures with samples for those that an alternative asks for and they lack; with `whole` also for those of
    its parts that may fall away, which are absent else."""
    forms: dict[str, list[str]] = {name: [] for name in slots(alternative)}
    for name, form in SLOT.findall(alternative):
        if whole or name in forms:
            forms.setdefault(name, []).append(form)
    samples = {
        name: next(figure for pattern, figure in SAMPLES if any(re.fullmatch(pattern, form) for form in own or [""]))
        for name, own in forms.items()
    }
    given = {name: figure for name, figure in figures.items() if figure not in (None, False, (), [])}
    return samples | {name: figure for name, figure in given.items() if name in forms}


def assert_whole(sentence: str) -> None:
    assert sentence.strip() == sentence != ""
    assert not re.search(r"[{}]|\bNone\b|``|  ", sentence), sentence


@pytest.mark.parametrize("code", sorted(CODES))
def test_every_alternative_becomes_a_sentence(code: str) -> None:
    figures = [
        more for f in drawn(code) for more in (f.figures, *(m for n in CODES[code].notes for m in mappings(n, f)))
    ]
    for _, row in rows(CODES[code]):
        for alternative in alternatives(row.text if isinstance(row, Each) else row):
            if not re.sub(r"\{\w+:if\}", "", alternative):
                continue  # Nothing is meant to be said there.
            for given in (*figures, {}):
                for whole in (True, False):
                    assert_whole(render(alternative, filled(alternative, given, whole=whole)))


@pytest.mark.parametrize("code", sorted({*CODES} - DEFECTS_ONLY))
def test_the_page_draws_every_text_of_its_row(code: str) -> None:
    """At least one alternative of each, from what the check gives and nothing else."""
    findings = drawn(code)
    shown = [label.label for f in findings for label in f.related]
    for name, row in rows(CODES[code]):
        if name.startswith("related"):
            # A label may have figures of its own, which the finding does not keep.
            patterns = [SLOT.sub("\0", re.sub(r"<[^<>]*>", "\0", a)) for a in alternatives(row)]
            ways = [re.escape(p).replace("\0", ".*") for p in patterns]
            assert any(re.fullmatch(way, label) for way in ways for label in shown), (name, shown)
            continue
        text = row.text if isinstance(row, Each) else row
        assert any(render(text, figures) for f in findings for figures in mappings(row, f)), name
    for f in findings:
        for sentence in (f.message, *filter(None, (f.label, f.help, f.rule)), *f.notes, *shown):
            assert_whole(sentence)
