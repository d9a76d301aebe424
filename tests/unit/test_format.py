"""The one style: nothing is lost, nothing changes, a second pass changes nothing."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from copperplate import syntax
from copperplate.syntax import printer
from copperplate.syntax.tree import Declaration, Plate, SizeAtom
from copperplate.text import Source, Span

ROOT = Path(__file__).resolve().parents[2]


def formatted(text: str) -> str:
    """The plate in the one style; formatting it again must change nothing."""
    once, findings = syntax.format(Source("a.plate", text))
    assert findings == (), text
    twice, findings = syntax.format(Source("a.plate", once))
    assert (twice, findings) == (once, ())
    return once


def comments(plate: Plate) -> list[str]:
    own = [c for statement in plate.statements for c in statement.comments]
    return [c.text for c in sorted((*plate.comments, *own), key=lambda c: c.span.start)]


def check_same(text: str, once: str) -> None:
    """Same statements by the reader's own account, same comments, same findings."""
    before, findings_before = syntax.parse(Source("a.plate", text))
    after, findings_after = syntax.parse(Source("a.plate", once))
    assert printer.same(before.statements, after.statements)
    assert comments(before) == comments(after)
    assert [f.code for f in findings_before] == [f.code for f in findings_after]


@pytest.mark.parametrize(
    ("text", "style"),
    [
        ("load   a  \"A\"   60W,works 10.5..15V", 'load a "A" 60 W, works 10.5..15 V\n'),
        ("load a 30 °C, 35mm² , +5 A, .5 A, −3 V", "load a 30 degC, 35 mm2, 5 A, 0.5 A, -3 V\n"),
        ("load a 5ft6in, 6 1/2in, 10 .. 12V, 10 V..12 V", "load a 5 ft 6 in, 6 1/2 in, 10..12 V, 10..12 V\n"),
        ("load a 8x0.25A, 120/240V split, 3/8in, 12 mΩ", "load a 8 x 0.25 A, 120/240 V split, 3/8 in, 12 mohm\n"),
        ("load a 12.80 V, 05 A", "load a 12.80 V, 05 A\n"),
        ('note "a  \\"b\\"  #c"', 'note "a  \\"b\\"  #c"\n'),
        ("a--2 m--b", "a -- 2 m -- b\n"),
        ("cabin     -//-   [ 10 A ]  --  7 m ,12 AWG   -- x", "cabin -//- [10 A] -- 7 m, 12 AWG -- x\n"),
        ("f:a -- [m:fuse  5 A,poles 2] -- b", "f: a -- [m: fuse 5 A, poles 2] -- b\n"),
        # Whose line an item shares is the author's choice; the comma of a line break is left out.
        ("load a\n      5 A,\n\t\tdaily 2 h,critical", "load a\n  5 A\n  daily 2 h, critical\n"),
        # A run is wrapped before a stroke.
        ("a -- 2 m --\n     b --\n 3 m\n   -- c", "a -- 2 m\n  -- b\n  -- 3 m\n  -- c\n"),
        ("a -- 2 m\n  10 AWG -- [fuse\n  5 A\n  ] -- b", "a -- 2 m, 10 AWG -- [fuse, 5 A] -- b\n"),
        # Groups stand apart by one blank line; none is added, none is within a statement.
        ("\n\n\nload a 5 A\n\n\n\nload b 5 A\nload c 5 A\n\n   daily 2 h\n\n\n",
         "load a 5 A\n\nload b 5 A\nload c 5 A\n  daily 2 h\n"),
        # Comments stay where they are.
        ("#one\n\n#  two\nload a 5 A     # three\n      # four\n  daily 2 h# five\n#six\n\n  # seven",
         "#one\n\n#  two\nload a 5 A  # three\n  # four\n  daily 2 h  # five\n#six\n\n# seven\n"),
        ("a -- 2 m # one\n  -- b # two\n  # three", "a -- 2 m  # one\n  -- b  # two\n  # three\n"),
        ("a -- # one\n 3 m, # two\n via x # three\n -- [ # four\n main: fuse\n  # five\n class-t ] # six\n -- b",
         "a\n  --  # one\n  3 m  # two\n  via x  # three\n"
         "  -- [main: fuse  # four\n  # five\n  class-t]  # six\n  -- b\n"),
        ("load a 5 A\r\n  daily 2 h\r\n", "load a 5 A\n  daily 2 h\n"),
        ("\ufeffload a 5 A", "load a 5 A\n"),
        ("# only words", "# only words\n"),
        ("", ""),
        ("\n \n\t\n", ""),
    ],
)  # fmt: skip
def test_the_style(text: str, style: str) -> None:
    assert formatted(text) == style
    check_same(text, style)


