"""The resolved system: parts, nodes, runs and devices with addresses. Numbers are SI floats with the unit in
the name; order is the order of declaration; everything is frozen."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Literal, TypeVar

from copperplate.model.parts import Part
from copperplate.model.trace import Assumption
from copperplate.model.values import Budget, Size
from copperplate.text import Span
from copperplate.units import Measured, local

Pole = Literal["pos", "neg", "mid", "pe", "l", "l1", "l2", "n"]
P = TypeVar("P", bound=Part)
STAGES: Mapping[str, str] = {
    "draft": "Draft, not for installation",
    "review": "Issued for review, not for installation",
    "build": "Issued for construction",
    "as-built": "As built",
}
"""How far a design is, and what the title block says of it."""
DC_POLES: tuple[Pole, ...] = ("pos", "neg", "mid")


@dataclass(frozen=True)
class Settings:
    """The `system` statement with every default filled in. Defaults taken are in `System.assumptions`."""

    title: str
    nominal_v: float
    rules: str
    ambient_c: float
    insulation_c: float
    drop: Budget
    """Of every load that states none, and whose class has none."""
    units: Literal["metric", "us"]
    conductors: Literal["awg", "sae", "mm2"]
    tinned: bool
    negative: Literal["earthed", "floating"]
    ac: Literal["", "120", "230", "120/240"]
    frequency_hz: float
    continuous_factor: float | None
    client: str
    site: str
    designer: str
    revision: str
    date: str
    document: str
    status: str
    """Words for the title block."""
    paper: Literal["a4", "a3", "letter"]
    span: Span | None
    stated: frozenset[str] = frozenset()
    stage: Literal["", "draft", "review", "build", "as-built"] = ""
    """How far the design is; "" where the plate has words of its own for the title block."""
    unmeasured_m: float = 5.0
    """What a run of open length is sized for."""
    terminals_c: float | None = None
    """What equipment is listed for, degC."""
    colours: Literal["by-pole", "by-function"] = "by-pole"
    judge: Literal["rule", "warm"] = "rule"
    """Whether budgets hold by the profile's figure alone, or in copper at its working temperature too."""
    drops: Mapping[str, Budget] = field(default_factory=dict)
    """The budgets of classes: of what loads are, and of what sources push."""

    @property
    def length_unit(self) -> str:
        """The unit of the lengths that readers see: "m" or "ft"."""
        return local("m", self.units)


@dataclass(frozen=True, slots=True)
class Node:
    """An electrical point: `fridge.pos`, `plus`, `cabin.feed`, `cabin.3`, and `house.pos.run:1` at the devices
    of a run (counted along the positive or only conductor from its near end; `:-1` along the negative one).

    `part` is the owner's id ("" for points inside a run, and for control ports, which no power passes); `zone`
    names the galvanic DC or AC system that it belongs to (the id of the source that feeds it), `nominal_v` that
    system's nominal voltage."""

    id: str
    part: str
    port: str
    pole: Pole
    zone: str
    nominal_v: float


DeviceKind = Literal[
    "fuse", "breaker", "switch", "shunt", "relay", "selector", "contactor", "combiner", "dimmer", "diode", "rcd",
    "galvanic-isolator", "connector",
]  # fmt: skip
CONTACTS = ("float", "key", "thermostat", "pressure")
"""What works a switch besides a hand."""


@dataclass(frozen=True, slots=True)
class DeviceRoles:
    """What a kind of device does in its line. `protects`: it opens by itself on too much current; `switches`: it is
    opened and closed on purpose; `chooses`: it is one position of several; `measures`: it only carries and tells.
    `coil`: signals work it at its control ports. `joins`: it is closed where a source on either side charges.
    `one_way`: current passes from its first node to its second and never back."""

    protects: bool = False
    switches: bool = False
    chooses: bool = False
    measures: bool = False
    coil: bool = False
    joins: bool = False
    one_way: bool = False

    @property
    def melts(self) -> bool:
        """Whether it opens once, and is replaced by its like."""
        return self.protects and not self.switches


DEVICE_ROLES: dict[DeviceKind, DeviceRoles] = {
    "fuse": DeviceRoles(protects=True),
    "breaker": DeviceRoles(protects=True, switches=True),
    "switch": DeviceRoles(switches=True),
    "shunt": DeviceRoles(measures=True),
    "relay": DeviceRoles(switches=True, coil=True),
    "selector": DeviceRoles(switches=True, chooses=True),
    "contactor": DeviceRoles(switches=True, coil=True),
    "combiner": DeviceRoles(switches=True, coil=True, joins=True),
    "dimmer": DeviceRoles(switches=True),
    "diode": DeviceRoles(one_way=True),
    "rcd": DeviceRoles(switches=True),
    "galvanic-isolator": DeviceRoles(measures=True),
    "connector": DeviceRoles(measures=True),
}
PROTECTIVE: tuple[DeviceKind, ...] = tuple(kind for kind, roles in DEVICE_ROLES.items() if roles.protects)


