"""Planted mistakes: each is found where it stands, to the column, with a repair, and hides no other."""

from __future__ import annotations

import re

import pytest

from copperplate import syntax
from copperplate.findings import CODES, Finding
from copperplate.syntax.tree import Bad, BadStatement, Declaration, End, RunStatement
from copperplate.text import Source

Marked = list[tuple[str, int, int]]


def unmarked(text: str) -> tuple[str, list[tuple[int, int]]]:
    """The plate without its marks, and what stood between each `⟦` and `⟧`."""
    places, opened, plate = [], [], ""
    for part in re.split("([⟦⟧])", text):
        if part == "⟦":
            opened.append(len(plate))
        elif part == "⟧":
            places.append((opened.pop(), len(plate)))
        else:
            plate += part
    return plate, sorted(places)


def found_in(text: str) -> tuple[tuple[Finding, ...], list[tuple[int, int]], list[str]]:
    """Findings of a marked plate, the marked places, and what each statement became."""
    source, places = unmarked(text)
    plate, findings = syntax.parse(Source("a.plate", source))
    return findings, places, [type(statement).__name__ for statement in plate.statements]


MISTAKES: list[tuple[str, str, str]] = [
    # numbers and units
    ("a -//- ⟦4,5 m⟧ -- b", "CP101", "4.5 m, or `4, 5 m` if these are two things"),
    ("load a ⟦1,000 W⟧", "CP101", "1000 W or 1.000 W, whichever was meant"),
    ("load a 5 ⟦MA⟧", "CP102", "5 mA"),
    ("load a 5 ⟦ohn⟧", "CP102", "5 ohm"),
    ("load a works 10..15 ⟦MV⟧", "CP102", "10..15 mV"),
    ("load a 8 x 0.25 ⟦MA⟧", "CP102", "0.25 mA"),
    ("a -- 10 ⟦gauge⟧ -- b", "CP102", "10 AWG"),
    ("panel p ways 12 ⟦return⟧ minus", "CP102", "`12, return` if `return` begins what comes next, or a unit behind 12"),
    ("load a works ⟦10.5..15⟧", "CP104", "10.5..15 V, if these are volts"),
    ("a -- 5 ft ⟦6⟧ -- b", "CP104", "5 ft 6 in"),
    ("a -- ⟦2/0⟧ -- b", "CP104", "2/0 AWG"),
    ("load a works ⟦10.5 -15 V⟧", "CP116", "10.5..15 V"),
    ("a -- 2 m, ⟦#⟧14 AWG -- b", "CP110", "leaving it out: a gauge is written `14 AWG`"),
    ("load a 5 A ⟦//⟧ a lamp, and more", "CP110", "# a lamp, and more"),
    ("⟦//⟧ a lamp, and more", "CP110", "# a lamp, and more"),
    ("a -//- 2 m -- b⟦;⟧", "CP110", "a comma, or a line break where a statement ends"),
    ("a -- 2 m ⟦-//-⟧ b", "CP113", "-- here, and -//- at the beginning"),
    ("load ⟦2fan⟧ 5 A", "CP109", "a letter in front, as in n2fan"),
    ("a -- 2 m -- ⟦2fan⟧", "CP109", "a letter in front, as in n2fan"),
    ("load a works ⟦10 V..15 A⟧", "CP116", "both in one unit, written once: 10.5..15 V"),
    ("load a ⟦8 x 3⟧", "CP116", "8 x 0.25 A, for example"),
    ("load a ⟦8 x⟧", "CP116", "8 x 0.25 A, for example"),
    ("a -- ⟦2.5.1 m⟧ -- b", "CP116", "digits with one point, as in 12.5"),
    ("a -- ⟦-3 AWG⟧ -- b", "CP116", "a size such as 12 AWG, 2/0 AWG or 4 mm2"),
    ("load a ⟦" + "9" * 400 + " W⟧", "CP116", "a shorter one"),
    ("system\n  date ⟦2026-11-25⟧", "CP116", '"2026-11-25"'),
    ("load a ⟦1 000 W⟧", "CP117", "1000 W if it is one number, `1, 000 W` if these are two things"),
    # words, texts, stray characters
    ("load a ⟦\"Fridge 60 W⟧\nload b 5 A", "CP103", '"Fridge 60 W"'),
    ("load a ⟦“Fridge”⟧ 60 W", "CP103", '"Fridge"'),
    ("load a ⟦'Fridge'⟧ 60 W", "CP103", '"Fridge"'),
    ("load ⟦port--light⟧ 60 W", "CP109", "port-light"),
    ("load ⟦kühler⟧ 60 W", "CP109", "kuhler"),
    ("load ⟦12v-light⟧ 60 W", "CP109", "a letter in front, as in n12v-light"),
    ("plus -//- 2 m -- ⟦M8⟧", "CP109", "m8"),
    ("system\n  nominal ⟦=⟧ 12 V", "CP110", "leaving it out: `nominal 12 V` has no equals sign"),
    ("load a 5 A⟦;⟧ daily 2 h", "CP110", "a comma, or a line break where a statement ends"),
    ("load a⟦:⟧ 5 A", "CP110", "leaving it out: it stands behind the name of a run, or of a device in brackets"),
    ("load a \"A⟦\x07⟧\" 5 A", "CP110", "leaving it out"),
    ("load a 5 A # com⟦\u202e⟧ment", "CP110", "leaving it out"),
    # strokes and ends
    ("cabin ⟦9.5 m⟧ -- light", "CP105", "-- for one conductor, -//- for two"),
    ("plus ⟦[fuse]⟧ -- 3 m -- inv.pos", "CP105", "-- for one conductor, -//- for two"),
    ("plus -- [fuse] ⟦3 m⟧ -- inv.pos", "CP105", "-- 3 m"),
    ("plus -- [fuse] ⟦[switch 10 A]⟧ -- 3 m -- inv.pos", "CP105", "-- [switch 10 A]"),
    ("plus -- [fuse] -- 3 m ⟦inv.pos⟧", "CP105", "3 m -- inv.pos"),
    ("plus -- [fuse]\n  ⟦3 m⟧ -- inv.pos", "CP105", "-- 3 m"),
    ("plus -- ⟦3 m⟧", "CP106", "a stroke and the component behind it"),
    ("plus -- 3 m -- ⟦[fuse]⟧", "CP106", "a stroke and the component behind it"),
    ("plus -- ⟦b 4.5 m⟧", "CP106", "4.5 m -- b"),
    ("⟦load⟧ fridge -- 3 m -- plus", "CP106", "`fridge --` without `load`"),
    ("plus -- 3 m -- b\n  ⟦10 AWG⟧", "CP106", "moving it before the stroke, into the stretch that it speaks of"),
    ("plus -- 3 m ⟦--⟧", "CP107", "the component where the run ends, behind it"),
    ("plus -- ⟦[fuse 10 A⟧ -- 3 m -- b", "CP108", "[fuse 10 A]"),
    ("plus -- 3 m -- ⟦[fuse 10 A⟧", "CP108", "[fuse 10 A]"),
    ("plus -- 3 m ⟦]⟧ -- b", "CP108", "a `[` before the device, or neither"),
    ("plus -- ⟦--⟧ 3 m -- b", "CP112", "one of them, or a length between them"),
    ("plus ⟦-/-⟧ 3 m -- b", "CP113", "-- for one conductor, -//- for two"),
    ("plus ⟦-/////-⟧ 3 m -- b", "CP113", "-////-"),
    # lines and order
    ("  ⟦load a 5 A⟧\nload b 5 A", "CP111", "beginning it in the first column, where statements begin"),
    ("load a\n⟦5 A⟧", "CP111", "indenting this line, if it goes on with the one above"),
    ("plus -- 3 m\n⟦-- b⟧", "CP111", "indenting this line, if it goes on with the one above"),
    ("⟦\"Fridge\"⟧ load", "CP114", 'load fridge "Fridge" 5 A, for example'),
    ("load a ⟦[⟧ 3 W", "CP108", "leaving it out: devices stand in runs"),
    ("load a ⟦[⟧fuse 5 A], 3 W", "CP114", "moving it into the line of a run"),
    ("feed⟦:⟧", "CP114", "a whole run: name, first end, stroke, length, stroke, last end"),
    ("load a 5 A\n ⟦plus⟧ -- 3 m -- b", "CP115", "beginning it in the first column"),
    ("plus -- 3 m -- b\n ⟦load⟧ a 5 A", "CP115", "beginning it in the first column"),
    ("plus -- 3 m -- b\n ⟦plus⟧ -- 3 m -- c", "CP115", "beginning it in the first column"),
    ("plus -- 3 m -- b\n ⟦feed⟧: plus -- 3 m -- c", "CP115", "beginning it in the first column"),
    ("load a, ⟦,⟧ 5 A", "CP117", "leaving it out"),
    ("load a, 5 A⟦,⟧", "CP117", "leaving it out"),
    ("plus -- 3 m⟦,⟧ -- b", "CP117", "leaving it out"),
    ("plus -- ⟦[]⟧ -- b", "CP117", "[fuse], or [10 A] for a way's own device"),
    ("⟦⟧", "CP119", 'a first statement: system "Heron" nominal 12 V'),
]  # fmt: skip


