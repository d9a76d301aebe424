"""Everything that the language knows parses, into the tree that it means, with spans exact to the column."""

from __future__ import annotations

from typing import Any

import pytest

from copperplate import syntax
from copperplate.model.kinds import DEVICE_KINDS, KINDS
from copperplate.syntax.tree import (
    Atom,
    Bracket,
    Count,
    Declaration,
    End,
    Number,
    Pair,
    Plate,
    Quantity,
    Range,
    RunStatement,
    Segment,
    SizeAtom,
    Statement,
    Stroke,
    StudAtom,
    Text,
    Word,
)
from copperplate.text import Source


def parsed(text: str) -> Plate:
    """The tree of a plate without mistakes in its text."""
    plate, findings = syntax.parse(Source("a.plate", text))
    assert [(f.code, f.message) for f in findings] == []
    return plate


def one(text: str) -> Statement:
    (statement,) = parsed(text).statements
    return statement


def brief(part: Any) -> Any:
    """An atom, an item or an element of a run in a form that is short to write down."""
    match part:
        case Word(text=text) | End(address=Word(text=text)):
            return text
        case Text(text=text):
            return f'"{text}"'
        case Quantity(value=value, unit=unit):
            return (value, unit)
        case Number(value=value):
            return value
        case SizeAtom(number=number, system=system):
            return f"{number} {system}"
        case Range(low=low, high=high, unit=unit):
            return f"{low}..{high} {unit}"
        case Pair(low=low, high=high, unit=unit):
            return f"{low}/{high} {unit}"
        case Count(count=count, each=each):
            return (count, brief(each))
        case StudAtom(name=name):
            return f"stud {name}"
        case Stroke(conductors=conductors):
            return conductors
        case Segment(items=items):
            return [[brief(a) for a in item.atoms] for item in items]
        case Bracket(name=name, items=items):
            return {name.text if name else None: [[brief(a) for a in item.atoms] for item in items]}
    raise AssertionError(part)


def value(written: str) -> Atom:
    statement = one(f"load a {written}")
    assert isinstance(statement, Declaration)
    _, atom = statement.head
    assert atom.span.text == written
    return atom


@pytest.mark.parametrize(
    ("written", "meaning"),
    [
        ("4.5 m", (4.5, "m")), ("15 ft", (15.0, "ft")), ("5 ft 6 in", (5.5, "ft")), ("5ft6in", (5.5, "ft")),
        ("5 ft 6 1/2 in", (5 + 6.5 / 12, "ft")), ("6 1/2 in", (6.5, "in")), ("280 Ah", (280.0, "Ah")),
        ("5 kA", (5.0, "kA")), ("12 mohm", (12.0, "mohm")), ("12 mΩ", (12.0, "mohm")), ("30 degC", (30.0, "degC")),
        ("30 °C", (30.0, "degC")), ("86 degF", (86.0, "degF")), ("3 %", (3.0, "%")), ("3%", (3.0, "%")),
        ("-0.27 %/K", (-0.27, "%/K")), ("−0.27 %/K", (-0.27, "%/K")), ("-0.27 %/°C", (-0.27, "%/degC")),
        ("10 h", (10.0, "h")), ("12V", (12.0, "V")), (".5 A", (0.5, "A")), ("+5 A", (5.0, "A")),
        ("1.2 kWh", (1.2, "kWh")),
        ("10 AWG", "10 AWG"), ("2/0 AWG", "2/0 AWG"), ("4/0AWG", "4/0 AWG"), ("10 SAE", "10 SAE"), ("35 mm2", "35 mm2"),
        ("35 mm²", "35 mm2"), ("1.5mm²", "1.5 mm2"), ("10.5..15 V", "10.5..15 V"), ("10.5 .. 15V", "10.5..15 V"),
        ("10.5 V..15 V", "10.5..15 V"), ("-20..40 °C", "-20..40 degC"), ("1.5..35 mm2", "1.5..35 mm2"),
        ("14..2 AWG", "14..2 AWG"), ("4..2/0 AWG", "4..2/0 AWG"), ("8 x 0.25 A", (8, (0.25, "A"))),
        ("8x0.25A", (8, (0.25, "A"))), ("8 × 0.25 A", (8, (0.25, "A"))), ("2 x 6 mm2", (2, "6 mm2")),
        ("5/16 in", "stud 5/16 in"), ("3/8 in", "stud 3/8 in"), ("M8", "stud M8"), ("no-10", "stud no-10"),
        ("120/240 V", "120/240 V"), ("12", 12.0), ('""', '""'),
        ('"Say \\"hello\\" \\\\ twice"', '"Say "hello" \\ twice"'),
        ("lifepo4", "lifepo4"), ("conv.in.pos", "conv.in.pos"), ("inv.ac-out", "inv.ac-out"), ("cabin.3", "cabin.3"),
        ("house.pos.run/1", "house.pos.run/1"), ("fridge.run+", "fridge.run+"), ("fridge.run-", "fridge.run-"),
        ("house.run-/1", "house.run-/1"), ("CP412", "CP412"),
        ("x1", "x1"), ("m8", "m8"), ("m", "m"), ("a-1-b", "a-1-b"),
    ],
)  # fmt: skip
def test_values(written: str, meaning: Any) -> None:
    assert brief(value(written)) == meaning