@dataclass(frozen=True)
class Device(Measured):
    """A device in a line or a way of a panel. One `Device` even with two poles; `legs` are its current paths
    (from node, to node), one a pole, in the direction from the source.

    `rating_a`, `family`, ... are None where the plate leaves them out. `run` is the run that it sits in; for a
    way's device the run that leaves the way. `panel`, `way` where it is a way's device."""

    id: str
    kind: DeviceKind
    title: str
    run: str
    pole: Pole
    legs: tuple[tuple[str, str], ...]
    span: Span
    family: str | None = None
    rating_a: float | None = None
    breaks_a: float | None = None
    voltage_v: float | None = None
    resistance_ohm: float = 0.0
    backed_by: str | None = None
    poles: int = 1
    residual_a: float | None = None
    panel: str = ""
    way: int | None = None
    curve: Literal["", "b", "c", "d"] = ""
    """Instantaneous tripping of a breaker by IEC 60898-1; "" where the plate states none."""
    normally_open: bool = False
    closed_by: str = ""
    """What closes it while it is on: a part, or a control port of one; "" where nothing does."""
    worked_by: str = ""
    """What works a switch besides a hand: one of `CONTACTS`; "momentary" where it closes while it is pressed."""
    coil_a: float | None = None
    reversing: bool = False
    two_way: bool = False
    pwm: bool = False
    of: str = ""
    """The component that it is a contact of, which is bought as one."""
    loses_v: float = 0.0
    """What a diode loses while current passes."""
    at: str = ""
    """The place that it stands in."""
    remark: str = ""
    sort: str = ""
    """What it is in its maker's words; of a residual-current device its type."""
    ignition_protected: bool = False

    @property
    def roles(self) -> DeviceRoles:
        """What its kind does in a line."""
        return DEVICE_ROLES[self.kind]


@dataclass(frozen=True)
class Conductor(Measured):
    """One physical conductor between two terminals: `fridge.run+`, `house.pos.run/1`, `kettle.run.pe`.
    Pieces of length 0 (a device mounted on its neighbour) are not conductors: their nodes are one.

    `marker` is the text for its label (`fridge+`, `house.pos/1`)."""

    id: str
    run: str
    pole: Pole
    from_node: str
    to_node: str
    length_m: float
    marker: str
    routes: tuple[tuple[str, float], ...]
    """(route id, metres of this conductor in it), as the plate lists them."""
    span: Span
    sheath: bool = False
    """True where all of it is in a sheath; `Run.sheath` where every piece of the run is."""


@dataclass(frozen=True)
class Run(Measured):
    """Conductors laid together between two terminals, of one size; taps have been split into a run each.

    `conductors` counts its poles (1 to 4), `current` whether DC or AC. `length_m` is one way along the
    positive (or only) conductor, `circuit_length_m` the sum over its current-carrying conductors.
    `size`, `parallel`, `insulation_c`, `insulation_v` as stated, else None. `role` is "link" for the conductors
    that join the batteries of one bank (`count` of them), which carry no run of the plate; "run" otherwise."""

    id: str
    span: Span
    from_end: str
    to_end: str
    """Addresses as readers write them: `cabin.1`, `fridge`, `plus`, `inv.pos`."""
    conductors: int
    current: Literal["dc", "ac"]
    conductor_ids: tuple[str, ...]
    device_ids: tuple[str, ...]
    length_m: float
    circuit_length_m: float
    routes: tuple[str, ...]
    ambient_c: float
    """The hottest of the system's ambient and those of its routes (an engine space counts with the profile's
    own figure, see `engine_space`)."""
    engine_space: bool
    sheath: bool
    laid: Literal["free-air", "conduit", "bundle", ""]
    length_open: bool = False
    """Whether the plate leaves its length open: it has the length that open ones are sized for."""
    outside_m: float | None = None
    """Metres outside its sheath at the longer of its two ends (all of them together where it leaves it on the way),
    0.0 where all of it is in one; None where it has none."""
    size: Size | None = None
    size_span: Span | None = None
    parallel: int = 1
    insulation_c: float | None = None
    insulation_v: float | None = None
    role: Literal["run", "link"] = "run"
    count: int = 1
    earth: bool = False
    """True where the run ends at an `earth` and is no current-carrying return (bonding or earthing)."""
    signal_a: float | None = None
    """Amperes of a signal; None for power. Nothing is asked of a signal's volts or its way back."""
    lead: str = ""
    """What the cable is, in its maker's words."""
    colour: str = ""
    """Letters of the colour that the plate states, of its live conductor; "" where it states none."""
    remark: str = ""


