"""Codes 3xx: conductors and voltage. Each entry: code -> (severity, title of its page)."""

from __future__ import annotations

from copperplate.findings.model import Severity

CODES: dict[str, tuple[Severity, str]] = {
    "CP301": ("error", "the wiring cannot bring the power that the load asks for"),
    "CP303": ("error", "a stated conductor carries less than its current"),
    "CP304": ("error", "a stated conductor is below the least size of the rules"),
    "CP305": ("error", "no size carries the current of a run"),
    "CP306": ("error", "the tables of the rules do not reach"),
    "CP310": ("error", "the voltage drop exceeds the budget of a load"),
    "CP311": ("error", "the device gets less voltage than it works at"),
    "CP312": ("error", "the device gets more voltage than it works at"),
    "CP313": ("warning", "the voltage drop in warm copper exceeds the budget"),
    "CP314": ("error", "the source alone leaves the voltage window of a device"),
}
