"""The installer's document: what to cut, label, lay, end and buy, each fact once."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from copperplate.model.links import Link
from copperplate.model.parts import Bus, Panel
from copperplate.model.results import Cut, Fit, Material
from copperplate.model.system import Conductor, Run
from copperplate.report.blocks import Block, Column, Heading, Label, Labels, Table
from copperplate.report.facts import Facts
from copperplate.report.words import code, codes, fixed, many, text, trimmed
from copperplate.units import from_si

TO_THE_DEVICE = "to the device"
GROUPS: dict[str, str] = {
    "conductor": "Conductors by size and colour",
    "cable": "Cables by size",
    "lead": "Made-up leads",
    "lug": "Lugs by size and stud",
    "ferrule": "Ferrules by size",
    "splice": "Splices",
    "fuse": "Fuses, with a spare of each",
    "holder": "Fuse holders",
    "breaker": "Breakers",
    "device": "Switches and other devices",
}
BATTERIES, CHARGING, LARGE, FEEDS, MAINS, SIGNALS = (
    "Batteries and bars", "Charging and converters", "Loads on the bars", "Feeds", "AC", "Signals and leads",
)  # fmt: skip


@dataclass(frozen=True)
class Piece:
    """One piece of the wiring: a conductor, or a link between the batteries of a bank."""

    wire: Conductor | Link
    run: Run

    @property
    def marker(self) -> str:
        return self.wire.marker


def installer(facts: Facts) -> list[Block]:
    """The sections of the installer's document behind its sheets."""
    return [*wiring(facts), *_leads(facts), *_bars(facts), *_cuts(facts), *_labels(facts), *materials(facts)]


def pieces(facts: Facts) -> list[tuple[str, list[Piece]]]:
    """Every piece, in groups in the order in which they are wired."""
    system = facts.design.system
    groups: dict[str, list[Piece]] = {name: [] for name in (BATTERIES, CHARGING, LARGE, FEEDS)}
    for panel in system.of(Panel):
        groups[_circuits_of(facts, panel.id)] = []
    groups |= {MAINS: [], SIGNALS: []}
    every: tuple[Conductor | Link, ...] = (*facts.design.links, *system.conductors.values())
    for wire in every:
        run = system.runs[wire.run]
        groups[_group(facts, run)].append(Piece(wire, run))
    return list(groups.items())


def _circuits_of(facts: Facts, panel: str) -> str:
    return f"Circuits of {text(facts.names.part(panel))}"


def _group(facts: Facts, run: Run) -> str:
    system = facts.design.system
    if run.signal_a is not None:
        return SIGNALS
    if run.role == "link":
        return BATTERIES
    first = facts.panel_of.get(run.id)
    if first:
        return _circuits_of(facts, first)
    if run.current == "ac":
        return MAINS
    roles = [system.parts[end].roles for end in system.end_parts(run)]
    if any(role.converts or role.pushes_current for role in roles):
        return CHARGING
    if any(role.is_load for role in roles):
        return LARGE
    return FEEDS if any(role.bar and role.protects for role in roles) else BATTERIES


def fitting(fit: Fit | None, parallel: int) -> str:
    """`lug M8`, `2 lugs M10`, `ferrule 6 mm²`, `splice`; `to the device` where the plate states no terminal."""
    if fit is None:
        return TO_THE_DEVICE
    wrong = "" if fit.fits is not False else ", **does not fit**"
    count = f"{parallel} " if parallel > 1 else ""
    if fit.terminal.startswith("stud "):
        return f"{count}{'lugs' if count else 'lug'} {fit.terminal.removeprefix('stud ')}{wrong}"
    if fit.terminal.startswith("clamp"):
        return (f"{count}{text(fit.fitting.split(',')[0])}" if fit.fitting else "bare") + wrong
    return f"{count}splice" if fit.fitting.startswith("splice") else TO_THE_DEVICE


