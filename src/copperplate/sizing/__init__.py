"""Sizing: the decision ladder, the least copper, and the voltages that come of it. Floor 5."""

from copperplate.sizing.choose import choose, unprotected
from copperplate.sizing.fitting import fits
from copperplate.sizing.judge import judge

__all__ = ["choose", "fits", "judge", "unprotected"]
