"""The engineer's document: what the design rests on, and why it is as it is."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from copperplate.model.results import DeviceResult
from copperplate.report.blocks import Block, Column, Heading, Table
from copperplate.report.changes import Changes, changes
from copperplate.report.energy import energy
from copperplate.report.facts import Facts, carried
from copperplate.report.loading import loading
from copperplate.report.reasons import reasons
from copperplate.report.volts import volts
from copperplate.report.words import against, amperes, code, fixed, plain, prose, text, trimmed, unit
from copperplate.standards import STATUSES
from copperplate.units import number

NAMED = 6
"""Subjects of one assumption that are named."""
TERMS = (
    ("By rule", "volts lost by the constant that the rules prescribe. It decides whether the design passes."),
    ("Warm", "volts lost in the whole network at once, copper at its working temperature. It is what a meter shows."),
    ("Budget", "the most that a load may lose, by rule, from its source's terminals and back."),
)


def engineer(facts: Facts, detail: bool, since: Changes | None) -> list[Block]:
    """The sections of the engineer's document."""
    return [
        *_words(facts),
        *reasons(facts, detail),
        *volts(facts),
        *loading(facts),
        *_faults(facts),
        *energy(facts),
        *assumptions(facts),
        *_sources(facts),
        *(changes(since) if since is not None else ()),
    ]


def _words(facts: Facts) -> Iterator[Block]:
    design = facts.design
    yield Heading(3, "Words, and what it rests on")
    yield Table.of(
        TERMS, "", Column("Word", 10, cell=lambda term: f"**{term[0]}**"), Column("Means", 80, cell=lambda t: t[1]),
        marks=("small",),
    )  # fmt: skip
    statuses = Counter([s.status for s in design.sources_used] + [c.status for c in design.constants.values()])
    stated = sum(len(part.stated) for part in design.system.parts.values()) + len(design.system.settings.stated)
    counts = {"stated in the plate": stated + statuses.pop("stated", 0)}
    counts |= {STATUSES[word]: statuses[word] for word in STATUSES if statuses.get(word)}
    counts["assumed"] = len(design.assumptions)
    yield Table.of(
        counts.items(),
        "Figures by what they rest on.",
        Column("Rests on", 44, cell=lambda item: text(item[0])),
        Column("Figures", 9, decimals=0, cell=lambda item: str(item[1])),
        marks=("small",),
        chart="cases",
    )
    name = plain(design.source_name).replace("\\", "/").rsplit("/", 1)[-1]
    more = len(design.system.files) - 1
    others = f" and {more} other {'file' if more == 1 else 'files'}" if more else ""
    rules = f"{text(design.profile_title)} ({code(design.profile)})"
    yield f"Source: {code(name)}{others}, SHA-256 {design.source_sha256[:12]}. Rules: {rules}."


def _faults(facts: Facts) -> Iterator[Block]:
    """What the protection rests on beside the matrix: sources, distances, heat, and devices that do not protect."""
    devices = [
        (d, facts.design.devices[d.id]) for d in facts.design.system.devices.values() if d.id in facts.design.devices
    ]
    guards = [r for d, r in devices if d.roles.protects]
    tables = (
        _fault_sources(facts), _placement(facts, guards), _heat(facts, guards),
        _others(facts, [r for d, r in devices if not d.roles.protects]),
    )  # fmt: skip
    if any(table.rows for table in tables):
        yield Heading(3, "Faults")
    yield from (table for table in tables if table.rows)


def _fault_sources(facts: Facts) -> Table:
    return Table.of(
        [s for s in facts.design.sources.values() if s.fault_current_a is not None],
        "Sources of fault current, at their own terminals.",
        Column("Source", 28, cell=lambda s: text(facts.names.part(s.source))),
        Column("Kind", 12, cell=lambda s: text(s.kind)),
        Column("Full e.m.f.", 15, "V", 2, lambda s: trimmed(s.emf_full_v, 2)),
        Column(
            "Lowest resistance",
            23,
            "mohm",
            3,
            lambda s: "" if s.resistance_low_ohm is None else fixed(1000 * s.resistance_low_ohm, 3),
        ),
        Column("Fault current", 17, "kA", 2, lambda s: fixed(s.fault_current_a / 1000, 2)),
        marks=("small",),
    )


