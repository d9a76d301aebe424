"""Checks that a run begins and ends at components, and mends it where the intention is plain."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise

from copperplate.syntax.problems import Problem
from copperplate.syntax.tree import (
    Atom,
    Bad,
    Bracket,
    End,
    Item,
    Quantity,
    RunElement,
    RunStatement,
    Segment,
    SizeAtom,
    Stroke,
    Word,
)
from copperplate.text import Span


@dataclass(slots=True)
class Checked:
    """The run (None: past mending), what was wrong, and the offsets in the source at which lines of it read as
    statements of their own."""

    run: RunStatement | None
    problems: list[Problem] = field(default_factory=list)
    cuts: list[int] = field(default_factory=list)


def _on_new_line(left: Item, right: Item) -> bool:
    return "\n" in Span(left.span.source, left.span.end, right.span.start).text


def _lone_word(item: Item) -> bool:
    return len(item.atoms) == 1 and isinstance(item.atoms[0], Word)


def _statement_within(segment: Segment, last: bool) -> Atom | None:
    """The first word of an indented line, behind an end, that reads as a statement: it begins with a word alone and
    goes on with a stroke, or it is the run's last and begins with two words, as declarations do."""
    items = segment.items
    if not _lone_word(items[0]):
        return None
    if not last:
        alone = len(items) > 1 and _lone_word(items[-1]) and _on_new_line(items[-2], items[-1])
        return items[-1].atoms[0] if alone else None
    for left, right in pairwise(items):
        if _on_new_line(left, right) and len(right.atoms) > 1 and all(isinstance(a, Word) for a in right.atoms[:2]):
            return right.atoms[0]
    return None


def _forgotten_stroke(segment: Segment) -> tuple[RunElement, ...] | None:
    """`-- 4.5 m fridge`: the stretch, the stroke that was forgotten, and the end."""
    atoms = segment.items[-1].atoms
    if len(atoms) < 2 or not isinstance(atoms[-1], Word) or not isinstance(atoms[-2], Quantity | SizeAtom):
        return None
    rest = Item(atoms[:-1], atoms[0].span.to(atoms[-2].span))
    stretch = Segment((*segment.items[:-1], rest), segment.span.to(rest.span))
    here = Span(segment.span.source, rest.span.end, rest.span.end)
    return stretch, Stroke(1, here), End(atoms[-1])


def _last(run: RunStatement, checked: Checked) -> None:
    """What stands where an end should."""
    last = run.elements[-1]
    if isinstance(last, Bracket):
        checked.problems.append(Problem("CP106", last.span.start, last.span.end, {"device": last.span.text}))
        checked.run = None
    elif isinstance(last, Segment):
        mended = _forgotten_stroke(last)
        if mended:
            stretch, stroke, end = mended
            assert isinstance(end, End) and isinstance(stroke, Stroke)
            written = Span(last.span.source, last.items[-1].span.start, stroke.span.start).text
            name, span = end.address.text, end.address.span
            missing = Problem("CP105", span.start, span.end, {"before": f"`{name}`", "instead": f"{written} -- {name}"})
            checked.problems.append(missing)
            checked.run = RunStatement(run.name, (*run.elements[:-1], stretch, stroke, end), run.span, run.comments)
            return
        first = last.items[0]
        if all(isinstance(atom, Bad) for item in last.items for atom in item.atoms):
            # A name that cannot be read has its own finding.
            checked.run = None
            return
        span, about = last.span, {}
        if len(last.items) > 1 and _lone_word(first):
            span, about = last.items[1].span, {"end": first.span.text}
        elif isinstance(first.atoms[0], Word) and len(first.atoms) > 1 and isinstance(first.atoms[1], Quantity):
            turned = f"{Span(span.source, first.atoms[1].span.start, span.end).text} -- {first.atoms[0].span.text}"
            about = {"instead": turned}
        checked.problems.append(Problem("CP106", span.start, span.end, about))
        checked.run = None


def check_ends(run: RunStatement) -> Checked:
    """Looks at the end of a run, and for lines in it that should have begun in the first column."""
    checked = Checked(run)
    for element in run.elements:
        if isinstance(element, Segment) and len(element.items) > 1:
            word = _statement_within(element, element is run.elements[-1])
            if word is not None:
                checked.problems.append(Problem("CP115", word.span.start, word.span.end))
                checked.cuts.append(word.span.start)
    if checked.cuts:
        return checked
    _last(run, checked)
    return checked
