"""Section 9: why each size. Voltage lost along the path, the ladder, every candidate, margins."""

from __future__ import annotations

from collections.abc import Iterable

from copperplate.model import Load
from copperplate.model.results import Binding, Candidate, LoadResult, Rung, RunResult
from copperplate.model.trace import Traced
from copperplate.report.blocks import Block, Break, Column, Heading, Table
from copperplate.report.facts import Facts
from copperplate.report.front import ampacity_used, budget_used
from copperplate.report.words import code, codes, fixed, plain, prose, sentence, text, trimmed, unit
from copperplate.units import number

NEAREST = 3
"""Circuits shown where nobody asked for all of them."""

RULES: dict[str, str] = {
    "minimum": "Least gauge",
    "ampacity": "Ampacity",
    "protection": "Protection",
    "drop": "Voltage drop",
    "start": "Start of a motor",
    "advice": "Maker's advice",
    "comparable": "Comparable",
    "terminal": "Terminal fit",
    "stock": "Stock",
}


def reasons(facts: Facts, detail: bool) -> list[Block]:
    """Circuits nearest to their limit, or with `detail` every load and then every other run."""
    loads = list(facts.design.loads.values())
    shown = loads if detail else sorted(loads, key=lambda load: -_nearness(facts, load))[:NEAREST]
    done = {load.run for load in loads}
    others = [r for r in facts.design.runs.values() if r.run not in done] if detail else []
    if not shown and not others:
        return [Heading(2, "9", "Reasons"), "No circuit was sized."]
    intro = (
        "Every circuit, then every other run."
        if detail
        else "The circuits nearest to their limits; `build --detail` writes the reasons of every run."
    )
    blocks: list[Block] = [Heading(2, "9", "Reasons"), intro]
    for n, load in enumerate(shown, 1):
        blocks += [Break()] if n > 1 else []
        blocks += _circuit(facts, f"9.{n}", load)
    for n, result in enumerate(others, len(shown) + 1):
        blocks += [Heading(3, f"9.{n}", code(result.run)), _chosen(result), *_run(facts, result)]
    return blocks


def _nearness(facts: Facts, load: LoadResult) -> float:
    result = facts.design.runs.get(load.run)
    return max(budget_used(load), ampacity_used(result) if result else 0.0)


def _circuit(facts: Facts, place: str, load: LoadResult) -> list[Block]:
    title = facts.title(load.load)
    name = f", {text(title)}" if plain(title) else ""
    result = facts.design.runs.get(load.run)
    part = facts.part_at(load.load)
    run = facts.design.system.runs.get(load.run)
    critical = " because it is critical" if isinstance(part, Load) and part.critical else ""
    through = f" through {codes(run.routes)}" if run and run.routes else ""
    way = f"From {code(run.from_end)}, " if run else ""
    length = f", {facts.length(run.length_m)} {facts.length_unit} one way{through}" if run else ""
    budget = f"budget {trimmed(load.budget_percent, 2)} % of {trimmed(load.nominal_v, 1)} V{critical}"
    intro = f"{way}{number(load.current_a)} A{length}; {budget}."
    return [
        Heading(3, place, f"{code(load.load)}{name}"),
        f"{intro} {_chosen(result)}" if result else intro,
        *_path(facts, load),
        *(_run(facts, result) if result else []),
    ]


def _chosen(result: RunResult) -> str:
    """What was taken, what set it, and what the next size down failed."""
    if result.size is None:
        return "**No size fits.**"
    smaller = [c for c in result.candidates if c.refused_by and not c.chosen and _before(c, result)]
    refused = ""
    if smaller:
        last = smaller[-1]
        rules = ", ".join(RULES[rule].lower() for rule in last.refused_by)
        refused = f"; {Facts.several(last.parallel, last.size.label)} refused by {rules}"
    chosen = Facts.several(result.parallel, result.size.label)
    return f"**Chosen: {chosen}, {result.set_by}{refused}.**"


def _before(candidate: Candidate, result: RunResult) -> bool:
    """Whether a candidate stands below the chosen one on the ladder."""
    chosen = next((i for i, c in enumerate(result.candidates) if c.chosen), len(result.candidates))
    return result.candidates.index(candidate) < chosen


