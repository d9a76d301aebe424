"""What the computing rooms hand on, and the finished design. Frozen; SI floats with the unit in the name."""

from copperplate.model.results.design import Design
from copperplate.model.results.lists import Cut, Fit, Material, Source
from copperplate.model.results.network import Demand, Solution
from copperplate.model.results.protection import DeviceResult, Guard, Rating
from copperplate.model.results.sizing import Binding, Candidate, ConductorResult, GovernedBy, Rung, RunResult, Verdict
from copperplate.model.results.supply import EnergyLine, EnergyResult, LoadResult, PathStep, SourceResult

__all__ = [
    "Binding",
    "Candidate",
    "ConductorResult",
    "Cut",
    "Demand",
    "Design",
    "DeviceResult",
    "EnergyLine",
    "EnergyResult",
    "Fit",
    "GovernedBy",
    "Guard",
    "LoadResult",
    "Material",
    "PathStep",
    "Rating",
    "RunResult",
    "Rung",
    "Solution",
    "Source",
    "SourceResult",
    "Verdict",
]
