"""What mends a finding by itself: edits of the plate's text, each tried on the whole plate first. Floor 8.

A row of the table of findings says what may stand in the place of the symptom. An edit is offered where the plate that
has it no longer has the finding, and nothing is wrong that was not before. It is `safe` where it is a matter of
writing alone (families 1 and 2 of the codes) and the only one that serves: no figure of a design is a matter of
writing.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from copperplate.findings import Finding
from copperplate.making import Made, Texts, make
from copperplate.text import Source, Span

WRITING = ("CP1", "CP2")
"""Families of what is wrong in the writing."""
MOST_ROUNDS = 100
"""So many edits are made in one plate at most."""
MOST_TRIED = 40
"""Of so many findings, the first, edits are tried: each try compiles the plate again."""
LARGEST = 50_000
"""Letters of the largest plate that is compiled again for this."""
_QUANTITY = re.compile(r"\d+(?:[./]\d+)? ?(AWG|mm2|A|V|m|ft|in)")


@dataclass(frozen=True)
class Fix:
    """An edit that mends a finding: `text` in the place of `span`."""

    finding: Finding
    span: Span
    text: str
    safe: bool

    @property
    def title(self) -> str:
        """What it does, in words."""
        return f"`{self.text}` in place of `{self.span.text}`" if self.span.text else f"add `{self.text}`"

    def applied(self) -> str:
        """The whole text of the file with this edit."""
        whole = self.span.source.text
        return whole[: self.span.start] + self.text + whole[self.span.end :]


@dataclass(frozen=True)
class _With:
    """Texts of which one is another."""

    texts: Texts
    name: str
    data: bytes

    def get(self, name: str, /) -> bytes | None:
        return self.data if name == self.name else self.texts.get(name)


def fixes(
    made: Made, texts: Texts, among: Sequence[Finding] | None = None
) -> Iterator[tuple[Finding, tuple[Fix, ...]]]:
    """For each open finding (`among` some of them) that an edit mends, the edits that serve, in the order of its row.
    `texts` are those that the plate was made from."""
    standing = [f for f in (made.open_findings if among is None else among) if f.edits]
    if sum(len(source.text) for source in made.sources.values() if source is not None) > LARGEST:
        return
    for finding in standing[:MOST_TRIED]:
        found = [fix for fix in _candidates(finding) if _serves(fix, made, texts)]
        if found:
            alone = len(found) == 1 and finding.code.startswith(WRITING) and finding.severity == "error"
            yield finding, tuple(replace(fix, safe=alone) for fix in found)


@dataclass(frozen=True)
class Mended:
    """What every safe edit makes of a plate, one after the other: the files that change, the edits, and all texts."""

    changed: Mapping[str, Source]
    done: tuple[Fix, ...]
    texts: Texts


def fixed(made: Made, texts: Texts) -> Mended:
    """Make every safe edit. `texts` are those that the plate was made from."""
    changed: dict[str, Source] = {}
    done: list[Fix] = []
    for _ in range(MOST_ROUNDS):
        slips = [f for f in made.open_findings if f.code.startswith(WRITING)]
        fix = next((only for _, (only, *more) in fixes(made, texts, slips) if only.safe and not more), None)
        if fix is None:
            break
        name = fix.span.source.name
        changed[name] = Source(name, fix.applied())
        texts = _With(texts, name, changed[name].text.encode())
        made = make(texts, made.name, made.folder, made.called)
        done.append(fix)
    return Mended(changed, tuple(done), texts)


def _candidates(finding: Finding) -> Iterator[Fix]:
    span = finding.span
    for text in finding.edits if span is not None else ():
        if span is None or text == span.text:
            continue
        quantity, standing = _QUANTITY.fullmatch(text), list(_QUANTITY.finditer(span.text))
        if quantity is not None and standing and standing[0][0] != span.text:
            places = [place for place in standing if place[1] == quantity[1]]
            if len(places) == 1:
                start, end = (span.start + at for at in places[0].span())
                yield Fix(finding, Span(span.source, start, end), text, False)
        else:
            yield Fix(finding, span, text, False)


def _serves(fix: Fix, made: Made, texts: Texts) -> bool:
    """Whether the finding is gone with the edit and nothing new is wrong. Of a mistake of writing: nothing new in the
    writing, for what it hid comes to light; otherwise no error and no warning."""
    name = fix.span.source.name
    after = make(_With(texts, name, fix.applied().encode()), made.name, made.folder, made.called)
    writing = fix.finding.code.startswith(WRITING)
    before, now = (_counted(each.findings, writing) for each in (made, after))
    return _standing(made, fix.finding) > _standing(after, fix.finding) and not now - before


def _counted(findings: tuple[Finding, ...], writing: bool) -> Counter[tuple[str, str]]:
    """Errors and warnings by code and subject, of the writing alone or all."""
    weighed = (f for f in findings if f.severity != "advice" and f.accepted is None)
    return Counter((f.code, f.subject) for f in weighed if not writing or f.code.startswith(WRITING))


def _standing(made: Made, like: Finding) -> int:
    return sum((f.code, f.subject) == (like.code, like.subject) for f in made.open_findings)
