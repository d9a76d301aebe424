"""The model: kinds and their attributes, parts, runs, addresses, traced numbers. Floor 3."""

from copperplate.model.links import Link, links
from copperplate.model.system import (
    DC_POLES,
    PROTECTIVE,
    Accept,
    Case,
    Conductor,
    Device,
    DeviceKind,
    Node,
    Note,
    Part,
    Pole,
    Route,
    Run,
    Settings,
    Stock,
    System,
)
from copperplate.model.trace import Assumption, Traced
from copperplate.model.values import Advice, Budget, Size, SizeSystem, Terminal, Window

__all__ = [
    "DC_POLES", "PROTECTIVE", "Accept", "Advice", "Assumption", "Budget", "Case", "Conductor", "Device",
    "DeviceKind", "Link", "Node", "Note", "Part", "Pole", "Route", "Run", "Settings", "Size", "SizeSystem", "Stock",
    "System", "Terminal", "Traced", "Window", "links",
]  # fmt: skip
