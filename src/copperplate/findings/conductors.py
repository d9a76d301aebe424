"""Codes 3xx: conductors and voltage. Each entry: code -> (severity, title of its page)."""

from __future__ import annotations

from copperplate.findings.model import Severity

CODES: dict[str, tuple[Severity, str]] = {}