@pytest.mark.parametrize(("text", "code", "repair"), MISTAKES)
def test_a_mistake_is_found_where_it_stands_with_a_repair(text: str, code: str, repair: str) -> None:
    findings, places, _ = found_in(text)
    assert [(f.code, f.help) for f in findings] == [(code, repair)], findings
    (found,) = findings
    assert found.span is not None and (found.span.start, found.span.end) == places[0]
    assert found.severity == CODES[code].severity and found.message.isprintable()


def test_every_code_of_a_text_is_planted_above() -> None:
    """CP100 is about bytes, CP118 guards the formatter; both have tests of their own."""
    own = {code for code in CODES if "CP100" <= code <= "CP119"}
    assert {code for _, code, _ in MISTAKES} == own - {"CP100", "CP118"}


@pytest.mark.parametrize(("text", "code", "repair"), [m for m in MISTAKES if m[1] != "CP119"])
def test_a_mistake_hides_no_other(text: str, code: str, repair: str) -> None:
    """Other statements around it are read, and a mistake in each of them is found."""
    before, after = "battery first 12 ⟦MV⟧\n", "\nload last 5 ⟦MW⟧\n"
    findings, places, kinds = found_in(before + text + after if code != "CP111" or text[0] != " " else text + after)
    assert code in {f.code for f in findings} and any(f.help == "5 mW" for f in findings)
    spans = sorted((f.span.start, f.span.end) for f in findings if f.span)
    assert spans == places
    assert kinds[-1] == "Declaration" and kinds[0] in ("Declaration", "RunStatement", "BadStatement")


