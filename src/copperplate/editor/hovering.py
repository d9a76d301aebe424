"""What is shown where the pointer rests: what a word means, and why a run has its size."""

from __future__ import annotations

from copperplate.editor.completion import meaning
from copperplate.editor.open_plates import Known
from copperplate.model.kinds import COMMON, KINDS
from copperplate.syntax.tree import Bracket, Declaration, Item, RunStatement, Segment, Statement, Stroke, Text, Word
from copperplate.text import Span
from copperplate.why import ladder, run_of

COLUMNS = 96


def hover(known: Known, offset: int) -> tuple[str, Span] | None:
    """Words in Markdown for the character at `offset`, and the span that they are about; None where there is nothing
    to say."""
    statement = next((s for s in known.tree.statements if s.span.start <= offset <= s.span.end), None)
    if statement is None:
        return None
    if (name := known.at(offset)) is not None:
        words = [*_declared(known, name.name), *_reason(known, name.name)]
        return ("\n\n".join(words), name.span) if words else None
    if isinstance(statement, Declaration):
        return _word(statement, offset)
    return _stretch(known, statement, offset)


def _declared(known: Known, name: str) -> list[str]:
    """The title and the kind of what is called `name`."""
    for tree in (known.tree, *known.used):
        for statement in tree.statements:
            first = statement.head[0] if isinstance(statement, Declaration) and statement.head else None
            if isinstance(statement, Declaration) and isinstance(first, Word) and first.text == name:
                kind = KINDS.get(statement.keyword.text)
                title = next((atom.text for atom in statement.head if isinstance(atom, Text)), "")
                heading = f"`{statement.keyword.text} {name}`" + (f" {_plain(title)}" if title else "")
                return [heading + (f": {kind.meaning}" if kind is not None else "")]
    return []


def _reason(known: Known, name: str) -> list[str]:
    """The load's volts and the ladder of its run, from the last design."""
    design = known.design
    if design is None:
        return []
    load = design.loads.get(name)
    volts = (
        f"{load.voltage_v:.4g} V at the load, {load.drop_percent:.2g} of {load.budget_percent:.2g} %" if load else ""
    )
    run = run_of(design, name)
    shown = f"```text\n{ladder(design, run, COLUMNS).rstrip()}\n```" if run is not None else ""
    return [words for words in (volts, shown) if words]


def _word(statement: Declaration, offset: int) -> tuple[str, Span] | None:
    """The meaning of a kind's word or of an attribute's."""
    kind = KINDS.get(statement.keyword.text)
    if kind is None:
        return None
    if _holds(statement.keyword.span, offset):
        says = ", ".join(f"`{a.word}`" for a in kind.attributes)
        return f"`{kind.word}`: {kind.meaning}" + (f"\n\nsays {says}" if says else ""), statement.keyword.span
    items = (Item(statement.head, statement.span), *statement.items)
    for atom in (atom for item in items for atom in item.atoms):
        if isinstance(atom, Word) and _holds(atom.span, offset):
            for attribute in (*kind.attributes, *COMMON):
                if atom.text == attribute.word or atom.text in attribute.choices:
                    return f"`{attribute.word}`: {meaning(attribute)}", atom.span
    return None


def _stretch(known: Known, statement: Statement, offset: int) -> tuple[str, Span] | None:
    """The ladder of the run whose strokes or segments the pointer rests on."""
    if known.design is None or not isinstance(statement, RunStatement):
        return None
    for element in statement.elements:
        if isinstance(element, Stroke | Segment | Bracket) and _holds(element.span, offset):
            for run in known.design.system.runs.values():
                if run.span.source.text == known.source.text and _holds(run.span, offset):
                    return f"```text\n{ladder(known.design, run.id, COLUMNS).rstrip()}\n```", element.span
    return None


def _holds(span: Span, offset: int) -> bool:
    return span.start <= offset <= span.end


def _plain(text: str) -> str:
    """Text of a plate that no reader of Markdown takes for marks."""
    return "".join(f"\\{c}" if c in "\\`*_{}[]()<>#+-.!|~" else c for c in text)
