"""Codes 1xx: reading the text of a plate. Each entry: code -> (severity, title of its page)."""

from __future__ import annotations

from copperplate.findings.model import Severity

CODES: dict[str, tuple[Severity, str]] = {
    "CP100": ("error", "the file is no text that can be read"),
    "CP101": ("error", "a number with a comma in it"),
    "CP102": ("error", "an unknown unit"),
    "CP103": ("error", "a text without proper quotes"),
    "CP104": ("error", "a number without a unit"),
    "CP105": ("error", "a stroke is missing"),
    "CP106": ("error", "a run does not begin or end at a component"),
    "CP107": ("error", "a run ends in a stroke"),
    "CP108": ("error", "a bracket without its other half"),
    "CP109": ("error", "a word that is not written as names are"),
    "CP110": ("error", "a character that has no meaning here"),
    "CP111": ("error", "a line whose indent does not fit"),
    "CP112": ("error", "two strokes in a row"),
    "CP113": ("error", "a stroke of the wrong form"),
    "CP114": ("error", "something else is expected here"),
    "CP115": ("error", "an indented line that reads as a statement of its own"),
    "CP116": ("error", "a value that cannot be read"),
    "CP117": ("error", "a comma too many or too few"),
    "CP118": ("error", "the formatter would change what the plate says"),
    "CP119": ("error", "the plate is empty"),
    "CP120": ("error", "a value of the wrong dimension"),
    "CP121": ("error", "a value that could mean several things"),
    "CP122": ("error", "a value that must be above zero"),
    "CP123": ("error", "a count that can be read in two ways"),
    "CP124": ("error", "a word without its value"),
    "CP125": ("error", "a range that does not run upwards"),
    "CP126": ("error", "a count that is no whole number"),
    "CP127": ("error", "a value beyond what can be"),
    "CP128": ("error", "an unknown choice"),
    "CP129": ("error", "no such size or terminal"),
}
