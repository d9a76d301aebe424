"""The sheets: what an installer wires from. `sheets(design)` is the way in. Floor 7."""

from copperplate.drawing.cuts import cut_names
from copperplate.drawing.sheetset import Sheet, sheets

__all__ = ["Sheet", "cut_names", "sheets"]
