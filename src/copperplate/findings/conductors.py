"""Codes 3xx: conductors and voltage. Each entry: code -> (severity, title of its page)."""

from __future__ import annotations

from copperplate.findings.model import Severity

CODES: dict[str, tuple[Severity, str]] = {
    "CP301": ("error", "the wiring cannot bring the power that the load asks for"),
    "CP302": ("error", "two unlike voltages are joined without a conductor"),
}
