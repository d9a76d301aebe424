"""The client's document: whether it can be installed, what is to be settled, what the system is and can do."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import zip_longest

from copperplate.model import Alternator, Battery, Case, Panel, Solar
from copperplate.model.parts import Bus, Controller, Converter, Inverter, Load, Part
from copperplate.model.results import EnergyResult
from copperplate.report.blocks import Block, Callout, Column, Heading, Points, Table
from copperplate.report.facts import Facts
from copperplate.report.points import SECTIONS, Point
from copperplate.report.words import against, amperes, fixed, joined, lasting, link, many, sentence, text, trimmed
from copperplate.standards.batteries import chemistry
from copperplate.units import from_si

LARGEST = 5
"""Loads of a situation, and of a day, that are named."""
KWH = 1000.0


def client(facts: Facts) -> list[Block]:
    """The sections of the client's document, without the wiring diagram that ends it."""
    return [
        *verdict(facts),
        *_what_it_is(facts),
        *_what_it_can_do(facts),
        *_care(facts),
        *_deviations(facts),
        *_agreed(facts),
    ]


def verdict(facts: Facts) -> Iterator[Block]:
    """Whether it can be installed, what is to be settled and who does what; of a draft every error too."""
    register, design = facts.register, facts.design
    open_points = [point for point in register.points if point.binding]
    checked = "Every limit was worked out a second time, independently, and agrees." if design.rechecked else ""
    settled = ""
    if open_points:
        each = [f"{many(n, '', '').strip()} for {_whom(who)}" for who, n in _counts(open_points)]
        verb = "is" if len(open_points) == 1 else "are"
        settled = f"{many(len(open_points), 'point').capitalize()} {verb} open: {joined(each)}."
    accepted = len(register.accepted)
    noun = many(accepted, "departure").capitalize() + " from good practice"
    departures = f"{noun} {'is' if accepted == 1 else 'are'} accepted and explained below." if accepted else ""
    yield Callout(
        "verdict", f"**{register.verdict()}** {' '.join(filter(None, (checked, settled, departures)))}".strip()
    )
    yield from (Callout("notice", sentence(words)) for words in design.not_covered)
    if design.errors:
        yield Heading(3, "What is wrong, numbered as on the sheets")
        yield Points(True, tuple(register.plain(f.message) for f in design.errors))
    if register.points:
        yield Heading(3, "To settle first")
        yield Table.of(
            register.points,
            "",
            Column("", 4, cell=lambda point: f"**{point.letter}**"),
            Column("What", 72, cell=lambda point: f"**{text(point.what)}.** {register.why(point)}"),
            Column("Who and when", 26, cell=_settles),
            marks=("points",),
        )
    yield Heading(3, "Who does what")
    yield Table.of(
        _duties(facts),
        "",
        Column("Who", 24, cell=lambda duty: f"**{duty[0]}**"),
        Column("What", 72, cell=lambda duty: duty[1]),
        marks=("small",),
    )


def _whom(who: str) -> str:
    return "you" if who == "You" else f"the {who[:1].lower()}{who[1:]}"


def _counts(points: list[Point]) -> list[tuple[str, int]]:
    whose = [point.who for point in points]
    return [(who, whose.count(who)) for who in dict.fromkeys(whose)]


def _settles(point: Point) -> str:
    when = point.by if point.binding else f"{point.by}, if wanted"
    return f"**{point.who}** {when}; {link(SECTIONS[point.place], point.place)}"


def _duties(facts: Facts) -> Iterator[tuple[str, str]]:
    register, system = facts.register, facts.design.system
    by: dict[str, list[str]] = {}
    for point in register.points:
        by.setdefault(point.who, []).append(point.letter)
    deviations = "Read and sign the accepted deviations below." if register.accepted else ""
    mine = f"Decide {joined(by.pop('You'))}." if "You" in by else ""
    if mine or deviations:
        yield "You", " ".join(filter(None, (mine, deviations)))
    for who in ("Designer", "Designer, with the maker"):
        if who in by:
            yield who, f"Settle {joined(by.pop(who))}, then issue the next revision."
    pieces = len(system.conductors) + len(facts.design.links)
    settle = f"Settle {joined(by.pop('Installer'))}. " if "Installer" in by else ""
    rest = "from the installer's document, then test and write down every value of the commissioning pages."
    yield "Installer", f"{settle}Wire {pieces} pieces {rest}"
    mains = facts.mains
    settle = f"Settle {joined(by.pop('Licensed electrician'))}. " if "Licensed electrician" in by else ""
    if mains or settle:
        volts = f"{mains} V" if mains else "AC"
        yield "Licensed electrician", f"{settle}All {volts} work, and its tests."