def _path(facts: Facts, load: LoadResult) -> list[Block]:
    """The path out and back, without devices that lose nothing; a chart of the table's own cells follows it. Its
    last row is the budget."""
    if len(load.path) < 2:
        return []
    columns = (
        Column("Reached", 18),
        Column("Through", 20),
        Column("Size", 10),
        Column("Length", 9, facts.length_unit, 2),
        Column("Current", 10, "A", 2),
        Column("Lost here", 13, "mV", 1),
        Column("Path", 9, facts.length_unit, 2),
        Column("Lost so far", 14, "V", 3),
        Column("Judged so far", 16, "V", 3),
    )
    rows: list[tuple[str, ...]] = []
    metres = lost = judged = 0.0
    for step in load.path:
        metres, lost, judged = metres + step.length_m, lost + step.lost_v, judged + step.judged_v
        device = step.through in facts.design.system.devices
        if device and not step.lost_v:
            continue
        rows.append(
            (
                text(facts.wires.end(step.reached, device)),
                code(_tag(facts, step.through)),
                text(step.size),
                "" if device or not step.through else facts.length(step.length_m),
                fixed(abs(step.current_a), 2) if step.through else "",
                fixed(1000 * step.lost_v, 1) if step.through else "",
                facts.length(metres),
                fixed(lost, 3),
                fixed(judged, 3),
            )
        )
    rows.append(("budget", *[""] * 7, fixed(load.budget_v, 3)))
    caption = (
        f"Voltage lost along the path of {code(load.load)}, out and back: as solved in case {text(load.worst_case)}, "
        "and as judged by the largest current of each conductor in any load case."
    )
    source = facts.design.sources.get(load.source)
    off = source is not None and not source.current_a.get(load.worst_case)
    note = (
        f"{code(load.source)} gives nothing in that case: its way is judged, and another supply feeds the load."
        if off
        else ""
    )
    return [Table(caption, columns, tuple(rows), note, chart="path")]


def _tag(facts: Facts, through: str) -> str:
    conductor = facts.design.system.conductors.get(through)
    return conductor.marker if conductor else through


def _run(facts: Facts, result: RunResult) -> list[Block]:
    return [*_figures(facts, result), *_ladder(facts, result), *_candidates(facts, result), _margins(facts, result)]


def _figures(facts: Facts, result: RunResult) -> list[Block]:
    """Where the figures come from: the formula, what went into it, its source."""
    traces = [result.design_current, *([result.ampacity] if result.ampacity else []), *result.factors]
    guards = [facts.design.devices[d] for d in result.protected_by[:1] if d in facts.design.devices]
    named = [(text(trace.quantity), trace) for trace in traces]
    named += [(f"{code(guard.device)} must carry", guard.rating.needs_a) for guard in guards]
    named += [(f"{code(guard.device)} in its air", guard.rating.air) for guard in guards if guard.rating.air]
    table = Table.of(
        named,
        f"Where the figures of {code(result.run)} come from.",
        Column("Figure", 26, cell=lambda figure: figure[0]),
        Column("Value", 10, decimals=3, cell=lambda figure: number(figure[1].value, 4)),
        Column("Unit", 4, cell=lambda figure: unit(figure[1].unit)),
        Column("Formula", 34, cell=lambda figure: text(figure[1].formula)),
        Column("From", 34, cell=lambda figure: inputs(figure[1])),
        Column("Source", 40, cell=lambda figure: text(figure[1].source)),
    )
    return [table]


def inputs(trace: Traced) -> str:
    """What went into a figure: `power 60 W, lowest voltage 11.64 V`."""
    shown_inputs: list[str] = []
    for name, value, measure in trace.inputs:
        shown = value if isinstance(value, str) else number(value, 4)
        shown_inputs.append(" ".join(part for part in (text(name), text(shown), unit(measure)) if part))
    return ", ".join(shown_inputs)


