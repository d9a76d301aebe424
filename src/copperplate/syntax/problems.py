"""A problem while reading: a finding that does not know yet to which statement it belongs."""

from __future__ import annotations

from dataclasses import dataclass

from copperplate.findings import Finding, finding
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


OWN_STATEMENT = "this line is indented, so it goes on with the one above, and it reads as a statement of its own"
"""Said of such a line wherever it shows."""


@dataclass(frozen=True, slots=True)
class Problem:
    """What is wrong at the characters `start` to `end` of the source; the words as a finding wants them."""

    code: str
    message: str
    start: int
    end: int
    label: str = ""
    help: str = ""
    notes: tuple[str, ...] = ()

    def moved(self, offset: int) -> Problem:
        """The same problem, `offset` characters further on."""
        return Problem(
            self.code, self.message, self.start + offset, self.end + offset, self.label, self.help, self.notes
        )

    def finding(self, source: Source, subject: str) -> Finding:
        """The finding of this problem in `source`."""
        span = Span(source, self.start, self.end)
        message, help = _short(self.message), _short(self.help)
        return finding(self.code, _short(subject), message, span, label=self.label, help=help, notes=self.notes)
