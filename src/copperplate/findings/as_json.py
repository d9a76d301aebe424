"""Findings as JSON: the same object in `check --format json`, in `NAME.design.json` and in the preview."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from copperplate.findings.model import Finding
from copperplate.text import Span, fields, json_text


def finding_json(finding: Finding, folder: str = "") -> dict[str, Any]:
    """One finding as plain values. `folder` is put before the names of files ("" inside a pack, so that a pack
    does not depend on where it was built)."""
    return {
        **fields(finding, "code", "severity", "subject", "message", "notes", "help", "rule", "label"),
        "related": [{"label": r.label, "span": span_json(r.span, folder)} for r in finding.related],
        "measure": finding.measure and fields(finding.measure, "found", "limit", "unit"),
        "accepted": finding.accepted,
        "span": finding.span and span_json(finding.span, folder),
    }


def span_json(span: Span, folder: str = "") -> dict[str, Any]:
    """File, first and last line and column, counted from 1; the end column is the one after the last."""
    return {"file": folder + span.source.name, **fields(span, "line", "column", "end_line", "end_column")}


def document(findings: Iterable[dict[str, Any]], files: Iterable[str] = ()) -> str:
    """The text that `check --format json` prints: every finding, and every file that was read."""
    return json_text({"findings": list(findings), "files": list(files)})
