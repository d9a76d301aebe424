"""A comparison as Markdown fit for a review comment: safety first, what only follows folded away."""

from __future__ import annotations

import re
from typing import Any

from copperplate.diff import sentences
from copperplate.findings.terminal import harmless

Json = dict[str, Any]
WORDS = {"+": "added", "-": "removed", "~": "changed", ">": "renamed", "=": "pinned", " ": "follows"}
_SPECIAL = re.compile(r"([\\*_\[\]<>|~$#])")


def markdown(document: Json) -> str:
    """The comparison in Markdown (CommonMark with tables). Text of the plate is data: nothing in it is markup, and
    it calls nobody."""
    old, new = document["old"], document["new"]
    lines = [f"### What changed: {_side(old)} to {_side(new)}", "", f"**{_text(sentences.closing(document))}**"]
    totals = " · ".join(sentences.totals(document))
    lines += [_text(totals)] if totals else []
    lines += [f"- {_text(line)}" for line in sentences.partial(document)]
    findings = document["findings"]
    loud = [
        *(f"- {_text(line)}" for line in sentences.register(document)),
        *(f"- new **{f['severity']} {f['code']}**: {_text(f['message'])}" for f in findings["new"]),
        *(f"- gone {f['severity']} {f['code']}: {_text(f['message'])}" for f in findings["gone"]),
    ]
    lines += ["", "#### Findings", "", *loud] if loud else []
    changed = list(sentences.lines(document))
    own = [line for line in changed if line[0] != " "]
    lines += ["", "#### Changes", "", *_table(own)] if own else []
    rest = [line for line in changed if line[0] == " "]
    rest_lines = _table(rest) if rest else []
    moved = [
        f"- {f['severity']} {f['code']}: {_text(f['was'])}; now {_text(f['message'])}" for f in findings["figures"]
    ]
    bought = _materials(document)
    for title, content in (
        ("What only follows", rest_lines),
        ("Findings with other figures", moved),
        ("Materials", bought),
    ):
        if content:
            lines += ["", f"<details><summary>{title}</summary>", "", *content, "", "</details>"]
    return "\n".join(lines) + "\n"


def _side(side: Json) -> str:
    revision = f" (revision {_text(side['revision'])})" if side["revision"] else ""
    return f"{_code(side['name'])}{revision}"


def _table(lines: list[tuple[str, str, str]]) -> list[str]:
    rows = [f"| {WORDS[mark]} | {_code(address)} | {_text(sentence)} |" for mark, address, sentence in lines]
    return ["| change | address | what and why |", "|---|---|---|", *rows]


def _materials(document: Json) -> list[str]:
    lines = document["materials"]["lines"]
    rows = [
        f"| {_text(line['item'])} | {line['old']:g} {line['unit']} | {line['new']:g} {line['unit']} |" for line in lines
    ]
    return ["| item | was | is |", "|---|---|---|", *rows] if rows else []


def _code(text: str) -> str:
    return f"`{harmless(text).replace('`', ' ').replace('|', ' ')}`" if text else ""


def _text(text: str) -> str:
    """Words as they are; addresses in backticks stay code. An `@` is written so that it calls nobody."""
    pieces = re.split(r"(`[^`]*`)", harmless(text).replace(" -> ", " → "))
    shown = [piece if piece.startswith("`") and len(piece) > 2 else _SPECIAL.sub(r"\\\1", piece) for piece in pieces]
    return "".join(
        piece.replace("|", " ") if piece.startswith("`") else piece.replace("`", " ").replace("@", "&#64;")
        for piece in shown
    )
