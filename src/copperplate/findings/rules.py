"""Codes 5xx: rules and terminals. Each entry: code -> (severity, title of its page)."""

from __future__ import annotations

from copperplate.findings.model import Severity

CODES: dict[str, tuple[Severity, str]] = {}
