"""Protection: what guards each conductor, the ratings of devices, faults and what breaks them, AC. Floor 5."""

from copperplate.protection.check import Checked, check
from copperplate.protection.lasting import lasting
from copperplate.protection.ratings import rate
from copperplate.protection.sources import sources

__all__ = ["Checked", "check", "lasting", "rate", "sources"]
