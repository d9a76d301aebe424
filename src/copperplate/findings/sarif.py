"""Findings as SARIF 2.1.0 (OASIS standard), the exchange format that code hosts and editors read."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any
from urllib.parse import quote

from copperplate.findings.codes import CODES
from copperplate.findings.model import Finding, Severity
from copperplate.text import Span, json_text

SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
LEVELS: dict[Severity, str] = {"error": "error", "warning": "warning", "advice": "note"}


Edit = tuple[str, Span, str]
"""What an edit is called, and the text that it puts in the place of a span."""


def document(findings: Iterable[tuple[Finding, str, Sequence[Edit]]], version: str) -> str:
    """One SARIF log with one run. Each finding comes with the folder that its file names are relative to, and with the
    edits that mend it; `version` is that of the compiler."""
    placed = list(findings)
    codes = sorted({finding.code for finding, _, _ in placed})
    rules = [_rule(code) for code in codes]
    driver = {"name": "copperplate", "version": version, "rules": rules}
    run = {
        "tool": {"driver": driver},
        "columnKind": "unicodeCodePoints",
        "results": [_result(f, folder, edits, codes.index(f.code)) for f, folder, edits in placed],
    }
    log = {"$schema": SCHEMA, "version": "2.1.0", "runs": [run]}
    return json_text(log)


def _rule(code: str) -> dict[str, Any]:
    entry = CODES[code]
    return {
        "id": code,
        "shortDescription": {"text": entry.title},
        "help": {"text": f"copperplate explain {code}"},
        "defaultConfiguration": {"level": LEVELS[entry.severity]},
    }


def _result(finding: Finding, folder: str, edits: Sequence[Edit], index: int) -> dict[str, Any]:
    sentences = [finding.message, *finding.notes, *([f"Try: {finding.help}"] if finding.help else [])]
    text = " ".join(words if words.endswith((".", "?", "!")) else words + "." for words in sentences)
    result: dict[str, Any] = {
        "ruleId": finding.code,
        "ruleIndex": index,
        "level": LEVELS[finding.severity],
        "message": {"text": text},
    }
    if finding.span is not None:
        result["locations"] = [
            {**_location(finding.span, folder), "logicalLocations": [{"fullyQualifiedName": finding.subject}]}
        ]
    if finding.related:
        result["relatedLocations"] = [
            {"id": number, **_location(related.span, folder), "message": {"text": related.label}}
            for number, related in enumerate(finding.related, 1)
        ]
    if edits:
        result["fixes"] = [
            {"description": {"text": title}, "artifactChanges": [_change(span, text, folder)]}
            for title, span, text in edits
        ]
    if finding.accepted is not None:
        result["suppressions"] = [{"kind": "inSource", "justification": finding.accepted}]
    return result


def _change(span: Span, text: str, folder: str) -> dict[str, Any]:
    replacement = {"deletedRegion": _region(span), "insertedContent": {"text": text}}
    return {"artifactLocation": _artifact(span, folder), "replacements": [replacement]}


def _location(span: Span, folder: str) -> dict[str, Any]:
    return {"physicalLocation": {"artifactLocation": _artifact(span, folder), "region": _region(span)}}


def _artifact(span: Span, folder: str) -> dict[str, Any]:
    return {"uri": quote(folder + span.source.name, errors="replace")}


def _region(span: Span) -> dict[str, Any]:
    return {
        "startLine": span.line,
        "startColumn": span.column,
        "endLine": span.end_line,
        "endColumn": span.end_column,
    }
