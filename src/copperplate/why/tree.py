"""`show`: the system as a tree from its sources down, with sizes, devices and volts as the design has them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from textwrap import wrap

from copperplate.model import Battery, Part, Run
from copperplate.model.results import Design
from copperplate.units import number
from copperplate.units import show as quantity
from copperplate.why.chain import Link, chains

BAR_CELLS = 8


@dataclass(frozen=True)
class Row:
    """One line: the branch of the tree, what stands on it, and what stands in the columns on the right."""

    branch: str
    words: str
    volts: str = ""
    used: str = ""


def show(design: Design, width: int = 120) -> str:
    """The tree, as wide as its longest line and in at most `width` columns where words can be broken; ends with a
    line break."""
    walk = _Walk(design)
    rows = [row for part in _roots(design) for row in walk.root(part)]
    rows += walk.rest()
    return _laid(rows, width)


def _roots(design: Design) -> list[Part]:
    """Sources first (batteries before the others), for the tree grows from them."""
    sources = [part for part in design.system.parts.values() if part.roles.is_source]
    return sorted(sources, key=lambda part: not part.roles.stores)


class _Walk:
    """One walk over the runs, each shown once, in the order of the plate."""

    def __init__(self, design: Design) -> None:
        self.design = design
        self.shown_runs: set[str] = set()
        self.shown_parts: set[str] = set()
        self.leaving: dict[str, list[Run]] = {}
        self.returns: list[Run] = []
        self.chains = chains(design.system)
        for run in design.system.runs.values():
            if run.role == "run" and _brings_current(design, run):
                self.leaving.setdefault(design.system.end_parts(run)[0], []).append(run)
            else:
                self.returns.append(run)

    def root(self, part: Part) -> Iterator[Row]:
        """A source with everything that it feeds."""
        if part.id in self.shown_parts:
            return
        self.shown_parts.add(part.id)
        yield Row("", f"{part.id}  {facts(part)}".rstrip())
        yield from self.below(part.id, "")

    def below(self, part: str, indent: str) -> Iterator[Row]:
        """What the runs that leave a part lead to, depth first (by a list of our own: taps can be many deep)."""
        open_branches = [self._branches(part, indent)]
        while open_branches:
            branch = next(open_branches[-1], None)
            if branch is None:
                open_branches.pop()
                continue
            row, far, deeper = branch
            yield row
            if far is not None:
                open_branches.append(self._branches(far, deeper))

    def _branches(self, part: str, indent: str) -> Iterator[tuple[Row, str | None, str]]:
        """For each run that leaves a part: its row, the part that it leads to (None where that is shown
        already) and the indent of what follows from there."""
        runs = [run for run in self.leaving.get(part, ()) if run.id not in self.shown_runs]
        self.shown_runs.update(run.id for run in runs)
        heads = _aligned([self._head(run) for run in runs])
        for run, head in zip(runs, heads, strict=True):
            last = run is runs[-1]
            far = self.design.system.end_parts(run)[1]
            again = far in self.shown_parts
            self.shown_parts.add(far)
            row = self._row(run, indent + ("└─ " if last else "├─ "), head, again)
            yield row, None if again else far, indent + ("   " if last else "│  ")

    def rest(self) -> Iterator[Row]:
        """Runs that no source leads to, as the plate draws them, then returns, earths and the links of banks."""
        for part in list(self.leaving):
            if any(run.id not in self.shown_runs for run in self.leaving[part]):
                yield from self.root(self.design.system.parts[part])
        if self.returns:
            yield Row("", "returns, earths and links")
        for run in self.returns:
            last = run is self.returns[-1]
            links = f"  {run.count} link{'s'[: run.count > 1]}" if run.role == "link" else ""
            words = _open_ended(_chain_words(self.design, run, self.chains[run.id]))
            yield Row("└─ " if last else "├─ ", f"{run.from_end} ─ {words}{run.to_end}{links}")

    def _row(self, run: Run, branch: str, head: str, again: bool) -> Row:
        far = self.design.system.parts[self.design.system.end_parts(run)[1]]
        load = self.design.loads.get(far.id)
        words = f"{head}{run.to_end if again else far.id}"
        if again:
            words += " (above)"
        if not _meets(far) and not again and (load is None or not far.roles.is_load):
            words = f"{words}  {facts(far)}".rstrip()
        if load is None or again:
            return Row(branch, words, used=self._loading(run, far))
        words += f"  {number(load.current_a)} A"
        used = f"{load.drop_percent:.1f} of {number(load.budget_percent)} %"
        return Row(branch, words, f"{load.voltage_v:.1f} V", used)

    def _head(self, run: Run) -> tuple[str, str, str]:
        """What stands before the far end: for a way its number, device, length and size, else the chain."""
        links = self.chains[run.id]
        if links and links[0].device is not None and links[0].device.panel:
            way = run.from_end.rpartition(".")[2]
            return way, _rating(self.design, links[0].device.id), _chain_words(self.design, run, links[1:])
        return "", "", _open_ended(_chain_words(self.design, run, links))

    def _loading(self, run: Run, far: Part) -> str:
        """How much of its device's rating a feeder carries at most, as a bar and in figures."""
        if not _meets(far):
            return ""
        for link in self.chains[run.id]:
            result = self.design.devices.get(link.device.id) if link.device is not None else None
            if result is not None and result.rating.rating_a and result.current_a:
                most = max(abs(amperes) for amperes in result.current_a.values())
                most = 0.0 if most < 1e-6 else most
                cells = min(round(most / result.rating.rating_a * BAR_CELLS), BAR_CELLS)
                bar = "█" * cells + "░" * (BAR_CELLS - cells)
                return f"▕{bar}▏ {number(most)} of {number(result.rating.rating_a)} A"
        return ""


