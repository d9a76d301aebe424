"""What the computing rooms hand on, and the finished design. Frozen; SI floats with the unit in the name."""

from copperplate.model.results.design import Design
from copperplate.model.results.lists import Cut, Fit, Material, PublishedSource
from copperplate.model.results.network import Conversion, Demand, ElementDraw, Holding, Solution, Transfer
from copperplate.model.results.protection import Clearing, DeviceResult, Lasting, Limit, Rating, Stretch
from copperplate.model.results.sizing import (
    SET_BY,
    Binding,
    Candidate,
    ConductorResult,
    GovernedBy,
    Rung,
    RunResult,
    Verdict,
)
from copperplate.model.results.supply import EnergyLine, EnergyResult, LoadResult, PathStep, SourceResult

__all__ = [
    "SET_BY", "Binding", "Candidate", "Clearing", "ConductorResult", "Conversion", "Cut", "Demand", "Design",
    "DeviceResult", "ElementDraw", "EnergyLine", "EnergyResult", "Fit", "GovernedBy", "Holding", "Lasting", "Limit",
    "LoadResult", "Material", "PathStep", "PublishedSource", "Rating", "RunResult", "Rung", "Solution",
    "SourceResult", "Stretch", "Transfer", "Verdict",
]  # fmt: skip