@pytest.mark.parametrize(
    ("text", "head", "items"),
    [
        ('system "Heron"\n  nominal 12 V\n  rules cfr-183', ['"Heron"'],
         [["nominal", (12, "V")], ["rules", "cfr-183"]]),
        ("system\n  ac 120/240 V split", [], [["ac", "120/240 V", "split"]]),
        ('battery house "House bank" 12.8 V, 280 Ah, lifepo4, parallel 2\n  range 12.0..14.4 V',
         ["house", '"House bank"', (12.8, "V")],
         [[(280, "Ah")], ["lifepo4"], ["parallel", 2.0], ["range", "12.0..14.4 V"]]),
        ("panel cabin blade, ways 12, return minus", ["cabin", "blade"], [["ways", 12.0], ["return", "minus"]]),
        ("inverter inv 1500 W\n  advised-wire pos 50 mm2 to 4 m", ["inv", (1500, "W")],
         [["advised-wire", "pos", "50 mm2", "to", (4, "m")]]),
        ("load a\n  terminal clamp 1.5..35 mm2\n  terminal neg lead 14 AWG", ["a"],
         [["terminal", "clamp", "1.5..35 mm2"], ["terminal", "neg", "lead", "14 AWG"]]),
        ('load a comparable-wire 4 mm2 "page 12"', ["a", "comparable-wire", "4 mm2", '"page 12"'], []),
        ("part roof-fan load, 4 A, works 11..15 V", ["roof-fan", "load"], [[(4, "A")], ["works", "11..15 V"]]),
        ('case anchor "At anchor" on lights, fridge, pump',
         ["anchor", '"At anchor"', "on", "lights"], [["fridge"], ["pump"]]),
        ("case a on x\n  share lights 50 %", ["a", "on", "x"], [["share", "lights", (50, "%")]]),
        ("stock 16 AWG, 14 AWG, 10 AWG", ["16 AWG"], [["14 AWG"], ["10 AWG"]]),
        ("stock at-most 4", ["at-most", 4.0], []),
        ('use "parts.plate"', ['"parts.plate"'], []),
        ('accept CP412 galley.run "existing cable"', ["CP412", "galley.run", '"existing cable"'], []),
        ('note "words, with a # in them"', ['"words, with a # in them"'], []),
        ("earth chassis conducts, 2 mohm", ["chassis", "conducts"], [[(2, "mohm")]]),
        ("converter conv in 24 V, out 12 V", ["conv", "in", (24, "V")], [["out", (12, "V")]]),
    ],
)  # fmt: skip
def test_declarations(text: str, head: list[Any], items: list[Any]) -> None:
    statement = one(text)
    assert isinstance(statement, Declaration)
    assert statement.keyword.text == text.split()[0]
    assert [brief(atom) for atom in statement.head] == head
    assert [[brief(atom) for atom in item.atoms] for item in statement.items] == items
    assert statement.span.text == text


