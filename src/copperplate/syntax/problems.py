"""A problem while reading: a finding that does not know yet to which statement it belongs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from copperplate.findings import Finding, make
from copperplate.text import Source, Span


def shown(written: str) -> str:
    """What was written, in a sentence: between marks, on one line, or by its number where it cannot be seen."""
    if len(written) == 1 and not written.isprintable():
        return f"the character U+{ord(written):04X}"
    return "`" + "".join([c if c.isprintable() else " " for c in written]) + "`"


_LONGEST = 300
"""Characters of a message. Only a token that runs for lines, quoted in it, makes one longer."""


def _short(text: str) -> str:
    return text if len(text) <= _LONGEST else text[: _LONGEST - 1] + "…"


@dataclass(frozen=True, slots=True)
class Problem:
    """What is wrong at the characters `start` to `end` of the source: a code and the figures of its row."""

    code: str
    start: int
    end: int
    figures: Mapping[str, Any] = field(default_factory=dict)

    def moved(self, offset: int) -> Problem:
        """The same problem, `offset` characters further on."""
        return Problem(self.code, self.start + offset, self.end + offset, self.figures)

    def finding(self, source: Source, subject: str) -> Finding:
        """The finding of this problem in `source`."""
        made = make(self.code, _short(subject), Span(source, self.start, self.end), **self.figures)
        message, help = _short(made.message), _short(made.help)
        return made if (message, help) == (made.message, made.help) else replace(made, message=message, help=help)
