"""The inspector's tests: how everything is isolated, and what is measured before power and with power.

A limit names its source; where that says "from memory" it was not read on a public page. Continuity of protective
conductors, insulation, polarity and residual current are tests of IEC 60364-6 (from memory); open-circuit volts of
arrays follow IEC 62446-1 (from memory); the rest is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from copperplate.model.parts import Alternator, Battery, Bus, Earth, Generator, Inverter, Shore, Solar
from copperplate.model.results import LoadResult
from copperplate.model.system import DC_POLES
from copperplate.report.blocks import Block, Column, Heading, Points, Table
from copperplate.report.facts import Facts, budget_used
from copperplate.report.reach import bank_nodes, walked
from copperplate.report.words import amperes, fixed, joined, text, trimmed

MORE = 1.25
"""What lost volts may be of what is predicted (common practice, no source)."""
LONG_M = 3.0
HEAVY_A = 50.0
"""A run so long and so heavily loaded is measured by itself."""
SHOWN = 14
"""Lost volts on the sheet; the list has all."""
ARRAY_SHARE = 0.05
"""What open-circuit volts may differ from those stated (common practice, no source)."""
PE_OHM = 0.05
"""What a protective conductor and its ends may have beyond its copper (common practice, no source)."""


@dataclass(frozen=True)
class Test:
    """One test. `unit` "" where nothing is measured; figures in that unit; `source` of its limit."""

    id: str
    test: str
    where: str
    predicted: str
    passes: str
    source: str
    power: bool = False
    situation: str = ""
    unit: str = ""
    value: float | None = None
    least: float | None = None
    most: float | None = None
    amps: float | None = None


def lost_id(load: str) -> str:
    """The id of the test of what is lost on the way to a load."""
    return f"lost.{load}"


def tests(facts: Facts) -> list[Test]:
    """Every test, in the order in which they are made."""
    return [*_before(facts), *_with(facts)]


def _before(facts: Facts) -> Iterator[Test]:
    design, names = facts.design, facts.names
    system = design.system
    devices = [d for d in design.devices.values() if system.devices[d.device].roles.protects]
    practice = "common practice"
    yield Test("ratings", "Ratings fitted", f"{len(devices)} devices", "protection table", "all alike", practice)
    yield Test("torque", "Torque", "every stud and clamp", "maker's value", "marked", "the makers", unit="Nm")
    bars = {p: [b for b in system.of(Bus) if b.polarity == p] for p in ("positive", "negative")}
    for plus in bars["positive"][:6]:
        minus = next((b for b in bars["negative"]), None)
        if minus is not None:
            where = f"{names.part(plus.id)} to {names.part(minus.id)}, loads and banks off"
            yield Test(f"short.{plus.id}", "No short", where, "> 1 kΩ", "≥ 1 kΩ", practice, unit="ohm", least=1000.0)
    if system.settings.negative == "floating":
        yield Test(
            "floating",
            "Isolated",
            "each pole to earth, banks off",
            "open",
            "≥ 1 kΩ",
            practice,
            unit="ohm",
            least=1000.0,
        )
    for run in system.runs.values():
        heavy = design.runs[run.id].design_current.value >= HEAVY_A if run.id in design.runs else False
        if run.current == "dc" and heavy and run.length_m >= LONG_M and run.role == "run" and not run.earth:
            for wire in (system.conductors[c] for c in run.conductor_ids):
                built = design.conductors.get(wire.id)
                if built is not None and wire.length_m >= LONG_M:
                    mohm = 1000.0 * min(built.resistance_ohm.values(), default=0.0)
                    where = f"{names.end(wire.from_node, True)} to {names.end(wire.to_node, False)}"
                    yield _ohms(f"ohms.{wire.marker}", "Continuity, 4-wire", where, mohm, MORE * mohm, practice)
    for wire in system.conductors.values():
        if wire.pole == "pe" or system.runs[wire.run].earth:
            built = design.conductors.get(wire.id)
            mohm = 1000.0 * min(built.resistance_ohm.values(), default=0.0) if built is not None else 0.0
            where = f"{names.end(wire.from_node, True)} to {names.end(wire.to_node, False)}"
            source = "IEC 60364-6, from memory" if wire.pole == "pe" else practice
            yield _ohms(f"earth.{wire.marker}", "Earth continuity", where, mohm, mohm + 1000 * PE_OHM, source)
    yield Test("polarity", "Polarity", "every load, at its own terminals", "+ on its colour", "all", practice)
    if facts.mains:
        iec = "IEC 60364-6, from memory"
        yield Test(
            "polarity.ac", "Polarity, AC", "every outlet and device: line, neutral, earth", "as marked", "all", iec
        )
        where = "L and N joined, to PE; loads and electronics unplugged"
        yield Test("insulation", "Insulation, 500 V DC", where, "> 100 MΩ", "≥ 1 MΩ", iec, unit="Mohm", least=1.0)
    for array in system.of(Solar):
        if array.voc_v:
            volts, share = array.voc_v * array.series, array.temp_coefficient_per_k
            per_k = f"; {fixed(abs(share * volts), 2)} V less a °C above" if share else ""
            where = f"{names.part(array.id)}, modules at 25 °C{per_k}"
            allowed = ARRAY_SHARE * volts
            yield Test(
                f"voc.{array.id}", "Open-circuit volts", where, f"{fixed(volts, 1)} V", f"± {fixed(allowed, 1)} V",
                "IEC 62446-1, from memory", unit="V", value=volts, least=volts - allowed, most=volts + allowed,
            )  # fmt: skip
            yield Test(
                f"polarity.{array.id}", "Polarity, array", f"{names.part(array.id)}, at its controller", "+ on +",
                "+ on +", "IEC 62446-1, from memory",
            )  # fmt: skip


def _ohms(identity: str, test: str, where: str, predicted: float, most: float, source: str) -> Test:
    decimals = 2 if most < 10 else 1 if most < 100 else 0
    return Test(
        identity, test, where, f"{fixed(predicted, decimals)} mΩ", f"≤ {fixed(most, decimals)} mΩ", source, unit="mohm",
        value=predicted, most=most,
    )  # fmt: skip


def _with(facts: Facts) -> Iterator[Test]:
    design, names = facts.design, facts.names
    system = design.system
    for device in system.devices.values():
        if device.residual_a:
            label, where = f"{trimmed(1000 * device.residual_a, 0)} mA", names.device(device.id)
            source = "IEC 61008-1, from memory"
            yield Test(f"rcd.{device.id}.button", f"{label}, test button", where, "trips", "trips", source, True)
            for times, most in ((1, 300.0), (5, 40.0)):
                yield Test(
                    f"rcd.{device.id}.{times}x", f"{label}, tester at {times} ×", where, "opens",
                    f"≤ {fixed(most, 0)} ms", source, True, unit="ms", most=most,
                )  # fmt: skip
    for shore in (*system.of(Shore), *system.of(Generator), *system.of(Inverter)):
        where = f"furthest outlet on {names.part(shore.id)}"
        yield Test(
            f"loop.{shore.id}",
            "Earth fault loop",
            where,
            "by the rules",
            "opens in time",
            "local rules",
            True,
            unit="ohm",
        )
    for bank in system.of(Battery):
        if bank.full_v:
            volts = bank.full_v * bank.series
            where = f"{names.part(bank.id)}, near full"
            yield Test(
                f"charging.{bank.id}", "Charging", where, f"{fixed(volts, 1)} V", "± 0.2 V", "common practice", True,
                unit="V", value=volts, least=volts - 0.2, most=volts + 0.2,
            )  # fmt: skip
    drawn = {case.id for case in system.cases if case.kind == "load"}
    for load in design.loads.values():
        drops = load.current_a > 0.0 and load.solved_drop_v > 0.0 and load.worst_case in drawn
        if drops and system.runs[load.run].current == "dc":
            yield _lost(facts, load)


def _lost(facts: Facts, load: LoadResult) -> Test:
    situation = facts.names.case(load.worst_case)
    where = f"{facts.names.part(load.load)}, from {facts.names.part(load.source)}"
    volts, most = load.solved_drop_v, MORE * load.solved_drop_v
    return Test(
        lost_id(load.load), "Lost volts", where, f"{fixed(volts, 2)} V", f"≤ {fixed(most, 2)} V", "common practice",
        True, situation, "V", volts, None, most, load.current_a,
    )  # fmt: skip


UNITS = {"ohm": "Ω", "mohm": "mΩ", "Mohm": "MΩ"}


def commissioning(facts: Facts) -> Iterator[Block]:
    """Isolation, then the test sheets."""
    yield Heading(3, "Isolate, in this order")
    yield from facts.cautions()
    yield Points(True, tuple(isolation(facts)))
    listed = tests(facts)
    head = ("Tested by", "Date", "Meter, serial number", "Calibrated until", "Air in °C")
    yield Heading(3, "Before power")
    yield Table("", tuple(Column(words, 22) for words in head), (("",) * len(head),), marks=("form",))
    yield _sheet("Before power.", [t for t in listed if not t.power], "")
    yield Heading(3, "With power")
    words = "Lost volts: from the source's terminals to the load's, both wires, with all loads of the situation on."
    near = sorted(facts.design.loads.values(), key=lambda load: -budget_used(load))
    lost = [t for load in near for t in listed if t.id == lost_id(load.load)]
    shown = {t.id for t in lost[:SHOWN]}
    if len(lost) > SHOWN:
        words += f" The {SHOWN} nearest their budgets stand here; all {len(lost)} are in the list of tests."
    yield _sheet("With power.", [t for t in listed if t.power and (t not in lost or t.id in shown)], words)


def _sheet(caption: str, listed: list[Test], note: str) -> Table:
    def where(t: Test) -> str:
        load = f"; {t.situation}, {amperes(t.amps)} A" if t.amps is not None else ""
        return text(t.where + load)

    sources = dict.fromkeys(t.source for t in listed)
    numbers = {source: n for n, source in enumerate(sources, 1)}
    legend = "; ".join(f"{n}: {source}" for source, n in numbers.items())
    return Table.of(
        listed,
        caption,
        Column("", 3, cell=lambda _: "[ ]"),
        Column("Test", 22, cell=lambda t: text(t.test)),
        Column("Where", 46, cell=where),
        Column("Predicted", 14, cell=lambda t: text(t.predicted)),
        Column("Pass if", 14, cell=lambda t: text(f"{t.passes}")),
        Column("Limit by", 8, cell=lambda t: str(numbers[t.source])),
        Column("Measured", 14, cell=lambda t: f"________ {UNITS.get(t.unit, t.unit)}" if t.unit else ""),
        Column("Initials", 8, cell=lambda _: "____"),
        note=" ".join(filter(None, (note, f"Limits by {legend}."))),
        marks=("form",),
        keys=tuple(t.id for t in listed),
    )


def isolation(facts: Facts) -> Iterator[str]:
    """The steps in their order, with what stays live behind the switches."""
    system, names = facts.design.system, facts.names
    off = [f"Unplug the lead of {names.part(p.id)}." for p in system.of(Shore)]
    off += [f"Stop {names.part(p.id)}, and lock it." for p in system.of(Generator)]
    off += [f"Switch {names.part(p.id)} off, and lock it." for p in system.of(Inverter)]
    if off:
        yield text(" ".join(off))
    if arrays := system.of(Solar):
        named = joined([names.part(array.id) for array in arrays])
        yield text(f"Cover {named}, or open the disconnect: daylight is a source.")
    if engines := [names.part(a.id) for a in system.of(Alternator)]:
        yield text(f"Stop the engine, and keep it from starting: it turns {joined(engines)}.")
    hands = {
        d.id for d in system.devices.values()
        if d.roles.switches and not d.roles.protects and not d.roles.coil and d.pole in DC_POLES
    }  # fmt: skip
    starts = bank_nodes(system)
    closed = walked(system, starts, lambda device: device.id not in hands)
    first = [d for d in hands if any(node in closed for leg in system.devices[d].legs for node in leg)]
    opened = [names.device(d) for d in system.devices if d in first]
    live = {system.nodes[node].part for node in closed if node in system.nodes} - {""}
    still = [
        names.part(part.id) for part in system.parts.values()
        if part.id in live and not isinstance(part, Battery | Bus | Earth) and not part.roles.is_splice
    ]  # fmt: skip
    stays = joined([*still[:12], *([f"{len(still) - 12} more"] if len(still) > 12 else [])])
    if opened:
        yield text(
            f"Open {joined(opened)}. " + (f"Still live: {stays}." if still else "Nothing but the banks stays live.")
        )
    elif still:
        yield text(f"No switch parts the banks. Live until the next step: {stays}.")
    if banks := system.of(Battery):
        named = joined([names.part(bank.id) for bank in banks])
        yield text(f"Take off the negative lead of each battery, then its positive one: {named}. Cover the ends.")
    yield "Prove every bar dead with a meter that was proved on a live source just before, and again after."
