"""Graphviz `dot` as the judge of order: which bar stands beside which, so that the fewest bars are broken.

Only the order is taken from it. Geometry is ours, on our own grid, so that what is written does not depend on the
version that ran; and it is asked only where the order of declaration breaks a bar that another order may keep
whole. No text of the plate goes into the graph.
"""

from __future__ import annotations

from collections.abc import Sequence


class LayoutEngineMissing(RuntimeError):
    """`dot` is not on the PATH. The message is one sentence for the user, with the remedy."""

    def __init__(self) -> None:
        super().__init__(
            "the layout engine `dot` is missing: install Graphviz (Debian and Ubuntu: `apt install graphviz`)"
        )


def ranks(columns: Sequence[tuple[str, str]]) -> tuple[list[str], list[str]]:
    """Upper and lower bars, each from left to right, for columns given as (upper bar, lower bar).

    Raises LayoutEngineMissing where there is no `dot`."""
    import graphviz

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
    try:
        plain = graphviz.Source("\n".join(lines)).pipe(format="plain", encoding="utf-8")
    except graphviz.ExecutableNotFound as problem:
        raise LayoutEngineMissing from problem
    place = {words[1]: float(words[2]) for words in (line.split() for line in plain.splitlines()) if words[0] == "node"}
    return (
        sorted(upper, key=lambda name: place[node["t", name]]),
        sorted(lower, key=lambda name: place[node["b", name]]),
    )
