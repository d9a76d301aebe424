"""Codes 6xx: sources and energy. A row each; `findings/entry.py` says how to read it."""

from __future__ import annotations

from copperplate.findings.entry import Entry

CODES: dict[str, Entry] = {
    "CP601": Entry("error", "a bank gives more than its largest discharge"),
    "CP602": Entry("error", "a source charges a bank with more than its largest charge"),
    "CP603": Entry("error", "a solar string reaches more than its controller takes"),
    "CP604": Entry("warning", "a solar string has too little voltage to charge its bank"),
    "CP605": Entry("advice", "a controller gives less than its array could"),
    "CP606": Entry("error", "a source charges above what the chemistry takes"),
    "CP607": Entry("warning", "a source charges above the full voltage of its bank"),
    "CP608": Entry("warning", "a source never fills its bank"),
    "CP609": Entry("warning", "a bank's full voltage is unusual for its chemistry"),
    "CP610": Entry("error", "the open-circuit voltage of an array is not known"),
    "CP611": Entry("warning", "batteries of different kinds in parallel"),
    "CP612": Entry("advice", "the bank lasts less than a day"),
    "CP613": Entry("advice", "a day takes more than the sources give back"),
    "CP614": Entry("error", "more is drawn from a converter than it gives"),
    "CP615": Entry("warning", "sources together charge a bank with more than its largest charge"),
    "CP616": Entry("warning", "more is drawn from an alternator's battery than the alternator gives"),
}
