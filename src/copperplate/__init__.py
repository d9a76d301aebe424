"""Copperplate: a plain-text language and compiler for small electrical systems.

For programs there is `make`: texts in; design, findings and the files of the pack out. `docs/python.md` shows it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from copperplate.making import make

__all__ = ["__version__", "make"]
__version__ = "0.1.0"


def __getattr__(name: str) -> Any:
    """`make`, loaded when it is used: a command pays only for what it uses."""
    if name != "make":
        raise AttributeError(name)
    from copperplate.making import make

    return make
