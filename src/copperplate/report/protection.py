"""The inspector's matrix: five questions of each fuse and breaker, each with a verdict, its figure and its limit."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from functools import cached_property

from copperplate.findings import Finding
from copperplate.model.parts import Panel
from copperplate.model.results import DeviceResult
from copperplate.model.system import DC_POLES, Device
from copperplate.report.blocks import Block, Column, Heading, Table
from copperplate.report.facts import Facts
from copperplate.report.reach import above
from copperplate.report.words import against, amperes, code, fixed, text, trimmed
from copperplate.standards import profile
from copperplate.units import exceeds, suffices

YES, NO, SILENT = "✓", "✗", "–"
CARRIES = ("CP405", "CP406", "CP446")
PROTECTS = ("CP403", "CP404", "CP414", "CP432", "CP433", "CP435", "CP436", "CP437", "CP438")
BREAKS = ("CP411", "CP415", "CP714")
IN_TIME = ("CP412", "CP417", "CP418", "CP716", "CP717", "CP718")
SELECTIVE = ("CP419",)
FAMILIES = {
    "blade": "Blade", "mini-blade": "Mini blade", "high-blade": "Large blade", "strip": "Strip fuse",
    "strip-70v": "Strip fuse 70 V", "single-bolt": "Single bolt", "class-t": "Class T", "gg": "gG",
    "breaker": "Breaker",
}  # fmt: skip


@dataclass
class Matrix:
    """The cells of every device, and the questions to makers that they name."""

    facts: Facts
    asked: dict[str, str] = field(default_factory=dict)
    """By number (`Q1`) what is asked."""

    @cached_property
    def rows(self) -> dict[str, tuple[str, ...]]:
        """By device the cells of the five questions."""
        design = self.facts.design
        return {
            d.id: tuple(ask(d, design.devices[d.id]) for ask in self._questions)
            for d in design.system.devices.values()
            if d.roles.protects and d.id in design.devices
        }

    @property
    def _questions(self) -> tuple[Callable[[Device, DeviceResult], str], ...]:
        return self.carries, self.protects, self.breaks, self.in_time, self.selective

    def carries(self, device: Device, r: DeviceResult) -> str:
        rating, needs = r.rating.rating_a, r.rating.needs_a.value
        if rating is None:
            return f"{NO} {amperes(needs)} / none"
        mark = self._mark(suffices(rating, needs), device, CARRIES)
        return f"{mark} {against(needs, rating, 1 if needs < 99.95 else 0)} / {trimmed(rating, 1)}"

    def protects(self, device: Device, r: DeviceResult) -> str:
        rating, wire = r.rating.rating_a, r.smallest_ampacity_a
        if rating is None or wire is None:
            return SILENT
        mark = self._mark(not exceeds(rating, wire), device, PROTECTS)
        return f"{mark} {trimmed(rating, 1)} / {against(wire, rating, 1 if wire < 99.95 else 0)}"

    def breaks(self, device: Device, r: DeviceResult) -> str:
        if r.prospective_fault is None:
            return f"{SILENT} source-limited"
        fault = r.prospective_fault.value / 1000
        if r.interrupting_a is None:
            number = self._number(f"{kind_of(device, r)}: ask the maker which fault current it breaks")
            return f"{number} {fixed(fault, 2)} / not stated"
        can = r.interrupting_a / 1000
        mark = self._mark(not exceeds(fault, can), device, BREAKS)
        return f"{mark} {against(fault, can, 2)} / {trimmed(can, 2)}"

    def in_time(self, device: Device, r: DeviceResult) -> str:
        """The worse of a short at the far end and, of an AC device, of a fault to earth there."""
        ends = [(r.far_end, r.end_fault.value if r.end_fault else None, "short"),
                (r.earth_end, r.earth_fault.value if r.earth_fault else None, "fault to earth")]  # fmt: skip
        judged = [(end, amps, what) for end, amps, what in ends if end]
        for verdict in ("does not open", "not proven"):
            for end, amps, what in judged:
                if end == verdict:
                    figure = f" {amperes(amps)} A" if amps is not None else ""
                    if verdict == "not proven":
                        return f"{self._ask(device, r, what)}{figure}"
                    return f"{self._mark(False, device, IN_TIME, NO)}{figure}"
        if not judged:
            return SILENT
        if any(mark for mark, f in self.facts.register.marks.get(device.id, ()) if f.code in ("CP718",)):
            return f"{self._ask(device, r, 'short')} {amperes(judged[0][1])} A"
        return f"{YES} {_seconds(r.opens_within_s)}".rstrip()

    def selective(self, device: Device, r: DeviceResult) -> str:
        """How much larger the smallest device above it is; of AC the makers say."""
        upper = self._above.get(device.id)
        own = r.rating.rating_a
        if upper is None or not own or device.pole not in DC_POLES:
            return SILENT
        rating = self.facts.design.devices[upper].rating.rating_a
        if rating is None:
            return SILENT
        ratio = rating / own
        found = [mark for mark, f in self._findings(upper, SELECTIVE) if f.figures.get("smaller") is not None]
        enough = suffices(ratio, self.clear)
        mark = YES if enough else next((f"**{mark}**" for mark in found), SILENT)
        return f"{mark} {against(ratio, self.clear, 1)} ×"

    @cached_property
    def clear(self) -> float:
        """How many times larger a device is that stands clear above another, by the rules used."""
        return profile(self.facts.design.profile).figures["selectivity"].value

    @cached_property
    def _above(self) -> dict[str, str]:
        return above(self.facts.design)

    def _findings(self, address: str, codes: tuple[str, ...]) -> list[tuple[str, Finding]]:
        return [(mark, f) for mark, f in self.facts.register.marks.get(address, ()) if f.code in codes]

    def _mark(self, holds: bool, device: Device, codes: tuple[str, ...], otherwise: str = SILENT) -> str:
        """A verdict: yes, a deviation by its number, no; what no finding speaks of is allowed by another rule."""
        if holds:
            return YES
        found = self._findings(device.id, codes)
        accepted = [mark for mark, f in found if f.accepted is not None]
        return f"**{accepted[0]}**" if accepted else f"{NO}" if found else otherwise

    def _ask(self, device: Device, r: DeviceResult, what: str) -> str:
        kind = kind_of(device, r)
        current = self.facts.design.system.runs[device.run].current
        question = f"{kind} on {current.upper()}: ask the maker whether it opens within 5 s at the current listed"
        if current == "ac":
            question = f"{kind} on AC: ask how the weakest supply behaves in a {what}, or measure the loop"
        return self._number(question)

    def _number(self, question: str) -> str:
        number = next((n for n, known in self.asked.items() if known == question), f"Q{len(self.asked) + 1}")
        self.asked[number] = question
        return f"**{number}**"


def _seconds(seconds: float | None) -> str:
    return "" if seconds is None else f"{trimmed(max(seconds, 0.01), 2)} s"


def kind_of(device: Device, r: DeviceResult) -> str:
    """`Class T`, `Breaker C`."""
    family = FAMILIES.get(r.rating.family, r.rating.family or device.kind.capitalize())
    return f"{family} {device.curve.upper()}".strip()


def protection(facts: Facts) -> Iterator[Block]:
    """The matrix with its counts and questions."""
    matrix = Matrix(facts)
    rows = matrix.rows
    yield Heading(3, "Protection")
    if not rows:
        yield "No fuse and no breaker was judged."
        return
    counts = dict.fromkeys(("Settled", "Open", "Rest on an acceptance", "Fail"), 0)
    for cells in rows.values():
        counts[verdict(cells)] += 1
    figures = (
        ("Fuses and breakers", str(len(rows)), "", "every one has a row"),
        ("Settled", str(counts["Settled"]), "", "no question left"),
        ("Open", str(counts["Open"]), "", "see the questions below"),
        (
            "Rest on an acceptance",
            str(counts["Rest on an acceptance"]),
            "",
            "its number stands in the client's document",
        ),
        ("Fail", str(counts["Fail"]), "", "none may be left"),
    )
    columns = (Column("Figure", 22), Column("Value", 5, decimals=0), Column("Unit", 4), Column("Of", 40))
    yield Table("", columns, figures, marks=("figures",))
    if matrix.asked:
        yield Table.of(
            matrix.asked.items(),
            "",
            Column("", 5, cell=lambda item: f"**{item[0]}**"),
            Column("To ask", 80, cell=lambda item: f"{text(item[1])}."),
            marks=("small",),
        )
    system = facts.design.system

    def answer(at: int, head: str, under: str) -> Column:
        return Column(head, 17, under, None, lambda device: rows[device.id][at])

    def name(device: Device) -> str:
        if device.panel:
            return text(f"{device.way or ''} {facts.names.circuit(system.runs[device.run])}".strip())
        return text(facts.names.device(device.id))

    listed = [system.devices[d] for d in rows]
    panels = {panel.id: text(facts.names.part(panel.id)) for panel in system.of(Panel)}
    groups = [("Banks, bars and large loads", [d for d in listed if not d.panel and d.pole in DC_POLES])]
    groups += [("AC", [d for d in listed if not d.panel and d.pole not in DC_POLES])]
    groups += [(title, [d for d in listed if d.panel == panel]) for panel, title in panels.items()]
    heads = ("Carries?", "Protects wire?", "Breaks the fault?", "In time?", "Selective?")
    units = (
        "needs / rating A",
        "rating / wire A",
        "fault / can kA",
        "≤ 5 s far end",
        f"next ≥ {matrix.clear:g} ×",
    )
    yield Table.grouped(
        groups,
        "Each answer with its figure.",
        Column("Device", 28, cell=name),
        Column("On the drawing", 18, cell=lambda d: code(d.id)),
        Column("Kind", 12, cell=lambda d: text(kind_of(d, facts.design.devices[d.id]))),
        *map(answer, range(len(heads)), heads, units),
        note=f"{YES} yes, Q ask, D accepted, {NO} no, {SILENT} not asked, or allowed by another rule than this figure.",
        marks=("schedule", "matrix"),
    )


def verdict(cells: tuple[str, ...]) -> str:
    """What the five answers come to."""
    if any(cell.startswith(NO) for cell in cells):
        return "Fail"
    if any(cell.startswith("**Q") for cell in cells):
        return "Open"
    return "Rest on an acceptance" if any(cell.startswith("**D") for cell in cells) else "Settled"
