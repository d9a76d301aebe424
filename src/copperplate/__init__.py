"""Copperplate: a plain-text language and compiler for small electrical systems.

For programs there are `compile`, which gives the design of a plate, what is made of a design (`to_json`, `draw`,
`pack`, `compare`), and `make`: texts in; design, findings and the files of the pack out. `docs/python.md` shows them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from copperplate.interface import PlateError, compare, compile, draw, pack, to_json
    from copperplate.making import make

__all__ = ["PlateError", "__version__", "compare", "compile", "draw", "make", "pack", "to_json"]
__version__ = "0.1.0"


def __getattr__(name: str) -> Any:
    """What is public, loaded when it is used: a command pays only for what it uses."""
    if name not in __all__:
        raise AttributeError(name)
    from importlib import import_module

    return getattr(import_module("copperplate.making" if name == "make" else "copperplate.interface"), name)
