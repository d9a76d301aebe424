"""Components from their declarations: facts, types, defaults, and what each kind must say."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from copperplate import units
from copperplate.model import Battery, Converter, Earth, Engine, Load, Part, Settings
from copperplate.model.attributes import fields_of
from copperplate.model.kinds import KINDS
from copperplate.resolve.addresses import AC_POLES, DC_PAIR
from copperplate.resolve.controls import served_alone
from copperplate.resolve.facts import read_facts
from copperplate.resolve.names import declared
from copperplate.resolve.reading import COMMON_PRACTICE, Facts, Place, Reading
from copperplate.resolve.types import apply_type
from copperplate.standards import mains, profile
from copperplate.standards.batteries import DEFAULT_CHEMISTRY, chemistry
from copperplate.syntax.tree import Word


def read_components(settings: Settings, reading: Reading) -> dict[str, Part]:
    """The components of the plate by name, in order. A second one of the same name is left out."""
    parts: dict[str, Part] = {}
    types = {word: kind.type for word, kind in KINDS.items() if kind.type is not None}
    served = served_alone(reading)
    for statement, head, name in declared(reading, *types):
        kind = statement.keyword.text
        facts = read_facts(statement.items, head.rest, head.title, Place(kind, name.text, reading))
        reference = facts.values.pop("part", None)
        apply_type(facts, kind, reference, name.text, reading)
        if facts.unread:
            reading.names.touched.add(name.text)
        _check(types[kind], name, facts, settings, reading, needy=name.text not in served)
        parts[name.text] = _part(types[kind], name, facts, reference)
    return parts


def _part(type: type[Part], name: Word, facts: Facts, reference: Word | None) -> Part:
    values = dict(facts.values)
    stated = frozenset(key for key in values if key in facts.spans)
    values |= {key: value.text for key, value in values.items() if isinstance(value, Word)}
    if issubclass(type, Engine):
        values["conducts"] = True
    if reference is not None:
        values["part"] = reference.text
    return type(
        **fields_of(type, values),
        id=name.text,
        title=facts.title.text if facts.title else "",
        span=name.span,
        stated=stated,
        spans=facts.spans,
        terminals=_by_port(facts.terminals, type, values),
        advised=_by_port(facts.advised, type, values),
        comparable=facts.comparable,
        unread=frozenset(facts.broken - facts.left_open),
        left_open=frozenset(facts.left_open),
    )


def _by_port(stated: Mapping[str, Any], type: type[Part], values: Mapping[str, Any]) -> dict[str, Any]:
    """Entries for a group of terminals (`in`, `ac-out`, the ways of a panel) spread over its terminals."""
    spread = dict(stated)
    for port, entry in stated.items():
        poles = AC_POLES if port.startswith("ac-") else DC_PAIR if f"{port}.pos" in type.reaches else ()
        members = [f"{port}.{pole}" for pole in poles]
        if port == "way":
            members = [str(number + 1) for number in range(min(values.get("ways") or 0, 1000))]
        for member in members:
            spread.setdefault(member, entry)
    return spread


def _check(
    type: type[Part], word: Word, facts: Facts, settings: Settings, reading: Reading, needy: bool
) -> None:
    """What the kind must say, where it is `needy`, what excludes what, and the assumptions behind its defaults. Where
    a fact that is needed is missing, a neutral value takes its place, so that the rest can still be judged."""
    name, values = word.text, facts.values
    if issubclass(type, Load) and values.get("ac") and "outlets" in values and not values.keys() & type.exclusive:
        outlet = profile(settings.rules).figures["outlet"]
        values["power_w"] = outlet.value * values["outlets"] * values.get("power_factor", 1.0)
        text = f"its {values['outlets']} outlets are taken to draw {outlet.value:g} VA each"
        reading.assume(name, text, outlet.cited)
    if issubclass(type, Load) and "fuse_a" in values:
        _take_fuse(name, facts, type.exclusive, settings, reading)
    for keys, what, how, beside in type.needs:
        if needy and (not beside or beside in values) and facts.lacks(*keys):
            reading.report("CP209", name, word.span, what=what, how=how)
    for keys, _, _, beside in type.needs:
        if not beside and not values.keys() & keys:
            key = "current_a" if "current_a" in keys else keys[0]
            named = key in ("inputs", "outputs")
            values[key] = () if named else settings.nominal_v if key == "out_v" else 0.0
    _check_exclusive(name, facts, type.exclusive, reading)
    if issubclass(type, Battery):
        if "voltage_v" not in values:
            values["voltage_v"] = settings.nominal_v / values.get("series", 1)
            text = f"batteries of {units.show(values['voltage_v'], 'V')}, from the nominal voltage of the system"
            reading.assume(name, text, COMMON_PRACTICE)
        if "fault_current_a" in facts.left_open:
            figures = chemistry(values.get("chemistry", DEFAULT_CHEMISTRY), values["voltage_v"])
            values["fault_current_a"] = figures.fault_top_a(values.get("capacity_ah"))
        _check_battery(name, facts, reading)
    if type.roles.mains:
        _check_mains(type, name, facts, reading)
    if issubclass(type, Earth) and "resistance_ohm" in values and not values.keys() & {"conducts", "electrode"}:
        reading.report("CP210", name, facts.spans["resistance_ohm"], earth=True)
    if type.roles.converts and "efficiency" not in values and "efficiency" not in facts.broken:
        reading.assume(name, "efficiency 90 %", COMMON_PRACTICE)
    if issubclass(type, Converter) and "isolation" not in values:
        reading.assume(name, "input and output are isolated from each other", COMMON_PRACTICE)
    if issubclass(type, Load) and values.get("ac") and "power_factor" not in values:
        reading.assume(name, "power factor 1", COMMON_PRACTICE)


def _take_fuse(name: str, facts: Facts, draws: tuple[str, ...], settings: Settings, reading: Reading) -> None:
    """What a load's fuse tells: the maker's advice, and where no current is stated the one that it carries for ever."""
    values, fuse_a = facts.values, facts.values["fuse_a"]
    values.setdefault("advised_fuse_a", fuse_a)
    if facts.broken.union(values).intersection(draws):
        return
    continuous = settings.continuous_factor or profile(settings.rules).figures["device-factor"].value
    values["current_a"] = fuse_a / (1.0 if values.get("intermittent") else continuous)
    drawn, fuse = units.show(values["current_a"], "A"), units.show(fuse_a, "A")
    reading.assume(name, f"takes {drawn}, what its fuse of {fuse} may carry for ever", COMMON_PRACTICE)


def _check_battery(name: str, facts: Facts, reading: Reading) -> None:
    """The voltages of a battery lie around its nominal one: they are all of one battery, not of the bank. The
    bounds are wide; common practice, no source."""
    volts = facts.values["voltage_v"]
    window, full = facts.values.get("range"), facts.values.get("full_v")
    misfits = []
    if window is not None and not (0.6 <= window.low / volts <= 1.1 and 0.95 <= window.high / volts <= 1.4):
        misfits.append("range")
    if full is not None and not 0.95 <= full / volts <= 1.4:
        misfits.append("full_v")
    for key in misfits:
        span, at = facts.spans[key], {"voltage": facts.spans.get("voltage_v")}
        reading.report("CP210", name, span, written=span.text, volts=volts, at=at)
        del facts.values[key]


def _check_mains(type: type[Part], name: str, facts: Facts, reading: Reading) -> None:
    """The voltage of an AC source is one of a mains supply; a bare `12 V` on an inverter is its DC side."""
    key = type.output_key
    volts = facts.values.get(key)
    if volts is None or 90 <= volts <= 500:
        return
    reading.report("CP127", name, facts.spans.get(key), volts=volts, inverter=type.roles.converts)
    del facts.values[key]


def _check_exclusive(name: str, facts: Facts, keys: tuple[str, ...], reading: Reading) -> None:
    stated = [key for key in keys if key in facts.values]
    if len(stated) < 2:
        return
    first, second = facts.spans[stated[0]], facts.spans[stated[1]]
    if second.start < first.start and first.source is second.source:
        first, second = second, first
    reading.report("CP210", name, second, first=first.text, second=second.text, at={"first": first})
    for key in stated[1:]:
        del facts.values[key]


def with_alternating_current(settings: Settings, parts: dict[str, Part], drawn: bool, reading: Reading) -> Settings:
    """The settings with the AC supply that the parts show where the plate does not state one. `drawn`: AC runs are
    drawn, so that an inverter's output counts."""
    supplies = [p for p in parts.values() if p.ac or (p.roles.mains and (drawn or not p.roles.converts))]
    if settings.ac or not supplies:
        return settings
    supplies.sort(key=lambda part: part.roles.converts)
    stated = [volts for part in supplies for volts in (part.voltage_v, part.gives_v) if volts is not None]
    if stated:
        ac = "230" if stated[0] > 180 and stated[0] != 240 else "120/240" if stated[0] == 240 else "120"
        text = f"AC of {ac} V, from the voltage that a source of the plate states"
    else:
        ac = profile(settings.rules).ac
        text = f"AC of {ac} V, the usual supply where rules {settings.rules} apply"
    frequency_hz = settings.frequency_hz or mains(ac).frequency_hz
    reading.assume("system", f"{text}, {frequency_hz:g} Hz", COMMON_PRACTICE)
    return replace(settings, ac=ac, frequency_hz=frequency_hz)  # type: ignore[arg-type]
