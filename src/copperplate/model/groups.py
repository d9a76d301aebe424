"""Things that are joined one with another: gathered into groups, or followed from where one begins."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable
from typing import Generic, TypeVar

Name = TypeVar("Name", bound=Hashable)


class Groups(Generic[Name]):
    """Groups of names by union and find, with paths halved on the way. A name that nothing joined is a group of its
    own."""

    def __init__(self) -> None:
        self._above: dict[Name, Name] = {}

    def root(self, name: Name) -> Name:
        """The name that stands for the group of `name`: the same for all its members until another group joins."""
        above = self._above
        while above.get(name, name) != name:
            above[name] = above.get(above[name], above[name])
            name = above[name]
        return name

    def join(self, a: Name, b: Name) -> bool:
        """Make one group of the two; False where they were one already."""
        first, second = self.root(a), self.root(b)
        if first == second:
            return False
        self._above[second] = first
        return True


def reached(starts: Iterable[Name], beside: Callable[[Name], Iterable[Name]]) -> dict[Name, None]:
    """What is reached from some beginnings over all that stands `beside` each, in the order in which it is reached, the
    beginnings first."""
    found = dict.fromkeys(starts)
    waiting = list(found)
    for name in waiting:
        for other in beside(name):
            if other not in found:
                found[other] = None
                waiting.append(other)
    return found
