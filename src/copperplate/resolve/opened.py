"""What a case cuts off from every source by opening switches, relays, selectors and breakers."""

from __future__ import annotations

from collections.abc import Container, Iterable

from copperplate.model.groups import Groups
from copperplate.resolve.built import Built
from copperplate.resolve.reach import Supply


class Openings:
    """The built plate, and what an opening of its devices cuts off. What hangs in the air with everything closed,
    behind a run that could not be read, has its findings elsewhere and never here."""

    def __init__(self, built: Built, supply: Supply) -> None:
        self._built = built
        self._paths = supply.paths
        self._fed: set[str] | None = None

    def cut_off(self, opened: Container[str], on: Container[str]) -> list[str]:
        """Those consumers of `on` that no battery, and no other source of `on`, reaches by both poles."""
        if self._fed is None:
            everyone = {source.part.id for _, _, sources in self._paths.values() for source in sources}
            self._fed = set(self._reached((), self._paths, everyone))
        here = [name for name in self._paths if name in on and name in self._fed]
        reached = set(self._reached(opened, here, on))
        return [name for name in here if name not in reached]

    def _reached(self, opened: Container[str], consumers: Iterable[str], on: Container[str]) -> Iterable[str]:
        joined = Groups[str]()
        for conductor in self._built.conductors.values():
            joined.join(conductor.from_node, conductor.to_node)
        for device in self._built.devices.values():
            for before, behind in () if device.id in opened else device.legs:
                joined.join(before, behind)
        for near, far in self._built.circuits.ties:
            joined.join(near, far)
        for name in consumers:
            if self._is_fed(name, joined, on, frozenset()):
                yield name

    def _is_fed(self, name: str, joined: Groups[str], on: Container[str], without: frozenset[str]) -> bool:
        """Whether a source of `on`, a battery, or an inverter that hands such a source through, reaches a consumer."""
        live, back, sources = self._paths[name]
        ends = joined.root(live), joined.root(back)
        # The way back is the neutral, or the other line of the same source.
        lines = {(s.part.id, joined.root(s.live)) for s in sources}
        return any(
            joined.root(s.live) == ends[0]
            and (joined.root(s.back) == ends[1] or (s.part.id, ends[1]) in lines)
            and (s.part.roles.stores or s.part.id in on or self._hands_through(s.part.id, joined, on, without))
            for s in sources
        )

    def _hands_through(self, part: str, joined: Groups[str], on: Container[str], without: frozenset[str]) -> bool:
        inlet = f"{part}.ac-in"
        return inlet in self._paths and part not in without and self._is_fed(inlet, joined, on, without | {part})
