"""Codes 2xx: names and structure. Each entry: code -> (severity, title of its page)."""

from __future__ import annotations

from copperplate.findings.model import Severity

CODES: dict[str, tuple[Severity, str]] = {}
