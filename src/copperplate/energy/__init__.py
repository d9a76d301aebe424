"""Energy: a bank's day, its sources, their limits. Floor 5."""

from copperplate.energy.balance import balance

__all__ = ["balance"]
