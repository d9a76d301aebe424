"""A row of the table of findings, and how its templates become sentences.

A check yields a code, its subject, a span and figures; the words stand in the table, which is `rows/FAMILY.toml`.
There a row is `[CPnnn]` and gives the fields of `Entry` by their names, `by` only where it is not what `UNTIL` says,
and `"=NAME"` for what `rows/shared.toml` says once for several. A template's slots are figures:

    {x}               a number with three digits, a text as it is
    {x:5}             a number with five digits
    {x:A}             a number that the model counts in SI, written in a unit: 12.5 A
    {x:enough}        a number rounded up, `{x:enough A}` the same with a unit
    {x:fault}         a fault current: 950 A, 1.5 kA
    {x:names}         addresses in backticks: `a`, `b` and `c`
    {x:and}           the same, an `and` between any two
    {x:first 4}       so many of them: `a`, `b`, `c`, `d`, ...
    {x:who devices}   the address, or the count of several: `a`, 3 devices
    {x:list}          texts: a, b and c
    {x:any}           texts in backticks, one of which is meant: `a`, `b` or `c`
    {x:either}        texts, one of which is meant: a, b or c
    {x:an}            a noun with its article: an inverter
    {x:or}            texts, one of which is to be done: a; or b
    {x:if}            nothing: its text is taken only where the figure is there
    {x:beside y}      a number in as many digits as tell it from `y`: 3.002 beside 3
    {x:fuse|fuses}    a count with its noun: 1 fuse, 3 fuses; of several addresses or texts the noun alone

A figure that is None, False or an empty list is absent. A part `< so >` falls away where a figure of it is absent. Of
alternatives, which are a list, the first whose other figures are all there is taken; where none is, the text falls
away. Of notes `{ each = FIGURE, text = TEMPLATE }` is one for every mapping of figures, or address, that the figure
holds; the address is the figure `each`.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from types import MappingProxyType
from typing import Any, Literal, NamedTuple

from copperplate.units import UNITS, beside, enough, number, show

Severity = Literal["error", "warning", "advice"]
Who = Literal["designer", "owner", "maker", "installer", "licensed electrician"]
"""Whose answer or hand settles a finding."""
By = Literal["before ordering", "before work", "before power"]
"""Until when: before anything is bought, before it is built in, before it is switched on."""


class Each(NamedTuple):
    """A note for every mapping of figures, or address, that `each` holds; of more than `most` the rest is counted."""

    each: str
    text: str
    most: int = 1000


Text = str | tuple[str, ...]
"""A template, or alternatives of which the first whose figures are all there is taken."""


@dataclass(frozen=True, slots=True)
class Entry:
    """What the table says of one code. `measure` names the figures found and allowed, and their unit: a number stands
    for itself, and of `breaks|not stated` the text where the figure is absent. `related` are the labels of other places
    by the names that a check gives them; `edit` are texts that may stand in the place of the symptom, or of its one
    quantity in the same unit, each tried before it is offered. `question` is what the report asks of the reader, and
    rows that one answer settles share it."""

    severity: Severity
    title: str
    message: Text = ""
    label: Text = ""
    notes: tuple[Text | Each, ...] = ()
    help: Text = ""
    edit: tuple[str, ...] = ()
    rule: Text = ""
    measure: tuple[str | float, str | float, str] | None = None
    related: Mapping[str, Text] = field(default_factory=dict)
    who: Who = field(kw_only=True)
    by: By = field(kw_only=True)
    question: str = field(kw_only=True)


UNTIL: dict[Who, By] = {
    "designer": "before ordering",
    "owner": "before ordering",
    "maker": "before ordering",
    "installer": "before work",
    "licensed electrician": "before power",
}
"""Until when a row's finding is settled, by whom it is for, unless the row says another `by`."""

_SLOT = re.compile(r"\{(\w+)(?::([^{}]*))?\}")
_PART = re.compile(r"<([^<>]*)>")