@pytest.mark.parametrize(
    ("text", "elements"),
    [
        ("a -- b", ["a", 1, "b"]),
        ("a -//- 2 m -- b", ["a", 2, [[(2, "m")]], 1, "b"]),
        ("shore.ac-out -///- 3 m -- p", ["shore.ac-out", 3, [[(3, "m")]], 1, "p"]),
        ("a -////- 3 m -- p", ["a", 4, [[(3, "m")]], 1, "p"]),
        ("plus--[fuse]--1.2 m--inv.pos", ["plus", 1, {None: [["fuse"]]}, 1, [[(1.2, "m")]], 1, "inv.pos"]),
        ("cabin.3 -//- [10 A] -- 7 m, 12 AWG -- lights",
         ["cabin.3", 2, {None: [[(10, "A")]]}, 1, [[(7, "m")], ["12 AWG"]], 1, "lights"]),
        ("a -- [main: fuse class-t, 250 A, breaks 20 kA] -- b",
         ["a", 1, {"main": [["fuse", "class-t"], [(250, "A")], ["breaks", (20, "kA")]]}, 1, "b"]),
        ("a -- [breaker 30 A, poles 2] -- b", ["a", 1, {None: [["breaker", (30, "A")], ["poles", 2.0]]}, 1, "b"]),
        ("a -- 4.5 m, via port-locker, 10 AWG, insulation 90 degC, sheath -- b",
         ["a", 1, [[(4.5, "m")], ["via", "port-locker"], ["10 AWG"], ["insulation", (90, "degC")], ["sheath"]],
          1, "b"]),
        ("a -- 10 AWG, via x, 2 m, via y -- b", ["a", 1, [["10 AWG"], ["via", "x"], [(2, "m")], ["via", "y"]], 1, "b"]),
        ("cabin -//- 2 m -- lamp-a -- 1 m -- lamp-b",
         ["cabin", 2, [[(2, "m")]], 1, "lamp-a", 1, [[(1, "m")]], 1, "lamp-b"]),
        ("a -- [fuse] -- [switch] -- b", ["a", 1, {None: [["fuse"]]}, 1, {None: [["switch"]]}, 1, "b"]),
        ("a\n  -- 0.4 m -- [main: fuse]\n  -- 0.3 m --\n  b",
         ["a", 1, [[(0.4, "m")]], 1, {"main": [["fuse"]]}, 1, [[(0.3, "m")]], 1, "b"]),
        ("a -- 0.4 m\n  via x\n  -- b", ["a", 1, [[(0.4, "m")], ["via", "x"]], 1, "b"]),
        ("a -- [main:\n  fuse\n  class-t\n  ] -- b", ["a", 1, {"main": [["fuse"], ["class-t"]]}, 1, "b"]),
    ],
)  # fmt: skip
def test_runs(text: str, elements: list[Any]) -> None:
    statement = one(text)
    assert isinstance(statement, RunStatement)
    assert statement.name is None
    assert [brief(element) for element in statement.elements] == elements
    assert statement.span.text == text


def test_a_run_may_be_named() -> None:
    statement = one("galley-feed: plus -- 2 m -- galley")
    assert isinstance(statement, RunStatement)
    assert statement.name is not None and statement.name.text == "galley-feed"


WORDS = sorted(
    {*KINDS, *DEVICE_KINDS, *(a.word for kind in KINDS.values() for a in kind.attributes)}
    | {choice for kind in KINDS.values() for a in kind.attributes for choice in a.choices}
    | {"x", "in", "ft", "m", "h", "to", "via", "split", "awg", "min", "s"}
)


@pytest.mark.parametrize("word", [word for word in WORDS if word[0].isalpha()])
def test_every_word_of_the_language_may_be_a_name(word: str) -> None:
    plate = parsed(f"load {word} 5 A\n{word}: {word} -//- 2 m -- [{word}: fuse] -- {word} -- 3 m -- {word}.pos\n")
    declaration, run = plate.statements
    assert isinstance(declaration, Declaration) and brief(declaration.head[0]) == word
    assert isinstance(run, RunStatement) and run.name is not None and run.name.text == word
    assert [brief(e) for e in run.elements] == [
        word, 2, [[(2.0, "m")]], 1, {word: [["fuse"]]}, 1, word, 1, [[(3.0, "m")]], 1, f"{word}.pos",
    ]  # fmt: skip


