"""Protection: what guards each conductor, the ratings of devices, faults and what breaks them, AC. Floor 5."""

from copperplate.protection.check import check
from copperplate.protection.ratings import rate
from copperplate.protection.sources import sources

__all__ = ["check", "rate", "sources"]
