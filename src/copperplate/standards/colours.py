"""Colours of conductors. They come from the profile's practice and are never mixed: brown is positive in one
country and the line of an AC circuit in the next."""

from __future__ import annotations

from functools import cache
from typing import Literal

from copperplate.model import Pole
from copperplate.standards.tables import table

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
    profile_id: str,
    system_negative: Literal["earthed", "floating"],
    pole: Pole,
    current: Literal["dc", "ac"],
    ac: bool | str,
) -> str:
    """IEC 60757 letters of a conductor of this pole ("RD"). `ac`: true, or the system's AC voltage, where the plate
    has AC conductors anywhere, near which a black DC negative could be taken for a line; false or "" else. KeyError
    for a pole that the current has not."""
    return _row(profile_id, system_negative, pole, current, bool(ac))[0]


@cache
def _row(profile_id: str, negative: str, pole: str, current: str, ac: bool) -> tuple[str, str, str]:
    present = "yes" if ac else "no"
    for r in table("practice/colours").records:
        if (r["profile"], r["current"], r["pole"]) != (profile_id, current, pole):
            continue
        if r["negative"] in ("", negative) and r["ac_present"] in ("", present):
            return r["letters"], r["source"], r["status"]
    raise KeyError((profile_id, current, pole))
