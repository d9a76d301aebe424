"""Every code a finding may carry. One table a family; `finding()` is the only way to make a finding."""

from __future__ import annotations

from copperplate.findings import ac, conductors, names, protection, reading, rules, sources
from copperplate.findings.model import Finding, Measure, Related, Severity
from copperplate.text import Span

FAMILIES: dict[str, str] = {
    "1": "reading",
    "2": "names and structure",
    "3": "conductors and voltage",
    "4": "protection",
    "5": "rules and terminals",
    "6": "sources and energy",
    "7": "AC",
}

CODES: dict[str, tuple[Severity, str]] = {
    code: entry
    for family in (reading, names, conductors, protection, rules, sources, ac)
    for code, entry in family.CODES.items()
}


def finding(
    code: str,
    subject: str,
    message: str,
    span: Span | None = None,
    *,
    label: str = "",
    notes: tuple[str, ...] = (),
    help: str = "",
    related: tuple[Related, ...] = (),
    measure: Measure | None = None,
    rule: str = "",
) -> Finding:
    """A finding of `code` with the severity of its table; KeyError for a code no table holds."""
    severity, _ = CODES[code]
    return Finding(code, severity, subject, message, span, label, notes, help, related, measure, rule)
