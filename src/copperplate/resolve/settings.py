"""The `system` statement, with every default filled in and recorded."""

from __future__ import annotations

from itertools import pairwise
from pathlib import PurePosixPath

from copperplate import units
from copperplate.model import STAGES, Budget, Settings
from copperplate.model.kinds import KINDS
from copperplate.resolve.facts import read_facts
from copperplate.resolve.reading import COMMON_PRACTICE, Facts, Place, Reading
from copperplate.standards import IncompleteProfile, mains, profile
from copperplate.syntax.tree import Declaration, Number, Plate, Quantity, Text
from copperplate.text import Span, nearest

_DEFAULTS = {attribute.key: attribute.default for attribute in KINDS["system"].attributes}


def read_settings(reading: Reading) -> Settings | None:
    """The settings of a plate. Where the nominal voltage is missing, a finding asks for it and the likely one stands
    in, so that the rest is checked too. None for a file of parts."""
    plate = reading.plate
    statements = list(plate.declarations("system"))
    if not statements:
        if not plate.statements or _is_library(plate):
            return None
        start = Span(plate.source, 0, 0)
        if not _is_misspelt(plate):
            reading.report("CP208", "system", start)
        return _settings("", Facts(values={"nominal_v": _likely_v(plate)}), start, reading)
    first, *others = statements
    for other in others:
        reading.report("CP201", "system", other.keyword.span, system=True, at={"first": first.keyword.span})
    title = first.head[0] if first.head and isinstance(first.head[0], Text) else None
    rest = first.head[1:] if title else first.head
    facts = read_facts(first.items, rest, title, Place("system", "system", reading))
    name = facts.title.text if facts.title else PurePosixPath(plate.source.name.replace("\\", "/")).stem
    if "nominal_v" not in facts.values:
        if facts.lacks("nominal_v"):
            reading.report("CP209", "system", first.keyword.span)
        facts.values["nominal_v"] = _likely_v(plate)
    _check_rules(facts, reading)
    return _settings(name, facts, first.span, reading)


def _check_rules(facts: Facts, reading: Reading) -> None:
    """A finding at the word of rules whose file cannot be used; the default ones stand in."""
    rules = facts.values.get("rules", _DEFAULTS["rules"])
    try:
        profile(rules)
    except IncompleteProfile as lack:
        about = {"word": "rules", "written": rules, "lack": str(lack), "default": _DEFAULTS["rules"]}
        reading.report("CP128", "system", facts.spans["rules"], **about)
        facts.values["rules"] = _DEFAULTS["rules"]


def _is_library(plate: Plate) -> bool:
    """True for a file of parts that other plates use: it is no system and need not be one."""
    kinds = [s.keyword.text if isinstance(s, Declaration) else "" for s in plate.statements]
    return "part" in kinds and set(kinds) <= {"part", "use", "note"}


def _is_misspelt(plate: Plate) -> bool:
    """True where a statement begins with what is most like `system`, which has its own finding."""
    words = [s.keyword.text if isinstance(s, Declaration) else getattr(s, "keyword", "") for s in plate.statements]
    return any(word not in KINDS and nearest(word, KINDS) == "system" for word in words if word)


def _likely_v(plate: Plate) -> float:
    """The nominal voltage by the first battery that states one: blocks of 12 V, as many as make it up."""
    stores = [word for word, kind in KINDS.items() if kind.type is not None and kind.type.roles.stores]
    for statement in plate.declarations(*stores):
        atoms = statement.atoms
        volts = next((atom.value for atom in atoms if isinstance(atom, Quantity) and atom.unit == "V"), 0.0)
        series = [n.value for word, n in pairwise(atoms) if word.span.text == "series" and isinstance(n, Number)]
        if 6 < volts * max([1.0, *series]) < 1000:
            return 12.0 * round(volts * max([1.0, *series]) / 12.5)
    return 12.0


def length_unit(plate: Plate) -> str:
    """The unit of the lengths of the plate's messages, "m" or "ft"; read before anything else."""
    for statement in plate.declarations("system"):
        for item in statement.items:
            words = [atom.span.text for atom in item.atoms]
            if words[:2] == ["units", "us"]:
                return units.local("m", "us")
    return "m"


def _settings(title: str, facts: Facts, span: Span, reading: Reading) -> Settings:
    reading.unmeasured_m = facts.values.get("unmeasured_m", _DEFAULTS["unmeasured_m"])
    given, drops = facts.values, dict(facts.budgets)
    if "" in drops:
        given["drop"] = drops.pop("")
    rules, ac = given.get("rules", _DEFAULTS["rules"]), given.get("ac", "")
    share, series = profile(rules).figures["drop-default"].value, profile(rules).series
    for key, text in {
        "rules": f"rules {rules}, for the plate names none",
        "ambient_c": f"air of {_DEFAULTS['ambient_c']:g} °C around all conductors",
        "insulation_c": f"conductor insulation rated {_DEFAULTS['insulation_c']:g} °C",
        "drop": f"a voltage-drop budget of {units.show(share, '%')} for every load that states none",
        "conductors": f"conductor sizes in {'mm²' if series == 'mm2' else series.upper()}, the series of rules {rules}",
        "negative": "the negative is earthed",
    }.items():
        if key not in given:
            reading.assume("system", text, COMMON_PRACTICE)
    frequency_hz = given.get("frequency_hz", 0.0)
    if ac and not frequency_hz:
        frequency_hz = mains(ac).frequency_hz
        text = f"AC of {units.show(frequency_hz, 'Hz')}, the usual frequency at {ac} V"
        reading.assume("system", text, COMMON_PRACTICE)
    paper = "letter" if given.get("units") == "us" else "a4"
    chosen = {"drop": Budget(share=share), "conductors": series, "paper": paper}
    values = {**_DEFAULTS, **chosen, **given, "ac": ac, "frequency_hz": frequency_hz}
    stage = values["status"]
    values |= {"status": STAGES.get(stage, stage), "stage": stage if stage in STAGES else ""}
    return Settings(**values, drops=drops, title=title, span=span, stated=frozenset(given))
