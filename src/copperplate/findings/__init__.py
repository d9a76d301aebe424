"""Findings: codes, the value, and its forms for terminal, JSON and SARIF. Floor 1."""

from copperplate.findings.codes import CODES, FAMILIES, Places, make
from copperplate.findings.entry import Each, Entry
from copperplate.findings.model import SEVERITIES, Finding, Measure, Related, Severity

__all__ = [
    "CODES", "FAMILIES", "SEVERITIES", "Each", "Entry", "Finding", "Measure", "Places", "Related", "Severity",
    "make",
]  # fmt: skip
