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


COLOURS = {
    **{word: code for code, word in LETTERS.items()}, "gray": "GY", "purple": "VT", "tan": "BG", "turquoise": "TQ",
    "dark-blue": "BU", "light-blue": "BU", "dark-grey": "GY",
}  # fmt: skip
"""Letters by the words of plates; IEC 60757 has none for tan, which is written as beige."""
BY_FUNCTION = {"lamp": "BU", "nav-light": "GY", "pump": "BN", "blower": "BNYE", "starter": "YERD"}
"""By what a load is, the colour of its live conductor in US small craft: the E-11 table of small-craft practice,
checked in two places."""


def colour_letters(word: str) -> str:
    """The letters of a colour as a plate writes it, `brown-yellow` for brown with yellow stripes; "" for none known."""
    known = COLOURS.get(word)
    if known is None:
        parts = [COLOURS.get(part, "") for part in word.split("-")]
        known = "".join(parts) if len(parts) == 2 and all(len(part) == 2 for part in parts) else ""
    return known


def colour_words(letters: str) -> str:
    """The words of letters: `brown-yellow`."""
    return LETTERS.get(letters) or "-".join(LETTERS.get(letters[n : n + 2], letters) for n in range(0, len(letters), 2))


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