@dataclass(frozen=True, slots=True)
class Place:
    """Where things stand. `sockets` are words for what its profile asks of sockets there: wet, outdoors, kitchen."""

    id: str
    title: str
    ambient_c: float | None = None
    engine_space: bool = False
    petrol: bool = False
    sockets: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Lead:
    """A made-up lead between two ends: bought by the piece, without a size of its own."""

    id: str
    from_end: str
    to_end: str
    length_m: float
    routes: tuple[str, ...]
    lead: str
    span: Span

    @property
    def marker(self) -> str:
        """The text for its label."""
        return self.id.removesuffix(".run")


@dataclass(frozen=True, slots=True)
class Route:
    """A place that runs share; `runs` in declaration order. `laid` as in `Run`; None where not stated."""

    id: str
    title: str
    length_m: float | None
    ambient_c: float | None
    engine_space: bool
    laid: Literal["free-air", "conduit", "bundle", ""]
    sheath: bool
    runs: tuple[str, ...]
    span: Span


@dataclass(frozen=True)
class Case:
    """An operating state. `shares` maps every load and source that is on to the share of its rating (1.0);
    what is absent is off. `open_devices` are switches, relays and breakers that are open. `kind`: "load" where
    the batteries discharge, "charge" where sources push into them (bank terminals held at `full`)."""

    id: str
    title: str
    kind: Literal["load", "charge"]
    shares: Mapping[str, float]
    open_devices: frozenset[str]
    implied: bool
    span: Span | None


@dataclass(frozen=True)
class State(Case):
    """A case as the network is solved in it, or what a case implies. `of` is the id of its case, `held` the end of
    their range that banks are held at, `out` the banks that are taken out. A case itself is a state of its own id."""

    of: str
    held: Literal["low", "full"]
    out: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Stock:
    """The sizes on the shelf; `at_most` the greatest number of different sizes wanted. `devices`: the ratings of each
    family that is named, () for all that are made."""

    sizes: tuple[Size, ...]
    at_most: int | None
    span: Span
    devices: Mapping[str, tuple[float, ...]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Accept:
    """A warning accepted with its reason."""

    code: str
    subject: str
    reason: str
    span: Span


@dataclass(frozen=True, slots=True)
class Note:
    """Words for the drawing or the report."""

    text: str
    span: Span


@dataclass(frozen=True, eq=False)
class System:
    """Everything a plate says, resolved. Mappings keep declaration order."""

    settings: Settings
    parts: Mapping[str, Part]
    nodes: Mapping[str, Node]
    runs: Mapping[str, Run]
    conductors: Mapping[str, Conductor]
    devices: Mapping[str, Device]
    routes: Mapping[str, Route]
    cases: tuple[Case, ...]
    stock: Stock | None
    accepts: tuple[Accept, ...]
    notes: tuple[Note, ...]
    assumptions: tuple[Assumption, ...]
    files: tuple[str, ...]
    """Names of every plate read, the main one first."""
    ties: tuple[tuple[str, str], ...] = ()
    """Pairs of nodes that are one point electrically without a conductor between them: the two negatives of a
    converter with `common-negative`, a terminal mounted on an earth that conducts."""
    leads: Mapping[str, Lead] = field(default_factory=dict)
    places: Mapping[str, Place] = field(default_factory=dict)

    @cached_property
    def diodes(self) -> frozenset[str]:
        """The one-way outputs of splitters and chargers."""
        return frozenset(device.id for device in self.devices.values() if device.roles.one_way)

    def of(self, *types: type[P]) -> tuple[P, ...]:
        """The parts of these types, in declaration order."""
        if types not in self._of:
            self._of[types] = tuple(part for part in self.parts.values() if isinstance(part, types))
        return self._of[types]  # type: ignore[return-value]

    @cached_property
    def _of(self) -> dict[tuple[type[Part], ...], tuple[Part, ...]]:
        """What was asked of `of`, with the answers."""
        return {}

    def end_parts(self, run: Run) -> tuple[str, str]:
        """Ids of the parts at the two ends of a run."""
        return run.from_end.split(".")[0], run.to_end.split(".")[0]
