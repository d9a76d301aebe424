"""Standards: published tables, rule profiles, conductors, fuses, terminals, colours, batteries. Floor 4."""

from copperplate.standards import conductors, fuses
from copperplate.standards.profile import Profile, profile
from copperplate.standards.tables import STATUSES, OutsideTable, Table, table, tables, worst

__all__ = ["STATUSES", "OutsideTable", "Profile", "Table", "conductors", "fuses", "profile", "table", "tables", "worst"]
