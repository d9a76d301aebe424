"""Text as the reader typed it: sources, spans, nearest names. Floor 0; imports nothing of the project."""

from copperplate.text.nearest import nearest
from copperplate.text.source import Source, Span

__all__ = ["Source", "Span", "nearest"]
