"""Codes 5xx: rules and terminals. Each entry: code -> (severity, title of its page)."""

from __future__ import annotations

from copperplate.findings.model import Severity

CODES: dict[str, tuple[Severity, str]] = {
    "CP501": ("error", "the conductor does not fit its terminal"),
    "CP502": ("warning", "the maker advises a smaller conductor than is needed"),
    "CP503": ("warning", "a stated conductor is smaller than the maker advises"),
    "CP504": ("warning", "the maker's advice ends at a shorter length"),
    "CP505": ("error", "the size of an earth conductor is not known"),
    "CP506": ("error", "a stated earth conductor is too small"),
    "CP507": ("warning", "a stated conductor is smaller than a comparable device asks for"),
    "CP508": ("warning", "a stated size is not on the shelf"),
    "CP509": ("error", "nothing on the shelf serves a run"),
    "CP510": ("advice", "a name is longer than a sheet has room for"),
    "CP511": ("warning", "no shelf of so few sizes serves the plate"),
    "CP550": ("advice", "well-loaded conductors lie together"),
    # What the independent re-check of the finished design finds: defects of the program, which refuse the pack.
    "CP590": ("error", "the re-check disagrees with the solved network"),
    "CP591": ("error", "the re-check finds a run without a size"),
    "CP592": ("error", "the re-check finds a conductor above its ampacity"),
    "CP593": ("error", "the re-check finds a conductor below what rules, makers or stock ask"),
    "CP594": ("error", "the re-check finds a voltage budget or window exceeded"),
    "CP595": ("error", "the re-check finds a conductor or device badly protected"),
    "CP596": ("error", "the re-check finds a fault current that a device cannot break"),
    "CP597": ("error", "the re-check finds a terminal that does not fit"),
    "CP598": ("error", "the re-check finds a source, bank or supply beyond its limits"),
    "CP599": ("error", "the re-check finds a list or figure that does not follow from the design"),
}
