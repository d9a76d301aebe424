"""Plates resolved in tests, and what they draw."""

from __future__ import annotations

from collections.abc import Mapping

from copperplate import resolve, syntax
from copperplate.findings import Finding
from copperplate.model import System
from copperplate.text import Source


def resolved(text: str, files: Mapping[str, str] | None = None) -> tuple[System | None, tuple[Finding, ...]]:
    """The system of a plate and all findings up to it, in the order of the plate. `files` are those it may use."""
    source = Source("test.plate", text)
    tree, reading = syntax.parse(source)
    others = files or {}
    system, naming = resolve.resolve(tree, lambda name: Source(name, others[name]) if name in others else None)
    return system, tuple(sorted((*reading, *naming), key=_place))


def _place(finding: Finding) -> tuple[str, int, str]:
    span = finding.span
    return (span.source.name, span.start, finding.code) if span else ("", -1, finding.code)


def sound(text: str, files: Mapping[str, str] | None = None) -> System:
    """The system of a plate that draws no error."""
    system, findings = resolved(text, files)
    errors = [(f.code, f.message) for f in findings if f.severity == "error"]
    assert system is not None and not errors, errors
    return system


def line_of(finding: Finding) -> str:
    """`CP202 5:15 lmap`: code, line and column, subject."""
    assert finding.span is not None, finding
    return f"{finding.code} {finding.span.line}:{finding.span.column} {finding.subject}"