def test_several_mistakes_in_one_statement() -> None:
    text = "plus ⟦-/-⟧ ⟦4,5 m⟧, 10 ⟦gauge⟧ -- [fuse 15 ⟦MA⟧] ⟦2 m⟧ ⟦-//-⟧ ⟦kühler⟧"
    findings, places, kinds = found_in(text)
    assert [(f.span.start, f.span.end) for f in findings if f.span] == places
    assert [f.code for f in findings] == ["CP113", "CP101", "CP102", "CP102", "CP105", "CP113", "CP109"]
    assert kinds == ["RunStatement"]


def test_what_can_be_mended_keeps_its_meaning() -> None:
    plate, _ = syntax.parse(Source("a.plate", "plus -- [fuse -- 3 m inv.pos"))
    (run,) = plate.statements
    assert isinstance(run, RunStatement)
    assert [type(e).__name__ for e in run.elements] == [
        "End", "Stroke", "Bracket", "Stroke", "Segment", "Stroke", "End",
    ]  # fmt: skip
    ends = [e.address.text for e in run.elements if isinstance(e, End)]
    assert ends == ["plus", "inv.pos"]


def test_a_value_that_cannot_be_read_leaves_the_rest_of_its_statement() -> None:
    plate, _ = syntax.parse(Source("a.plate", "load a 5 MA, daily 2 h"))
    (load,) = plate.statements
    assert isinstance(load, Declaration)
    assert isinstance(load.head[1], Bad) and load.head[1].written == "5 MA"
    assert load.items[0].span.text == "daily 2 h"