def test_a_long_run_is_wrapped_at_strokes() -> None:
    text = "house.pos -- 0.4 m, via engine-room -- [main: fuse class-t, 250 A, breaks 20 kA] -- 0.3 m"
    text += " -- [isolator: switch 300 A] -- 0.9 m, via port-locker, 2/0 AWG, insulation 105 degC"
    text += " -- [shunt 500 A] -- plus"
    style = formatted(text)
    lines = style.splitlines()
    assert all(len(line) <= printer.WIDTH for line in lines) and len(lines) == 3
    assert all(line.startswith("  -- ") for line in lines[1:])
    check_same(text, style)


def test_a_long_declaration_is_wrapped_at_commas() -> None:
    text = "case evening on " + ", ".join(f"light-{n}" for n in range(40))
    style = formatted(text)
    assert all(len(line) <= printer.WIDTH and not line.endswith(",") for line in style.splitlines())
    check_same(text, style)


def test_a_line_that_cannot_be_wrapped_stays() -> None:
    text = f'load a "{"long " * 40}" 5 A, daily 2 h\n'
    assert formatted(text).startswith(text.split(", daily")[0])


def test_changing_one_line_touches_no_other() -> None:
    lines = [f'load x{n} "X" {n} A  # note {n}' for n in range(1, 9)]
    lines += [f"plus -//- {n} m -- x{n}" for n in range(1, 9)]
    before = formatted("\n".join(lines))
    lines[3] = f'load {"long-" * 9}name "A much longer title than before" 4 A'
    after = formatted("\n".join(lines))
    changed = [n for n, (a, b) in enumerate(zip(before.splitlines(), after.splitlines(), strict=True)) if a != b]
    assert changed == [3]


@pytest.mark.parametrize(
    "text",
    [
        "load a   5 MA\n   daily   2 h\n",
        "plus   [fuse  --   3 m --\n",
        "load   kühler 5 A\n",
        "  load   a 5 A\n",
        "load a 5 A\n  plus   -- 3 m -- b\n",
        'load   a "open\n',
    ],
)
def test_a_statement_with_a_mistake_stays_as_it_is_and_others_do_not(text: str) -> None:
    after = "load   b   5 A\n"
    assert formatted(text + after) == text + "load b 5 A\n"


def test_characters_that_cannot_be_printed_are_left_to_the_author() -> None:
    text = 'load   a "A\x07" 5 A\n'
    result, findings = syntax.format(Source("a.plate", text))
    assert result == text and [f.code for f in findings] == ["CP110"]


def test_a_printer_that_would_change_the_plate_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """Break the printer on purpose: what it prints must not get through."""
    text = "load   a 5 A  # why\na -- 10 AWG -- b\n"
    spell = printer.spell

    def thinner(atom):  # type: ignore[no-untyped-def]
        return "12 AWG" if isinstance(atom, SizeAtom) else spell(atom)

    with monkeypatch.context() as patch:
        patch.setattr(printer, "spell", thinner)
        result, findings = syntax.format(Source("a.plate", text))
        assert result == text and [f.code for f in findings] == ["CP118"]
    with monkeypatch.context() as patch:
        patch.setattr(printer, "_lay", lambda pieces, comments: [" ".join(p.text for p in pieces)])
        result, findings = syntax.format(Source("a.plate", text))
        assert result == text and [f.code for f in findings] == ["CP118"]
    assert formatted(text) == "load a 5 A  # why\na -- 10 AWG -- b\n"


def test_same_looks_at_everything_but_places() -> None:
    def tree(text: str) -> Plate:
        return syntax.parse(Source("a.plate", text))[0]

    base = tree("load a 5 A, x\na -- [m: fuse 3 A] -- 2 m -- b")
    assert printer.same(base.statements, tree("load  a  5A\n  x\na--[m:fuse 3A]--2m--b").statements)
    for other in (
        "load a 5 A\na -- [m: fuse 3 A] -- 2 m -- b",
        "load a 6 A, x\na -- [m: fuse 3 A] -- 2 m -- b",
        "load a 5 V, x\na -- [m: fuse 3 A] -- 2 m -- b",
        "load b 5 A, x\na -- [m: fuse 3 A] -- 2 m -- b",
        "load a 5 A, x\na -- [fuse 3 A] -- 2 m -- b",
        "load a 5 A, x\na -//- [m: fuse 3 A] -- 2 m -- b",
        "load a 5 A, x\nn: a -- [m: fuse 3 A] -- 2 m -- b",
        "load a 5 A, x",
    ):
        assert not printer.same(base.statements, tree(other).statements), other
    span = Span(base.source, 0, 1)
    assert not printer.same(SizeAtom("4", "mm2", span), SizeAtom("4", "AWG", span))


