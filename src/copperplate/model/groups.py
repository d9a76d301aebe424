"""Things that are joined one with another, gathered into groups."""

from __future__ import annotations


class Groups:
    """Groups of names by union and find, with paths halved on the way. A name that nothing joined is a group of its
    own."""

    def __init__(self) -> None:
        self._above: dict[str, str] = {}

    def root(self, name: str) -> str:
        """The name that stands for the group of `name`: the same for all its members until another group joins."""
        above = self._above
        while above.get(name, name) != name:
            above[name] = above.get(above[name], above[name])
            name = above[name]
        return name

    def join(self, a: str, b: str) -> bool:
        """Make one group of the two; False where they were one already."""
        first, second = self.root(a), self.root(b)
        if first == second:
            return False
        self._above[second] = first
        return True