def facts(part: Part) -> str:
    """What a part is rated, in a few words: `12.8 V 560 Ah lifepo4`."""
    words = []
    if part.voltage_v is not None:
        words.append(f"{number(part.voltage_v * part.series)} V")
    if isinstance(part, Battery) and part.capacity_ah is not None:
        words.append(f"{number(part.capacity_ah * part.parallel)} Ah")
    if part.power_w is not None:
        words.append(f"{number(part.power_w * part.series * part.parallel * part.count, 4)} W")
    if part.current_a is not None:
        words.append(f"{number(part.current_a * part.count)} A")
    if isinstance(part, Battery) and part.chemistry is not None:
        words.append(part.chemistry)
    return " ".join(words)


def _meets(part: Part) -> bool:
    """Whether conductors meet there, so that it draws nothing of its own."""
    return part.roles.splits or part.roles.grounds


def _brings_current(design: Design, run: Run) -> bool:
    """False for what only takes it back or earths: a single negative or protective conductor."""
    return not run.earth and any(
        design.system.conductors[conductor].pole not in ("neg", "pe") for conductor in run.conductor_ids
    )


def _aligned(heads: list[tuple[str, ...]]) -> list[str]:
    """The heads of sibling ways in columns, the others as they are."""
    ways = [head for head in heads if head[0]]
    widths = [max((len(head[i]) for head in ways), default=0) for i in range(3)]
    return [
        f"{head[0]:>{widths[0]}}  {head[1]:>{widths[1]}}   {head[2]:<{widths[2]}}  " if head[0] else head[2]
        for head in heads
    ]


def _chain_words(design: Design, run: Run, links: list[Link]) -> str:
    """`0.4 m 2/0 AWG ─[main 250 A]─ 0.3 m`: pieces and devices in their order, the size at the first piece."""
    words = ""
    size = _size(design, run)
    for link in links:
        if link.device is not None:
            named = "" if link.device.id.endswith(f".{link.device.kind}") else link.device.id
            shown = " ".join(filter(None, (named, _rating(design, link.device.id)))) or link.device.kind
            words += (f"[{shown}]" if words.endswith("─") else f" ─[{shown}]" if words else f"[{shown}]") + "─"
        elif link.conductor is not None:
            length = quantity(link.conductor.length_m, design.system.settings.length_unit)
            words += f" {length} {size}".rstrip()
            size = ""
    return words.strip()


def _open_ended(words: str) -> str:
    """The same chain with the stroke that leads on to its far end."""
    return f"{words} " if words.endswith("─") else f"{words} ─ " if words else ""


def _size(design: Design, run: Run) -> str:
    result = design.runs.get(run.id)
    if result is None or result.size is None:
        return run.size.label if run.size is not None else "?"
    parallel = f"{result.parallel} x " if result.parallel > 1 else ""
    return parallel + result.size.label


def _rating(design: Design, device: str) -> str:
    result = design.devices.get(device)
    rating = result.rating.rating_a if result is not None else design.system.devices[device].rating_a
    return f"{number(rating)} A" if rating is not None else ""


def _laid(rows: list[Row], width: int) -> str:
    """The rows with their right-hand columns under each other, as far left as the longest load allows."""
    volts = max((len(row.volts) for row in rows), default=0)
    longest = max((len(row.branch + row.words) for row in rows if row.volts), default=0)
    lines: list[str] = []
    for row in rows:
        left = f"{row.branch + row.words:<{longest}}"
        right = f"{row.volts:>{volts}}  {row.used}" if row.volts else row.used
        line = f"{left}  {right}".rstrip()
        lines += [line] if len(line) <= width else _broken(row, right.strip(), width)
    return "\n".join(lines) + "\n"


def _broken(row: Row, right: str, width: int) -> list[str]:
    """A row too long for the width: its words over several lines beside the stem of the tree, the right-hand columns
    at the end of the last."""
    stem = row.branch[:-3] + ("│  " if row.branch.endswith("├─ ") else " " * len(row.branch[-3:])) + "  "
    lines = wrap(
        row.words, width, initial_indent=row.branch, subsequent_indent=stem, break_long_words=False,
        break_on_hyphens=False,
    )  # fmt: skip
    if right and len(lines[-1]) + 2 + len(right) <= width:
        lines[-1] += right.rjust(width - len(lines[-1]))
    elif right:
        lines.append(stem + right.rjust(width - len(stem)))
    return lines
