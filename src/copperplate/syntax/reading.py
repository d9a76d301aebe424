"""From a file's bytes to the tree of a plate. Nothing here fails: what cannot be read becomes a finding."""

from __future__ import annotations

import codecs
import gc
from dataclasses import replace
from typing import Any

from lark import Token, Tree
from lark.exceptions import UnexpectedInput

from copperplate.findings import Finding, make
from copperplate.syntax.building import Builder
from copperplate.syntax.grammar import parser
from copperplate.syntax.lines import Paragraph, survey
from copperplate.syntax.problems import Problem
from copperplate.syntax.recovery import is_run, mend, tokens_of
from copperplate.syntax.runs import check_ends
from copperplate.syntax.tree import (
    BadStatement,
    Comment,
    Declaration,
    End,
    Plate,
    RunStatement,
    Statement,
    Word,
)
from copperplate.syntax.words import read_word
from copperplate.text import Source, Span

_MOST_CUTS = 20
"""So often may a statement be cut again; past that the indent is past guessing, and guessing would take long."""


def read(data: bytes, name: str) -> tuple[Source | None, tuple[Finding, ...]]:
    """The text of a file: UTF-8, with or without a byte-order mark, lines ended in any usual way.

    None and a finding where it is something else.
    """
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return None, (_no_text(data, name, 0, utf16=True),)
    if b"\x00" in data:
        return None, (_no_text(data, name, data.index(b"\x00"), zero=True),)
    data = data.removeprefix(codecs.BOM_UTF8).replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    try:
        return Source(name, data.decode("utf-8")), ()
    except UnicodeDecodeError as error:
        return None, (_no_text(data, name, error.start, byte=f"{data[error.start]:#04x}"),)


def _no_text(data: bytes, name: str, at: int, **figures: Any) -> Finding:
    """The finding about the byte at `at`, placed in what of the file can be shown as text."""
    before = data[:at].decode("utf-8", "replace")
    source = Source(name, before + data[at:].decode("utf-8", "replace"))
    return make("CP100", name, Span(source, len(before), len(before) + 1), **figures)


def subject(statement: Statement) -> str:
    """What a finding about `statement` calls it."""
    if isinstance(statement, Declaration):
        first = statement.head[0] if statement.head else None
        return first.text if isinstance(first, Word) else statement.keyword.text
    if isinstance(statement, RunStatement):
        last = statement.elements[-1]
        return statement.name.text if statement.name else last.address.text if isinstance(last, End) else ""
    return statement.name or statement.keyword or (statement.words[0].text if statement.words else "")


def _unread(builder: Builder, piece: str, span: Span, comments: tuple[Comment, ...]) -> BadStatement:
    """What is left of a statement past mending: its words."""
    tokens = tokens_of(piece)
    words: list[Word] = []
    for token in tokens:
        if token.type == "WORD":
            start = builder.base + (token.start_pos or 0)
            atom = read_word(str(token))[0](Span(builder.source, start, start + len(token)))
            words += [atom] if isinstance(atom, Word) else []
    first = words[0].text if words else ""
    if is_run(tokens):
        named = len(tokens) > 1 and tokens[1].type == "COLON"
        return BadStatement("", first if named else "", span, comments, tuple(words))
    return BadStatement(first, words[1].text if len(words) > 1 else "", span, comments, tuple(words))


def _statements(builder: Builder, lines: Paragraph, cuts_left: int = _MOST_CUTS) -> list[Statement]:
    """The statement of these lines; several where some of them should not have been indented."""
    builder.base = lines.start
    piece = builder.text[lines.start : lines.end]
    span = Span(builder.source, lines.start, lines.end)
    cuts: list[int] = []
    known: set[int] = set()
    unsure = False
    tree: Tree[Token] | None
    try:
        tree = parser().parse(piece)
    except UnexpectedInput:
        mended = mend(piece)
        builder.problems += [problem.moved(lines.start) for problem in mended.problems]
        tree, unsure, known = mended.tree, mended.unsure, {lines.start + problem.start for problem in mended.problems}
        cuts = [] if mended.cut is None else [lines.start + mended.cut]
    statement: Statement | None = None
    if tree is not None and tree.data == "declaration":
        statement = builder.declaration(tree, span)
    elif tree is not None:
        run = builder.run(tree, span)
        checked = check_ends(run)
        builder.problems += [problem for problem in checked.problems if problem.start not in known]
        statement, cuts = checked.run, checked.cuts
    if cuts and cuts_left:
        return _cut(builder, lines, cuts, cuts_left - 1)
    if statement is None or unsure:
        return [_unread(builder, piece, span, lines.comments)]
    if not lines.comments:
        return [statement]
    return [_with_comments(statement, lines.comments)]


def _with_comments(statement: Statement, comments: tuple[Comment, ...]) -> Statement:
    if isinstance(statement, Declaration):
        return Declaration(statement.keyword, statement.head, statement.items, statement.span, comments)
    assert isinstance(statement, RunStatement)
    return RunStatement(statement.name, statement.elements, statement.span, comments)


def _cut(builder: Builder, lines: Paragraph, cuts: list[int], cuts_left: int) -> list[Statement]:
    """The statements of these lines, cut at the given offsets."""
    result: list[Statement] = []
    starts = [lines.start, *cuts]
    for start, following in zip(starts, (*cuts, lines.end), strict=True):
        end = start + len(builder.text[start:following].rstrip())
        last = start == starts[-1]
        comments = tuple([c for c in lines.comments if start <= c.span.start and (last or c.span.start < following)])
        result += _statements(builder, Paragraph(start, end, comments), cuts_left)
    return result


def _misspelled(builder: Builder) -> list[Problem]:
    """One problem a spelling, however often it stands in the plate."""
    result = []
    for problems in builder.misspelled.values():
        first, *others = problems
        numbers = [str(builder.source.position(problem.start)[0]) for problem in others]
        if numbers:
            listed = ", ".join(numbers[:5]) + (" and more" if len(numbers) > 5 else "")
            first = replace(first, figures={**first.figures, "lines" if len(numbers) > 1 else "line": listed})
        result.append(first)
    return result


def parse(source: Source) -> tuple[Plate, tuple[Finding, ...]]:
    """The tree of a plate and what is wrong with its text, in the order of the text. Never raises."""
    if source.text.startswith("\ufeff"):
        source = Source(source.name, source.text[1:])
    collecting = gc.isenabled()
    # A large plate is hundreds of thousands of small objects that all stay: collecting in between only costs.
    gc.disable()
    try:
        return _parse(source)
    finally:
        if collecting:
            gc.enable()


def _parse(source: Source) -> tuple[Plate, tuple[Finding, ...]]:
    surveyed = survey(source)
    builder = Builder(source, surveyed.text)
    statements: list[Statement] = []
    findings: list[Finding] = []
    for lines in surveyed.paragraphs:
        here = _statements(builder, lines)
        statements += here
        if builder.problems:
            findings += [problem.finding(source, subject(here[0])) for problem in builder.problems]
            builder.problems = []
    whole = [*surveyed.problems, *_misspelled(builder)]
    if not statements and not whole:
        whole.append(Problem("CP119", 0, 0))
    findings += [problem.finding(source, source.name) for problem in whole]
    findings.sort(key=lambda f: (f.span.start if f.span else 0, f.code))
    return Plate(source, tuple(statements), surveyed.comments), tuple(findings)
