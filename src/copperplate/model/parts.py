"""Components: one frozen type a kind, with what it may state and what it does in a circuit.

A field that a plate may write is a row of the table of kinds (`quantity`, `says`); a kind's `roles` say what it does,
so that no stage compares the words of kinds. A new kind is one class here, its name in `COMPONENTS`, and one symbol
in `drawing/symbols.py`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, ClassVar, Literal, NamedTuple

from copperplate.model.attributes import Attribute, attributes_of, quantity, rows_of, says
from copperplate.model.things import SYMBOLS, THINGS, Thing
from copperplate.model.values import Advice, Budget, Size, Terminal, Window
from copperplate.text import Span
from copperplate.units import Measured

CHEMISTRIES = ("lifepo4", "agm", "gel", "flooded")
FAMILIES = ("blade", "mini-blade", "high-blade", "strip", "strip-70v", "single-bolt", "class-t", "gg", "gpv", "breaker")
"""Families of protective devices: blade ISO 8820-3 type C, mini-blade type F, high-blade type E; strip
ISO 8820-5; strip-70v ISO 20934; single-bolt ISO 8820-6; class-t UL 248-15; gg IEC 60269-2; gpv IEC 60269-6;
breaker."""
EFFICIENCY = 0.90
"""Output power over input power where a plate states none (common practice, no source)."""


Current = Literal["dc", "ac"]


class Need(NamedTuple):
    """What a statement must say: one of `keys`, which are `what`, written as `how`; only where the key `beside` is
    stated, if that is given."""

    keys: tuple[str, ...]
    what: str
    how: str
    beside: str = ""


@dataclass(frozen=True, slots=True)
class Roles:
    """What a kind does in a circuit, whatever its values.

    `draws_at`: it consumes there; the ports to try in order, "" for a plain `pos` and `neg`. `gives_at`: the port of
    its output, None where it gives nothing. `holds_voltage`: its output holds a voltage that others are measured by;
    `pushes_current`: it pushes a current into what others hold. `stores`: it is charged and discharged. `converts`:
    what it gives is drawn at its other side, and a fault does not pass it. `transfers`: it may hand the supply at its
    AC inlet through to its outlet. `mains`: its output is AC. `limited`: its current ends at its rating, in a short
    too, unless its values say otherwise. `splits`: conductors meet on it. `bar`: it is a rail with studs or ways.
    `switches`: what leaves it can be switched off there. `protects`: it has a protective device for each way.
    `grounds`: it is the earth or a conducting body."""

    draws_at: tuple[str, ...] = ()
    gives_at: str | None = None
    holds_voltage: bool = False
    pushes_current: bool = False
    stores: bool = False
    converts: bool = False
    transfers: bool = False
    mains: bool = False
    limited: bool = False
    splits: bool = False
    bar: bool = False
    switches: bool = False
    protects: bool = False
    grounds: bool = False

    @property
    def consumes(self) -> bool:
        """Whether it draws a current."""
        return bool(self.draws_at)

    @property
    def gives(self) -> bool:
        """Whether it has an output."""
        return self.gives_at is not None

    @property
    def is_load(self) -> bool:
        """Whether it uses energy and gives none."""
        return self.consumes and not self.gives

    @property
    def is_source(self) -> bool:
        """Whether it gives energy and draws none."""
        return self.gives and not self.consumes

    @property
    def is_busbar(self) -> bool:
        """Whether it is a bar without a protective device of its own."""
        return self.bar and not self.protects

    @property
    def is_splice(self) -> bool:
        """Whether conductors meet on it, and it is no bar."""
        return self.splits and not self.bar


@dataclass(frozen=True, kw_only=True)
class Part(Measured):
    """A component. `stated` holds the keys that the plate wrote, `spans` the place of each stated one, `terminals`
    and `advised` what was said by port ("" for every port of the part that has no own entry)."""

    kind: ClassVar[str] = ""
    """The word of its statement."""
    meaning: ClassVar[str] = ""
    """What the kind is, for the reference pages."""
    reaches: ClassVar[tuple[str, ...]] = ()
    """Every port that a part of the kind may have, as a plate writes them."""
    needs: ClassVar[tuple[Need, ...]] = ()
    """What a statement must say."""
    exclusive: ClassVar[tuple[str, ...]] = ()
    """Keys of which a statement may give one, for the others follow from it."""
    input_key: ClassVar[str] = ""
    output_key: ClassVar[str] = ""
    """The keys of the voltages that it takes and gives; "" where it states none."""
    roles: ClassVar[Roles] = Roles()
    implied_ports: ClassVar[tuple[str, ...]] = ()
    """The control ports that it has beside those that it states."""

    id: str
    title: str = ""
    span: Span
    stated: frozenset[str] = frozenset()
    spans: Mapping[str, Span] = field(default_factory=dict)
    terminals: Mapping[str, Terminal] = field(default_factory=dict)
    advised: Mapping[str, Advice] = field(default_factory=dict)
    comparable: tuple[Size, str] | None = None
    unread: frozenset[str] = frozenset()
    """Keys that the plate says something of that could not be read; their findings are made."""
    left_open: frozenset[str] = frozenset()
    """Keys that the plate leaves open with `?`."""

    advised_fuse_a: float | None = quantity("advised-fuse", "current", "A", "the fuse that the maker advises")
    max_fuse_a: float | None = quantity("max-fuse", "current", "A", "the largest fuse that the maker allows")
    of_type: str | None = says("part", "reference", "take what is not said here from this `part` statement", key="part")
    control_ports: tuple[str, ...] | None = says(
        "ports", "names", "its control ports, for signals and made-up leads; without them any word is one", key="ports"
    )

    at: str | None = says("at", "reference", "the place that it stands in", key="at")
    remark: str = says("note", "text", "words for its row in the lists", default="")
    sort: str = says("type", "text", "what it is, in its maker's words", default="")
    colour: str | None = says("colour", "word", "its colour", key="colour")
    price: str | None = says("price", "price", "what one costs")
    order_code: str = says("order-code", "text", "what it is ordered by", default="")
    mass_kg: float | None = quantity("mass", "mass", "kg", "mass of one")
    ignition_protected: bool = says(
        "ignition-protected", "flag", "its maker states that it lights no petrol vapour", default=False
    )

    # What several kinds may state. A kind that has no such row has the value that stands here.
    current_a: float | None = None
    power_w: float | None = None
    voltage_v: float | None = None
    resistance_ohm: float | None = None
    in_v: float | None = None
    out_v: float | None = None
    fault_current_a: float | None = None
    works: Window | None = None
    drop: Budget | None = None
    daily_h: float | None = None
    idle_w: float | None = None
    efficiency: float = EFFICIENCY
    intermittent: bool = False
    count: int = 1
    series: int = 1
    parallel: int = 1
    outputs: tuple[str, ...] = ()
    ac: bool = False
    self_limiting: bool = False
    bonds_neutral: bool = False

    @property
    def runs_h(self) -> float | None:
        """Hours a day that it works, None where it states none."""
        return self.daily_h

    @property
    def continuous(self) -> bool:
        """Whether what it draws may last, so that the factor of continuous current holds for it."""
        return not self.intermittent

    def terminal(self, port: str) -> Terminal | None:
        """The terminal at `port`, or the one stated for the whole part."""
        return self.terminals.get(port) or self.terminals.get("")

    @property
    def holds_voltage(self) -> bool:
        """Whether its output holds a voltage, with the values that it has."""
        return self.roles.holds_voltage

    @property
    def ports(self) -> tuple[str, ...]:
        """The ports that it has, of those that its kind may have."""
        return self.reaches

    @cached_property
    def groups(self) -> tuple[tuple[str, Current], ...]:
        """The groups of terminals that a pair or a cable lands on, that without a name first: (name, DC or AC)."""
        found: dict[str, Current] = {}
        for port in self.ports:
            stem, _, pole = port.rpartition(".")
            if pole == "pos":
                found[stem] = "dc"
            elif pole == "l" or pole.startswith("ac-"):
                found[pole.removeprefix("l")] = "ac"
        return tuple(sorted(found.items(), key=lambda group: group[0] != ""))

    @property
    def takes_v(self) -> float | None:
        """The voltage that it states to take."""
        return getattr(self, self.input_key) if self.input_key else None

    @property
    def gives_v(self) -> float | None:
        """The voltage between the terminals of its output, where it states one."""
        return getattr(self, self.output_key) if self.output_key else None

    @property
    def pushes_a(self) -> float:
        """The direct current that it is rated to push, 0.0 where it pushes none or states none."""
        return self.current_a or 0.0 if self.roles.pushes_current else 0.0

    @cached_property
    def values(self) -> Mapping[str, Any]:
        """What it states and its defaults, by the keys of the table of kinds: for lists of everything that a part
        says. A stage that computes reads the fields."""
        rows = ((row, getattr(self, name)) for name, row in rows_of(type(self)))
        return {row.key: value for row, value in rows if value is not None}


def _volts(meaning: str = "nominal voltage") -> Any:
    return quantity("voltage", "voltage", "V", meaning, bare=True)


def _amperes(**more: Any) -> Any:
    return quantity("current", "current", "A", "rated current", bare=True, **more)


def _works() -> Any:
    return says("works", "window", "the voltages at which the device works", dimension="voltage", unit="V")


def _drop(meaning: str) -> Any:
    return says("drop", "budget", meaning)


def _efficiency() -> Any:
    return says("efficiency", "share", "output power over input power", dimension="share", unit="%", default=EFFICIENCY)


def _outputs(meaning: str) -> Any:
    return says("outputs", "names", meaning, default=())


def _fault() -> Any:
    return quantity("fault-current", "current", "kA", "largest short-circuit current at its AC terminals")


def _bonds() -> Any:
    return says("bonds-neutral", "flag", "joins neutral to earth while it supplies", default=False)


def _engine() -> Any:
    return says("engine", "reference", "the engine that it is mounted on: its negative is the block", key="engine")


def _flag(word: str, meaning: str) -> Any:
    return says(word, "flag", meaning, default=False)


@dataclass(frozen=True, kw_only=True)
class Battery(Part):
    """A source with energy; all figures are of one battery of the bank."""

    kind = "battery"
    meaning = "a source with energy; all figures of one battery"
    reaches = ("pos", "neg")
    exclusive = ("fault_current_a", "internal_ohm")
    output_key = "voltage_v"
    roles = Roles(gives_at="", holds_voltage=True, stores=True)

    voltage_v: float | None = _volts()
    capacity_ah: float | None = quantity("capacity", "charge", "Ah", "capacity", bare=True)
    chemistry: str | None = says("chemistry", "choice", "chemistry", choices=CHEMISTRIES, bare=True)
    series: int = says("series", "count", "batteries in series in each string", default=1, most=64)
    parallel: int = says("parallel", "count", "strings in parallel", default=1, most=64)
    link_m: float | None = quantity("link", "length", "m", "length of each conductor between the batteries of the bank")
    range: Window | None = says(
        "range", "window", "terminal voltage in use, low end to high end", dimension="voltage", unit="V"
    )
    full_v: float | None = quantity("full", "voltage", "V", "terminal voltage while charging ends")
    max_discharge_a: float | None = quantity(
        "max-discharge", "current", "A", "largest discharge current of one battery"
    )
    max_charge_a: float | None = quantity("max-charge", "current", "A", "largest charge current of one battery")
    takes_a: float | None = quantity(
        "takes", "current", "A", "what it takes of a charge that it shares with other banks, for the energy of the day"
    )
    fault_current_a: float | None = quantity(
        "fault-current", "current", "kA", "short-circuit current of one battery", open=True
    )
    internal_ohm: float | None = quantity(
        "internal-resistance", "resistance", "mohm", "internal resistance of one battery"
    )
    health: float | None = says(
        "health", "share", "what is left of its capacity when new; its resistance grows as that shrinks",
        dimension="share", unit="%",
    )  # fmt: skip
    usable: float | None = says(
        "usable", "share", "share of the capacity that may be used", dimension="share", unit="%"
    )

    @property
    def holds_ah(self) -> float | None:
        """What one battery holds at its age."""
        return None if self.capacity_ah is None else self.capacity_ah * (self.health or 1.0)

    @property
    def gives_v(self) -> float | None:
        """The nominal voltage of the bank."""
        return None if self.voltage_v is None else self.voltage_v * self.series


@dataclass(frozen=True, kw_only=True)
class Bus(Part):
    """A bar that conductors land on."""

    kind = "bus"
    meaning = "a bar that conductors land on"
    reaches = ("pos", "neg")
    roles = Roles(splits=True, bar=True)

    polarity: str | None = says(
        "polarity", "choice", "which pole the bar carries", choices=("positive", "negative", "both"), bare=True
    )
    current_a: float | None = _amperes()
    studs: int | None = says("studs", "count", "studs on the bar", most=100)
    return_bar: str | None = says(
        "return", "reference", "the bar that the negatives of pairs from it land on", key="return"
    )
    ac: bool = says("ac", "flag", "an AC bar", default=False)

    @property
    def ports(self) -> tuple[str, ...]:
        """A bar of one pole is one point."""
        return ("l", "n", "pe") if self.ac else ("pos", "neg") if self.polarity == "both" else ("",)


@dataclass(frozen=True, kw_only=True)
class Panel(Part):
    """A bus with a protected way for each circuit."""

    kind = "panel"
    meaning = "a bus with a protected way for each circuit"
    reaches = ("feed", "neg", "ac-in")
    roles = Roles(splits=True, bar=True, protects=True)

    ways: int | None = says("ways", "count", "ways of the panel", most=200)
    family: str | None = says("family", "choice", "family of the ways' devices", choices=FAMILIES, bare=True)
    current_a: float | None = _amperes()
    way_max_a: float | None = quantity("way-max", "current", "A", "largest device of one way")
    breaks_a: float | None = quantity(
        "breaks", "current", "kA", "largest current that the devices of its ways can interrupt"
    )
    curve: str | None = says(
        "curve", "choice", "tripping of its ways' breakers by IEC 60898-1", choices=("b", "c", "d")
    )
    return_bar: str | None = says(
        "return", "reference", "the bar that the negatives of its circuits land on", key="return"
    )
    ac: bool = says("ac", "flag", "an AC panel", default=False)
    switched: bool = _flag("switched", "each way has a switch beside its device")

    @property
    def ports(self) -> tuple[str, ...]:
        """A panel whose circuits return to a bar has no negative of its own."""
        return ("ac-in",) if self.ac else ("feed", "neg") if self.return_bar is None else ("feed",)


@dataclass(frozen=True, kw_only=True)
class Load(Part):
    """What uses energy."""

    kind = "load"
    meaning = "what uses energy"
    reaches = ("pos", "neg", "ac-in")
    needs = (
        Need(("power_w", "current_a", "resistance_ohm", "fuse_a"), "what it takes", "`60 W`, `5 A` or `0.5 ohm`"),
    )
    exclusive = ("power_w", "current_a", "resistance_ohm")
    input_key = "voltage_v"
    roles = Roles(draws_at=("", "ac-in"))

    current_a: float | None = _amperes(open=True)
    power_w: float | None = quantity("power", "power", "W", "power", bare=True, open=True)
    resistance_ohm: float | None = quantity(
        "resistance", "resistance", "ohm", "resistance of a heater or lamp", bare=True
    )
    fuse_a: float | None = quantity(
        "fuse", "current", "A", "the fuse that it comes with: its current where no other is stated, else its maker's advice"
    )
    voltage_v: float | None = _volts("nominal voltage; 240 V on a split supply lies between its lines")
    count: int = says("count", "count", "how many of them on this circuit (`8 x 0.25 A`)", default=1)
    works: Window | None = _works()
    drop: Budget | None = _drop("voltage-drop budget from the source to this load and back")
    critical: bool = _flag("critical", "the budget is 3 % at most (navigation, bilge, safety)")
    intermittent: bool = _flag("intermittent", "runs for minutes: no continuous factor")
    daily_h: float | None = quantity("daily", "time", "h", "hours a day")
    duty: float | None = says(
        "duty", "share", "share of those hours, or of the whole day, that it runs", dimension="share", unit="%"
    )
    inrush_a: float | None = quantity("inrush", "current", "A", "starting current")
    ac: bool = _flag("ac", "an AC load")
    outlets: int | None = says("outlets", "count", "socket outlets on this circuit", most=100)
    power_factor: float = says("power-factor", "number", "power factor", default=1.0)
    for_h: float | None = quantity("for", "time", "s", "how long it runs at a time, a start say")
    engine: str | None = _engine()
    leg: int | None = says("leg", "count", "leg 1 or 2 of a split-phase supply", most=2)
    is_a: str | None = says(
        "is", "choice", "what it is: its symbol and the class of its budget", key="is", choices=tuple(THINGS), bare=True
    )
    symbol: str | None = says("symbol", "choice", "the symbol that it is drawn with, instead", choices=SYMBOLS)

    @property
    def thing(self) -> Thing | None:
        """What it is, where the plate says so."""
        return THINGS[self.is_a] if self.is_a else None

    @property
    def runs_h(self) -> float | None:
        """Hours a day that it draws its rating."""
        return self.daily_h if self.duty is None else (self.daily_h or 24.0) * self.duty

    @property
    def continuous(self) -> bool:
        """What is counted by the outlet is no measured load, and the factor is not taken on it again."""
        counted = bool(self.outlets) and self.ac and not self.stated & frozenset(self.exclusive)
        return not self.intermittent and not counted

    @property
    def ports(self) -> tuple[str, ...]:
        """A load takes AC or DC."""
        return ("ac-in",) if self.ac else ("pos", "neg")


@dataclass(frozen=True, kw_only=True)
class Inverter(Part):
    """DC to AC, and a charger where it says `charges`."""

    kind = "inverter"
    meaning = "DC to AC, and charger where `charges A` is given"
    reaches = ("pos", "neg", "ac-in", "ac-out", "pe")
    needs = (Need(("power_w",), "its output", "`1500 W`"),)
    output_key = "ac_v"
    roles = Roles(
        draws_at=("",), gives_at="ac-out", holds_voltage=True, pushes_current=True, converts=True, transfers=True,
        mains=True, limited=True,
    )  # fmt: skip

    power_w: float | None = quantity("power", "power", "W", "continuous output", bare=True)
    surge_w: float | None = quantity("surge", "power", "W", "short-time output")
    efficiency: float = _efficiency()
    idle_w: float | None = quantity("idle", "power", "W", "draw without load")
    ac_v: float | None = quantity("output", "voltage", "V", "AC output voltage", bare=True, also="ac")
    charges_a: float | None = quantity("charges", "current", "A", "charging current where it is a charger too")
    shares_supply: bool = _flag("shares-supply", "charges with what the loads behind it leave of its AC supply")
    bonds_neutral: bool = _bonds()
    fault_current_a: float | None = _fault()
    works: Window | None = _works()
    drop: Budget | None = _drop("voltage-drop budget of its supply")
    intermittent: bool = _flag("intermittent", "runs for minutes: no continuous factor")
    daily_h: float | None = quantity("daily", "time", "h", "hours a day at the loads it feeds")

    @property
    def pushes_a(self) -> float:
        """What it charges with."""
        return self.charges_a or 0.0

    @property
    def charges_beside(self) -> bool:
        """Whether its charging adds to the loads that it hands a supply through to: the larger of two readings, unless
        the plate says that it yields to them."""
        return bool(self.charges_a) and not self.shares_supply


@dataclass(frozen=True, kw_only=True)
class Charger(Part):
    """AC to DC."""

    kind = "charger"
    meaning = "AC to DC"
    reaches = ("pos", "neg", "ac-in", "pe", "OUTPUT")
    needs = (Need(("current_a",), "its current", "`40 A`"),)
    input_key = "in_v"
    output_key = "out_v"
    roles = Roles(draws_at=("ac-in",), gives_at="", pushes_current=True, converts=True, limited=True)

    current_a: float | None = _amperes()
    in_v: float | None = quantity("in", "voltage", "V", "AC input voltage")
    out_v: float | None = quantity("out", "voltage", "V", "DC output voltage")
    efficiency: float = _efficiency()
    set_to_a: float | None = quantity("set-to", "current", "A", "what it is set to; conductors are made for its rating")
    outputs: tuple[str, ...] = _outputs("its outputs: its current is that of all together, and each may give it all")

    @property
    def ports(self) -> tuple[str, ...]:
        """Of several outputs each is a terminal."""
        return ("pos", "neg", "ac-in", "pe", *self.outputs)


@dataclass(frozen=True, kw_only=True)
class Converter(Part):
    """DC to DC."""

    kind = "converter"
    meaning = "DC to DC"
    reaches = ("in.pos", "in.neg", "out.pos", "out.neg")
    needs = (Need(("current_a",), "its current", "`30 A`"), Need(("out_v",), "its output voltage", "`out 12 V`, say"))
    input_key = "in_v"
    output_key = "out_v"
    roles = Roles(
        draws_at=("in",), gives_at="out", holds_voltage=True, pushes_current=True, converts=True, limited=True
    )

    current_a: float | None = _amperes()
    in_v: float | None = quantity("in", "voltage", "V", "nominal input voltage")
    out_v: float | None = quantity("out", "voltage", "V", "output voltage")
    efficiency: float = _efficiency()
    isolation: str = says(
        "isolation", "choice", "whether input and output share the negative",
        choices=("isolated", "common-negative"), bare=True, default="isolated",
    )  # fmt: skip
    charges: bool = _flag("charges", "its output charges a battery")
    works: Window | None = _works()
    drop: Budget | None = _drop("voltage-drop budget of its supply")
    idle_w: float | None = quantity("idle", "power", "W", "draw without load")

    @property
    def holds_voltage(self) -> bool:
        """A converter that charges a battery pushes and holds nothing."""
        return not self.charges


@dataclass(frozen=True, kw_only=True)
class Solar(Part):
    """A PV array; all figures are of one module."""

    kind = "solar"
    meaning = "a PV array; figures of one module"
    reaches = ("pos", "neg")
    needs = (
        Need(("isc_a", "imp_a", "power_w"), "its current", "`isc 5.8 A`"),
        Need(("isc_a", "imp_a", "vmp_v"), "its current", "`isc 5.8 A`, say: its conductors are sized by it", "power_w"),
    )
    output_key = "vmp_v"
    roles = Roles(gives_at="", pushes_current=True, limited=True)

    power_w: float | None = quantity("power", "power", "W", "rated power", bare=True)
    voc_v: float | None = quantity("voc", "voltage", "V", "open-circuit voltage")
    isc_a: float | None = quantity("isc", "current", "A", "short-circuit current")
    vmp_v: float | None = quantity("vmp", "voltage", "V", "voltage at rated power")
    imp_a: float | None = quantity("imp", "current", "A", "current at rated power")
    temp_coefficient_per_k: float | None = quantity(
        "temp-coefficient", "share-per-kelvin", "%/K", "change of voc", positive=False
    )
    series: int = says("series", "count", "modules in series in each string", default=1, most=64)
    parallel: int = says("parallel", "count", "strings in parallel", default=1, most=64)
    coldest_c: float | None = quantity(
        "coldest", "temperature", "degC", "coldest module temperature in daylight", positive=False
    )
    daily_h: float | None = quantity("daily", "time", "h", "hours a day at rated power (sun hours)")
    drop: Budget | None = _drop("voltage-drop budget to its controller and back, of its vmp")

    @property
    def gives_v(self) -> float | None:
        """The voltage of its strings at rated power, or open where it states no other."""
        volts = self.vmp_v or self.voc_v
        return volts * self.series if volts else None

    @property
    def pushes_a(self) -> float:
        """The most that its strings push together."""
        return (self.isc_a or self.imp_a or 0.0) * self.parallel


@dataclass(frozen=True, kw_only=True)
class Controller(Part):
    """A solar charge controller."""

    kind = "controller"
    meaning = "solar charge controller"
    reaches = ("pv.pos", "pv.neg", "pos", "neg")
    needs = (Need(("current_a",), "its current", "`30 A`"),)
    output_key = "out_v"
    roles = Roles(draws_at=("pv",), gives_at="", pushes_current=True, converts=True, limited=True)

    current_a: float | None = _amperes()
    max_input_v: float | None = quantity("max-input", "voltage", "V", "largest input voltage")
    out_v: float | None = quantity("output", "voltage", "V", "output voltage")
    efficiency: float = _efficiency()


@dataclass(frozen=True, kw_only=True)
class Alternator(Part):
    """An engine-driven DC source."""

    kind = "alternator"
    meaning = "an engine-driven DC source"
    reaches = ("pos", "neg")
    needs = (Need(("current_a",), "its current", "`90 A`"),)
    output_key = "voltage_v"
    roles = Roles(gives_at="", pushes_current=True)

    current_a: float | None = _amperes()
    voltage_v: float | None = _volts()
    self_limiting: bool = _flag("self-limiting", "cannot exceed its rating")
    daily_h: float | None = quantity("daily", "time", "h", "hours a day that it runs")
    engine: str | None = _engine()
    hot_share: float | None = says(
        "hot", "share", "share of its rating that it gives when hot", dimension="share", unit="%"
    )
    set_to_a: float | None = quantity("set-to", "current", "A", "what its regulator limits it to")

    @property
    def lasting_a(self) -> float | None:
        """What it gives for long: hot, and as its regulator limits it; conductors are made for its rating."""
        if self.current_a is None:
            return None
        return min(self.current_a * (self.hot_share or 1.0), self.set_to_a or self.current_a)


@dataclass(frozen=True, kw_only=True)
class Shore(Part):
    """An AC supply from outside."""

    kind = "shore"
    meaning = "an AC supply from outside"
    reaches = ("ac-out",)
    needs = (Need(("current_a",), "its current", "`30 A`"),)
    output_key = "voltage_v"
    roles = Roles(gives_at="ac-out", holds_voltage=True, mains=True)

    current_a: float | None = _amperes()
    voltage_v: float | None = _volts()
    bonds_neutral: bool = _bonds()
    fault_current_a: float | None = _fault()
    earth_loop_ohm: float | None = quantity(
        "earth-loop", "resistance", "ohm", "impedance of the earth fault loop outside, at the inlet"
    )


@dataclass(frozen=True, kw_only=True)
class Generator(Part):
    """An AC source of its own."""

    kind = "generator"
    meaning = "an AC source of its own"
    reaches = ("ac-out",)
    needs = (Need(("power_w", "current_a"), "its output", "`3000 W` or `25 A`"),)
    output_key = "voltage_v"
    roles = Roles(gives_at="ac-out", holds_voltage=True, mains=True)

    current_a: float | None = _amperes()
    voltage_v: float | None = _volts()
    power_w: float | None = quantity("power", "power", "W", "continuous output", bare=True)
    surge_w: float | None = quantity("surge", "power", "W", "short-time output")
    bonds_neutral: bool = _bonds()
    fault_current_a: float | None = _fault()
    subtransient: float | None = says(
        "sub-transient-reactance", "share", "of its rating; tells its fault current", dimension="share", unit="%"
    )
    self_limiting: bool = _flag("self-limiting", "cannot exceed its rating")


@dataclass(frozen=True, kw_only=True)
class Junction(Part):
    """A splice."""

    kind = "junction"
    meaning = "a splice"
    reaches = ("",)
    roles = Roles(splits=True)


@dataclass(frozen=True, kw_only=True)
class Earth(Part):
    """The earth or hull point, which may conduct."""

    kind = "earth"
    meaning = "the earth or hull point, which may conduct"
    reaches = ("",)
    roles = Roles(grounds=True)

    conducts: bool = _flag("conducts", "it is a return conductor (chassis)")
    electrode: bool = _flag("electrode", "it is a rod or plate in the ground, whose resistance is to the ground")
    resistance_ohm: float | None = quantity(
        "resistance", "resistance", "mohm", "its resistance between any two points", bare=True
    )


@dataclass(frozen=True, kw_only=True)
class Engine(Earth):
    """An engine: its block returns and earths what is mounted on it, and what it drives runs while it does."""

    kind = "engine"
    meaning = "an engine, whose block is a return and an earth; on, it turns its alternators"
    implied_ports = ("ignition", "running")

    daily_h: float | None = quantity("daily", "time", "h", "hours a day that it runs")


@dataclass(frozen=True, kw_only=True)
class Metal(Earth):
    """Metal that is bonded and carries nothing in service."""

    kind = "metal"
    meaning = "metal that is only bonded: a tank, an anode, a mast"


ALL_CLOSED, ALL_OPEN = ("both", "all"), ("off",)
"""Positions of a selector that close every input, and none."""


@dataclass(frozen=True, kw_only=True)
class Selector(Part):
    """A switch that joins one of several inputs, or all of them, to what it feeds."""

    kind = "selector"
    meaning = "a switch of several positions, which joins its inputs to what it feeds; AC: a transfer switch"
    reaches = ("", "INPUT")
    needs = (Need(("inputs",), "its inputs", "`inputs one two`"),)
    roles = Roles(splits=True, switches=True)

    current_a: float | None = _amperes()
    inputs: tuple[str, ...] = says("inputs", "names", "the terminals that it chooses from", default=())
    positions: tuple[str, ...] = says(
        "positions", "names", "its positions: an input closes that, `both` or `all` every one, `off` none", default=()
    )
    poles: int = says("poles", "count", "poles that it opens together", default=1)
    ac: bool = _flag("ac", "a transfer switch for AC: it never joins two supplies")

    @property
    def ports(self) -> tuple[str, ...]:
        """What it feeds, and its inputs."""
        return ("", *self.inputs) if not self.ac else ()

    @cached_property
    def groups(self) -> tuple[tuple[str, Current], ...]:
        """Of AC the cores of what it feeds and of each input."""
        return tuple((group, "ac") for group in ("", *self.inputs)) if self.ac else ()

    @property
    def settings(self) -> tuple[str, ...]:
        """Its positions; one for each input where it states none."""
        return self.positions or self.inputs

    def closes(self, position: str) -> tuple[str, ...]:
        """The inputs that are closed in a position."""
        return self.inputs if position in ALL_CLOSED else tuple(i for i in self.inputs if i == position)


@dataclass(frozen=True, kw_only=True)
class Splitter(Part):
    """Diodes, or what does their work, from one input to several outputs."""

    kind = "splitter"
    meaning = "a charge splitter: current passes from its input to each output and never back"
    reaches = ("in", "OUTPUT")
    needs = (Need(("outputs",), "its outputs", "`outputs start house`"),)
    roles = Roles(splits=True)

    current_a: float | None = _amperes()
    outputs: tuple[str, ...] = _outputs("the terminals that it gives to")
    loses_v: float | None = quantity("loses", "voltage", "V", "what is lost between its input and an output")

    @property
    def ports(self) -> tuple[str, ...]:
        """Its input and its outputs."""
        return ("in", *self.outputs)


COMPONENTS: tuple[type[Part], ...] = (
    Battery, Bus, Panel, Load, Inverter, Charger, Converter, Solar, Controller, Alternator, Shore, Generator,
    Junction, Earth, Engine, Metal, Selector, Splitter,
)  # fmt: skip
"""The types of components, in the order of the reference pages."""

COMMON: tuple[Attribute, ...] = (
    Attribute(
        "terminal",
        "terminal",
        "terminal",
        "what a conductor lands on, for one port or for all; `way`: for every way of a panel",
    ),
    Attribute("advised", "advised-wire", "advice", "the conductor that the maker advises, to a length one way"),
    *attributes_of(Part)[:2],
    Attribute("comparable", "comparable-wire", "comparable", "what the maker of a comparable device asks for"),
    *attributes_of(Part)[2:],
)
"""What every component may say."""
