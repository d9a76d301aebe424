"""A comparison as people read it in a terminal: marks and addresses to the left, safety first, one closing line."""

from __future__ import annotations

import re
from textwrap import wrap
from typing import Any

from copperplate.diff import sentences
from copperplate.findings.terminal import Paint, columns, harmless, plain

Json = dict[str, Any]
WIDEST = 22
"""Columns for addresses, at most; a longer one has its line to itself."""
_JOINT = re.compile(r"(?<=\d) (?=[%A-Za-z°]+\b|%)|(?<=\d) (?=-> )|(?<=->) ")
_NO_BREAK = "\u00a0"
STYLES = {"+": "try", "-": "error", "~": "warning", "!": "error"}


def text(document: Json, width: int = 100, paint: Paint = plain) -> str:
    """The whole comparison, at most `width` columns where words can be broken; ends with a line break."""
    written: list[str] = []
    for line in sentences.partial(document):
        written += _hung("", line, "", width)
    for line in sentences.register(document):
        written += _marked("!", line, width, paint)
    for finding in document["findings"]["new"]:
        written += _marked("!", f"new {finding['severity']} {finding['code']}  {finding['message']}", width, paint)
    lines = list(sentences.lines(document))
    room = min(max((columns(address) for _, address, _ in lines), default=0), WIDEST)
    for mark, address, sentence in lines:
        written += _line(mark, harmless(address), sentence, room, width, paint)
    for finding in document["findings"]["gone"]:
        written += _hung("  ", f"gone: {finding['severity']} {finding['code']} {finding['subject']}", "        ", width)
    totals = " · ".join(sentences.totals(document))
    written += _hung("  ", totals, "  ", width) if totals else []
    written += _hung("", sentences.closing(document), "", width)
    return "\n".join(written) + "\n"


def _marked(mark: str, line: str, width: int, paint: Paint) -> list[str]:
    first, *rest = _hung("", line, "", width - 2)
    return [f"{paint(mark, STYLES[mark])} {first}", *(f"  {other}" for other in rest)]


def _line(mark: str, address: str, sentence: str, room: int, width: int, paint: Paint) -> list[str]:
    """One change: `~ nav.run      4.0 m longer: ...`, wrapped under its own first word."""
    head = paint(mark, STYLES[mark]) if mark in STYLES else mark
    left = " " * (room + 4)
    first, *rest = _hung("", sentence, "", width - len(left))
    lines = [left + other for other in rest]
    if columns(address) > room:
        return [f"{head} {address}", left + first, *lines]
    return [f"{head} {address}{' ' * (room - columns(address))}  {first}", *lines]


def _hung(start: str, line: str, indent: str, width: int) -> list[str]:
    """`line` in lines of `width` columns; a number stays beside its unit and beside the arrow that leads to it."""
    bound = _JOINT.sub(_NO_BREAK, harmless(line))
    lines = wrap(
        bound, max(width, 24), initial_indent=start, subsequent_indent=indent, break_on_hyphens=False,
        break_long_words=False,
    )  # fmt: skip
    return [line.replace(_NO_BREAK, " ") for line in lines] or [start]