@pytest.mark.parametrize("path", sorted(ROOT.glob("examples/**/*.plate")), ids=lambda path: path.name)
def test_the_example_plates_keep_their_meaning(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    check_same(text, formatted(text))


def test_there_are_example_plates() -> None:
    assert len(list(ROOT.glob("examples/**/*.plate"))) >= 4


NAMES = st.sampled_from(["a", "b2", "port-locker", "x", "in", "ft", "m8", "fridge-2nd", "load", "via"])
ADDRESSES = st.builds(lambda name, port: name + port, NAMES, st.sampled_from(["", "", ".pos", ".3", ".in.neg"]))
VALUES = st.sampled_from(
    ["12V", "4.5 m", "5 ft 6 in", "3  %", "-0.27 %/K", "10AWG", "2/0 AWG", "35 mm²", "30 °C", "10.5 .. 15 V",
     "M8", "no-10", "3/8 in", "120/240 V", "12", "8x0.25 A", '"a # \\" b"', "+3 A", "6 1/2 in", "2 x 6 mm2",
     "14..2 AWG"]
)  # fmt: skip
ITEMS = st.builds(lambda words, value: " ".join([*words, *value]), st.lists(NAMES, min_size=1, max_size=2),
                  st.lists(VALUES, max_size=1)) | VALUES  # fmt: skip
BREAKS = st.sampled_from([", ", " ,", "\n  ", ",\n\t", "  # c\n  ", "\n  # own\n  ", "\n\n   "])
STROKES = st.sampled_from([" -- ", "--", "  --\n  ", "\n  -- ", " # d\n  -- ", " --  # e\n   "])


@st.composite
def declarations(draw: st.DrawFn) -> str:
    items = draw(st.lists(ITEMS, max_size=5))
    head = draw(st.sampled_from(["load", "bus", "part x"])) + " " + draw(NAMES)
    return head + "".join(draw(BREAKS) + item for item in items)


@st.composite
def runs(draw: st.DrawFn) -> str:
    text = draw(st.just("") | NAMES.map(lambda name: name + draw(st.sampled_from([": ", ":", ":  # f\n  "]))))
    text += draw(ADDRESSES)
    first = draw(st.sampled_from([" -- ", " -//- ", "-///-", "\n  -////- "]))
    for at in range(draw(st.integers(1, 4))):
        text += first if at == 0 else draw(STROKES)
        middle = draw(st.integers(0, 2))
        if middle == 1:
            items = draw(st.lists(VALUES, min_size=1, max_size=3))
            text += items[0] + "".join(draw(BREAKS) + item for item in items[1:]) + draw(STROKES)
        elif middle == 2:
            opening = draw(st.sampled_from(["[", "[ ", "[m: ", "[m:fuse ", "[  # g\n  "]))
            items = draw(st.lists(ITEMS, min_size=1, max_size=3))
            closing = draw(st.sampled_from(["]", " ]", "\n  ]", "  # h\n  ]"]))
            text += opening + items[0] + "".join(draw(BREAKS) + item for item in items[1:]) + closing + draw(STROKES)
        text += draw(ADDRESSES)
    return text


ENDS = st.sampled_from(["\n", "\n\n", "  # end\n", "\n\n\n\n# x\n"])
PLATES = st.lists(st.tuples(declarations() | runs() | st.just("# free"), ENDS), max_size=4).map(
    lambda parts: "".join(statement + end for statement, end in parts)
)


@settings(max_examples=150, deadline=None)
@given(PLATES)
def test_formatting_twice_equals_once_and_says_the_same(text: str) -> None:
    _, findings = syntax.parse(Source("a.plate", text))
    mistakes = {f.code for f in findings} - {"CP119"}
    # Two values side by side, a stud where a name is due, and a minus that runs into a stroke (`x---0.27 %/K`) are the
    # only mistakes that these pieces can make.
    assert mistakes <= {"CP105", "CP109", "CP113", "CP115", "CP117"}, text
    once = formatted(text)
    check_same(text, once)
    assert not once.startswith("\n") and not once.endswith("\n\n") and "\n\n\n" not in once
    if not mistakes:
        assert all(line == line.rstrip() for line in once.splitlines())


@settings(max_examples=150, deadline=None)
@given(st.text(alphabet=st.sampled_from("ab1 \n\t\"#,.:-/[]V°"), max_size=60))
def test_formatting_any_text_twice_equals_once(text: str) -> None:
    check_same(text, formatted(text))


def test_declarations_keep_their_order_and_kind() -> None:
    text = "load b 5 A\nload a 5 A\nbus c positive\n"
    plate, _ = syntax.parse(Source("a.plate", formatted(text)))
    assert [(s.keyword.text, syntax.subject(s)) for s in plate.statements if isinstance(s, Declaration)] == [
        ("load", "b"), ("load", "a"), ("bus", "c"),
    ]  # fmt: skip


def test_headings_of_sections_stay_in_the_first_column_with_the_blank_line_before_them() -> None:
    text = (
        "# Head\n# of the plate\n\n# The whole\n"
        'system "S"  # the boat\n  nominal 12 V\n  # said of the system\n  rules cfr-183\n\n# Sources\n\n'
        "battery b 12 V, 100 Ah\n# right below\nload a 5 A\n  # of the load\n\n# Runs\n"
        "b -//- [fuse] -- 3 m  # first\n  -- a  # second\n\n# The end\n"
    )
    assert formatted(text) == text
