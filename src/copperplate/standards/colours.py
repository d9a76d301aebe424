"""Colours of conductors. They come from the profile and are never mixed: brown is positive in one
country and the line of an AC circuit in the next."""

from __future__ import annotations

from typing import Literal

from copperplate.model import Pole
from copperplate.standards.profile import profile

LETTERS: dict[str, str] = {
    "BK": "black",
    "BN": "brown",
    "RD": "red",
    "OG": "orange",
    "YE": "yellow",
    "GN": "green",
    "BU": "blue",
    "VT": "violet",
    "GY": "grey",
    "WH": "white",
    "PK": "pink",
    "GNYE": "green-yellow",
}
"""Letter codes of IEC 60757 and their words."""


def colour(
    rules: str,
    system_negative: Literal["earthed", "floating"],
    pole: Pole,
    current: Literal["dc", "ac"],
    ac: bool | str,
) -> str:
    """IEC 60757 letters of a conductor of this pole ("RD") under the rules of that name. `ac`: true, or the system's AC
    voltage, where the plate has AC conductors anywhere, near which a black DC negative could be taken for a line; false
    or "" else. KeyError for a pole that the current has not."""
    colours = profile(rules).sheet["colours"]
    own = f"{current}-{pole}"
    cases = (f"{own}-floating" if system_negative == "floating" else "", f"{own}-near-ac" if ac else "", own)
    letters: str = next((colours[case] for case in cases if case in colours), colours[own])["letters"]
    return letters
