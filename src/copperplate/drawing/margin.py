"""The column at the right of the overview: sheets, key figures, points to check, notes."""

from __future__ import annotations

from collections.abc import Sequence

from copperplate.drawing import captions, lettering
from copperplate.drawing.captions import Task
from copperplate.drawing.page import Page
from copperplate.drawing.pen import Group, words

SIDE = 64.0
"""Width of the column."""


def fill(task: Task, page: Page, titles: Sequence[str], unwired: Sequence[str]) -> None:
    """The column at the right of the first page: the sheets, key figures, points to check, notes, and the parts
    that no conductor reaches."""
    x, y = task.paper.right - SIDE + 2, task.paper.top + 3.4
    room = SIDE - 2
    blocks = (
        ("Sheets", _listed(titles)),
        ("Key figures", _figures(task)),
        ("Points to check", _points(task)),
        ("Notes", [lettering.clean(note.text) for note in task.design.system.notes]),
    )
    for heading, texts in blocks:
        if not texts or y > task.paper.bottom - 12:
            continue
        group = Group("margin", heading, "symbol").add(words(x, y, heading, bold=True, size=lettering.TITLE))
        y += 4.6
        for text in texts:
            lines = lettering.wrap_to(text, room, 6)
            if y + lettering.LINE * len(lines) > task.paper.bottom - lettering.LINE:
                group.add(words(x, y, "More in the report."))
                y += 4.6
                break
            for line in lines:
                group.add(words(x, y, line))
                y += lettering.LINE
            y += 0.7
        page.groups.append(group)
        y += 4.0
    _unwired(task, page, unwired)


def _unwired(task: Task, page: Page, names: Sequence[str]) -> None:
    """The parts that no conductor reaches, on a line at the foot of the page."""
    x, y = task.paper.left, task.paper.bottom - 1.0
    if not names:
        return
    head = Group("margin", "not wired", "symbol").add(words(x, y, "Not wired:"))
    page.groups.append(head)
    x += lettering.width("Not wired:") + 1.5
    for place, name in enumerate(names):
        text = name if place == len(names) - 1 else f"{name},"
        if x + lettering.width(text) > task.paper.right - SIDE - 20:
            page.groups.append(Group("margin", "not wired", "symbol").add(words(x, y, "and more")))
            return
        page.groups.append(Group("part", name, "symbol").add(words(x, y, text)))
        x += lettering.width(text) + 1.2


def _listed(titles: Sequence[str]) -> list[str]:
    """ "4 to 9 DC circuits, cabin": sheets of one kind on one line."""
    found: list[tuple[int, int, str]] = []
    for number, title in enumerate(titles, 1):
        stem = title.rsplit(", part ", 1)[0]
        if found and found[-1][2] == stem:
            found[-1] = (found[-1][0], number, stem)
        else:
            found.append((number, number, stem))
    return [f"{first} {stem}" if first == last else f"{first} to {last} {stem}" for first, last, stem in found]


def _figures(task: Task) -> list[str]:
    """What a reader wants to know first."""
    design = task.design
    lines: list[str] = []
    for part in design.system.of_kind("battery"):
        figures = captions.figures(task, part)
        if figures:
            lines.append(
                f"{captions.name_of(part)} {figures[-1].removeprefix('together ')}".replace(captions.FIRM, " ")
            )
    loads = [result for name, result in design.loads.items() if design.system.parts[name].kind == "load"]
    direct = [result for result in loads if not design.system.parts[result.load].get("ac")]
    if direct:
        total = sum(result.current_a for result in direct)
        lines.append(f"{captions.counted(len(direct), 'DC load')}, {captions.amperes(total)} with everything on")
    if len(loads) > len(direct):
        lines.append(captions.counted(len(loads) - len(direct), "AC load"))
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
