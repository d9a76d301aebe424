"""Standards: published tables, rule profiles, conductors, fuses, terminals, colours, batteries. Floor 4."""

from copperplate.model.folders import register
from copperplate.standards import adiabatic, batteries, colours, conductors, fuses, solar, terminals
from copperplate.standards.adiabatic import adiabatic_k
from copperplate.standards.batteries import Chemistry, chemistry, chemistry_of
from copperplate.standards.colours import colour
from copperplate.standards.fuses import Family, default_family, fast_gate, next_rating, slow_gate
from copperplate.standards.mains import mains
from copperplate.standards.profile import Profile, profile, profile_from, with_shelf, with_terminals
from copperplate.standards.sheets import IncompleteProfile
from copperplate.standards.solar import cold_voc_factor
from copperplate.standards.tables import STATUSES, OutsideTable, Table, table, tables
from copperplate.standards.terminals import ferrule, lug, threads

__all__ = [
    "STATUSES", "Chemistry", "Family", "IncompleteProfile", "OutsideTable", "Profile", "Table", "adiabatic",
    "adiabatic_k", "batteries", "chemistry", "chemistry_of", "cold_voc_factor", "colour", "colours", "conductors",
    "default_family", "fast_gate", "ferrule", "fuses", "lug", "mains", "next_rating", "profile", "profile_from",
    "register", "slow_gate", "solar", "table", "tables", "terminals", "threads", "with_shelf",
    "with_terminals",
]  # fmt: skip
