"""Stock: fewer sizes for the least extra copper, and what to buy and cut. Floor 5."""

from copperplate.stock.materials import materials
from copperplate.stock.shelf import Shelf, SizedRun, fewest, sized_runs, trade

__all__ = ["Shelf", "SizedRun", "fewest", "materials", "sized_runs", "trade"]
