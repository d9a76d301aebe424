"""Cuts a source into statements and comments, before any grammar."""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import pairwise

from copperplate.syntax.problems import Problem
from copperplate.syntax.tree import Comment
from copperplate.text import Source, Span

_TEXT_OR_COMMENT = re.compile(r'"(?:[^"\\\n]|\\.)*"|#[^\n]*|(?<=\S )//(?= )[^\n]*')
_GAUGE = re.compile(r"#(?=[0-9]+(?:/0)?(?: ?(?:AWG|awg|ga|gauge))?(?: *--| *,))")
"""`#14 AWG --`, as gauges are written by hand: what stands behind is no comment."""
_FIRST_COLUMN = re.compile(r"^[^ \n]", re.MULTILINE)
_INDENTED = re.compile(r"^ *(?=[^ \n])", re.MULTILINE)
_BLANK = re.compile("[\t\r\xa0\u1680\u2000-\u200a\u202f\u205f\u3000]")
"""Tabs, and the spaces of all widths that come along when text is pasted."""
UNPRINTABLE = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\x85\u200b\u2028-\u202e\u2060\u2066-\u2069\ud800-\udfff\ufeff\ufffe\uffff]"
)
"""Characters that no drawing can hold, that cannot be seen or that turn the order of others round, and line breaks that
are none here. They are read as blanks."""
_GOES_ON = re.compile(r"[-–—,\]\[.0-9]")
"""No statement begins with one of these: a line that does goes on with the one above."""


@dataclass(frozen=True, slots=True)
class Paragraph:
    """The lines of one statement: characters `start` to `end` of the source, with their comments."""

    start: int
    end: int
    comments: tuple[Comment, ...]


@dataclass(frozen=True, slots=True)
class Survey:
    """A source cut up. `text` is the source with a space in place of every character of a comment and of every kind
    of blank, so that every offset holds."""

    text: str
    paragraphs: tuple[Paragraph, ...]
    comments: tuple[Comment, ...]
    problems: tuple[Problem, ...]


def _comments(source: Source) -> tuple[str, list[Comment], list[Problem]]:
    """The text with blanks in place of its comments, the comments in order, and what was meant as one or was not."""
    text = source.text
    comments: list[Comment] = []
    problems: list[Problem] = []
    pieces: list[str] = []
    done = 0
    for match in _TEXT_OR_COMMENT.finditer(text):
        start, end = match.span()
        if text[start] == '"':
            continue
        gauge = _GAUGE.match(text, start)
        if gauge or text[start] == "/":
            end = start + 1 if gauge else end
            about = {"gauge": True} if gauge else {"comment": text[start + 2 : end].rstrip()}
            problems.append(Problem("CP110", start, start + (1 if gauge else 2), about))
            pieces += (text[done:start], " " * (end - start))
            done = end
            continue
        line_start = text.rfind("\n", 0, start) + 1
        own_line = not text[line_start:start].strip()
        words = text[start + 1 : end].rstrip()
        comments.append(Comment(words, Span(source, start, start + 1 + len(words)), own_line))
        pieces += (text[done:start], " " * (end - start))
        done = end
    return "".join((*pieces, text[done:])) if pieces else text, comments, problems


def _starts(text: str) -> tuple[list[int], list[Problem]]:
    """Where statements start, and lines whose indent does not fit."""
    starts: list[int] = []
    problems: list[Problem] = []
    columns = [match.start() for match in _FIRST_COLUMN.finditer(text)]
    prelude = text[: columns[0]] if columns else text
    if prelude.strip():
        # Nothing above these lines to go on with: read the least indented of them as statements all the same.
        lines = [match.span() for match in _INDENTED.finditer(prelude)]
        least = min(end - start for start, end in lines)
        starts = [end for at, (start, end) in enumerate(lines) if at == 0 or end - start == least]
        first, last = starts[0], prelude.find("\n", starts[0])
        problems.append(Problem("CP111", first, len(prelude) if last == -1 else last))
    for column in columns:
        if starts and _GOES_ON.match(text, column):
            end = text.find("\n", column)
            problems.append(Problem("CP111", column, len(text) if end == -1 else end, {"goes_on": True}))
        else:
            starts.append(column)
    return starts, problems


def _unprintable(source: Source) -> list[Problem]:
    """Characters that cannot be printed, the first of each line."""
    problems: dict[int, Problem] = {}
    for match in UNPRINTABLE.finditer(source.text):
        line = source.position(match.start())[0]
        code_point = f"{ord(match[0]):04X}"
        problems.setdefault(line, Problem("CP110", match.start(), match.end(), {"code_point": code_point}))
    return list(problems.values())


def survey(source: Source) -> Survey:
    """Statements, the comments within each, the comments between them, and lines that fit nowhere."""
    text, comments, mistaken = _comments(source)
    text = UNPRINTABLE.sub(" ", _BLANK.sub(" ", text))
    unprintable = _unprintable(source)
    starts, problems = _starts(text)
    paragraphs: list[Paragraph] = []
    free: list[Comment] = []
    at = 0
    for start, following in pairwise((*starts, len(text))):
        end = start + len(text[start:following].rstrip())
        while at < len(comments) and comments[at].span.start < start:
            free.append(comments[at])
            at += 1
        line_end = text.find("\n", end)
        line_end = len(text) if line_end == -1 else line_end
        first = at
        while at < len(comments) and comments[at].span.start < line_end:
            at += 1
        # Indented comments right below the last line still speak of this statement.
        while at < len(comments) and comments[at].span.start < following:
            below = text[line_end + 1 : comments[at].span.start]
            if not below or "\n" in below or below.strip():
                break
            line_end = comments[at].span.end
            at += 1
        paragraphs.append(Paragraph(start, end, tuple(comments[first:at])))
    free += comments[at:]
    return Survey(text, tuple(paragraphs), tuple(free), (*problems, *mistaken, *unprintable))
