"""Text as the reader typed it: sources, spans, nearest names; and JSON as other programs read it. Floor 0;
imports nothing of the project."""

from copperplate.text.json_text import fields, json_text, json_value
from copperplate.text.nearest import nearest
from copperplate.text.source import Source, Span

__all__ = ["Source", "Span", "fields", "json_text", "json_value", "nearest"]
