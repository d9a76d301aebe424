"""The `system` statement, with every default filled in and recorded."""

from __future__ import annotations

from itertools import pairwise
from pathlib import PurePosixPath
from typing import Any

from copperplate import units
from copperplate.findings import Finding, make
from copperplate.model import Assumption, Budget, Settings
from copperplate.model.kinds import KINDS
from copperplate.resolve.atoms import Place
from copperplate.resolve.facts import Facts, read_facts
from copperplate.resolve.words import table
from copperplate.standards import IncompleteProfile, mains, profile
from copperplate.syntax.tree import Atom, Declaration, Number, Plate, Quantity, Text
from copperplate.text import Span, nearest

_COMMON = "common practice, no source"
_DEFAULT_RULES: str = next(a.default for a in KINDS["system"].attributes if a.key == "rules")


def read_settings(plate: Plate, findings: list[Finding]) -> tuple[Settings | None, list[Assumption]]:
    """The settings of a plate and the assumptions behind its defaults. Where the nominal voltage is missing, a
    finding asks for it and the likely one stands in, so that the rest is checked too. None for a file of parts."""
    statements = list(plate.declarations("system"))
    if not statements:
        if not plate.statements or _is_library(plate):
            return None, []
        start = Span(plate.source, 0, 0)
        if not _is_misspelt(plate):
            findings.append(make("CP208", "system", start))
        return _settings("", Facts(values={"nominal_v": _likely_v(plate)}), start)
    first, *others = statements
    for other in others:
        findings.append(make("CP201", "system", other.keyword.span, system=True, at={"first": first.keyword.span}))
    place = Place("system", "system", length_unit(plate), findings)
    title, rest = _title(first.head)
    facts = read_facts(first.items, rest, title, table("system"), place)
    title = facts.title
    name = title.text if title else PurePosixPath(plate.source.name.replace("\\", "/")).stem
    if "nominal_v" not in facts.values:
        if facts.lacks("nominal_v"):
            findings.append(make("CP209", "system", first.keyword.span))
        facts.values["nominal_v"] = _likely_v(plate)
    _check_rules(facts, findings)
    return _settings(name, facts, first.span)


def _check_rules(facts: Facts, findings: list[Finding]) -> None:
    """Rules whose file cannot be used are told at their word, and the default ones stand in."""
    rules = facts.values.get("rules", _DEFAULT_RULES)
    try:
        profile(rules)
    except IncompleteProfile as lack:
        about = {"word": "rules", "written": rules, "lack": str(lack), "default": _DEFAULT_RULES}
        findings.append(make("CP128", "system", facts.spans["rules"], **about))
        facts.values["rules"] = _DEFAULT_RULES


def _is_library(plate: Plate) -> bool:
    """True for a file of parts that other plates use: it is no system and need not be one."""
    kinds = [s.keyword.text if isinstance(s, Declaration) else "" for s in plate.statements]
    return "part" in kinds and set(kinds) <= {"part", "use", "note"}


def _is_misspelt(plate: Plate) -> bool:
    """True where a statement begins with what is most like `system`; its finding says so."""
    words = [s.keyword.text if isinstance(s, Declaration) else getattr(s, "keyword", "") for s in plate.statements]
    return any(word not in KINDS and nearest(word, KINDS) == "system" for word in words if word)


def _likely_v(plate: Plate) -> float:
    """The nominal voltage by the first battery that says one: blocks of 12 V, as many as make it up."""
    for statement in plate.declarations("battery"):
        atoms = [*statement.head, *(atom for item in statement.items for atom in item.atoms)]
        volts = next((atom.value for atom in atoms if isinstance(atom, Quantity) and atom.unit == "V"), 0.0)
        series = [n.value for word, n in pairwise(atoms) if word.span.text == "series" and isinstance(n, Number)]
        if 6 < volts * max([1.0, *series]) < 1000:
            return 12.0 * round(volts * max([1.0, *series]) / 12.5)
    return 12.0


def length_unit(plate: Plate) -> str:
    """ "ft" where the plate's system counts in US units, else "m"; read before anything else, for messages."""
    for statement in plate.declarations("system"):
        for item in statement.items:
            words = [atom.span.text for atom in item.atoms]
            if words[:2] == ["units", "us"]:
                return "ft"
    return "m"


def _title(head: tuple[Atom, ...]) -> tuple[Text | None, tuple[Atom, ...]]:
    if head and isinstance(head[0], Text):
        return head[0], head[1:]
    return None, head


def _settings(title: str, facts: Facts, span: Span) -> tuple[Settings, list[Assumption]]:
    given = facts.values
    defaults = {a.key: a.default for a in KINDS["system"].attributes}
    assumptions: list[Assumption] = []

    def take(key: str, default: Any, text: str, source: str = _COMMON) -> Any:
        if key in given:
            return given[key]
        assumptions.append(Assumption("system", text, source))
        return default

    rules = take("rules", defaults["rules"], f"rules {defaults['rules']}, for the plate names none")
    ambient_c = take("ambient_c", defaults["ambient_c"], f"air of {defaults['ambient_c']:g} °C around all conductors")
    insulation_c = take(
        "insulation_c", defaults["insulation_c"], f"conductor insulation rated {defaults['insulation_c']:g} °C"
    )
    chosen = profile(rules)
    share = chosen.drop_default.value
    text = f"a voltage-drop budget of {units.show(share, '%')} for every load that states none"
    drop = take("drop", Budget(share=share), text)
    counts = given.get("units", "metric")
    series = chosen.series
    shown = "mm²" if series == "mm2" else series.upper()
    conductors = take("conductors", series, f"conductor sizes in {shown}, the series of rules {rules}")
    negative = take("negative", "earthed", "the negative is earthed")
    ac = given.get("ac", "")
    frequency_hz = given.get("frequency_hz", 0.0)
    if ac and not frequency_hz:
        frequency_hz = mains(ac).frequency_hz
        text = f"AC of {units.show(frequency_hz, 'Hz')}, the usual frequency at {ac} V"
        assumptions.append(Assumption("system", text, _COMMON))
    settings = Settings(
        title=title,
        nominal_v=given["nominal_v"],
        rules=rules,
        ambient_c=ambient_c,
        insulation_c=insulation_c,
        drop=drop,
        units=counts,
        conductors=conductors,
        tinned=given.get("tinned", False),
        negative=negative,
        ac=ac,
        frequency_hz=frequency_hz,
        continuous_factor=given.get("continuous_factor"),
        client=given.get("client", ""),
        site=given.get("site", ""),
        designer=given.get("designer", ""),
        revision=given.get("revision", ""),
        date=given.get("date", ""),
        document=given.get("document", ""),
        status=given.get("status", defaults["status"]),
        paper=given.get("paper", "letter" if counts == "us" else "a4"),
        span=span,
        stated=frozenset(given),
    )
    return settings, assumptions