def _what_it_is(facts: Facts) -> Iterator[Block]:
    design, names = facts.design, facts.names
    system = design.system
    yield Heading(3, "What it is")
    banks = [f"{text(names.part(bank.id))}: {text(rating(facts, bank))}" for bank in system.of(Battery)]
    charging = [part for part in system.parts.values() if part.roles.pushes_current and not isinstance(part, Solar)]
    filled = [text(names.part(part.id)) for part in charging if part.pushes_a and not part.holds_voltage]
    filled += [text(names.part(part.id)) for part in system.of(Inverter) if part.pushes_a]
    charged = f" Charged by {joined(filled)}." if filled else ""
    loads = [part for part in system.parts.values() if part.roles.is_load]
    ways = sum(device.panel != "" for device in system.devices.values())
    panels = joined([text(names.part(panel.id)) for panel in system.of(Panel)])
    hang = f" {many(len(loads), 'load').capitalize()}, {many(ways, 'way')} in {panels}." if panels else ""
    yield f"{'; '.join(banks)}.{charged}{hang}" if banks else f"{many(len(loads), 'load').capitalize()}.{hang}"
    figures = tuple(_key_figures(facts))
    if figures:
        columns = (Column("Figure", 26), Column("Value", 8, decimals=1), Column("Unit", 6), Column("Of", 48))
        yield Table("", columns, figures, marks=("figures",))
    yield Heading(4, "Main equipment")
    owned = [part for part in system.parts.values() if not isinstance(part, Load | Bus) and rating(facts, part)]
    half = (len(owned) + 1) // 2

    def item(side: int) -> Column:
        return Column("Item", 26, cell=lambda pair: _bold(facts, pair[side]))

    def rated(side: int) -> Column:
        return Column("Rating", 34, cell=lambda pair: text(rating(facts, pair[side])))

    pairs = zip_longest(owned[:half], owned[half:])
    yield Table.of(pairs, "", item(0), rated(0), item(1), rated(1), marks=("small",))


def _bold(facts: Facts, part: Part | None) -> str:
    return f"**{text(facts.names.part(part.id))}**" if part is not None else ""


def _key_figures(facts: Facts) -> Iterator[tuple[str, str, str, str]]:
    """Name, number, unit and what it belongs to."""
    design, names = facts.design, facts.names
    for balance in design.energy:
        if balance.usable_wh is not None:
            bank = design.system.parts[balance.bank]
            usable = (
                f", {trimmed(100 * bank.usable, 0)} % of what it holds"
                if isinstance(bank, Battery) and bank.usable
                else ""
            )
            yield "Usable energy", fixed(balance.usable_wh / KWH, 1), "kWh", text(names.part(balance.bank)) + usable
            break
    for balance in design.energy:
        if balance.autonomy_days is not None:
            number, _, unit = _days(balance.autonomy_days).partition(" ")
            yield "Lasts without charging", number, unit, "on a day as described"
            break
    metres = sum(cut.cut_m for cut in design.cuts)
    if metres:
        copper = fixed(sum(copper.kilograms for copper in facts.copper.values()), 0)
        length = fixed(from_si(metres, facts.length_unit), 0)
        yield "Wire and cable", length, facts.length_unit, f"{copper} kg of copper, {len(design.cuts)} pieces"
    known = [
        (load, load.voltage_v - load.works_low_v) for load in design.loads.values() if load.works_low_v is not None
    ]
    if known:
        load, spare = min(known, key=lambda each: each[1] / each[0].nominal_v)
        words = (
            f"{text(names.part(load.load))}: {against(load.voltage_v, load.works_low_v or 0.0, 1)} V arrive, works from"
        )
        yield "Least voltage to spare", fixed(spare, 1), "V", f"{words} {fixed(load.works_low_v, 1)} V"


