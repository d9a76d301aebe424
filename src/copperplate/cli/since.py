"""`build --since OLD`: the comparison with another revision as the report takes it."""

from __future__ import annotations

import os
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from copperplate.cli.plates import STDIN
from copperplate.cli.revisions import compare

if TYPE_CHECKING:
    from copperplate.making import Made
    from copperplate.report import Changes


def changes(before: Made, after: Made, stem: str) -> Changes:
    """What changed from one plate to the other, whose sheets are drawn. A file goes by its name alone, so
    that a pack does not depend on where it was built; `REVISION:path` as it was asked for."""
    from copperplate import report
    from copperplate.diff import sentences
    from copperplate.diff.marks import marked

    old, new = (_called(side.called) for side in (before, after))
    document = compare(before, after, old, new)
    drawing = marked(document, before.drawn().sheets, after.sheets)
    return report.Changes(
        since=old,
        revisions=(document["old"]["revision"], document["new"]["revision"]),
        remarks=tuple(sentences.partial(document)),
        rows=tuple(_rows(document)),
        totals=", ".join(sentences.totals(document)),
        closing=sentences.closing(document),
        questions=report.questions(before.design) if before.design is not None else (),
        drawing=report.Sheet(f"{stem}.changes.svg", "The changes, marked on the sheets", drawing),
    )


def _called(name: str) -> str:
    if name == STDIN:
        return "standard input"
    return os.path.basename(name) if os.path.exists(name) else name


def _rows(document: dict[str, Any]) -> Iterator[tuple[str, str, str]]:
    """Mark, address and sentence in the order in which `diff` prints them."""
    from copperplate.diff import sentences
    from copperplate.diff.markdown import WORDS

    listed = document["findings"]
    for line in sentences.register(document):
        yield "accepted", "", line
    for finding in listed["new"]:
        yield "new", finding["subject"], f"{finding['severity']} {finding['code']}: {finding['message']}"
    for mark, address, words in sentences.lines(document):
        yield WORDS[mark], address, words
    for finding in listed["gone"]:
        yield "gone", finding["subject"], f"{finding['severity']} {finding['code']}: {finding['message']}"
