"""Graphviz as the judge of order: which bar stands beside which, so that the fewest bars are broken.

`dot` on the PATH answers; where there is none, or it does not run, the program of the pip package `graphviz-pure`
(the extra `layout`). Only the order is taken from them, and only as a place to start from (see `order`): geometry is
ours, on our own grid, so that what is written does not depend on which of the two ran. No text of the plate goes into
the graph.
"""

from __future__ import annotations

import contextlib
import shutil
from collections.abc import Iterator, Sequence

PURE = "graphviz-pure"


class LayoutEngineMissing(RuntimeError):
    """There is neither engine. The message is one sentence for the user, with both remedies."""

    def __init__(self) -> None:
        super().__init__(
            "no layout engine: install Graphviz, whose `dot` must be on the PATH (Debian and Ubuntu: "
            '`apt install graphviz`), or the engine that pip brings (`pip install "copperplate[layout]"`)'
        )


def ranks(columns: Sequence[tuple[str, str]]) -> tuple[list[str], list[str]]:
    """Upper and lower bars, each from left to right, for columns given as (upper bar, lower bar).

    Raises LayoutEngineMissing where there is neither engine."""
    upper = list(dict.fromkeys(top for top, _ in columns))
    lower = list(dict.fromkeys(bottom for _, bottom in columns))
    node = {("t", name): f"t{n}" for n, name in enumerate(upper)} | {
        ("b", name): f"b{n}" for n, name in enumerate(lower)
    }
    lines = ["graph {", 'node [shape=box width=1 height=1 fixedsize=true label=""]']
    for kind, names in (("t", upper), ("b", lower)):
        lines.append("{rank=same " + " ".join(node[kind, name] for name in names) + "}")
    for n, (top, bottom) in enumerate(columns):
        lines += [f"c{n}", f"{node['t', top]} -- c{n}", f"c{n} -- {node['b', bottom]}"]
    lines.append("}")
    place = {words[1]: float(words[2]) for words in map(str.split, _plain("\n".join(lines))) if words[0] == "node"}
    return (
        sorted(upper, key=lambda name: place[node["t", name]]),
        sorted(lower, key=lambda name: place[node["b", name]]),
    )


def _plain(graph: str) -> list[str]:
    """The lines of Graphviz's `plain` format for a graph, from the first engine that answers."""
    import subprocess

    import graphviz

    try:
        return graphviz.Source(graph).pipe(format="plain", encoding="utf-8", quiet=True).splitlines()
    except (graphviz.ExecutableNotFound, subprocess.CalledProcessError):
        pass
    for program in _pure():
        try:
            done = subprocess.run(
                [program, "-Kdot", "-Tplain"], input=graph, capture_output=True, encoding="utf-8", check=True
            )
            return done.stdout.splitlines()
        except (OSError, subprocess.CalledProcessError):
            continue
    raise LayoutEngineMissing


def _pure() -> Iterator[str]:
    """Where the program of the pip package may be: as its installation says, then on the PATH."""
    from importlib import metadata

    with contextlib.suppress(metadata.PackageNotFoundError):
        yield from (str(path.locate()) for path in metadata.files(PURE) or () if path.stem == PURE)
    found = shutil.which(PURE)
    if found is not None:
        yield found