def _what_it_can_do(facts: Facts) -> Iterator[Block]:
    design = facts.design
    balances = [b for b in design.energy if b.lines or any(watts for _, watts, _ in b.by_case)]
    if not balances:
        return
    yield Heading(3, "What it can do")
    for balance in balances:
        yield from _day(facts, balance)
    yield from _situations(facts, balances)
    for balance in balances:
        yield from _gap(facts, balance)
    banks = [(text(facts.names.part(b.bank)), b.recharge) for b in balances]
    if any(recharge for _, recharge in banks):
        yield Heading(4, "Filling it again")
        yield Table.grouped(
            banks,
            "",
            Column("Source", 30, cell=lambda line: f"**{text(facts.names.part(line[0]))}**"),
            Column("Gives", 10, "A", 1, lambda line: amperes(line[1])),
            Column("Empty to full", 14, "h", 1, lambda line: fixed(line[2], 1 if line[2] < 9.95 else 0)),
            marks=("small",),
        )


def _day(facts: Facts, balance: EnergyResult) -> Iterator[Block]:
    """What a day takes from a bank, what comes back and what the bank holds, side by side."""
    if not balance.lines:
        return
    names = facts.names
    lines = sorted(balance.lines, key=lambda line: -line.wh)
    taken = [(line.what if line.subject == balance.bank else names.of(line.subject), line.wh) for line in lines]
    merged: dict[str, float] = {}
    for name, wh in taken:
        merged[name] = merged.get(name, 0.0) + wh
    shown = list(merged.items())[: LARGEST + 1]
    rest = sum(merged.values()) - sum(wh for _, wh in shown)
    rows: list[tuple[str, float | None, float | None, float | None]] = [(name, wh, None, None) for name, wh in shown]
    rows += [("the rest", rest, None, None)] if rest > 0.0 else []
    rows += [(names.part(source), None, wh, None) for source, wh in balance.given]
    rows += [("usable, from full", None, None, balance.usable_wh)] if balance.usable_wh is not None else []
    yield Heading(4, f"A day of {text(names.part(balance.bank))}")

    def column(at: int) -> Column:
        heads = ("", "A day takes", "Comes back", "Bank holds")
        return Column(heads[at], 12, "kWh", 2, lambda row: "" if row[at] is None else fixed(row[at] / KWH, 2))

    back = sum(wh for _, wh in balance.given)
    words = f"A day takes {fixed(balance.daily_wh / KWH, 1)} kWh"
    words += f"; {fixed(back / KWH, 1)} kWh come back." if balance.given else "; no hours of charging are stated."
    if balance.autonomy_days is not None:
        words += f" From full, without charging, the bank lasts {_days(balance.autonomy_days)}."
    yield words
    held = [at for at in (1, 2, 3) if any(row[at] is not None for row in rows)]
    yield Table.of(
        rows, "", Column("What", 30, cell=lambda row: text(row[0])), *map(column, held), marks=("small",), chart="cases"
    )
    silent = [part for part in facts.loads_on(balance.bank) if part.daily_h is None]
    if silent:
        yield f"Not counted, because no daily hours are stated: {text(names.listed((p.id for p in silent), 12))}."


def _days(days: float) -> str:
    return lasting(24 * days) if days < 3 else f"{fixed(days, 1)} days"


