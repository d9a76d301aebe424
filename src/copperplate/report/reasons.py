"""Why each size: voltage lost along the path, every size tried, what is to spare."""

from __future__ import annotations

from copperplate.model import Load
from copperplate.model.results import Binding, Candidate, LoadResult, Rung, RunResult
from copperplate.model.trace import Traced
from copperplate.report.blocks import Block, Column, Heading, Table
from copperplate.report.facts import Facts, ampacity_used, budget_used
from copperplate.report.words import against, amperes, code, fixed, sentence, text, trimmed, unit
from copperplate.units import number

NEAREST = 2
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
        return [Heading(3, "Reasons"), "No circuit was sized."]
    every = "Every circuit, then every other run."
    blocks: list[Block] = [
        Heading(3, "Reasons"),
        every if detail else "The circuits nearest to their limits; `build --detail` writes the reasons of every run.",
    ]
    for load in shown:
        blocks += _circuit(facts, load, detail)
    for result in others:
        blocks += [Heading(4, code(result.run)), _chosen(result), *_run(facts, result, detail)]
    return blocks


def _nearness(facts: Facts, load: LoadResult) -> float:
    result = facts.design.runs.get(load.run)
    return max(budget_used(load), ampacity_used(result) if result else 0.0)


def _circuit(facts: Facts, load: LoadResult, detail: bool) -> list[Block]:
    result = facts.design.runs.get(load.run)
    part = facts.part_at(load.load)
    run = facts.design.system.runs.get(load.run)
    size = f": {facts.several(result.parallel, result.size.label)}" if result and result.size else ""
    critical = ", for it is critical" if isinstance(part, Load) and part.critical else ""
    length = f" over {facts.length(run.length_m)} {facts.length_unit} each way" if run else ""
    by_rule, budget = against(load.drop_v, load.budget_v, 2), fixed(load.budget_v, 2)
    allowed = (
        f"of the {budget} V allowed ({trimmed(load.budget_percent, 2)} % of {trimmed(load.nominal_v, 1)} V{critical})"
    )
    drop = f"By rule it loses {by_rule} V {allowed}; warm, {against(load.solved_drop_v, load.budget_v, 2)} V."
    intro = f"{amperes(load.current_a)} A{length}. {drop}"
    return [
        Heading(4, f"{text(facts.names.part(load.load))}{size}"),
        f"{intro} {_chosen(result)}" if result else intro,
        *_path(facts, load),
        *(_run(facts, result, detail) if result else []),
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
        Column("Reaches", 24),
        Column("Marker", 20),
        Column("Size", 10),
        Column("Length", 9, facts.length_unit, 2),
        Column("Current", 10, "A", 1),
        Column("Here, warm", 13, "mV", 0),
        Column("So far, by rule", 16, "V", 2),
        Column("So far, warm", 14, "V", 2),
    )
    rows: list[tuple[str, ...]] = []
    lost = judged = 0.0
    for step in load.path:
        lost, judged = lost + step.lost_v, judged + step.judged_v
        device = step.through in facts.design.system.devices
        if device and not step.lost_v:
            continue
        rows.append(
            (
                text(facts.names.end(step.reached, device)),
                code(_tag(facts, step.through)),
                text(step.size),
                "" if device or not step.through else facts.length(step.length_m),
                amperes(abs(step.current_a)) if step.through else "",
                fixed(1000 * step.lost_v, 0) if step.through else "",
                fixed(judged, 2),
                fixed(lost, 2),
            )
        )
    rows.append(("budget", *[""] * 5, fixed(load.budget_v, 2), ""))
    source = facts.design.sources.get(load.source)
    off = source is not None and not source.current_a.get(load.worst_case)
    note = f"{text(facts.names.part(load.source))} gives nothing in that situation: its way is judged." if off else ""
    return [Table("Along the path, out and back.", columns, tuple(rows), note, chart="path")]


def _tag(facts: Facts, through: str) -> str:
    conductor = facts.design.system.conductors.get(through)
    return conductor.marker if conductor else through


def _run(facts: Facts, result: RunResult, detail: bool) -> list[Block]:
    figures = _figures(facts, result) if detail else []
    return [*_candidates(facts, result), *figures, _margins(facts, result)]


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
            said = next((rung for rung in candidate.rungs if rung.rule == rule), None)
            if said is None or said.verdict == "not judged":
                return "–"
            return f"{'✗' if said.verdict == 'refused' else '✓'} {_rung(said)}"

        return Column(RULES[rule], max(12, len(RULES[rule])), cell=cell)

    return [
        Table.of(
            result.candidates,
            f"Sizes tried for {code(result.run)}, with the feed as built.",
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
        longer = f"{facts.length(result.spare_length_m)} {facts.length_unit} more each way"
        spare.append(longer + _until(facts, result.spare_length_by))
    if result.spare_current_a:
        spare.append(f"{number(result.spare_current_a)} A more" + _until(facts, result.spare_current_by))
    known = result.spare_length_m is not None or result.spare_current_a is not None
    margins = f"**To spare.** {', or '.join(spare)}." if spare else "**To spare.** Nothing." if known else ""
    ampacity = ""
    if result.ampacity is not None and result.table_ampacity_a is not None:
        factors = " × ".join(f"{text(f.quantity)} {number(f.value)}" for f in result.factors)
        table = f"{amperes(result.table_ampacity_a)} A in the table{f' × {factors}' if factors else ''}"
        ampacity = f"**Carries** {amperes(result.ampacity.value)} A: {table}."
    larger = f"**Next size** {text(result.next_size.label)}." if result.next_size else ""
    offers = " ".join(sentence(offer) for offer in result.offers)
    return " ".join(part for part in (margins, ampacity, larger, offers) if part) or "No margin can be told."


def _until(facts: Facts, binding: Binding | None) -> str:
    if binding is None:
        return ""
    words = facts.register.plain(binding.words).rstrip(".")
    return f" until {words[:1].lower()}{words[1:]}"
