"""Codes 6xx: sources and energy. Each entry: code -> (severity, title of its page)."""

from __future__ import annotations

from copperplate.findings.model import Severity

CODES: dict[str, tuple[Severity, str]] = {
    "CP601": ("error", "a bank gives more than its largest discharge"),
    "CP602": ("error", "a source charges a bank with more than its largest charge"),
    "CP603": ("error", "a solar string reaches more than its controller takes"),
    "CP604": ("warning", "a solar string has too little voltage to charge its bank"),
    "CP605": ("advice", "a controller gives less than its array could"),
    "CP606": ("error", "a source charges above what the chemistry takes"),
    "CP607": ("warning", "a source charges above the full voltage of its bank"),
    "CP608": ("warning", "a source never fills its bank"),
    "CP609": ("warning", "a bank's full voltage is unusual for its chemistry"),
    "CP610": ("error", "the open-circuit voltage of an array is not known"),
    "CP611": ("warning", "batteries of different kinds in parallel"),
    "CP612": ("advice", "the bank lasts less than a day"),
    "CP613": ("advice", "a day takes more than the sources give back"),
    "CP614": ("error", "more is drawn from a converter than it gives"),
    "CP615": ("warning", "sources together charge a bank with more than its largest charge"),
    "CP616": ("warning", "more is drawn from an alternator's battery than the alternator gives"),
}
