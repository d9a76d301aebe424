"""A source text and spans in it."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from functools import cached_property


@dataclass(frozen=True, eq=False)
class Source:
    """One plate as read: `name` is the path as the user typed it, `text` its characters (LF only)."""

    name: str
    text: str

    @cached_property
    def line_starts(self) -> list[int]:
        """Offset of the first character of each line."""
        starts = [0]
        position = self.text.find("\n")
        while position != -1:
            starts.append(position + 1)
            position = self.text.find("\n", position + 1)
        return starts

    def position(self, offset: int) -> tuple[int, int]:
        """Line and column of `offset`, both counted from 1."""
        row = bisect_right(self.line_starts, offset) - 1
        return row + 1, offset - self.line_starts[row] + 1

    def line(self, number: int) -> str:
        """Text of line `number` (from 1) without its end; '' past the last line."""
        if not 1 <= number <= len(self.line_starts):
            return ""
        start = self.line_starts[number - 1]
        end = self.text.find("\n", start)
        return self.text[start:] if end == -1 else self.text[start:end]


@dataclass(frozen=True, slots=True)
class Span:
    """The characters `start` to `end` (end excluded) of a source."""

    source: Source
    start: int
    end: int

    @property
    def line(self) -> int:
        return self.source.position(self.start)[0]

    @property
    def column(self) -> int:
        return self.source.position(self.start)[1]

    @property
    def end_line(self) -> int:
        return self.source.position(self.end)[0]

    @property
    def end_column(self) -> int:
        return self.source.position(self.end)[1]

    @property
    def text(self) -> str:
        return self.source.text[self.start : self.end]

    def to(self, other: Span) -> Span:
        """The span from the start of this one to the end of `other`."""
        return Span(self.source, self.start, other.end)
