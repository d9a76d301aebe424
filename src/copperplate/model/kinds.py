"""The table of kinds: what each kind of statement may say. The only place that knows them.

The checker, the formatter's order, completion, hover, `explain` and the reference pages read this table. A new
kind of component is one entry here and one symbol in `drawing/symbols.py`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

Form = Literal[
    "quantity", "window", "budget", "number", "count", "flag", "choice", "word", "reference", "text",
    "size", "share", "terminal", "advice", "comparable", "voltage-pair", "size-list", "address-list",
]  # fmt: skip
"""How an attribute's value is written. quantity: one number with a unit of `dimension`; window: `10.5..15 V`;
budget: `3 %` or `0.3 V`; count: a whole number; flag: the bare word; choice: one of `choices` (bare where
`bare`); reference: the name of another part; voltage-pair: `120 V`, `120/240 V split`."""


@dataclass(frozen=True, slots=True)
class Attribute:
    """One thing a kind may say.

    `key` is how the model names it, unit included; `word` how the plate does; `bare`: it may stand without its
    word (a quantity is then understood by its dimension, a choice by its words). `default` None: no default,
    the meaning says what then happens. `unit` is the plate's unit shown to readers."""

    key: str
    word: str
    form: Form
    meaning: str
    dimension: str = ""
    unit: str = ""
    bare: bool = False
    choices: tuple[str, ...] = ()
    default: Any = None
    positive: bool = True
    """A quantity must be above zero (False: zero and below are legal too)."""


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of statement. `ports` are named as a plate writes them, `{pole}` ones by their poles; `named`:
    the statement declares a name; `component`: it may stand at an end of a run."""

    word: str
    meaning: str
    attributes: tuple[Attribute, ...]
    ports: tuple[str, ...] = ()
    named: bool = True
    titled: bool = True
    component: bool = False
    once: bool = False

    def attribute(self, word: str) -> Attribute | None:
        """The attribute that the plate calls `word`."""
        return next((a for a in self.attributes if a.word == word), None)


CHEMISTRIES = ("lifepo4", "agm", "gel", "flooded")
FAMILIES = ("blade", "mini-blade", "high-blade", "strip", "strip-70v", "single-bolt", "class-t", "gg", "breaker")
"""Families of protective devices: blade ISO 8820-3 type C, mini-blade type F, high-blade type E; strip
ISO 8820-5; strip-70v ISO 20934; single-bolt ISO 8820-6; class-t UL 248-15; gg IEC 60269-2; breaker."""
PROFILES = ("cfr-183", "iso-13297", "nec", "iec-60364")


def _q(key: str, word: str, dimension: str, unit: str, meaning: str, **more: Any) -> Attribute:
    return Attribute(key, word, "quantity", meaning, dimension=dimension, unit=unit, **more)


COMMON: tuple[Attribute, ...] = (
    Attribute(
        "terminal",
        "terminal",
        "terminal",
        "what a conductor lands on, for one port or for all; `way`: for every way of a panel",
    ),
    Attribute("advised", "advised-wire", "advice", "the conductor that the maker advises, to a length one way"),
    _q("advised_fuse_a", "advised-fuse", "current", "A", "the fuse that the maker advises"),
    _q("max_fuse_a", "max-fuse", "current", "A", "the largest fuse that the maker allows"),
    Attribute("comparable", "comparable-wire", "comparable", "what the maker of a comparable device asks for"),
    Attribute("part", "part", "reference", "take what is not said here from this `part` statement"),
)

_WORKS = Attribute("works", "works", "window", "the voltages at which the device works", "voltage", "V")
_EFFICIENCY = Attribute(
    "efficiency", "efficiency", "share", "output power over input power", "share", "%", default=0.90
)
_VOLTS = _q("voltage_v", "voltage", "voltage", "V", "nominal voltage", bare=True)
_AMPS = _q("current_a", "current", "current", "A", "rated current", bare=True)
_FAULT = _q("fault_current_a", "fault-current", "current", "kA", "largest short-circuit current at its AC terminals")
_BONDS = Attribute("bonds_neutral", "bonds-neutral", "flag", "joins neutral to earth while it supplies", default=False)

_SYSTEM = Kind(
    "system",
    "the whole, once",
    (
        _q("nominal_v", "nominal", "voltage", "V", "nominal DC voltage; percent budgets are of it"),
        Attribute("rules", "rules", "choice", "rule profile", choices=PROFILES, default="cfr-183"),
        _q("ambient_c", "ambient", "temperature", "degC", "air around the conductors", default=30.0, positive=False),
        _q("insulation_c", "insulation", "temperature", "degC", "temperature rating of the insulation", default=105.0),
        Attribute("drop", "drop", "budget", "voltage-drop budget of every load that states none"),
        Attribute("units", "units", "choice", "units of lengths in what readers see", choices=("metric", "us"), default="metric"),
        Attribute("conductors", "conductors", "choice", "the series of sizes to choose from", choices=("awg", "sae", "mm2")),
        Attribute("tinned", "tinned", "flag", "tinned copper", default=False),
        Attribute("negative", "negative", "choice", "whether the negative is earthed", choices=("earthed", "floating"), default="earthed"),
        Attribute("ac", "ac", "voltage-pair", "AC voltage: 120 V, 230 V or 120/240 V split"),
        _q("frequency_hz", "frequency", "frequency", "Hz", "AC frequency"),
        Attribute("continuous_factor", "continuous-factor", "number", "factor on devices for continuous current, instead of the profile's"),
        Attribute("client", "client", "text", "for the title block", default=""),
        Attribute("site", "site", "text", "for the title block", default=""),
        Attribute("designer", "designer", "text", "for the title block", default=""),
        Attribute("revision", "revision", "text", "for the title block", default=""),
        Attribute("date", "date", "text", "for the title block; text, never the clock", default=""),
        Attribute("document", "document", "text", "document number for the title block", default=""),
        Attribute("status", "status", "text", "what the pack may be used for", default="Issued for review, not for installation"),
        Attribute("paper", "paper", "choice", "sheet size of the drawings", choices=("a4", "a3", "letter")),
    ),
    named=False,
    once=True,
)  # fmt: skip

_BATTERY = Kind(
    "battery",
    "a source with energy; all figures of one battery",
    (
        _VOLTS,
        _q("capacity_ah", "capacity", "charge", "Ah", "capacity", bare=True),
        Attribute("chemistry", "chemistry", "choice", "chemistry", choices=CHEMISTRIES, bare=True),
        Attribute("series", "series", "count", "batteries in series in each string", default=1),
        Attribute("parallel", "parallel", "count", "strings in parallel", default=1),
        _q("link_m", "link", "length", "m", "length of each conductor between the batteries of the bank"),
        Attribute("range", "range", "window", "terminal voltage in use, low end to high end", "voltage", "V"),
        _q("full_v", "full", "voltage", "V", "terminal voltage while charging ends"),
        _q("max_discharge_a", "max-discharge", "current", "A", "largest discharge current of one battery"),
        _q("max_charge_a", "max-charge", "current", "A", "largest charge current of one battery"),
        _q("fault_current_a", "fault-current", "current", "kA", "short-circuit current of one battery"),
        _q("internal_ohm", "internal-resistance", "resistance", "mohm", "internal resistance of one battery"),
        Attribute("usable", "usable", "share", "share of the capacity that may be used", "share", "%"),
    ),
    ("pos", "neg"),
    component=True,
)  # fmt: skip

_LOAD = Kind(
    "load",
    "what uses energy",
    (
        _AMPS,
        _q("power_w", "power", "power", "W", "power", bare=True),
        _q("resistance_ohm", "resistance", "resistance", "ohm", "resistance of a heater or lamp", bare=True),
        _q("voltage_v", "voltage", "voltage", "V", "nominal voltage; 240 V on a split supply lies between its lines", bare=True),
        Attribute("count", "count", "count", "how many of them on this circuit (`8 x 0.25 A`)", default=1),
        _WORKS,
        Attribute("drop", "drop", "budget", "voltage-drop budget from the source to this load and back"),
        Attribute("critical", "critical", "flag", "the budget is 3 % at most (navigation, bilge, safety)", default=False),
        Attribute("intermittent", "intermittent", "flag", "runs for minutes: no continuous factor", default=False),
        _q("daily_h", "daily", "time", "h", "hours a day"),
        _q("inrush_a", "inrush", "current", "A", "starting current"),
        Attribute("ac", "ac", "flag", "an AC load", default=False),
        Attribute("outlets", "outlets", "count", "socket outlets on this circuit"),
        Attribute("power_factor", "power-factor", "number", "power factor", default=1.0),
        Attribute("leg", "leg", "count", "leg 1 or 2 of a split-phase supply"),
    ),
    ("pos", "neg", "ac-in"),
    component=True,
)  # fmt: skip

KINDS: dict[str, Kind] = {
    kind.word: kind
    for kind in (
        _SYSTEM,
        _BATTERY,
        Kind("bus", "a bar that conductors land on", (
            Attribute("polarity", "polarity", "choice", "which pole the bar carries", choices=("positive", "negative", "both"), bare=True),
            _AMPS,
            Attribute("studs", "studs", "count", "studs on the bar"),
            Attribute("ac", "ac", "flag", "an AC bar", default=False),
        ), ("pos", "neg"), component=True),
        Kind("panel", "a bus with a protected way for each circuit", (
            Attribute("ways", "ways", "count", "ways of the panel"),
            Attribute("family", "family", "choice", "family of the ways' devices", choices=FAMILIES, bare=True),
            _AMPS,
            _q("way_max_a", "way-max", "current", "A", "largest device of one way"),
            _q("breaks_a", "breaks", "current", "kA", "largest current that the devices of its ways can interrupt"),
            Attribute("curve", "curve", "choice", "tripping of its ways' breakers by IEC 60898-1", choices=("b", "c", "d")),
            Attribute("return", "return", "reference", "the bar that the negatives of its circuits land on"),
            Attribute("ac", "ac", "flag", "an AC panel", default=False),
        ), ("feed", "neg", "ac-in"), component=True),
        _LOAD,
        Kind("inverter", "DC to AC, and charger where `charges A` is given", (
            _q("power_w", "power", "power", "W", "continuous output", bare=True),
            _q("surge_w", "surge", "power", "W", "short-time output"),
            _EFFICIENCY,
            _q("idle_w", "idle", "power", "W", "draw without load"),
            _q("ac_v", "output", "voltage", "V", "AC output voltage", bare=True),
            _q("charges_a", "charges", "current", "A", "charging current where it is a charger too"),
            Attribute("shares_supply", "shares-supply", "flag", "charges with what the loads behind it leave of its AC supply",
                      default=False),
            _BONDS, _FAULT,
            _WORKS,
            Attribute("drop", "drop", "budget", "voltage-drop budget of its supply"),
            Attribute("intermittent", "intermittent", "flag", "runs for minutes: no continuous factor", default=False),
            _q("daily_h", "daily", "time", "h", "hours a day at the loads it feeds"),
        ), ("pos", "neg", "ac-in", "ac-out", "pe"), component=True),
        Kind("charger", "AC to DC", (
            _AMPS,
            _q("in_v", "in", "voltage", "V", "AC input voltage"),
            _q("out_v", "out", "voltage", "V", "DC output voltage"),
            _EFFICIENCY,
        ), ("pos", "neg", "ac-in", "pe"), component=True),
        Kind("converter", "DC to DC", (
            _AMPS,
            _q("in_v", "in", "voltage", "V", "nominal input voltage"),
            _q("out_v", "out", "voltage", "V", "output voltage"),
            _EFFICIENCY,
            Attribute("isolation", "isolation", "choice", "whether input and output share the negative",
                      choices=("isolated", "common-negative"), bare=True, default="isolated"),
            Attribute("charges", "charges", "flag", "its output charges a battery", default=False),
            _WORKS,
            Attribute("drop", "drop", "budget", "voltage-drop budget of its supply"),
            _q("idle_w", "idle", "power", "W", "draw without load"),
        ), ("in.pos", "in.neg", "out.pos", "out.neg"), component=True),
        Kind("solar", "a PV array; figures of one module", (
            _q("power_w", "power", "power", "W", "rated power", bare=True),
            _q("voc_v", "voc", "voltage", "V", "open-circuit voltage"),
            _q("isc_a", "isc", "current", "A", "short-circuit current"),
            _q("vmp_v", "vmp", "voltage", "V", "voltage at rated power"),
            _q("imp_a", "imp", "current", "A", "current at rated power"),
            _q("temp_coefficient_per_k", "temp-coefficient", "share-per-kelvin", "%/K", "change of voc", positive=False),
            Attribute("series", "series", "count", "modules in series in each string", default=1),
            Attribute("parallel", "parallel", "count", "strings in parallel", default=1),
            _q("coldest_c", "coldest", "temperature", "degC", "coldest module temperature in daylight", positive=False),
            _q("daily_h", "daily", "time", "h", "hours a day at rated power (sun hours)"),
        ), ("pos", "neg"), component=True),
        Kind("controller", "solar charge controller", (
            _AMPS,
            _q("max_input_v", "max-input", "voltage", "V", "largest input voltage"),
            _q("out_v", "output", "voltage", "V", "output voltage"),
            _EFFICIENCY,
        ), ("pv.pos", "pv.neg", "pos", "neg"), component=True),
        Kind("alternator", "an engine-driven DC source", (
            _AMPS, _VOLTS,
            Attribute("self_limiting", "self-limiting", "flag", "cannot exceed its rating", default=False),
            _q("daily_h", "daily", "time", "h", "hours a day that it runs"),
        ), ("pos", "neg"), component=True),
        Kind("shore", "an AC supply from outside", (
            _AMPS, _VOLTS, _BONDS, _FAULT,
            _q("earth_loop_ohm", "earth-loop", "resistance", "ohm", "impedance of the earth fault loop outside, at the inlet"),
        ), ("ac-out",), component=True),
        Kind("generator", "an AC source of its own", (
            _AMPS, _VOLTS,
            _q("power_w", "power", "power", "W", "continuous output", bare=True),
            _BONDS, _FAULT,
            Attribute("subtransient", "sub-transient-reactance", "share", "of its rating; tells its fault current", "share", "%"),
            Attribute("self_limiting", "self-limiting", "flag", "cannot exceed its rating", default=False),
        ), ("ac-out",), component=True),
        Kind("junction", "a splice", (), ("",), component=True),
        Kind("earth", "the earth or hull point, which may conduct", (
            Attribute("conducts", "conducts", "flag", "it is a return conductor (chassis)", default=False),
            _q("resistance_ohm", "resistance", "resistance", "mohm", "its resistance between any two points", bare=True),
        ), ("",), component=True),
        Kind("route", "a place that runs share", (
            _q("length_m", "length", "length", "m", "length of the place", bare=True),
            _q("ambient_c", "ambient", "temperature", "degC", "air in this place", positive=False),
            Attribute("engine_space", "engine-space", "flag", "an engine space", default=False),
            Attribute("laid", "laid", "choice", "how conductors lie in it", choices=("conduit", "bundle", "free-air"), bare=True),
            Attribute("sheath", "sheath", "flag", "everything in it is sheathed", default=False),
        )),
        Kind("part", "facts about a type, written once; its second word is the kind", ()),
        Kind("case", "an operating state: what is on, or what is off", (
            Attribute("on", "on", "address-list", "these are on, the rest is off"),
            Attribute("off", "off", "address-list", "these are off, the rest is on"),
            Attribute("share", "share", "address-list", "`share lights 50 %`: a part of the rating"),
        )),
        Kind("stock", "the sizes on the shelf", (
            Attribute("at_most", "at-most", "count", "the greatest number of different sizes"),
            Attribute("sizes", "sizes", "size-list", "the sizes", bare=True),
        ), named=False, titled=False),
        Kind("use", "another file's parts", (Attribute("file", "file", "text", "relative path", bare=True),), named=False),
        Kind("accept", "a warning accepted, with the reason", (), named=False),
        Kind("note", "words for the drawing or the report", (), named=False),
    )
}  # fmt: skip

DEVICE_KINDS = ("fuse", "breaker", "switch", "shunt", "relay", "selector")
DEVICE: tuple[Attribute, ...] = (
    Attribute("family", "family", "choice", "family of the device", choices=FAMILIES, bare=True),
    _q("rating_a", "rating", "current", "A", "rating", bare=True),
    _q("breaks_a", "breaks", "current", "kA", "largest current that it can interrupt"),
    _q("voltage_v", "voltage", "voltage", "V", "largest DC voltage that it can interrupt", bare=True),
    Attribute("backed_by", "backed-by", "reference", "the device behind which its maker allows it"),
    Attribute("poles", "poles", "count", "poles that open together", default=1),
    _q("residual_a", "residual", "current", "mA", "residual operating current"),
    Attribute(
        "curve", "curve", "choice", "instantaneous tripping of a breaker by IEC 60898-1", choices=("b", "c", "d")
    ),
    _q("resistance_ohm", "resistance", "resistance", "mohm", "resistance of one pole", bare=True),
    Attribute("part", "part", "reference", "take what is not said here from this `part` statement"),
)
SEGMENT: tuple[Attribute, ...] = (
    _q("length_m", "length", "length", "m", "length of this stretch, one way", bare=True),
    Attribute("via", "via", "reference", "a route that it runs through"),
    Attribute("size", "size", "size", "conductor size", bare=True),
    Attribute("parallel", "parallel", "count", "conductors in parallel in each pole", default=1),
    _q("insulation_c", "insulation", "temperature", "degC", "temperature rating of the insulation"),
    Attribute("sheath", "sheath", "flag", "in a sheath", default=False),
)
