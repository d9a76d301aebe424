"""The one-line view of a system: what stands above and below each positive bar, read from bays and cables.

A *chain* is a line from a bar outwards: devices and boxes in order, nearest the bar first. Negative conductors are
not shown; a line stands for the whole circuit.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

from copperplate.drawing.bay import Bay, Power
from copperplate.drawing.branches import LadderSection
from copperplate.drawing.cables import Cable, SupplyForest
from copperplate.drawing.captions import Task
from copperplate.drawing.wiring import WiringEdge, is_two_sided
from copperplate.model import Part
from copperplate.model.parts import Panel


@dataclass(frozen=True)
class ChainItem:
    """One thing on a line.

    kind: "device", "box" (a part), "list" (circuits of `section`), "ac-list" (loads of the cables that leave AC part
    `id`), "to" and "from" (the line goes on at, or comes from, the bar or part `id`), "tick" (the size of `run`) and
    "more" (there was no room). `run`: the run that joins it to what stands before it on the chain; `ac`: that run is a
    cable."""

    kind: Literal["device", "box", "list", "ac-list", "to", "from", "tick", "more"]
    id: str
    run: str = ""
    ac: bool = False
    section: LadderSection | None = None
    more: tuple[str, ...] = ()
    """Further parts that the box stands for: the other batteries of a string or bank."""


@dataclass
class Bar:
    """A bar with its chains. `name` is its node; "" for the supplies that no bar of the DC system meets."""

    name: str
    above: list[list[ChainItem]] = field(default_factory=list)
    below: list[list[ChainItem]] = field(default_factory=list)
    bridge: tuple[list[ChainItem], str, list[ChainItem]] | None = None
    """A chain below that leads to another bar: (items down to the turn, that bar, items up to it)."""


def bars(task: Task, power: Power, sections: Sequence[LadderSection], supply: SupplyForest) -> list[Bar]:
    """The bars in the order of the power sheet, then the supplies that stand apart."""
    return _OneLine(task, power, sections, supply).bars()


class _OneLine:
    def __init__(self, task: Task, power: Power, sections: Sequence[LadderSection], supply: SupplyForest) -> None:
        self.task = task
        self.system = task.design.system
        self.power = power
        self.sections = sections
        self.supply = supply
        self.by_panel = {section.panel: section for section in sections if section.panel}
        self.shown: set[str] = set()
        self.sides = self._sides()

    def _sides(self) -> dict[str, list[tuple[str, str]]]:
        """By two-sided part: (side, bar above it) of each of its bays."""
        by_part: dict[str, list[tuple[str, str]]] = {}
        for bay in self.power.bays:
            for edge in bay.parts:
                if is_two_sided(self.system.parts[edge.id]):
                    by_part.setdefault(edge.id, []).append((edge.side, bay.top))
        return by_part

    def bars(self) -> list[Bar]:
        made: dict[str, Bar] = {}
        for bay in self.power.bays:
            if bay.top and not self.task.wiring.is_low(bay.top):
                made.setdefault(bay.top, Bar(bay.top))
            if bay.link == "top" and bay.bottom:
                made.setdefault(bay.bottom, Bar(bay.bottom))
        for section in self.sections:
            if not section.panel and self.task.wiring.is_rail(section.rail):
                made.setdefault(section.rail, Bar(section.rail))
        for bay in self.power.bays:
            if bay.link == "top":
                self._join(made, bay.top, bay.bottom, self._items(bay), [])
            elif bay.top in made and bay.parts:
                self._stand(made, bay)
        for section in self.sections:
            if not section.panel:
                self._direct(made, section)
        for bar in made.values():
            bar.below.sort(key=lambda chain: chain[-1].kind == "to")
        landing = {bar.bridge[1] for bar in made.values() if bar.bridge is not None}
        used = [bar for bar in made.values() if bar.above or bar.below or bar.bridge or bar.name in landing]
        return [*used, *self._apart()]

    # --- DC ----------------------------------------------------------------------------------------------

    def _items(self, bay: Bay) -> list[ChainItem]:
        """Devices and parts of a bay's positive side, bar first; ends at its first part."""
        items: list[ChainItem] = []
        run = ""
        for edge in bay.path:
            if edge.kind == "conductor":
                run = self.system.conductors[edge.id].run
            elif edge.kind == "device":
                items.append(ChainItem("device", edge.id, self.system.devices[edge.id].run or run))
                run = self.system.devices[edge.id].run
            else:
                items.append(ChainItem("box", edge.id, run, more=self._more(bay, edge)))
                break
        return items

    def _more(self, bay: Bay, first: WiringEdge) -> tuple[str, ...]:
        """The batteries that belong together with `first`."""
        if not self.system.parts[first.id].roles.stores:
            return ()
        batteries: list[str] = []
        for edge in bay.parts:
            bank = self.power.banks.get(edge.id) if edge.side == "bank" else None
            members = [e for string in bank.strings for e in string] if bank is not None else [edge]
            batteries += [e.id for e in members if e.kind == "part" and self.system.parts[e.id].roles.stores]
        return tuple(name for name in dict.fromkeys(batteries) if name != first.id)

    def _stand(self, made: dict[str, Bar], bay: Bay) -> None:
        """Puts a bay's chain above or below its bar."""
        chain = self._items(bay)
        part = self.system.parts[chain[-1].id]
        hung = [self._items(other) for other in bay.hung]
        bar = made[bay.top]
        if is_two_sided(part) and len(self.sides[part.id]) > 1:
            if part.id in self.shown:
                return
            edge = bay.parts[0]
            into = next(((side, top) for side, top in self.sides[part.id] if side != edge.side), None)
            if into is not None and into[1] in made and into[1] != bay.top:
                other = next(c for c in self.power.bays if c.top == into[1] and any(e.id == part.id for e in c.parts))
                self.shown.add(part.id)
                rising = self._items(other)[:-1]
                if edge.side in part.roles.draws_at:
                    self._join(made, bay.top, into[1], chain, rising)
                else:
                    chain = self._items(other)
                    self._join(made, into[1], bay.top, chain, self._items(bay)[:-1])
                return
        self.shown.add(part.id)
        feeds = [item.id for items in hung for item in items if item.kind == "box"]
        source = any(_is_source(self.system.parts[name]) for name in (part.id, *feeds))
        if is_two_sided(part) and not feeds:
            source = source or bay.parts[0].side == part.roles.gives_at
        for items in hung:
            chain += items
            self.shown.update(item.id for item in items if item.kind == "box")
        if source:
            bar.above.append(chain + self._shore_above(part.id))
        else:
            bar.below.append(self._with_circuits(chain))

    def _with_circuits(self, chain: list[ChainItem]) -> list[ChainItem]:
        """A chain whose last panel becomes the list of its circuits, or goes on with what an inverter feeds."""
        last = chain[-1]
        if last.kind != "box":
            return chain
        part = self.system.parts[last.id]
        if last.id in self.by_panel:
            return [*chain[:-1], ChainItem("list", last.id, last.run, section=self.by_panel[last.id])]
        if part.roles.mains:
            return chain + self._ac_below(last.id)
        direct = next(
            (s for s in self.sections if not s.panel and self.task.wiring.owner(s.rail) == last.id and s.rows), None
        )
        if direct is not None and not self.task.wiring.is_rail(direct.rail) and direct.rail not in self.power.rails:
            run = direct.rows[0].positive[0]
            return [*chain, ChainItem("list", direct.rail, "" if isinstance(run, str) else run.id, section=direct)]
        return chain

    def _direct(self, made: dict[str, Bar], section: LadderSection) -> None:
        """The circuits without a panel, as a list below their bar."""
        if section.rail in made:
            made[section.rail].below.append([ChainItem("list", section.rail, section=section)])

    def _join(self, made: dict[str, Bar], start: str, end: str, down: list[ChainItem], up: list[ChainItem]) -> None:
        """A way from one bar to another: drawn across where the other stands next to it, else named."""
        order = list(made)
        if made[start].bridge is None and order.index(end) == order.index(start) + 1:
            made[start].bridge = (down, end, up)
            return
        made[start].below.append([*down, *up[::-1], ChainItem("to", end)])
        made[end].below.insert(0, [ChainItem("from", next((i.id for i in reversed(down) if i.kind == "box"), start))])

    # --- AC ----------------------------------------------------------------------------------------------

    def _cable_items(self, cable: Cable, rising: bool) -> list[ChainItem]:
        items = [ChainItem("device", name, cable.run.id, ac=True) for name in cable.devices]
        return items[::-1] if rising else items

    def _shore_above(self, part: str) -> list[ChainItem]:
        """The supply of a charger, where it comes straight from one."""
        cable = next((c for cables in self.supply.leaving.values() for c in cables if c.end == part), None)
        if cable is None or not _is_supply(self.system.parts[cable.start]):
            return []
        if len(self.supply.leaving[cable.start]) > 1 or cable.start in self.shown:
            return []
        self.shown.add(cable.start)
        return [*self._cable_items(cable, True), ChainItem("box", cable.start, cable.run.id, ac=True)]

    def _ac_below(self, part: str) -> list[ChainItem]:
        """What an AC source feeds: the way to the one part that it leads to, and the list of its circuits."""
        items: list[ChainItem] = []
        while True:
            leaving = [c for c in self.supply.leaving.get(part, ()) if not self.system.parts[c.end].roles.grounds]
            if not leaving:
                again = next((c for c in self.supply.again if c.start == part), None)
                if again is not None:
                    items += [*self._cable_items(again, False), ChainItem("to", again.end, again.run.id, ac=True)]
                return items
            if len(leaving) > 1 or self.system.parts[leaving[0].end].roles.is_load:
                if isinstance(self.system.parts[part], Panel) and items and items[-1].id == part:
                    items[-1] = ChainItem("ac-list", part, items[-1].run, ac=True)
                else:
                    items.append(ChainItem("ac-list", part, leaving[0].run.id, ac=True))
                return items
            cable = leaving[0]
            if cable.end in self.shown:
                return [*items, *self._cable_items(cable, False), ChainItem("to", cable.end, cable.run.id, ac=True)]
            self.shown.add(cable.end)
            items += [*self._cable_items(cable, False), ChainItem("box", cable.end, cable.run.id, ac=True)]
            part = cable.end

    def _apart(self) -> list[Bar]:
        """Supplies that no chain has taken in: each hangs from the top of the sheet."""
        apart: list[Bar] = []
        for root in self.supply.roots:
            if root not in self.shown and _is_supply(self.system.parts[root]):
                self.shown.add(root)
                apart.append(Bar("", below=[[ChainItem("box", root), *self._ac_below(root)]]))
        return apart


def _is_source(part: Part) -> bool:
    """True of what stands above its bar: what gives, but for what makes a voltage of its own out of the bar's."""
    return part.roles.gives and not (part.roles.converts and part.roles.holds_voltage)


def _is_supply(part: Part) -> bool:
    """True of shore power and of a generator."""
    return part.roles.mains and not part.roles.converts
