"""A design as a reader of schedules asks for it: what a conductor ends on, what protects it, which way it is on."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from copperplate.model.results import Cut, Design, DeviceResult, LoadResult, RunResult
from copperplate.model.system import Part, Run
from copperplate.model.wirelist import WireList
from copperplate.report.blocks import Column
from copperplate.report.words import trimmed
from copperplate.standards import conductors as wire
from copperplate.units import from_si


@dataclass(frozen=True, slots=True)
class Copper:
    """Conductors of one size to cut: length with slack, how many, their copper."""

    length_m: float
    conductors: int
    kilograms: float


@dataclass(frozen=True)
class Facts:
    """One design with the indexes that its schedules need. `sheets`: by address, the numbers of the sheets that
    show it."""

    design: Design
    sheets: Mapping[str, tuple[int, ...]]

    @property
    def length_unit(self) -> str:
        return self.design.system.settings.length_unit

    def length(self, metres: float | None) -> str:
        """A length in the plate's unit, without the unit."""
        return "" if metres is None else trimmed(from_si(metres, self.length_unit), 2)

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

    def title(self, address: str) -> str:
        """Title of the part or device at an address; "" where it has none."""
        part = self.design.system.parts.get(address.split(".")[0])
        device = self.design.system.devices.get(address)
        return device.title if device else part.title if part else ""

    def part_at(self, end: str) -> Part | None:
        """The part at an end of a run."""
        return self.design.system.parts.get(end.split(".")[0])

    @cached_property
    def wires(self) -> WireList:
        """The names of ends, and what protects a conductor."""
        return WireList(self.design)

    @cached_property
    def cuts(self) -> tuple[Cut, ...]:
        """The cut list by size and colour, each in the order of its first use: what comes off one reel together."""
        reels: dict[tuple[str, str], list[Cut]] = {}
        for cut in self.design.cuts:
            reels.setdefault((cut.size, cut.colour), []).append(cut)
        return tuple(cut for reel in reels.values() for cut in reel)

    def cut_ends(self, cut: Cut) -> tuple[str, str]:
        """What the two ends of a piece land on; a cable on the part or device, without the pole."""
        first, second = self.wires.end(cut.from_end, True), self.wires.end(cut.to_end, False)
        if cut.cores == 1:
            return first, second
        return first.removesuffix(" L").removesuffix(" L1"), second.removesuffix(" L").removesuffix(" L1")

    @cached_property
    def codes_at(self) -> dict[str, tuple[str, ...]]:
        """By subject: codes of the errors and warnings found there, accepted ones too."""
        codes: dict[str, tuple[str, ...]] = {}
        for f in self.design.findings:
            if f.severity != "advice" and f.code not in codes.get(f.subject, ()):
                codes[f.subject] = (*codes.get(f.subject, ()), f.code)
        return codes

    @cached_property
    def way_runs(self) -> dict[str, Run]:
        """By way (`cabin.3`): the run that leaves it."""
        runs = self.design.system.runs
        return {d.id: runs[d.run] for d in self.design.system.devices.values() if d.panel and d.run in runs}

    @cached_property
    def followers(self) -> dict[str, tuple[Run, ...]]:
        """By part: the runs that go on from a load or a splice (taps), in declaration order."""
        following: dict[str, tuple[Run, ...]] = {}
        for run in self.design.system.runs.values():
            part = self.part_at(run.from_end)
            if (
                part is not None
                and (part.roles.is_load or part.roles.is_splice)
                and run.to_end.split(".")[0] != part.id
            ):
                following[part.id] = (*following.get(part.id, ()), run)
        return following

    def circuit(self, run: Run) -> tuple[Run, ...]:
        """A way's run and the taps that follow it."""
        runs = [run]
        seen = {run.id}
        for member in runs:
            for follower in self.followers.get(member.to_end.split(".")[0], ()):
                if follower.id not in seen:
                    seen.add(follower.id)
                    runs.append(follower)
        return tuple(runs)

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

    def watts(self, load: LoadResult, case: str) -> float:
        """Power that a DC load takes at its own terminals in a case."""
        node = self.supplied(load)
        volts = self.design.node_v.get(node, {}).get(case)
        if volts is None:
            return 0.0
        other = self.design.node_v.get(node.removesuffix("pos") + "neg", {}).get(case, 0.0)
        return sum(by_case.get(case, 0.0) for by_case in self._flows.get(node, ())) * (volts - other)

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
