"""Syntax: from text to the tree of a plate, and back in the one style. Floor 2; the only importer of lark."""

from copperplate.syntax.printer import format
from copperplate.syntax.reading import parse, read, subject

__all__ = ["format", "parse", "read", "subject"]
