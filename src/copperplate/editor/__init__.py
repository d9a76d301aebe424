"""The language server for editors: mistakes as they are typed, reasons where the pointer rests. Floor 9."""

from __future__ import annotations

from importlib.util import find_spec
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from copperplate.editor.open_plates import Inside

__all__ = ["lacking", "serve"]


def lacking() -> bool:
    """Whether the extra `editor` is not installed."""
    return find_spec("pygls") is None


def serve(inside: Inside) -> int:
    """Serve one editor on standard input and output until it ends. Needs the extra `editor`. Gives the exit code: 1
    where the editor ended it without a `shutdown` before."""
    from copperplate.editor.server import server

    plates, left = server(inside), list[bool]()
    plates.feature("shutdown")(lambda params: left.append(True))
    plates.start_io()
    return 0 if left else 1
