"""Codes 5xx: rules and terminals. A row each; `findings/entry.py` says how to read it."""

from __future__ import annotations

from copperplate.findings.entry import Entry

CODES: dict[str, Entry] = {
    "CP501": Entry("error", "the conductor does not fit its terminal"),
    "CP502": Entry("warning", "the maker advises a smaller conductor than is needed"),
    "CP503": Entry("warning", "a stated conductor is smaller than the maker advises"),
    "CP504": Entry("warning", "the maker's advice ends at a shorter length"),
    "CP505": Entry("error", "the size of an earth conductor is not known"),
    "CP506": Entry("error", "a stated earth conductor is too small"),
    "CP507": Entry("warning", "a stated conductor is smaller than a comparable device asks for"),
    "CP508": Entry("warning", "a stated size is not on the shelf"),
    "CP509": Entry("error", "nothing on the shelf serves a run"),
    "CP510": Entry("advice", "a name is longer than a sheet has room for"),
    "CP511": Entry("warning", "no shelf of so few sizes serves the plate"),
    "CP550": Entry("advice", "well-loaded conductors lie together"),
    # What the independent re-check of the finished design finds: defects of the program, which refuse the pack.
    "CP590": Entry("error", "the re-check disagrees with the solved network"),
    "CP591": Entry("error", "the re-check finds a run without a size"),
    "CP592": Entry("error", "the re-check finds a conductor above its ampacity"),
    "CP593": Entry("error", "the re-check finds a conductor below what rules, makers or stock ask"),
    "CP594": Entry("error", "the re-check finds a voltage budget or window exceeded"),
    "CP595": Entry("error", "the re-check finds a conductor or device badly protected"),
    "CP596": Entry("error", "the re-check finds a fault current that a device cannot break"),
    "CP597": Entry("error", "the re-check finds a terminal that does not fit"),
    "CP598": Entry("error", "the re-check finds a source, bank or supply beyond its limits"),
    "CP599": Entry("error", "the re-check finds a list or figure that does not follow from the design"),
}