def render(text: Text, figures: Mapping[str, Any]) -> str:
    """The sentence of a template with these figures; "" where no alternative has all of its own."""
    for alternative in alternatives(text):
        if all(_given(figures.get(name)) for name in slots(alternative)):
            words = _PART.sub(lambda part: part[1] if _whole(part[1], figures) else "", alternative)
            return _SLOT.sub(lambda slot: shown(figures[slot[1]], slot[2] or "", figures), words)
    return ""


def sentences(texts: Sequence[Text | Each], figures: Mapping[str, Any]) -> tuple[str, ...]:
    """The sentences of several templates with these figures, without those that fall away."""
    found: list[str] = []
    for text in texts:
        if isinstance(text, Each):
            each = [more if isinstance(more, Mapping) else {"each": more} for more in figures.get(text.each) or ()]
            found += [render(text.text, {**figures, **more}) for more in each[: text.most]]
            found += [f"and {len(each) - text.most} more"] if len(each) > text.most else []
        else:
            found.append(render(text, figures))
    return tuple(filter(None, found))


def measured(figure: str | float, figures: Mapping[str, Any]) -> Any:
    """A figure of a measure: see `Entry`. None where it is absent."""
    if not isinstance(figure, str):
        return figure
    name, _, instead = figure.partition("|")
    value = figures.get(name)
    return value if value is not None else instead or None


def alternatives(text: Text) -> tuple[str, ...]:
    """The alternatives of a template, in order; () for none."""
    return tuple(filter(None, (text,))) if isinstance(text, str) else text


@lru_cache(maxsize=1024)
def slots(alternative: str) -> tuple[str, ...]:
    """The figures that an alternative asks for, in the order in which it names them."""
    return tuple(dict.fromkeys(name for name, _ in _SLOT.findall(_PART.sub("", alternative))))


def _whole(part: str, figures: Mapping[str, Any]) -> bool:
    return all(_given(figures.get(name)) for name, _ in _SLOT.findall(part))


def shown(figure: Any, form: str = "", figures: Mapping[str, Any] = MappingProxyType({})) -> str:
    """A figure as a sentence shows it, among the others; see the module. KeyError for a form that there is not."""
    if form in ("names", "any"):
        return _joined([f"`{name}`" for name in figure], "and" if form == "names" else "or")
    if form == "and":
        return " and ".join(f"`{name}`" for name in figure)
    if form.startswith("first "):
        most = int(form.removeprefix("first "))
        return ", ".join([*(f"`{name}`" for name in figure[:most]), *(["..."] if len(figure) > most else [])])
    if form.startswith("who "):
        return f"`{figure[0]}`" if len(figure) == 1 else f"{len(figure)} {form.removeprefix('who ')}"
    if form in ("list", "either"):
        return _joined(list(figure), "and" if form == "list" else "or")
    if form == "if":
        return ""
    if form == "an":
        return an(figure)
    if form == "or":
        return "; or ".join(figure)
    if "|" in form:
        one, many = form.split("|")
        if not isinstance(figure, int | float):
            return one if len(figure) == 1 else many
        return f"{number(figure)} {one if figure == 1 else many}"
    if form == "fault":
        return f"{number(figure / 1000)} kA" if figure >= 1000 else f"{number(figure)} A"
    if isinstance(figure, str):
        return figure
    if form.startswith("enough"):
        unit = form.removeprefix("enough").strip()
        return f"{enough(figure)} {unit}".strip()
    if form.startswith("beside "):
        return beside(figure, figures[form.removeprefix("beside ")])
    if form in UNITS:
        return show(figure, form)
    if form.isdigit() or not form:
        return number(figure, int(form or 3))
    raise KeyError(form)


def _given(figure: Any) -> bool:
    return figure is not None and figure is not False and figure != () and figure != []


def an(noun: str) -> str:
    """The noun with its article: `a load`, `an inverter`."""
    return f"{'an' if noun[:1] in 'aeiou' else 'a'} {noun}"


def _joined(words: Sequence[str], last: str = "and") -> str:
    return f" {last} ".join(filter(None, (", ".join(words[:-1]), *words[-1:])))