def _placement(facts: Facts, guards: list[DeviceResult]) -> Table:
    known = [r for r in guards if r.distance_from_source_m and r.placement_limit_m is not None]
    return Table.of(
        known,
        "Devices that do not stand at their source: the distance along the conductor.",
        Column("Device", 32, cell=lambda r: text(facts.names.device(r.device))),
        Column("Address", 18, cell=lambda r: code(r.device)),
        facts.length_column("From its source", lambda r: r.distance_from_source_m, 15),
        facts.length_column("Limit", lambda r: r.placement_limit_m, 10),
        Column("Rule", 40, cell=lambda r: text(r.placement_rule)),
        marks=("small",),
    )


def _heat(facts: Facts, guards: list[DeviceResult]) -> Table:
    """Heat that a far-end fault brings into the smallest conductor, against what its insulation withstands."""
    return Table.of(
        [r for r in guards if r.i2t_a2s is not None and r.k2s2_a2s],
        "Heat of a far-end fault in the thinnest conductor, I²t against k²S².",
        Column("Device", 32, cell=lambda r: text(facts.names.device(r.device))),
        Column("Let through", 16, "A²s", 0, lambda r: number(r.i2t_a2s)),
        Column("Withstood", 16, "A²s", 0, lambda r: number(r.k2s2_a2s)),
        Column("Used", 8, "%", 1, lambda r: against(100 * r.i2t_a2s / r.k2s2_a2s, 100.0, 1)),
        marks=("small",),
        chart="bar",
    )


def _others(facts: Facts, others: list[DeviceResult]) -> Table:
    return Table.of(
        others,
        "Switches, shunts and relays.",
        Column("Device", 32, cell=lambda r: text(facts.names.device(r.device))),
        Column("Address", 18, cell=lambda r: code(r.device)),
        Column("Carries", 10, "A", 1, lambda r: amperes(carried(r))),
        Column("Rating", 10, "A", 1, lambda r: trimmed(r.rating.rating_a, 1)),
        marks=("small",),
    )


def assumptions(facts: Facts) -> Iterator[Block]:
    """What the plate left open, and readings chosen among two."""
    yield Heading(3, "Assumptions")
    shared: dict[tuple[str, str], list[str]] = {}
    for a in facts.design.assumptions:
        shared.setdefault((prose(a.text), text(a.source)), []).append(code(a.subject))
    if not shared:
        yield "None: the plate states every value that was needed."
        return
    yield Table.of(
        list(enumerate(shared.items(), 1)),
        "Values that the plate left open, and readings chosen among two.",
        Column("No", 3, decimals=0, cell=lambda item: str(item[0])),
        Column("Where", 18, cell=lambda item: _subjects(item[1][1])),
        Column("Assumed", 70, cell=lambda item: item[1][0][0]),
        Column("Source", 40, cell=lambda item: item[1][0][1]),
        note="State the value in the plate to replace one.",
        marks=("small",),
    )


def _subjects(subjects: list[str]) -> str:
    """What one assumption is about. Of many that share it a few are named: `design.json` has them all."""
    more = f" and {len(subjects) - NAMED} more" if len(subjects) > NAMED else ""
    return " ".join(subjects[:NAMED]) + more


def _sources(facts: Facts) -> Iterator[Block]:
    """What was published and used, how it was checked, and the constants of the rule profile."""
    yield Heading(3, "Sources")
    used = list(enumerate(dict.fromkeys(facts.design.sources_used), 1))
    tables = (
        Table.of(
            used,
            "Published sources that this design used.",
            Column("No", 3, cell=lambda s: f"S{s[0]}"),
            Column("Title", 64, cell=lambda s: text(s[1].title)),
            Column("Edition", 26, cell=lambda s: text(s[1].edition)),
            Column("Clause", 34, cell=lambda s: text(s[1].clause)),
            Column("Status", 12, cell=lambda s: text(s[1].status)),
            note=_statuses(facts),
            marks=("small",),
        ),
        Table.of(
            facts.design.constants.items(),
            f"Constants of the rule profile {code(facts.design.profile)}.",
            Column("Constant", 26, cell=lambda c: text(c[0])),
            Column("What", 46, cell=lambda c: text(c[1].quantity)),
            Column("Value", 10, decimals=4, cell=lambda c: number(c[1].value, 5)),
            Column("Unit", 10, cell=lambda c: unit(c[1].unit)),
            Column("Source", 60, cell=lambda c: text(c[1].source)),
            Column("Status", 12, cell=lambda c: text(c[1].status)),
            marks=("small",),
        ),
    )
    yield from (table for table in tables if table.rows)


def _statuses(facts: Facts) -> str:
    """What the words for how a figure was checked mean; only those that stand in this report."""
    used = {s.status for s in facts.design.sources_used} | {c.status for c in facts.design.constants.values()}
    return " ".join(f"{word.capitalize()}: {meaning}." for word, meaning in STATUSES.items() if word in used)