def _ladder(facts: Facts, result: RunResult) -> list[Block]:
    """One row a rule, in the order in which the ladder is climbed: the least size that it allows alone, and the
    least that this rule and all before it allow together."""
    chosen = next((c for c in result.candidates if c.chosen), None)
    if chosen is None:
        return []
    steps = [(n, rung) for n, rung in enumerate(chosen.rungs, 1) if rung.verdict != "not judged"]

    def allowed(rungs: Iterable[Rung]) -> str:
        rules = {rung.rule for rung in rungs}
        least = next((c for c in result.candidates if not rules.intersection(c.refused_by)), None)
        return facts.several(least.parallel, facts.bare(least.size.label)) if least else "none"

    silent = [RULES[rung.rule].lower() for rung in chosen.rungs if rung.verdict == "not judged"]
    note = "Allows is the least size that the rule takes alone, after the least that all rules so far take."
    note += f" Nothing is asked here by: {', '.join(silent)}." if silent else ""
    ladder = Table.of(
        steps,
        f"The ladder of {code(result.run)}, in the order in which it is climbed.",
        Column("Step", 4, decimals=0, cell=lambda step: str(step[0])),
        Column("Rule", 16, cell=lambda step: RULES[step[1].rule]),
        Column("Says of the chosen size", 34, cell=lambda step: _rung(step[1])),
        facts.size_column("Allows", lambda step: allowed(step[1:])),
        facts.size_column("After", lambda step: allowed(chosen.rungs[: step[0]])),
        Column("Source", 44, cell=lambda step: text(step[1].value.source) if step[1].value else ""),
        note=note,
    )
    return [ladder]


def _candidates(facts: Facts, result: RunResult) -> list[Block]:
    """Every candidate with what each rule says of it."""
    judged = [
        rule
        for rule in RULES
        if any(r.rule == rule and r.verdict != "not judged" for c in result.candidates for r in c.rungs)
    ]
    if not judged:
        return []

    def column(rule: str) -> Column:
        def cell(candidate: Candidate) -> str:
            return next((_rung(rung) for rung in candidate.rungs if rung.rule == rule), "")

        return Column(RULES[rule], max(10, len(RULES[rule])), cell=cell)

    return [
        Table.of(
            result.candidates,
            f"Every size tried for {code(result.run)}, with the feed as built.",
            facts.size_column("Size", lambda c: facts.several(c.parallel, facts.bare(c.size.label))),
            *map(column, judged),
            Column("Verdict", 24, cell=_verdict),
        )
    ]


def _rung(rung: Rung) -> str:
    """What a rule says of a size, with the unit where that is a bare number."""
    bare = rung.shown.replace(".", "", 1).isdigit() and rung.value is not None
    return f"{text(rung.shown)} {unit(rung.value.unit)}" if bare and rung.value else text(rung.shown)


def _verdict(candidate: Candidate) -> str:
    if candidate.chosen:
        return "**chosen**"
    refused = ", ".join(RULES[rule].lower() for rule in candidate.refused_by)
    return f"no: {refused}" if refused else "would do"


def _margins(facts: Facts, result: RunResult) -> str:
    """How far the choice holds, and what else was computed for the reader."""
    spare: list[str] = []
    if result.spare_length_m:
        longer = f"{facts.length(result.spare_length_m)} {facts.length_unit} longer one way"
        spare.append(longer + _until(result.spare_length_by))
    if result.spare_current_a:
        spare.append(f"{number(result.spare_current_a)} A more" + _until(result.spare_current_by))
    known = result.spare_length_m is not None or result.spare_current_a is not None
    larger = f" The next larger size is {result.next_size.label}." if result.next_size else ""
    margins = f"**Margins.** All sizes serve with {'; or with '.join(spare)}.{larger}" if spare else ""
    margins = margins or ("**Margins.** None." if known else "")
    guards = f"Protected by {codes(result.protected_by)}." if result.protected_by else ""
    offers = " ".join(sentence(offer) for offer in result.offers)
    return " ".join(part for part in (margins, guards, offers) if part) or prose("No margin can be told.")


def _until(binding: Binding | None) -> str:
    return f", until {prose(binding.words)}" if binding else ""