def wiring(facts: Facts) -> Iterator[Block]:
    """The one table that everything is wired from."""
    fits = {(fit.conductor, fit.node): fit for fit in facts.design.fits}
    cut = cuts_of(facts)
    stud = studs(facts)

    def parallel(piece: Piece) -> int:
        result = facts.design.runs.get(piece.run.id)
        return result.parallel if result else 1

    def node(piece: Piece, first: bool) -> str:
        wire = piece.wire
        if isinstance(wire, Link):
            return wire.from_end if first else wire.to_end
        return wire.from_node if first else wire.to_node

    def end(piece: Piece, first: bool) -> str:
        if isinstance(piece.wire, Link):
            return text(facts.names.link_end(piece.wire, first))
        on = stud.get((piece.wire.id, node(piece, first)))
        return text(facts.names.end(node(piece, first), first)) + (f", stud {on}" if on else "")

    def fitted(piece: Piece, first: bool) -> str:
        return fitting(fits.get((piece.wire.id, node(piece, first))), parallel(piece))

    def route(piece: Piece) -> str:
        return "–" if isinstance(piece.wire, Link) else text(facts.names.routes(piece.wire)) or "–"

    listed = pieces(facts)
    every = [piece for _, group in listed for piece in group]
    bare = sum(fitted(piece, first) == TO_THE_DEVICE for piece in every for first in (True, False))
    yield Heading(3, "Wiring", wide=True)
    words = f"{many(len(every), 'piece').capitalize()}, one a row: print the marker on both ends, lay, end, tick."
    words += " Cut is the length with its slack; of a cable that of all its cores."
    if bare:
        words += f' "To the device": its terminal is not stated ({many(bare, "end")}), so look before crimping.'
    yield words
    yield Table.grouped(
        listed,
        "Every piece of wire.",
        Column("", 3, cell=lambda _: "[ ]"),
        Column("Marker", 20, cell=lambda piece: code(piece.marker)),
        Column("From", 26, cell=lambda piece: end(piece, True)),
        Column("Fitting", 16, cell=lambda piece: fitted(piece, True)),
        Column("To", 26, cell=lambda piece: end(piece, False)),
        Column("Fitting", 16, cell=lambda piece: fitted(piece, False)),
        facts.size_column("Size", lambda piece: facts.size_cell(facts.design.runs.get(piece.run.id))),
        Column("Colour", 6, cell=lambda piece: facts.colour(piece.wire)),
        facts.length_column("Length", lambda piece: piece.wire.length_m),
        facts.length_column("Cut", lambda piece: cut.get(piece.wire.id)),
        Column("Route", 18, cell=route),
        Column("Protected by", 26, cell=lambda piece: protected_by(facts, piece)),
        Column("Sheet", 7, cell=lambda piece: facts.place(piece.wire.id)),
        marks=("schedule",),
        keys=tuple(f"wire.{piece.marker}" for piece in every),
    )


def protected_by(facts: Facts, piece: Piece) -> str:
    """The device of the circuit that a piece belongs to, or where it stands without one."""
    wire, run, system = piece.wire, piece.run, facts.design.system
    if isinstance(wire, Link):
        return "inside the bank"
    if wire.pole == "pe" or run.earth:
        return "earthing"
    if wire.pole == "neg" and not facts.guards(run.id) and (other := run.id.replace(".neg", ".pos")) in system.runs:
        run = system.runs[other]
    own = [d for d in run.device_ids if system.devices[d].roles.protects]
    behind = facts.names.wires.before(wire, run)
    if wire.pole == "pos" and own and not behind.intersection(own):
        return "before its fuse" if system.devices[own[0]].kind == "fuse" else "before its breaker"
    guards = [d for d in own if wire.pole != "pos" or d in behind] or list(facts.guards(run.id))
    return text(facts.names.listed(guards, 3)) if guards else "–"


def cuts_of(facts: Facts) -> Mapping[str, float]:
    """Metres to cut by conductor or link; a core has the length of its cable."""
    by_tag = {cut.conductor.split(" (")[0]: cut for cut in facts.design.cuts}
    found: dict[str, float] = {}
    for _, group in pieces(facts):
        for piece in group:
            cut = by_tag.get(piece.marker)
            metres = cut.cut_m if cut is not None else sum(cable.cut_m for cable in _cables(facts, by_tag, piece))
            if metres:
                found[piece.wire.id] = metres
    return found


