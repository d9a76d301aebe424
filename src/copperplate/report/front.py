"""The front of the report and its summary: result, title block, key figures, open points, cautions."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from copperplate.findings import SEVERITIES, Finding
from copperplate.model import Battery, Generator, Inverter, Shore, Solar
from copperplate.model.results import Design, LoadResult, RunResult
from copperplate.model.system import DC_POLES
from copperplate.report.blocks import Block, Callout, Column, Heading, Points, Table
from copperplate.report.facts import Facts
from copperplate.report.words import code, counted, fixed, plain, prose, sentence, text, thousands, trimmed, unit
from copperplate.standards.batteries import chemistry
from copperplate.units import number


def front(facts: Facts) -> list[Block]:
    """Title, result, what is not covered, title block."""
    design = facts.design
    settings = design.system.settings
    return [
        Heading(1, "", f"{'Draft: ' if design.errors else ''}{text(settings.title) or 'Untitled system'}"),
        f"Design report: {_what(design)}",
        _result(design),
        *(Callout("notice", sentence(words)) for words in design.not_covered),
        _title_block(design),
    ]


def _what(design: Design) -> str:
    settings = design.system.settings
    volts = f"{trimmed(settings.nominal_v, 1)} V DC system"
    return f"{volts} with {settings.ac} V AC" if settings.ac else volts


def _result(design: Design) -> str:
    open_points = [f for f in design.findings if f.accepted is None]
    errors, warnings, advice = (sum(f.severity == level for f in open_points) for level in SEVERITIES)
    accepted = sum(f.accepted is not None for f in design.findings)
    counts = f"{counted(errors, 'error')}; {counted(warnings, 'warning')}{' open' if warnings else ''}"
    if accepted:
        counts += f", {accepted} accepted"
    if advice:
        counts += f"; {counted(advice, 'piece', 'pieces')} of advice"
    if errors:
        verdict = "This design is refused: nothing may be built from it until the errors are mended."
    elif design.rechecked:
        verdict = "Every limit was derived a second time by the independent re-check, and all agreed."
    else:
        verdict = "The independent re-check has not confirmed this design: nothing may be built from it."
    return f"**Result: {counts}.** {verdict}"


def _title_block(design: Design) -> Table:
    settings = design.system.settings
    others = f" and {counted(len(design.system.files) - 1, 'other file')}" if len(design.system.files) > 1 else ""
    name = design.source_name.replace("\\", "/").rsplit("/", 1)[-1]
    rows = (
        ("Document", text(settings.document)),
        ("Revision", text(settings.revision)),
        ("Date", text(settings.date)),
        ("Status", f"**{text(settings.status)}**" if plain(settings.status) else ""),
        ("Client", text(settings.client)),
        ("Site", text(settings.site)),
        ("Designer", text(settings.designer)),
        ("Rules", text(f"{design.profile}, {design.profile_title}")),
        ("Source", f"{code(name)}{others}, sha256 {design.source_sha256[:12]}"),
    )
    columns = (Column("Entry", 10), Column("Value", 56))
    return Table("", columns, tuple(row for row in rows if row[1]), marks=("titleblock",))


def summary(facts: Facts) -> list[Block]:
    """Section 1."""
    design = facts.design
    return [
        Heading(2, "1", "Summary"),
        *_key_figures(facts),
        *_open_points(design),
        *_cautions(design),
        *_notes(design),
    ]


@dataclass(frozen=True, slots=True)
class Figure:
    """One key figure: what it is, the number with its unit, what it belongs to."""

    name: str
    value: str
    unit: str
    of: str


def _key_figures(facts: Facts) -> list[Block]:
    makers: tuple[Callable[[Facts], Figure | None], ...] = (
        _bank, _fault, _current, _volts, _budget, _fullest, _autonomy, _copper,
    )  # fmt: skip
    figures = [figure for figure in (make(facts) for make in makers) if figure is not None]
    if not figures:
        return []
    columns = (Column("Figure", 26), Column("Value", 8, decimals=0), Column("Unit", 6), Column("Of", 48))
    rows = tuple((f.name, f.value, f.unit, f.of) for f in figures)
    return [Table("", columns, rows, marks=("figures",))]


def _bank(facts: Facts) -> Figure | None:
    """The first battery of the plate: capacity of the whole bank."""
    for bank in facts.design.system.of(Battery):
        if bank.capacity_ah:
            words = [f"{code(bank.id)}, {trimmed(bank.gives_v or 0.0, 1)} V"]
            words += [f"{bank.series} in series"] if bank.series > 1 else []
            words += [f"{bank.parallel} in parallel"] if bank.parallel > 1 else []
            words += [text(chemistry(bank.chemistry).title)] if bank.chemistry else []
            name = text(bank.title) or "Bank"
            return Figure(name, trimmed(bank.capacity_ah * bank.parallel, 1), "Ah", ", ".join(words))
    return None


def _fault(facts: Facts) -> Figure | None:
    banks = {bank.id for bank in facts.design.system.of(Battery)}
    known = [s for s in facts.design.sources.values() if s.source in banks and s.fault_current_a]
    if not known:
        return None
    worst = max(known, key=lambda s: s.fault_current_a or 0.0)
    kilo = number((worst.fault_current_a or 0.0) / 1000)
    direct = [d for d in facts.design.devices.values() if facts.design.system.devices[d.device].pole in DC_POLES]
    faults = [d for d in direct if d.prospective_fault and d.interrupting_a]
    if not faults:
        return Figure("Fault current at the bank", kilo, "kA", code(worst.source))
    nearest = max(faults, key=lambda d: d.prospective_fault.value if d.prospective_fault else 0.0)
    breaks = number((nearest.interrupting_a or 0.0) / 1000)
    return Figure(
        "Fault current at the bank", kilo, "kA", f"{code(worst.source)}; {code(nearest.device)} breaks {breaks} kA"
    )


def _current(facts: Facts) -> Figure | None:
    runs = list(facts.design.runs.values())
    if not runs:
        return None
    largest = max(runs, key=lambda r: r.design_current.value)
    rated = [(d, facts.design.devices[d].rating.rating_a) for d in largest.protected_by if d in facts.design.devices]
    device = next((f", {code(d)} {trimmed(amperes, 1)} A" for d, amperes in rated if amperes), "")
    return Figure("Largest design current", number(largest.design_current.value), "A", code(largest.run) + device)


def _volts(facts: Facts) -> Figure | None:
    loads = list(facts.design.loads.values())
    if not loads:
        return None
    lowest = min(loads, key=lambda load: load.voltage_v / (load.nominal_v or 1.0))
    window = lowest.works_low_v
    limit = (
        f", works from {trimmed(window, 2)} V" if window is not None else f", {trimmed(lowest.nominal_v, 1)} V nominal"
    )
    return Figure("Lowest volts at a load", fixed(lowest.voltage_v, 2), "V", code(lowest.load) + limit)


def budget_used(load: LoadResult) -> float:
    """Share of its voltage-drop budget that a load uses, as judged."""
    return load.drop_percent / load.budget_percent if load.budget_percent else 0.0


def ampacity_used(result: RunResult) -> float:
    """Share of its ampacity that a run carries."""
    return result.design_current.value / result.ampacity.value if result.ampacity and result.ampacity.value else 0.0


def _budget(facts: Facts) -> Figure | None:
    loads = list(facts.design.loads.values())
    if not loads:
        return None
    nearest = max(loads, key=budget_used)
    budget = f", of {trimmed(nearest.budget_percent, 2)} % allowed"
    return Figure("Nearest to its drop budget", fixed(nearest.drop_percent, 2), "%", code(nearest.load) + budget)


def _fullest(facts: Facts) -> Figure | None:
    runs = [r for r in facts.design.runs.values() if r.ampacity]
    if not runs:
        return None
    fullest = max(runs, key=ampacity_used)
    return Figure(
        "Fullest conductor", fixed(100 * ampacity_used(fullest), 0), "%", f"{code(fullest.run)}, of its ampacity"
    )


def _autonomy(facts: Facts) -> Figure | None:
    for balance in facts.design.energy:
        if balance.autonomy_days is not None:
            use = f"{code(balance.bank)}, {thousands(balance.daily_wh)} Wh a day"
            return Figure("Days without charging", fixed(balance.autonomy_days, 1), "d", use)
    return None


def _copper(facts: Facts) -> Figure | None:
    total = sum(copper.kilograms for copper in facts.copper.values())
    if not total or facts.design.errors:
        return None
    kinds = {(cut.size, cut.colour) for cut in facts.design.cuts}
    return Figure(
        "Copper to buy", number(total), "kg", f"in {counted(len(kinds), 'size and colour', 'sizes and colours')}"
    )


def open_findings(design: Design) -> list[Finding]:
    """Findings that nobody accepted, by weight."""
    standing = [f for f in design.findings if f.accepted is None]
    return sorted(standing, key=lambda f: SEVERITIES.index(f.severity))


def _open_points(design: Design) -> list[Block]:
    points = list(enumerate(open_findings(design), 1))
    if not points:
        return [Heading(3, "", "Open points"), "None."]
    measured = any(f.measure for _, f in points)
    figures = (
        Column("Found", 10, decimals=2, cell=lambda f: _measured(f[1].measure.found) if f[1].measure else ""),
        Column("Limit", 10, decimals=2, cell=lambda f: _measured(f[1].measure.limit) if f[1].measure else ""),
        Column("Unit", 4, cell=lambda f: unit(f[1].measure.unit) if f[1].measure else ""),
    )
    listed = Table.of(
        points,
        "Open points, in the order of their weight.",
        Column("No", 3, decimals=0, cell=lambda f: str(f[0])),
        Column("Finding", 7, cell=lambda f: f[1].code),
        Column("Level", 7, cell=lambda f: f[1].severity),
        Column("Where", 20, cell=lambda f: code(f[1].subject)),
        *(figures if measured else ()),
        Column("Asked of the reader", 40, cell=lambda f: prose(f[1].help) or "read the point below"),
        marks=("small",),
    )
    return [Heading(3, "", "Open points"), listed, Points(True, tuple(_point(f) for _, f in points))]


def _measured(value: float | str) -> str:
    return text(value) if isinstance(value, str) else number(value)


def _point(finding: Finding) -> str:
    """A point in full: what is wrong, what is so, by which rule, on which line of the plate."""
    place = (
        f" Line {finding.span.line} of {code(plain(finding.span.source.name).rsplit('/', 1)[-1])}."
        if finding.span
        else ""
    )
    parts = [sentence(finding.message), *(sentence(note) for note in finding.notes)]
    rule = f" By {text(finding.rule)}." if finding.rule else ""
    return f"**{finding.code}** {' '.join(parts)}{rule}{place}"


def _cautions(design: Design) -> list[Block]:
    """What can hurt, where the hand would be."""
    return [
        *battery_caution(design),
        *_array_caution(design),
        *ac_caution(design),
        Callout(
            "notice",
            "This is a design aid and no certificate. Local codes, licensed practice and the makers' instructions"
            " prevail. Values that the plate left open are listed in section 12, sources and how they were checked in"
            " section 13.",
        ),
    ]


def battery_caution(design: Design) -> list[Block]:
    """The stored energy, with its figures where they are known; one caution however many banks there are."""
    currents: list[str] = []
    for part in design.system.of(Battery):
        source = design.sources.get(part.id)
        amperes = source.fault_current_a if source else None
        much = f"{thousands(amperes)} A" if amperes else "thousands of amperes"
        currents.append(f"{code(part.id)} can deliver {much}" if not currents else f"{code(part.id)} {much}")
    if not currents:
        return []
    it = "it at its" if len(currents) == 1 else "each at its"
    words = (
        f"{', '.join(currents)}. Disconnect {it} terminals, negative first, and prove the bars dead before touching any"
        " conductor. No metal on hands or wrists."
    )
    return [Callout("warning", words)]


def _array_caution(design: Design) -> list[Block]:
    live = "is live whenever light falls on it. Cover it, or open its isolator, before its conductors are handled."
    return [Callout("warning", f"{code(part.id)} {live}") for part in design.system.of(Solar)]


def ac_caution(design: Design) -> list[Block]:
    """AC is for licensed people."""
    volts = design.system.settings.ac
    if not volts and not any(run.current == "ac" for run in design.system.runs.values()):
        return []
    off = [
        words
        for kind, words in (
            (Shore, "shore lead unplugged"),
            (Generator, "generator stopped"),
            (Inverter, "inverter off"),
        )
        if design.system.of(kind)
    ]
    state = f", with the {' and the '.join(off)}" if off else ""
    ac = f"{volts} V AC" if volts else "AC"
    return [Callout("danger", f"{ac} kills. Work on it belongs to a licensed person{state}.")]


def _notes(design: Design) -> list[Block]:
    notes = tuple(sentence(note.text) for note in design.system.notes)
    return [Heading(3, "", "Notes of the designer"), Points(False, notes)] if notes else []
