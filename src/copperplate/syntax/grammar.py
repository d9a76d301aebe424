"""Loads the grammar and builds the parser, once a process. The only module that imports lark."""

from __future__ import annotations

from functools import lru_cache
from importlib.resources import files

from lark import Lark

_FILE = "plate.lark"


def grammar_text() -> str:
    """The grammar as shipped in the package, or that of the checkout where the package is not a built one."""
    package = files("copperplate")
    shipped = package.joinpath("grammar", _FILE)
    return (shipped if shipped.is_file() else package.joinpath("..", "..", "grammar", _FILE)).read_text("utf-8")


@lru_cache(maxsize=1)
def parser() -> Lark:
    """The parser of one statement. It is built from the text each time: that costs less than 50 ms, and a cache
    on disk would be one more thing to go stale.

    No two of its terminals begin alike, so the basic lexer does. A contextual one would only make a stroke in the
    wrong place look like stray characters."""
    return Lark(grammar_text(), parser="lalr", lexer="basic", maybe_placeholders=False)
