"""A finding: one thing that is wrong, or worth saying, with its place, its figures and a way out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from copperplate.findings.entry import Severity
from copperplate.text import Span

SEVERITIES: tuple[Severity, ...] = ("error", "warning", "advice")


@dataclass(frozen=True)
class Related:
    """Another place that a finding speaks of, with the words to print under its marks."""

    span: Span
    label: str


@dataclass(frozen=True)
class Measure:
    """What was found against what is allowed: the report's open points print it. Numbers in `unit`."""

    found: float | str
    limit: float | str
    unit: str


@dataclass(frozen=True)
class Finding:
    """One finding of one subject.

    `message` is one sentence with the figures in it; `span` the place of the symptom and `label` the words
    under its marks; `notes` say what is so; `help` is a concrete repair, computed and re-checked where it
    names a figure; `related` are the other ends of the contradiction; `accepted` is the reason where an
    `accept` statement silenced it; `rule` the source of the rule it rests on ("33 CFR 183.425(e)").
    """

    code: str
    severity: Severity
    subject: str
    message: str
    span: Span | None = None
    label: str = ""
    notes: tuple[str, ...] = ()
    help: str = ""
    related: tuple[Related, ...] = field(default=())
    measure: Measure | None = None
    rule: str = ""
    accepted: str | None = None
    edits: tuple[str, ...] = field(default=(), compare=False)
    """What may mend it, written in the place of `span` or of its one quantity in the same unit; not tried yet."""
    figures: Mapping[str, Any] = field(default_factory=dict, compare=False, hash=False, repr=False)
    """What the check gave, by the names of the slots of its row."""