def _cables(facts: Facts, by_tag: Mapping[str, Cut], piece: Piece) -> list[Cut]:
    """The cables that a core is in: that of its run; of several stretches the one where its number stands, and every
    one where it runs on past what divides the others."""
    name = piece.run.id.removesuffix(".run")
    stretches = [cut for tag, cut in by_tag.items() if tag == name or tag.startswith(f"{name}/")]
    cores = [c for c in piece.run.conductor_ids if facts.design.system.conductors[c].pole == piece.wire.pole]
    within = [n * len(cores) // len(stretches) for n in range(len(stretches))]
    at = cores.index(piece.wire.id) if piece.wire.id in cores else -1
    return [cable for cable, core in zip(stretches, within, strict=True) if core == at]


def studs(facts: Facts) -> Mapping[tuple[str, str], int]:
    """By conductor and node: the stud of a bar that its lug goes on, in the order of the plate; where there are more
    lugs than studs, each goes to the stud with fewest."""
    system = facts.design.system
    given: dict[tuple[str, str], int] = {}
    for bar in system.of(Bus):
        ends = [
            (c.id, node)
            for c in system.conductors.values()
            for node in (c.from_node, c.to_node)
            if node in system.nodes and system.nodes[node].part == bar.id
        ]
        count = bar.studs or len(ends)
        given |= {end: n % count + 1 for n, end in enumerate(ends)}
    return given


def _bars(facts: Facts) -> Iterator[Block]:
    """Bars stud by stud, the largest lug lowest."""
    system = facts.design.system
    on: dict[tuple[str, int], list[Conductor]] = {}
    for (wire, node), stud in studs(facts).items():
        on.setdefault((system.nodes[node].part, stud), []).append(system.conductors[wire])
    if not on:
        return

    def area(wire: Conductor) -> float:
        result = facts.design.runs.get(wire.run)
        return result.area_mm2 if result else 0.0

    def lugs(wires: list[Conductor]) -> str:
        return ", ".join(facts.size_cell(facts.design.runs.get(wire.run)) for wire in wires)

    rows = [(bar, stud, sorted(wires, key=lambda wire: -area(wire))) for (bar, stud), wires in on.items()]
    bars = [bar.id for bar in system.of(Bus)]
    rows.sort(key=lambda row: (bars.index(row[0]), row[1]))
    yield Heading(3, "Bars")
    yield "Stud by stud, the largest lug lowest (common practice). Torque is the figure of the terminal's maker."
    yield Table.grouped(
        [(text(facts.names.part(bar)), [row for row in rows if row[0] == bar]) for bar in bars],
        "What lands on each stud.",
        Column("Stud", 5, decimals=0, cell=lambda row: str(row[1])),
        Column(
            f"Lugs from below{f', {facts.size_unit}' if facts.size_unit else ''}", 24, cell=lambda row: lugs(row[2])
        ),
        Column("Marker", 40, cell=lambda row: codes([wire.marker for wire in row[2]])),
        Column("Torque, Nm", 12, cell=lambda _: "________"),
        marks=("small",),
    )


def _leads(facts: Facts) -> Iterator[Block]:
    leads = list(facts.design.system.leads.values())
    if leads:
        yield Heading(4, "Made-up leads")
        yield Table.of(
            leads,
            "Leads that are bought made up.",
            Column("", 3, cell=lambda _: "[ ]"),
            Column("Marker", 20, cell=lambda lead: code(lead.marker)),
            Column("From", 26, cell=lambda lead: text(facts.port(lead.from_end))),
            Column("To", 26, cell=lambda lead: text(facts.port(lead.to_end))),
            facts.length_column("Length", lambda lead: lead.length_m),
            Column("What it is", 24, cell=lambda lead: text(lead.lead)),
            marks=("schedule",),
        )


def _cuts(facts: Facts) -> Iterator[Block]:
    """What comes off each reel, the longest piece first."""
    reels: dict[tuple[str, str, int], list[Cut]] = {}
    for cut in facts.design.cuts:
        reels.setdefault((cut.size, cut.colour, cut.cores), []).append(cut)
    if not reels:
        return
    labels = {r.size.key: r.size.label for r in facts.design.runs.values() if r.size}
    unit = facts.length_unit

    def lengths(cuts: list[Cut]) -> str:
        metres = [cut.cut_m for cut in cuts]
        each = ((m, metres.count(m)) for m in sorted(set(metres), reverse=True))
        return ", ".join(f"{f'{n} × ' if n > 1 else ''}{fixed(from_si(m, unit), 2)}" for m, n in each)

    def reel(key: tuple[str, str, int]) -> str:
        cores = f"{key[2]}-core " if key[2] > 1 else ""
        return text(f"{cores}{labels.get(key[0], key[0])}, {key[1]}")

    yield Heading(3, "Cut list")
    yield Table.of(
        reels.items(),
        "Pieces by reel, with their slack.",
        Column("Reel", 26, cell=lambda item: reel(item[0])),
        Column("Pieces", 7, decimals=0, cell=lambda item: str(len(item[1]))),
        Column(f"Cut, {unit}", 60, cell=lambda item: lengths(item[1])),
        Column("Total", 10, unit, 2, lambda item: fixed(from_si(sum(cut.cut_m for cut in item[1]), unit), 2)),
        marks=("small",),
    )


def _labels(facts: Facts) -> Iterator[Block]:
    """Sleeves for both ends of every piece, device labels and a card for each panel, at true scale."""
    system = facts.design.system
    sleeves: list[Label] = []
    for _, group in pieces(facts):
        for piece in group:
            result = facts.design.runs.get(piece.run.id)
            sleeves += [Label((piece.marker, piece.marker))] * (2 * (result.parallel if result else 1))
    devices = [
        Label((facts.names.device(d.id), f"{d.id}  {facts.rated(d.id)}".strip()))
        for d in system.devices.values()
        if not d.panel
    ]
    cards = [Label(facts.card(panel.id)) for panel in system.of(Panel)]
    yield Heading(3, "Labels")
    yield (
        "True scale: print at 100 % and prove it with the line of 50 mm. A sleeve for each end of every piece, which"
        " reads from both sides; cover with clear film. The list of labels holds the same for a label printer."
    )
    yield Labels("Sleeves", tuple(sleeves))
    yield Labels("Devices", tuple(devices))
    yield Labels("Cards for the lids of panels", tuple(cards))


def materials(facts: Facts) -> Iterator[Block]:
    """What to buy; what has no price is counted."""
    bought = facts.design.materials
    yield Heading(3, "Materials")
    if not bought:
        yield "Nothing was sized, so there is nothing to buy."
        return
    groups = [*GROUPS, *dict.fromkeys(m.group for m in bought if m.group not in GROUPS)]
    unit = facts.length_unit

    def quantity(line: Material) -> str:
        return fixed(from_si(line.quantity, unit), 2) if line.unit == "m" else trimmed(line.quantity, 2)

    yield f"{many(len(bought), 'line').capitalize()} to buy, {many(len(bought), 'of them', 'of them')} without a price."
    yield Table.grouped(
        [(GROUPS.get(group, group.capitalize()), [m for m in bought if m.group == group]) for group in groups],
        "What to buy.",
        Column("Item", 44, cell=lambda line: text(line.item)),
        Column("Quantity", 10, decimals=2, cell=quantity),
        Column("Unit", 5, cell=lambda line: unit if line.unit == "m" else text(line.unit)),
        Column("Part number", 16, cell=lambda _: ""),
        Column("Price", 9, cell=lambda _: ""),
        Column("Amount", 9, cell=lambda _: ""),
        note=f"Copper: {_copper(facts)}, without insulation.",
        marks=("small",),
    )


def _copper(facts: Facts) -> str:
    return f"{fixed(sum(copper.kilograms for copper in facts.copper.values()), 1)} kg"
