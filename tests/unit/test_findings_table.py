"""The table of findings: its templates are well formed, and become the sentences that they are meant to."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from importlib.resources import files
from typing import Any, get_args

import pytest

from copperplate.findings import CODES, Each, Entry, make
from copperplate.findings.codes import FILES
from copperplate.findings.entry import By, Text, Who, alternatives, measured, render, sentences
from copperplate.text import Source, Span
from copperplate.units import UNITS

FORM = re.compile(
    r"\d*|enough( \S+)?|fault|if|names|and|any|either|an|first \d+|who .+|list|or|beside \w+|[^|]*\|[^|]*"
)
SLOT = re.compile(r"\{(\w+)(?::([^{}]*))?\}")


def texts(entry: Entry) -> Iterator[str]:
    """Every template of a row."""
    rows: list[Text | Each] = [
        entry.message,
        entry.label,
        entry.help,
        entry.rule,
        *entry.notes,
        *entry.related.values(),
    ]
    for row in rows:
        yield from (row.text,) if isinstance(row, Each) else alternatives(row)


@pytest.mark.parametrize("code", sorted(CODES))
def test_a_row_is_well_formed(code: str) -> None:
    """Each slot has a form that there is, no brace or bracket stands alone, and no alternative is out of reach."""
    entry = CODES[code]
    for text in texts(entry):
        for _, form in SLOT.findall(text):
            assert FORM.fullmatch(form) or form in UNITS, (text, form)
        rest = re.sub(r"<([^<>]*)>", r"\1", SLOT.sub("", text))
        assert not set("{}<>") & set(rest), text
        assert all(SLOT.search(part) for part in re.findall(r"<([^<>]*)>", text)), "a part that never falls away"
    for row in (entry.message, entry.label, entry.help, entry.rule):
        whole = [not SLOT.search(text) for text in alternatives(row)]
        assert not any(whole[:-1]), f"{row}: nothing behind an alternative that asks for no figure is ever taken"


def test_what_is_shared_is_said_by_several_rows() -> None:
    rows = files("copperplate") / "findings" / "rows"
    shared = tomllib.loads((rows / "shared.toml").read_text("utf-8"))
    text = "".join((rows / f"{name}.toml").read_text("utf-8") for name in FILES)
    assert all(text.count(f'"={name}"') > 1 for name in shared)


@pytest.mark.parametrize("code", sorted(CODES))
def test_a_row_says_who_settles_it_until_when_and_what_is_asked(code: str) -> None:
    """The question is for a reader who knows neither codes nor the language, and meets none of the words of this
    program in it."""
    entry = CODES[code]
    assert entry.who in get_args(Who) and entry.by in get_args(By)
    question = entry.question
    assert re.fullmatch(r"[A-Z][^.?{}<>`]+[.?]", question), "one sentence, without slots"
    assert len(question.split()) < 25
    for what, pattern in (
        ("a code", r"CP\d|\bCP\b"),
        ("an option", r"(^|\s)--?\w"),
        ("a name of a file or an address", r"\w[./_]\w"),
        ("a word of this program", r"(?i)\b(judged|solved|hot|runs?|findings?)\b"),
    ):
        assert not re.search(pattern, question), what


def test_rows_that_share_a_question_share_who_and_by() -> None:
    """One question makes one point of the report, with one person and one time."""
    points = {(entry.question, entry.who, entry.by) for entry in CODES.values()}
    assert len({question for question, _, _ in points}) == len(points)


@pytest.mark.parametrize(
    ("template", "figures", "sentence"),
    [
        ("{x} and {x:5}", {"x": 12.34567}, "12.3 and 12.346"),
        ("{x:fault}", {"x": 950.0}, "950 A"),
        ("{x:fault}", {"x": 1500.0}, "1.5 kA"),
        ("{x:and}", {"x": ["a", "b", "c"]}, "`a` and `b` and `c`"),
        ("{x:any}", {"x": ["a", "b", "c"]}, "`a`, `b` or `c`"),
        ("{x:either}", {"x": ["a", "b", "c"]}, "a, b or c"),
        ("{x:an} and {y:an}", {"x": "load", "y": "inverter"}, "a load and an inverter"),
        ("{x:first 2}", {"x": ["a", "b", "c"]}, "`a`, `b`, ..."),
        ("{x:first 2}", {"x": ["a", "b"]}, "`a`, `b`"),
        ("{x:who devices} {x:opens|open}", {"x": ["a"]}, "`a` opens"),
        ("{x:who devices} {x:opens|open}", {"x": ["a", "b"]}, "2 devices open"),
        ("{x:fuse|fuses}", {"x": 1}, "1 fuse"),
        ("{x:fuse|fuses}", {"x": 3}, "3 fuses"),
        ("carries 5 A<, or {size}>", {"size": "6 mm²"}, "carries 5 A, or 6 mm²"),
        ("carries 5 A<, or {size}>", {"size": None}, "carries 5 A"),
        ("{x:and} before it", {"x": []}, ""),
        (("{stated:if}{x} A is stated", "{x} A is chosen"), {"x": 5.0, "stated": True}, "5 A is stated"),
        (("{stated:if}{x} A is stated", "{x} A is chosen"), {"x": 5.0, "stated": False}, "5 A is chosen"),
    ],
)
def test_a_template_becomes_a_sentence(template: Text, figures: dict[str, Any], sentence: str) -> None:
    assert render(template, figures) == sentence


def test_each_makes_a_note_for_every_device_and_counts_the_rest() -> None:
    shorts = [{"device": name, "current": amperes} for name, amperes in (("a", 10.0), ("b", 20.0), ("c", 30.0))]
    notes = (Each("shorts", "`{device}`: {current} A", most=2), Each("weak", "`{each}` is weak"), "no {missing}")
    assert sentences(notes, {"shorts": shorts, "weak": ["d"]}) == (
        "`a`: 10 A", "`b`: 20 A", "and 1 more", "`d` is weak",
    )  # fmt: skip


def test_a_measure_takes_figures_numbers_and_what_stands_for_an_absent_one() -> None:
    assert measured("breaks", {"breaks": 500.0}) == 500.0
    assert measured(3, {}) == 3
    assert measured("breaks|not stated", {"breaks": None}) == "not stated"
    assert measured("breaks", {"breaks": None}) is None


def test_places_of_one_name_have_a_label_each() -> None:
    source = Source("a.plate", "a fuse and another\n")
    first, second = Span(source, 2, 6), Span(source, 11, 18)
    at = {"device": [(first, {"own": 30.0}), (second, {"own": 50.0})]}
    found = make("CP423", "s", first, at=at, rating=60.0, passed=80.0, devices=["f", "g"])
    assert found.message == "`s` is rated 60 A, and `f` and `g` before it let 80 A pass"
    assert [(place.span, place.label) for place in found.related] == [(first, "30 A"), (second, "50 A")]