def _situations(facts: Facts, balances: list[EnergyResult]) -> Iterator[Block]:
    """What runs together in each situation, and how long the bank that is empty first lasts."""
    cases = [case for case in facts.design.system.cases if case.kind == "load"]
    rows: list[tuple[Case, float, str, float | None]] = []
    for case in cases:
        given = [
            (b.bank, watts, hours) for b in balances for name, watts, hours in b.by_case if name == case.id and watts
        ]
        timed = [(hours, bank) for bank, _, hours in given if hours is not None]
        hours, bank = min(timed, default=(None, given[0][0] if given else ""))
        rows.append((case, sum(watts for _, watts, _ in given), bank, hours))
    if not rows:
        return
    yield Heading(4, "What runs together, and for how long")
    yield Table.of(
        rows,
        "",
        Column("Situation", 20, cell=lambda row: f"**{text(row[0].title or facts.names.part(row[0].id))}**"),
        Column("Runs together", 52, cell=lambda row: text(_together(facts, row[0]))),
        Column("Takes", 8, "kW", 2, lambda row: fixed(row[1] / KWH, 2) if row[1] else ""),
        Column("From", 20, cell=lambda row: text(facts.names.part(row[2])) if row[2] else "the AC supply"),
        Column("Lasts", 9, cell=lambda row: lasting(row[3]) if row[3] is not None else "" if row[2] else "no limit"),
        Column("Of a day", 9, "%", 0, lambda row: "" if row[3] is None else fixed(min(100.0, row[3] / 0.24), 0)),
        note="From a full bank to where charging should begin, with nothing charging; of several banks the one that is"
        " empty first.",
        marks=("small",),
        chart="bar 6 plain",
    )


def _gap(facts: Facts, balance: EnergyResult) -> Iterator[Block]:
    """What would close the gap between what a day takes and what comes back, each alone."""
    missing = balance.daily_wh - sum(wh for _, wh in balance.given)
    if not balance.given or missing <= 0.0:
        return
    rows: list[tuple[str, str, str]] = []
    hours = {source: _hours(facts, source) for source, _ in balance.given}
    for source, wh in balance.given:
        part = facts.design.system.parts[source]
        now = hours[source]
        if isinstance(part, Controller | Solar):
            watts = _array_w(facts, part)
            more = watts * missing / wh if wh else 0.0
            rows.append(
                (f"More sun on {facts.names.part(source)}", f"{fixed(more, 0)} W", f"more; {fixed(watts, 0)} W now")
            )
        elif now:
            more = missing / wh * now
            fits = "" if now + more <= 24.0 else ": more than a day has"
            rows.append(
                (
                    f"Run {facts.names.part(source)} longer",
                    f"{trimmed(more, 1)} h",
                    f"more; {trimmed(now, 1)} h now{fits}",
                )
            )
    timed = {source for source, _ in balance.given}
    bank = facts.design.system.parts[balance.bank]
    volts = bank.gives_v
    for source, into, _ in balance.recharge:
        if source not in timed and into and volts:
            rows.append(
                (f"Charge with {facts.names.part(source)}", f"{trimmed(missing / (into * volts), 1)} h", "a day")
            )
    share = 100.0 * missing / balance.daily_wh
    rows.append(("Use less", f"{fixed(share, 0)} %", "of a day's use"))
    yield Heading(4, f"Closing the gap of {fixed(missing / KWH, 1)} kWh a day")
    yield Table.of(
        rows,
        "",
        Column("How", 36, cell=lambda row: f"**{text(row[0])}**"),
        Column("How much", 10, cell=lambda row: row[1]),
        Column("Now", 24, cell=lambda row: text(row[2])),
        note="Any one of these alone; charging losses come on top.",
        marks=("small",),
    )


def _together(facts: Facts, case: Case) -> str:
    """What is on in a situation, the largest first."""
    loads = facts.design.loads
    on = [name for name in case.shares if name in loads] if not case.implied else list(loads)
    power = {name: case.shares.get(name, 1.0) * loads[name].current_a * loads[name].nominal_v for name in on}
    return facts.names.listed(sorted(on, key=lambda name: -power[name]), LARGEST)


def _hours(facts: Facts, source: str) -> float | None:
    """Hours a day that a source runs, by itself or with its engine."""
    part = facts.design.system.parts[source]
    engine = facts.design.system.parts.get(part.engine or "") if isinstance(part, Alternator) else None
    return part.daily_h or (engine.daily_h if engine is not None else None)


