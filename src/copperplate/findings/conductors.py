"""Codes 3xx: conductors and voltage. A row each; `findings/entry.py` says how to read it."""

from __future__ import annotations

from copperplate.findings.entry import Entry

CODES: dict[str, Entry] = {
    "CP301": Entry("error", "the wiring cannot bring the power that the load asks for"),
    "CP303": Entry("error", "a stated conductor carries less than its current"),
    "CP304": Entry("error", "a stated conductor is below the least size of the rules"),
    "CP305": Entry("error", "no size carries the current of a run"),
    "CP306": Entry("error", "the tables of the rules do not reach"),
    "CP310": Entry("error", "the voltage drop exceeds the budget of a load"),
    "CP311": Entry("error", "the device gets less voltage than it works at"),
    "CP312": Entry("error", "the device gets more voltage than it works at"),
    "CP313": Entry("warning", "the voltage drop in warm copper exceeds the budget"),
    "CP314": Entry("error", "the source alone leaves the voltage window of a device"),
}
