"""The margin at the right of the overview: sheets, key figures, points to check, notes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from copperplate import units
from copperplate.drawing import captions, lettering
from copperplate.drawing.captions import Task
from copperplate.drawing.page import Page
from copperplate.drawing.pen import Group, words
from copperplate.model.parts import Battery

SIDE = 64.0
"""Width of the margin."""


def fill(task: Task, page: Page, titles: Sequence[str], unwired: Sequence[str]) -> None:
    """The margin at the right of the first page: the sheets, key figures, the parts that no conductor reaches, points
    to check, notes."""
    margin = _Margin(page, task.paper.right - SIDE + 2, task.paper.top + 3.4, task.paper.bottom)
    margin.texts("Sheets", _listed(titles))
    margin.texts("Key figures", _figures(task))
    margin.parts("Not wired", unwired)
    margin.texts("Points to check", _points(task))
    margin.texts("Notes", [lettering.clean(note.text) for note in task.design.system.notes])


@dataclass
class _Margin:
    """Where the next line of the margin stands."""

    page: Page
    x: float
    y: float
    bottom: float
    room: float = SIDE - 2

    def _heading(self, text: str) -> Group:
        group = Group("margin", text, "symbol").add(words(self.x, self.y, text, bold=True, size=lettering.TITLE))
        self.page.groups.append(group)
        self.y += 4.6
        return group

    def texts(self, heading: str, texts: Sequence[str]) -> None:
        """A heading and paragraphs, as far as they fit."""
        if not texts or self.y > self.bottom - 12:
            return
        group = self._heading(heading)
        for text in texts:
            lines = lettering.wrap_to(text, self.room, 6)
            if self.y + lettering.LINE * len(lines) > self.bottom - lettering.LINE:
                group.add(words(self.x, self.y, "More in the report."))
                self.y += 4.6
                break
            for line in lines:
                group.add(words(self.x, self.y, line))
                self.y += lettering.LINE
            self.y += 0.7
        self.y += 4.0

    def parts(self, heading: str, names: Sequence[str]) -> None:
        """A heading and the addresses of parts, one after the other."""
        if not names or self.y > self.bottom - 12:
            return
        self._heading(heading)
        at = self.x
        for place, name in enumerate(names):
            text = lettering.shorten(name, self.room - 1) + ("," if place < len(names) - 1 else "")
            if at > self.x and at + lettering.width(text) > self.x + self.room:
                at, self.y = self.x, self.y + lettering.LINE
            if self.y > self.bottom - lettering.LINE:
                break
            self.page.groups.append(Group("part", name, "symbol").add(words(at, self.y, text)))
            at += lettering.width(text) + 1.2
        self.y += 4.6 + 4.0


def _listed(titles: Sequence[str]) -> list[str]:
    """`4 to 9 DC circuits, cabin`: sheets of one kind on one line."""
    spans: list[tuple[int, int, str]] = []
    for number, title in enumerate(titles, 1):
        stem = title.rsplit(", part ", 1)[0]
        if spans and spans[-1][2] == stem:
            spans[-1] = (spans[-1][0], number, stem)
        else:
            spans.append((number, number, stem))
    return [
        f"{first} {stem}" if first == last else f"{first} {'and' if last == first + 1 else 'to'} {last} {stem}"
        for first, last, stem in spans
    ]


def _figures(task: Task) -> list[str]:
    """What a reader wants to know first."""
    design = task.design
    lines: list[str] = []
    for part in design.system.of(Battery):
        figures = captions.figures(task, part)
        if figures:
            lines.append(
                f"{captions.name_of(part)} {figures[-1].removeprefix('together ')}".replace(captions.FIRM, " ")
            )
    loads = [result for name, result in design.loads.items() if design.system.parts[name].roles.is_load]
    direct = [result for result in loads if not design.system.parts[result.load].ac]
    if direct:
        total = sum(result.current_a for result in direct)
        lines.append(f"{units.counted(len(direct), 'DC load')}, {captions.amperes(total)} with everything on")
    if len(loads) > len(direct):
        lines.append(units.counted(len(loads) - len(direct), "AC load"))
    if direct:
        worst = max(direct, key=lambda result: result.drop_percent)
        name = captions.name_of(design.system.parts[worst.load])
        lines.append(f"Largest drop: {name} {worst.drop_percent:.1f} % of {worst.budget_percent:.1f} %")
    for energy in design.energy:
        if energy.autonomy_days is not None:
            lines.append(f"{energy.bank}: {energy.autonomy_days:.1f} days without charging")
    return lines


def _points(task: Task) -> list[str]:
    """Open findings, the most severe first, in their own words."""
    design = task.design
    opened = [finding for finding in design.findings if finding.accepted is None]
    lines = [
        f"{finding.code} {lettering.clean(finding.message).replace('`', '')}"
        for finding in opened
        if finding.severity != "advice"
    ]
    advice = sum(finding.severity == "advice" for finding in opened)
    if advice:
        lines.append(f"{advice} pieces of advice in the report" if advice > 1 else "One piece of advice in the report")
    lines += [lettering.clean(text).replace("`", "") for text in design.not_covered]
    return lines or ["No open findings."]