def test_what_means_nothing_does_not_stand_between_other_values() -> None:
    plate, findings = syntax.parse(Source("a.plate", "system\n  nominal = 12 V\nload a (5 A)\n"))
    assert len(findings) == 3
    system, load = plate.statements
    assert isinstance(system, Declaration) and isinstance(load, Declaration)
    assert [atom.span.text for atom in system.items[0].atoms] == ["nominal", "12 V"]
    assert [atom.span.text for atom in load.head] == ["a", "5 A"]


def test_a_run_without_its_first_stroke_is_not_guessed_at() -> None:
    """Whether it had one conductor or two is not in the text; what else is wrong in it is found all the same."""
    plate, findings = syntax.parse(Source("a.plate", "feed: cabin 3,5 m -- light"))
    assert [f.code for f in findings] == ["CP101", "CP105"]
    (run,) = plate.statements
    assert isinstance(run, BadStatement)
    assert run.name == "feed" and [w.text for w in run.words] == ["feed", "cabin", "light"]


def test_a_statement_past_mending_keeps_its_words() -> None:
    text = 'feed: plus -- 3 m -- [fuse]\n"A" load a\nplus -- fridge.pos --'
    plate, _ = syntax.parse(Source("a.plate", text))
    for statement, keyword, name, words in zip(
        plate.statements,
        ("", "load", ""),
        ("feed", "a", ""),
        (["feed", "plus", "fuse"], ["load", "a"], ["plus", "fridge.pos"]),
        strict=True,
    ):
        assert isinstance(statement, BadStatement)
        assert (statement.keyword, statement.name) == (keyword, name)
        assert [word.text for word in statement.words] == words


def test_one_wrong_spelling_is_one_finding_however_often_it_stands() -> None:
    text = "load früge 5 A\n" + "plus -//- 2 m -- früge\n" * 8 + "a -- 1 m -- früge.pos\n"
    plate, findings = syntax.parse(Source("a.plate", text))
    (found,) = findings
    assert found.span is not None and found.span.line == 1
    assert found.notes == ("also in lines 2, 3, 4, 5, 6 and more",)
    assert {syntax.subject(statement) for statement in plate.statements} == {"fruge", "fruge.pos"}


def test_a_hopeless_statement_does_not_drown_the_others() -> None:
    findings, _, _ = found_in("a -- " + "] " * 500 + "\nload b 5 MA\n")
    assert len(findings) < 12 and findings[-1].help == "5 mA"


def test_findings_come_in_the_order_of_the_text() -> None:
    findings, _, _ = found_in("load é 5 MA\n" * 3 + "load b 'x' 4,5 A\nload c 1 MV\n")
    starts = [f.span.start for f in findings if f.span]
    assert starts == sorted(starts) and len(starts) == 7


@pytest.mark.parametrize("numeral", ["0.30000000000000004", "11.999999999999998", "-0.0027000000000000001"])
def test_all_the_decimals_of_a_number_are_read(numeral: str) -> None:
    """Seventeen digits are what a program writes; what is longer than any measurement stays a mistake."""
    findings, _, _ = found_in(f"load a {numeral} A\n")
    assert not findings
    longer, _, _ = found_in(f"load a {'9' * 16} A\nload b 1.{'0' * 40} A\n")
    assert [f.code for f in longer] == ["CP116", "CP116"]
