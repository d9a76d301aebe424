"""Codes 1xx: reading the text of a plate. A row each; `findings/entry.py` says how to read it."""

from __future__ import annotations

from copperplate.findings.entry import Entry

CODES: dict[str, Entry] = {
    "CP100": Entry("error", "the file is no text that can be read"),
    "CP101": Entry("error", "a number with a comma in it"),
    "CP102": Entry("error", "an unknown unit"),
    "CP103": Entry("error", "a text without proper quotes"),
    "CP104": Entry("error", "a number without a unit"),
    "CP105": Entry("error", "a stroke is missing"),
    "CP106": Entry("error", "a run does not begin or end at a component"),
    "CP107": Entry("error", "a run ends in a stroke"),
    "CP108": Entry("error", "a bracket without its other half"),
    "CP109": Entry("error", "a word that is not written as names are"),
    "CP110": Entry("error", "a character that has no meaning here"),
    "CP111": Entry("error", "a line whose indent does not fit"),
    "CP112": Entry("error", "two strokes in a row"),
    "CP113": Entry("error", "a stroke of the wrong form"),
    "CP114": Entry("error", "something else is expected here"),
    "CP115": Entry("error", "an indented line that reads as a statement of its own"),
    "CP116": Entry("error", "a value that cannot be read"),
    "CP117": Entry("error", "a comma too many or too few"),
    "CP118": Entry("error", "the formatter would change what the plate says"),
    "CP119": Entry("error", "the plate is empty"),
    "CP120": Entry("error", "a value of the wrong dimension"),
    "CP121": Entry("error", "a value that could mean several things"),
    "CP122": Entry("error", "a value that must be above zero"),
    "CP123": Entry("error", "a count that can be read in two ways"),
    "CP124": Entry("error", "a word without its value"),
    "CP125": Entry("error", "a range that does not run upwards"),
    "CP126": Entry("error", "a count that is no whole number"),
    "CP127": Entry("error", "a value beyond what can be"),
    "CP128": Entry("error", "an unknown choice"),
    "CP129": Entry("error", "no such size or terminal"),
}
