"""The model: kinds and their attributes, parts, runs, addresses, traced numbers. Floor 3."""

from copperplate.model.links import Link, links
from copperplate.model.parts import (
    COMPONENTS,
    Alternator,
    Battery,
    Bus,
    Charger,
    Controller,
    Converter,
    Earth,
    Engine,
    Generator,
    Inverter,
    Junction,
    Load,
    Panel,
    Part,
    Roles,
    Selector,
    Shore,
    Solar,
    Splitter,
)
from copperplate.model.system import (
    DC_POLES,
    DEVICE_ROLES,
    PROTECTIVE,
    STAGES,
    Accept,
    Case,
    Conductor,
    Device,
    DeviceKind,
    DeviceRoles,
    Lead,
    Node,
    Note,
    Place,
    Pole,
    Route,
    Run,
    Settings,
    State,
    Stock,
    System,
)
from copperplate.model.trace import Assumption, Traced
from copperplate.model.values import Advice, Budget, Size, SizeSystem, Terminal, Window

__all__ = [
    "COMPONENTS", "DC_POLES", "DEVICE_ROLES", "PROTECTIVE", "STAGES", "Accept", "Advice", "Alternator", "Assumption",
    "Battery", "Budget", "Bus", "Case", "Charger", "Conductor", "Controller", "Converter", "Device", "DeviceKind",
    "DeviceRoles", "Earth", "Engine", "Generator", "Inverter", "Junction", "Lead", "Link", "Load", "Node", "Note",
    "Panel", "Part", "Place", "Pole", "Roles", "Route", "Run", "Selector", "Settings", "Shore", "Size", "SizeSystem",
    "Solar", "Splitter", "State", "Stock", "System", "Terminal", "Traced", "Window", "links",
]  # fmt: skip