def _array_w(facts: Facts, part: Part) -> float:
    """Rated power of an array, or of the arrays behind a controller."""
    system = facts.design.system
    if isinstance(part, Controller):
        ends = [system.end_parts(run) for run in system.runs.values()]
        arrays = {first if second == part.id else second for first, second in ends if part.id in (first, second)}
        return sum(_array_w(facts, system.parts[name]) for name in arrays if isinstance(system.parts[name], Solar))
    each = (part.power_w or (part.vmp_v or 0.0) * (part.imp_a or 0.0)) if isinstance(part, Solar) else 0.0
    return each * part.series * part.parallel


def _care(facts: Facts) -> Iterator[Block]:
    """How to treat what can hurt, in words for whoever lives with it."""
    yield Heading(3, "Care")
    yield from facts.cautions()
    items = ["Replace a fuse only by one of the same kind and rating; find out first why it opened."]
    system = facts.design.system
    if any(device.residual_a for device in system.devices.values()):
        items.append(
            "Press the test button of each residual-current device once a month: it must trip (common practice)."
        )
    if system.of(Battery):
        items.append(
            "Once a year, with everything isolated, check that all terminals are tight and dry (common practice)."
        )
    if system.of(Solar):
        items.append("An array gives voltage whenever light falls on it.")
    if system.of(Alternator):
        items.append("Never open a battery switch while the engine runs and charges, unless its maker allows that.")
    yield Points(False, tuple(items))
    notes = tuple(sentence(note.text) for note in system.notes)
    if notes:
        yield from (Heading(4, "Notes of the designer"), Points(False, notes))


def _deviations(facts: Facts) -> Iterator[Block]:
    accepted = facts.register.accepted
    yield Heading(3, "Accepted deviations")
    if not accepted:
        yield "None."
        return
    yield Table.of(
        list(enumerate(accepted, 1)),
        "",
        Column("", 5, cell=lambda item: f"**D{item[0]}**"),
        Column("What is so", 60, cell=lambda item: facts.register.plain(item[1].message)),
        Column("Accepted because", 44, cell=lambda item: sentence(item[1].accepted or "")),
        Column("Initials", 10, cell=lambda _: "____"),
        marks=("small",),
    )


def _agreed(facts: Facts) -> Iterator[Block]:
    people = ["Client", "Designer", "Installer", *(["Licensed electrician"] if facts.mains else [])]
    yield Heading(3, "Agreed")
    columns = (Column("As", 26), Column("Name", 24), Column("Signature", 24), Column("Date", 12))
    yield Table("", columns, tuple((who, "", "", "") for who in people), marks=("form",))


def rating(facts: Facts, part: Part | None) -> str:
    """What a part is rated for, in the words of its plate: `6 x 12 V, 220 Ah AGM`. "" where it states nothing."""
    if isinstance(part, Battery) and part.voltage_v and part.capacity_ah:
        count = part.series * part.parallel
        many_of = f"{count} × " if count > 1 else ""
        kind = f" {chemistry(part.chemistry).title}" if part.chemistry else ""
        whole = (
            f"; {trimmed(part.capacity_ah * part.parallel, 1)} Ah at {trimmed(part.gives_v, 1)} V" if count > 1 else ""
        )
        return f"{many_of}{trimmed(part.voltage_v, 2)} V, {trimmed(part.capacity_ah, 1)} Ah{kind}{whole}"
    if isinstance(part, Solar):
        count = part.series * part.parallel
        each = part.power_w or (part.vmp_v or 0.0) * (part.imp_a or 0.0)
        return f"{f'{count} × ' if count > 1 else ''}{trimmed(each, 0)} W" if each else ""
    if part is None:
        return ""
    words: list[str] = []
    words += [f"{trimmed(part.power_w, 0)} W"] if part.power_w else []
    words += [f"{trimmed(part.current_a, 1)} A"] if part.current_a else []
    if isinstance(part, Inverter) and part.charges_a:
        words.append(f"charges {trimmed(part.charges_a, 1)} A")
    if isinstance(part, Controller) and part.max_input_v:
        words.append(f"to {trimmed(part.max_input_v, 1)} V")
    if isinstance(part, Converter) and part.in_v and part.out_v:
        words.append(f"{trimmed(part.in_v, 1)} V to {trimmed(part.out_v, 1)} V")
    if isinstance(part, Panel) and part.ways:
        words.append(f"{part.ways} ways")
    return ", ".join(words)
