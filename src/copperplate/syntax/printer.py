"""The one style of a plate. Spacing, spelling of units and wrapping are the printer's; which items share a line, where
a run is wrapped and which statements stand together is the author's, so that a small change stays small."""

from __future__ import annotations

from dataclasses import dataclass, fields, is_dataclass
from typing import Any

from copperplate.findings import Finding, make
from copperplate.syntax.lines import UNPRINTABLE
from copperplate.syntax.reading import parse
from copperplate.syntax.tree import (
    STROKES,
    Atom,
    BadStatement,
    Bracket,
    Comment,
    Count,
    Declaration,
    End,
    Item,
    Number,
    Pair,
    Plate,
    Quantity,
    Range,
    RunElement,
    RunStatement,
    SizeAtom,
    Statement,
    Stroke,
    StudAtom,
    Unknown,
    Word,
)
from copperplate.text import Source, Span

WIDTH = 100
"""A line longer than this is wrapped where it can be: at a comma, in a run at a stroke."""
_INDENT = "  "


@dataclass(frozen=True, slots=True)
class _Piece:
    """Text that stays together, where it stood, and what joins it to the piece before: ", " gives way to a line
    break, any other joint stands beside one. `fresh`: it began a line; `whole` is the width that a line needs
    from here to the next place where it may be wrapped (0: no wrapping before this piece)."""

    text: str
    span: Span
    joint: str = " "
    fresh: bool = False
    whole: int = 0


def spell(atom: Atom) -> str:
    """One value in the one spelling."""
    match atom:
        case Quantity(written=written) | Number(written=written):
            return written
        case SizeAtom(number=number, system=system):
            return f"{number} {system}"
        case Range(low=low, high=high, unit=unit):
            return f"{low}..{high} {unit}"
        case Pair(low=low, high=high, unit=unit):
            return f"{low}/{high} {unit}"
        case Count(count=count, each=each):
            return f"{count} x {spell(each)}"
        case Unknown(unit=unit):
            return f"? {unit}"
        case StudAtom(name=text) | Word(text=text):
            return text
        case _:
            # Texts with their escapes, and whatever could not be read, as they were written.
            return atom.span.text


def _spell_item(item: Item) -> str:
    return " ".join([spell(atom) for atom in item.atoms])


def _breaks_between(left: Span, right: Span) -> bool:
    return "\n" in left.source.text[left.end : right.start]


def _declaration(statement: Declaration) -> list[_Piece]:
    atoms = [statement.keyword, *statement.head]
    last = atoms[-1].span
    pieces = [_Piece(" ".join(map(spell, atoms)), statement.keyword.span.to(last))]
    for item in statement.items:
        text = _spell_item(item)
        pieces.append(_Piece(text, item.span, ", ", _breaks_between(last, item.span), len(text)))
        last = item.span
    return pieces


def _element(element: RunElement) -> list[_Piece]:
    """What stands between two strokes. Only a comment may break a line within it."""
    if isinstance(element, Stroke):
        return [_Piece(STROKES[element.conductors], element.span)]
    if isinstance(element, End):
        return [_Piece(spell(element.address), element.address.span)]
    texts = [_spell_item(item) for item in element.items]
    spans = [item.span for item in element.items]
    if isinstance(element, Bracket):
        opening = f"[{spell(element.name)}: " if element.name else "["
        texts = [f"{opening}{texts[0]}", *texts[1:]]
        texts[-1] += "]"
        spans[0] = Span(element.span.source, element.span.start, spans[0].end)
    return [_Piece(text, span, ", " if at else " ") for at, (text, span) in enumerate(zip(texts, spans, strict=True))]


def _run(statement: RunStatement) -> list[_Piece]:
    pieces: list[_Piece] = []
    if statement.name:
        pieces.append(_Piece(f"{spell(statement.name)}:", statement.name.span))
    pieces += _element(statement.elements[0])
    last = pieces[-1].span
    for stroke, element in zip(statement.elements[1::2], statement.elements[2::2], strict=True):
        assert isinstance(stroke, Stroke)
        behind = _element(element)
        fresh = _breaks_between(last, stroke.span) or _breaks_between(stroke.span, behind[0].span)
        mark = STROKES[stroke.conductors]
        width = len(mark) + sum(len(piece.joint) + len(piece.text) for piece in behind)
        pieces += [_Piece(mark, stroke.span, " ", fresh, width), *behind]
        last = element.address.span if isinstance(element, End) else element.span
    return pieces