def test_spans_are_exact() -> None:
    text = '# one\nload fridge "Fridge" 60 W,   works 10.5..15 V  # two\n  daily 10 h\nplus -//-  4.5 m --  fridge\n'
    plate = parsed(text)
    load, run = plate.statements
    assert isinstance(load, Declaration) and isinstance(run, RunStatement)
    places = [(a.span.text, a.span.line, a.span.column, a.span.end_column) for a in (load.keyword, *load.head)]
    assert places == [("load", 2, 1, 5), ("fridge", 2, 6, 12), ('"Fridge"', 2, 13, 21), ("60 W", 2, 22, 26)]
    places = [(i.span.text, i.span.line, i.span.column, i.span.end_column) for i in load.items]
    assert places == [("works 10.5..15 V", 2, 30, 46), ("daily 10 h", 3, 3, 13)]
    elements = [e.address.span if isinstance(e, End) else e.span for e in run.elements]
    assert [(s.text, s.line, s.column) for s in elements] == [
        ("plus", 4, 1), ("-//-", 4, 6), ("4.5 m", 4, 12), ("--", 4, 18), ("fridge", 4, 22),
    ]  # fmt: skip
    assert (load.span.line, load.span.end_line) == (2, 3)


def test_comments_belong_to_their_statement_or_to_the_plate() -> None:
    text = (
        "# head\n\nload a 5 A # at the end\n  # within\n  daily 2 h\n  # below\n# between\n  # between too\n"
        'load b "#" 3 A#glued\n\n  # after a blank line\n'
    )
    plate = parsed(text)
    first, second = plate.statements
    own_lines = [(c.text, c.own_line) for c in first.comments]
    assert own_lines == [(" at the end", False), (" within", True), (" below", True)]
    assert [c.text for c in second.comments] == ["glued"]
    assert [c.text for c in plate.comments] == [" head", " between", " between too", " after a blank line"]
    for comment in (*plate.comments, *first.comments, *second.comments):
        assert comment.span.text == f"#{comment.text}"


def test_a_line_break_stands_for_a_comma_and_a_comment_line_ends_nothing() -> None:
    expected = [[(5.0, "A")], ["daily", (2.0, "h")], ["critical"]]
    for text in (
        "load a, 5 A, daily 2 h, critical",
        "load a\n  5 A\n  daily 2 h\n  critical",
        "load a,\n  5 A,\n\tdaily 2 h\n  , critical",
        "load a\n\n# not the end\n  5 A, daily 2 h\n    # nor this\n\n\n  critical",
    ):
        statement = one(text)
        assert isinstance(statement, Declaration)
        assert [[brief(a) for a in item.atoms] for item in statement.items] == expected


def test_line_ends_tabs_marks_and_wide_blanks_are_tolerated() -> None:
    plain = 'load a "A" 5 A\n  daily 2 h\nplus -//- 2 m -- a\n'
    for data in (
        plain.encode(),
        b"\xef\xbb\xbf" + plain.encode(),
        plain.replace("\n", "\r\n").encode(),
        plain.replace("\n", "\r").encode(),
        plain.replace("  ", "\t").encode(),
        plain.replace("5 A", "5\u00a0A").replace("2 m", "2\u202fm").encode(),
    ):
        source, findings = syntax.read(data, "a.plate")
        assert source is not None and findings == ()
        plate, findings = syntax.parse(source)
        assert findings == ()
        load, run = plate.statements
        assert isinstance(load, Declaration) and isinstance(run, RunStatement)
        assert [brief(a) for a in load.head] == ["a", '"A"', (5.0, "A")] and brief(load.items[0].atoms[1]) == (2.0, "h")
        assert [brief(e) for e in run.elements] == ["plus", 2, [[(2.0, "m")]], 1, "a"]
    # The same where a text comes from an editor and not from a file.
    plate, findings = syntax.parse(Source("a.plate", "\ufeff" + plain.replace("\n", "\r\n")))
    assert findings == () and len(plate.statements) == 2
    assert plate.statements[0].span.column == 1


@pytest.mark.parametrize(
    ("data", "words", "line"),
    [
        (b"\x89PNG\r\n\x1a\n\x00\x00", "zero byte", 3),
        ("load a".encode("utf-16"), "UTF-16", 1),
        ("load a 5 A\nload b \"Kühler\" 5 A\n".encode("latin-1"), "0xfc", 2),
        (b"load a\n" + bytes([0xC0, 0xAF]), "0xc0", 2),
    ],
)
def test_what_is_no_text_is_a_finding(data: bytes, words: str, line: int) -> None:
    source, findings = syntax.read(data, "a.plate")
    assert source is None
    (found,) = findings
    assert found.code == "CP100" and words in found.message and found.help
    assert found.span is not None and found.span.line == line
