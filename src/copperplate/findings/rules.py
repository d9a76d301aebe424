"""Codes 5xx: rules and terminals. Each entry: code -> (severity, title of its page)."""

from __future__ import annotations

from copperplate.findings.model import Severity

CODES: dict[str, tuple[Severity, str]] = {
    # What the independent re-check of the finished design finds: defects of the program, which refuse the pack.
    "CP590": ("error", "the re-check disagrees with the solved network"),
    "CP591": ("error", "the re-check finds a run without a size"),
    "CP592": ("error", "the re-check finds a conductor above its ampacity"),
    "CP593": ("error", "the re-check finds a conductor below what rules, makers or stock ask"),
    "CP594": ("error", "the re-check finds a voltage budget or window exceeded"),
    "CP595": ("error", "the re-check finds a conductor or device badly protected"),
    "CP596": ("error", "the re-check finds a fault current that a device cannot break"),
    "CP597": ("error", "the re-check finds a terminal that does not fit"),
}