def _lay(pieces: list[_Piece], comments: tuple[Comment, ...]) -> list[str]:
    """The lines of one statement."""
    lines: list[str] = []
    line, commented, at = "", False, 0
    for piece, following in zip(pieces, (*pieces[1:], None), strict=True):
        begins = commented or piece.fresh or (piece.whole and len(line) + len(piece.joint) + piece.whole > WIDTH)
        if line and begins:
            lines.append(line)
            line = ""
        line = f"{line}{piece.joint}{piece.text}" if line else f"{_INDENT if lines else ''}{piece.text}"
        commented = False
        while at < len(comments) and (following is None or comments[at].span.start < following.span.start):
            mark = f"#{comments[at].text}"
            if comments[at].own_line or commented:
                lines.append(line)
                line = f"{_INDENT}{mark}"
            else:
                line = f"{line}  {mark}"
            commented = True
            at += 1
    return [*lines, line]


def _as_written(statement: Statement, done: int) -> tuple[list[str], int]:
    """The lines of a statement with mistakes in it, from the offset `done` on (one line may hold the ends of two such
    statements), and the offset of the first line behind them. Nothing of it is touched."""
    text = statement.span.source.text
    start = max(done, text.rfind("\n", 0, statement.span.start) + 1)
    end = text.find("\n", _end(statement))
    end = len(text) if end == -1 else end
    return text[start:end].split("\n") if start < end else [], end + 1


def _end(part: Statement | Comment) -> int:
    if isinstance(part, Comment):
        return part.span.end
    return max([part.span.end, *[comment.span.end for comment in part.comments]])


def _styled(part: Declaration | RunStatement) -> list[str]:
    return _lay(_declaration(part) if isinstance(part, Declaration) else _run(part), part.comments)


def _print(plate: Plate, mistakes: list[int]) -> str:
    """The whole plate; `mistakes` are the offsets of its findings, ascending."""
    parts: list[Statement | Comment] = sorted((*plate.statements, *plate.comments), key=lambda part: part.span.start)
    text = plate.source.text
    lines: list[str] = []
    last, at, done = -1, 0, 0
    for part in parts:
        if last >= 0 and text.count("\n", last, part.span.start) > 1:
            lines.append("")
        last = _end(part)
        while at < len(mistakes) and mistakes[at] < part.span.start:
            at += 1
        line_end = text.find("\n", last)
        mistaken = at < len(mistakes) and (mistakes[at] <= last or mistakes[at] < line_end)
        if isinstance(part, Comment):
            lines.append(f"#{part.text}")
        elif mistaken or isinstance(part, BadStatement) or part.span.column > 1:
            written, done = _as_written(part, done)
            lines += written
        else:
            lines += _styled(part)
    return "".join(f"{line}\n" for line in lines)


def same(left: Any, right: Any) -> bool:
    """Whether two trees say the same, wherever it stands."""
    if isinstance(left, tuple):
        return len(left) == len(right) and all(map(same, left, right))
    if type(left) is not type(right):
        return False
    if not is_dataclass(left):
        return bool(left == right)
    names = [f.name for f in fields(left) if f.name not in ("span", "comments")]
    return all(same(getattr(left, name), getattr(right, name)) for name in names)


def _comment_texts(plate: Plate) -> list[str]:
    comments = [*plate.comments, *[comment for statement in plate.statements for comment in statement.comments]]
    return [comment.text for comment in sorted(comments, key=lambda comment: comment.span.start)]


def format(source: Source) -> tuple[str, tuple[Finding, ...]]:
    """The plate in the one style. Statements with mistakes in them stay as they are.

    Where characters cannot be printed, or the result would not say the same with the same comments, the text comes
    back as it was, with findings that say why.
    """
    plate, findings = parse(source)
    if UNPRINTABLE.search(plate.source.text):
        return source.text, tuple([f for f in findings if f.span and UNPRINTABLE.match(f.span.text)])
    mistakes = sorted(f.span.start for f in findings if f.span is not None)
    text = _print(plate, mistakes)
    again, found_again = parse(Source(source.name, text))
    unchanged = (
        [f.code for f in findings] == [f.code for f in found_again]
        and same(plate.statements, again.statements)
        and _comment_texts(plate) == _comment_texts(again)
    )
    if unchanged:
        return text, ()
    return source.text, (make("CP118", source.name, Span(source, 0, 0)),)
