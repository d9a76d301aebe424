"""Findings as people read them in a terminal: one headline with its figures, the place with its line of the plate
and marks under it, what is so (`=`), what to do (`try`).

Plain text first: colour, where it is asked for, adds nothing that words and marks do not say. Everything that
comes from a plate is made harmless before it is shown (control characters would reach the terminal otherwise).
"""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Iterable, Sequence
from textwrap import wrap

from copperplate.findings.model import SEVERITIES, Finding, Severity
from copperplate.text import Span
from copperplate.units import counted

Paint = Callable[[str, str], str]
"""Gives a text in a style: "error", "warning", "advice", "place", "try", "strong"."""

ESCAPES = {
    "error": "\x1b[1;31m", "warning": "\x1b[1;33m", "advice": "\x1b[1;36m",
    "place": "\x1b[2m", "try": "\x1b[32m", "strong": "\x1b[1m",
}  # fmt: skip


def plain(text: str, style: str) -> str:
    """No colour."""
    return text


def coloured(text: str, style: str) -> str:
    """Colour by the escapes that every terminal knows."""
    return f"{ESCAPES[style]}{text}\x1b[0m"


def harmless(text: str) -> str:
    """`text` with every character that is no printable one replaced: nothing in a plate may steer a terminal."""
    return "".join(c if c.isprintable() else " " if c.isspace() else "\ufffd" for c in text)


def columns(text: str) -> int:
    """How many columns of a terminal `text` takes: two for wide characters, none for combining marks."""
    return sum(_columns_of(c) for c in text)


def one_line(finding: Finding, folder: str, otherwise: str) -> str:
    """One finding in one line: FILE:LINE:COLUMN: SEVERITY CODE MESSAGE. One without a place stands at the head of the
    plate, which is called `otherwise`."""
    span = finding.span
    place = f"{folder}{span.source.name}:{span.line}:{span.column}" if span is not None else f"{otherwise}:1:1"
    return harmless(f"{place}: {finding.severity} {finding.code} {finding.message}")


def render(finding: Finding, width: int, folder: str = "", paint: Paint = plain) -> str:
    """The lines of one finding, at most `width` columns where words can be broken; ends with a line break."""
    head = f"{finding.severity} {finding.code}  "
    message = _lines(harmless(finding.message), width - len(head))
    lines = [paint(f"{finding.severity} {finding.code}", finding.severity) + "  " + paint(message[0], "strong")]
    lines += [" " * len(head) + paint(line, "strong") for line in message[1:]]
    places = [(finding.span, finding.label, "^")] if finding.span is not None else []
    places += [(related.span, related.label, "-") for related in finding.related]
    names = [harmless(f"{folder}{span.source.name}:{span.line}") for span, _, _ in places]
    pad = max(map(columns, names), default=0)
    for (span, label, mark), name in zip(places, names, strict=True):
        shown = name + " " * (pad - columns(name))
        lines += _place(span, harmless(label), mark, shown, width, finding.severity, paint)
    for note in finding.notes:
        lines += _hanging("  = ", harmless(note), width)
    if finding.help:
        lines += _hanging("  " + paint("try", "try") + " ", harmless(finding.help), width, indent=6)
    return "\n".join(lines) + "\n"


def closing(findings: Sequence[Finding], name: str, runs: int | None, devices: int | None) -> str:
    """The closing line of one plate. `runs` and `devices` None where the plate makes no system."""
    open_findings = [f for f in findings if f.accepted is None]
    accepted = sum(1 for f in findings if f.accepted is not None)
    also = f", {accepted} accepted" if accepted else ""
    if open_findings:
        of = f" ({counted(runs, 'run')})" if runs is not None else ""
        return f"{counts(open_findings)}{also} in {harmless(name)}{of}"
    parts = [counted(n, noun) for n, noun in ((runs, "run"), (devices, "device")) if n is not None]
    return f"{harmless(name)}: {', '.join([*parts, 'nothing to say'])}{also}"


def counts(findings: Iterable[Finding]) -> str:
    """"2 errors, 1 warning": what there is, by weight."""
    severities = [f.severity for f in findings]
    numbers = [(severities.count(severity), severity) for severity in SEVERITIES]
    return ", ".join(counted(n, severity, "advice" if severity == "advice" else "") for n, severity in numbers if n)


def _place(
    span: Span, label: str, mark: str, shown: str, width: int, severity: Severity, paint: Paint
) -> list[str]:
    """The line of the plate and the marks under it. A line too long for the terminal is cut on both sides of
    the marks; a label that does not fit beside its marks goes below them."""
    prefix = f"  {shown}  "
    room = max(width - columns(prefix), 30)
    before, marked, after = _split(span)
    if not (before or marked or after):
        return [paint(prefix.rstrip(), "place") + (f"  {label}" if label else "")]
    before, marked, after = _fit(before, marked, after, room)
    under = " " * columns(prefix + before)
    marks = mark * max(columns(marked), 1)
    lines = [paint(prefix, "place") + before + marked + after]
    if not label:
        return [*lines, under + paint(marks, severity)]
    if columns(under + marks) + 1 + columns(label) <= width:
        return [*lines, f"{under}{paint(marks, severity)} {label}"]
    lines.append(under + paint(marks, severity))
    start = max(min(columns(under), width - columns(label)), len("  = "))
    return lines + [" " * start + part for part in _lines(label, width - start)]


def _split(span: Span) -> tuple[str, str, str]:
    """The first line of a span without its indent: before, inside and after the marks."""
    line = span.source.line(span.line)
    start = span.column - 1
    end = span.end_column - 1 if span.end_line == span.line else len(line.rstrip())
    indent = min(len(line) - len(line.lstrip()), start)
    return (
        harmless(line[indent:start]),
        harmless(line[start : max(end, start)]),
        harmless(line[max(end, start) :].rstrip()),
    )


def _fit(before: str, marked: str, after: str, room: int) -> tuple[str, str, str]:
    """The same three texts in `room` columns, with `…` where something was cut away."""
    if columns(before + marked + after) <= room:
        return before, marked, after
    if columns(marked) > room - 2:
        marked = _head(marked, room - 3) + "…"
        after = ""
    space = max(room - columns(marked), 0)
    wanted = min(columns(before), max(space * 2 // 3, space - columns(after)))
    if columns(before) > wanted:
        before = "…" + _head(before[::-1], max(wanted - 1, 0))[::-1]
    left = room - columns(before + marked)
    if columns(after) > left:
        after = _head(after, left - 1) + "…" if left > 0 else ""
    return before, marked, after


def _head(text: str, room: int) -> str:
    """As much of the start of `text` as `room` columns hold."""
    taken = 0
    for index, character in enumerate(text):
        taken += _columns_of(character)
        if taken > room:
            return text[:index]
    return text


def _columns_of(character: str) -> int:
    if unicodedata.combining(character):
        return 0
    return 2 if unicodedata.east_asian_width(character) in "WF" else 1


def _lines(text: str, room: int) -> list[str]:
    """`text` in lines of `room` columns; a name is never broken at its hyphen."""
    return wrap(text, max(room, 24), break_on_hyphens=False, break_long_words=False) or [""]


def _hanging(start: str, text: str, width: int, indent: int = 4) -> list[str]:
    first, *rest = _lines(text, width - indent)
    return [start + first, *(" " * indent + line for line in rest)]
