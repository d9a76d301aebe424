"""A design as a reader of schedules asks for it: what a conductor ends on, what protects it, which way it is on."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from copperplate.model.links import Link
from copperplate.model.parts import Battery, Generator, Inverter, Shore, Solar
from copperplate.model.results import Cut, Design, DeviceResult, LoadResult, RunResult
from copperplate.model.system import Conductor, Part, Run
from copperplate.report.blocks import Block, Callout, Column
from copperplate.report.names import Names
from copperplate.report.points import Register
from copperplate.report.words import fixed, joined, text, thousands, trimmed
from copperplate.standards import conductors as wire
from copperplate.units import from_si

NOTICE = "This is a design aid and no certificate. Local codes, licensed practice and the makers' instructions prevail."


@dataclass(frozen=True, slots=True)
class Copper:
    """Conductors of one size to cut: length with slack, how many, their copper."""

    length_m: float
    conductors: int
    kilograms: float


@dataclass(frozen=True)
class Facts:
    """One design with the indexes that its schedules need. `sheets`: by address, the sheets that show it, each
    with the zone (`2/C3`)."""

    design: Design
    sheets: Mapping[str, tuple[str, ...]]
    before: tuple[str, ...] = ()
    """Questions in the order of their letters in an earlier revision."""

    @cached_property
    def names(self) -> Names:
        return Names(self.design)

    @cached_property
    def register(self) -> Register:
        """What is to be settled, and what was accepted."""
        return Register(self.design, self.names, self.before)

    @property
    def mains(self) -> str:
        """Volts of the alternating current, `230`; "" where there is none."""
        ac = self.design.system.settings.ac
        volts = [node.nominal_v for node in self.design.system.nodes.values() if node.pole in ("l", "l1", "l2")]
        return ac or (trimmed(max(volts), 0) if volts else "")

    def place(self, name: str) -> str:
        """`2/C3`: the first place of a part, device, conductor or run in the drawing set; "" where none shows it."""
        run = self.design.system.runs.get(name)
        names = (name, *(run.conductor_ids if run is not None else ()))
        return next((self.sheets[each][0] for each in names if self.sheets.get(each)), "")

    @property
    def length_unit(self) -> str:
        return self.design.system.settings.length_unit

    def length(self, metres: float | None) -> str:
        """A length in the plate's unit, without the unit."""
        return "" if metres is None else fixed(from_si(metres, self.length_unit), 2)

    def length_column(self, head: str, metres: Callable[[Any], float | None], width: int = 9) -> Column:
        """A column of lengths; `metres` gives that of a thing."""
        return Column(head, width, self.length_unit, 2, lambda thing: self.length(metres(thing)))

    @cached_property
    def size_unit(self) -> str:
        """The unit of all sizes where they are of one system, else ""."""
        systems = {r.size.label.split(" ")[-1] for r in self.design.runs.values() if r.size}
        return systems.pop() if len(systems) == 1 else ""

    def size_column(self, head: str, cell: Callable[[Any], str]) -> Column:
        if self.size_unit == "mm²":
            return Column(head, 9, "mm²", 2, cell)
        return Column(head, 10, self.size_unit, 0, cell)

    def size_cell(self, result: RunResult | None) -> str:
        """ "4", "2/0", "2 x 35", with the unit where sizes are mixed; "" where the run has none."""
        if result is None or result.size is None:
            return ""
        return self.several(result.parallel, self.bare(result.size.label))

    @staticmethod
    def several(parallel: int, size: str) -> str:
        return f"{parallel} x {size}" if parallel > 1 else size

    def bare(self, label: str) -> str:
        """The label or key of a size without the unit that the head of its column says."""
        label = label.replace("mm2", "mm²")
        return label.removesuffix(f" {self.size_unit}") if self.size_unit else label

    def part_at(self, end: str) -> Part | None:
        """The part at an end of a run."""
        return self.design.system.parts.get(end.split(".")[0])

    @cached_property
    def cuts(self) -> tuple[Cut, ...]:
        """The cut list by size and colour, each in the order of its first use: what comes off one reel together."""
        reels: dict[tuple[str, str], list[Cut]] = {}
        for cut in self.design.cuts:
            reels.setdefault((cut.size, cut.colour), []).append(cut)
        return tuple(cut for reel in reels.values() for cut in reel)

    @cached_property
    def panel_of(self) -> Mapping[str, str]:
        """By run that a way of a panel feeds, by itself or through loads and splices: the panel."""
        system = self.design.system
        found = {d.run: d.panel for d in system.devices.values() if d.panel}
        fed = {system.end_parts(system.runs[run])[1]: panel for run, panel in found.items() if run in system.runs}
        changed = True
        while changed:
            changed = False
            for run in system.runs.values():
                start, end = system.end_parts(run)
                roles = system.parts[start].roles
                if run.id not in found and start in fed and (roles.is_load or roles.is_splice):
                    found[run.id] = fed[start]
                    fed.setdefault(end, fed[start])
                    changed = True
        return found

    def guards(self, run: str) -> tuple[str, ...]:
        """The devices that a run relies on."""
        result = self.design.runs.get(run)
        return result.protected_by if result else ()

    def rated(self, device: str) -> str:
        """`30 A`: the rating of a device as chosen; "" where it has none."""
        result = self.design.devices.get(device)
        rating = result.rating.rating_a if result else self.design.system.devices[device].rating_a
        return f"{trimmed(rating, 1)} A" if rating is not None else ""

    def card(self, panel: str) -> tuple[str, ...]:
        """The lines of the card in a panel's lid: its title, then its ways."""
        system = self.design.system
        ways = {d.way: d for d in system.devices.values() if d.panel == panel and d.way is not None}
        count = max([getattr(system.parts[panel], "ways", None) or 0, *ways])
        lines = [self.names.part(panel)]
        for way in range(1, count + 1):
            device = ways.get(way)
            words = self.names.circuit(system.runs[device.run]) + f", {self.rated(device.id)}" if device else "spare"
            lines.append(f"{way}  {words}")
        return tuple(lines)

    def port(self, end: str) -> str:
        """The name of an end that a lead or signal goes to: the part, and its port."""
        part, _, port = end.partition(".")
        return f"{self.names.part(part)} {port}".strip()

    def colour(self, wire: Conductor | Link) -> str:
        """The letters of a conductor's or a link's colour."""
        if isinstance(wire, Link):
            return wire.colour
        built = self.design.conductors.get(wire.id)
        return built.colour if built else ""

    @cached_property
    def _flows(self) -> dict[str, list[Mapping[str, float]]]:
        """By node: the current of everything that leads there, by case; positive where it comes in."""
        flows: dict[str, list[Mapping[str, float]]] = {}
        ends: list[tuple[str, str, Mapping[str, float]]] = [
            (c.from_node, c.to_node, self.design.conductors[c.id].current_a)
            for c in self.design.system.conductors.values()
            if c.id in self.design.conductors
        ]
        for device in self.design.system.devices.values():
            if device.id not in self.design.devices:
                continue
            there = self.design.devices[device.id].current_a
            back = {case: -a for case, a in there.items()}
            # What passes the first pole comes back through the others.
            ends += [(start, end, back if at else there) for at, (start, end) in enumerate(device.legs)]
        for start, end, amperes in ends:
            flows.setdefault(end, []).append(amperes)
            flows.setdefault(start, []).append({case: -a for case, a in amperes.items()})
        return flows

    def through(self, node: str) -> float:
        """The largest current of all cases that enters a node and leaves it again."""
        largest = 0.0
        for case in (case.id for case in (*self.design.system.cases, *self.design.states)):
            flows = [by_case.get(case, 0.0) for by_case in self._flows.get(node, ())]
            largest = max(largest, sum(a for a in flows if a > 0), -sum(a for a in flows if a < 0))
        return largest

    def supplied(self, load: LoadResult) -> str:
        """The node where the run of a load ends, its positive or only one; "" where that is not known."""
        run = self.design.system.runs.get(load.run)
        ids = run.conductor_ids if run else ()
        ends = (self.design.system.conductors[i] for i in ids)
        return next((c.to_node for c in ends if c.pole == "pos" and c.to_node in self.design.node_v), "")

    def loads_on(self, bank: str) -> list[Part]:
        """The loads on the bars of a bank; what a converter feeds is in what the converter takes."""
        nodes = self.design.system.nodes
        zones = {node.zone for node in nodes.values() if node.part == bank and node.pole == "pos"}
        held = [
            load.load
            for load in self.design.loads.values()
            if (end := self.supplied(load)) and nodes[end].zone in zones
        ]
        return [self.design.system.parts[name] for name in held]

    def watts(self, load: LoadResult, case: str) -> float:
        """Power that a DC load takes at its own terminals in a case."""
        node = self.supplied(load)
        volts = self.design.node_v.get(node, {}).get(case)
        if volts is None:
            return 0.0
        other = self.design.node_v.get(node.removesuffix("pos") + "neg", {}).get(case, 0.0)
        return sum(by_case.get(case, 0.0) for by_case in self._flows.get(node, ())) * (volts - other)

    def cautions(self) -> list[Block]:
        """What can hurt, for where the hand would be."""
        return [*self._batteries(), *self._arrays(), *self.ac_caution(), Callout("notice", NOTICE)]

    def _batteries(self) -> list[Block]:
        """The stored energy, with its figures where they are known; one caution however many banks there are."""
        currents: list[str] = []
        for part in self.design.system.of(Battery):
            source = self.design.sources.get(part.id)
            least = source.fault_current_a if source else None
            much = f"{thousands(least)} A" if least else "thousands of amperes"
            name = text(self.names.part(part.id))
            currents.append(f"{name} can deliver {much}" if not currents else f"{name} {much}")
        if not currents:
            return []
        it = "it at its" if len(currents) == 1 else "each at its"
        words = (
            f"{', '.join(currents)} into a short. Disconnect {it} terminals, negative first, and prove the bars dead"
        )
        return [Callout("warning", f"{words} before touching any conductor. No metal on hands or wrists.")]

    def _arrays(self) -> list[Block]:
        arrays = [text(self.names.part(part.id)) for part in self.design.system.of(Solar)]
        live = "live whenever light falls on it. Cover it, or open its isolator, before its conductors are handled."
        return [Callout("warning", f"{joined(arrays)}: {live}")] if arrays else []

    def ac_caution(self) -> list[Block]:
        """Alternating current is for licensed people."""
        if not self.mains:
            return []
        kinds = ((Shore, "shore lead unplugged"), (Generator, "generator stopped"), (Inverter, "inverter off"))
        off = [words for kind, words in kinds if self.design.system.of(kind)]
        state = f", with the {' and the '.join(off)}" if off else ""
        return [Callout("danger", f"{self.mains} V AC kills. Work on it belongs to a licensed person{state}.")]

    @cached_property
    def copper(self) -> dict[str, Copper]:
        """By size: the copper of the cut list, from the largest size on."""
        by_size: dict[str, Copper] = {}
        sizes = {r.size.key: r.size for r in self.design.runs.values() if r.size}
        for cut in self.design.cuts:
            size = sizes.get(cut.size)
            if size is not None:
                known = by_size.get(size.label, Copper(0.0, 0, 0.0))
                kilograms = cut.cores * cut.cut_m * wire.kg_per_m(size)
                by_size[size.label] = Copper(
                    known.length_m + cut.cores * cut.cut_m, known.conductors + cut.cores, known.kilograms + kilograms
                )
        order = {size.label: -wire.area_mm2(size) for size in sizes.values()}
        return dict(sorted(by_size.items(), key=lambda item: order[item[0]]))

    def colours(self, run: Run) -> str:
        """The colours of a run's conductors, each once, in the order of its poles."""
        letters = (self.design.conductors[c].colour for c in run.conductor_ids if c in self.design.conductors)
        return " ".join(dict.fromkeys(letters))


def carried(result: DeviceResult) -> float:
    """The largest current of all cases, without a sign."""
    return max((abs(a) for a in result.current_a.values()), default=0.0)


def budget_used(load: LoadResult) -> float:
    """Share of its voltage-drop budget that a load uses, by rule."""
    return load.drop_percent / load.budget_percent if load.budget_percent else 0.0


def ampacity_used(result: RunResult) -> float:
    """Share of its ampacity that a run carries."""
    return result.design_current.value / result.ampacity.value if result.ampacity and result.ampacity.value else 0.0
