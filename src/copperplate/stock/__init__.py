"""Stock: fewer sizes for the least extra copper, and what to buy and cut. Floor 5."""

from copperplate.stock.materials import materials
from copperplate.stock.shelf import Need, Shelf, fewest, needs, trade

__all__ = ["Need", "Shelf", "fewest", "materials", "needs", "trade"]
