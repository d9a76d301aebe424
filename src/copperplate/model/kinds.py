"""The table of kinds: what each kind of statement may say. The only place that knows them.

The checker, the formatter's order, completion, hover, `explain` and the reference pages read this table. The kinds of
components are the types of `model/parts.py`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from copperplate.model.attributes import Attribute, attributes_of
from copperplate.model.folders import ProfileNames
from copperplate.model.parts import CHEMISTRIES, COMMON, COMPONENTS, FAMILIES, Part
from copperplate.model.system import CONTACTS, DEVICE_ROLES
from copperplate.model.things import BUDGET_CLASSES, THINGS

__all__ = [
    "BUDGET_CLASSES", "CHEMISTRIES", "COMMON", "DEVICE", "DEVICE_KINDS", "FAMILIES", "KINDS", "PROFILES", "SEGMENT",
    "THINGS", "Attribute", "Kind", "component",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of statement. `ports` are named as a plate writes them, `{pole}` ones by their poles; `named`:
    the statement declares a name."""

    word: str
    meaning: str
    attributes: tuple[Attribute, ...]
    ports: tuple[str, ...] = ()
    named: bool = True
    titled: bool = True
    type: type[Part] | None = None
    """The type of the parts that it declares, for a kind that may stand at an end of a run."""

    @property
    def component(self) -> bool:
        """Whether it may stand at an end of a run."""
        return self.type is not None

    def attribute(self, word: str) -> Attribute | None:
        """The attribute that the plate calls `word`."""
        return next((a for a in self.attributes if a.word == word), None)


def component(type: type[Part]) -> Kind:
    """The entry of a type of components."""
    return Kind(type.kind, type.meaning, attributes_of(type, Part), type.reaches, type=type)


PROFILES = ProfileNames()


def _q(key: str, word: str, dimension: str, unit: str, meaning: str, **more: Any) -> Attribute:
    return Attribute(key, word, "quantity", meaning, dimension=dimension, unit=unit, **more)


_SYSTEM = Kind(
    "system",
    "the whole, once",
    (
        _q("nominal_v", "nominal", "voltage", "V", "nominal DC voltage; percent budgets are of it"),
        Attribute("rules", "rules", "choice", "rule profile", choices=PROFILES, default="cfr-183"),
        _q("ambient_c", "ambient", "temperature", "degC", "air around the conductors", default=30.0, positive=False),
        _q("insulation_c", "insulation", "temperature", "degC", "temperature rating of the insulation", default=105.0),
        Attribute("drop", "drop", "budgets", "voltage-drop budget of every load that states none, or of one class of them", choices=BUDGET_CLASSES),
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
        Attribute("status", "status", "text", "`draft`, `review`, `build` or `as-built`, or words for the title block", default="review"),
        _q("unmeasured_m", "unmeasured", "length", "m", "length that a run is sized for where it is left open", default=5.0),
        _q("terminals_c", "terminals", "temperature", "degC", "temperature that the terminals of equipment are listed for"),
        Attribute("colours", "colours", "choice", "`by-function`: conductors of US small-craft practice by what they feed", choices=("by-pole", "by-function"), default="by-pole"),
        Attribute("judge", "judge", "choice", "`warm`: budgets hold in copper at its working temperature too", choices=("rule", "warm"), default="rule"),
        Attribute("paper", "paper", "choice", "sheet size of the drawings", choices=("a4", "a3", "letter")),
    ),
    named=False,
)  # fmt: skip

KINDS: dict[str, Kind] = {
    kind.word: kind
    for kind in (
        _SYSTEM,
        *map(component, COMPONENTS),
        Kind("route", "a place that runs share", (
            _q("length_m", "length", "length", "m", "length of the place", bare=True),
            _q("ambient_c", "ambient", "temperature", "degC", "air in this place", positive=False),
            Attribute("engine_space", "engine-space", "flag", "an engine space", default=False),
            Attribute("laid", "laid", "choice", "how conductors lie in it", choices=("conduit", "bundle", "free-air"), bare=True),
            Attribute("sheath", "sheath", "flag", "everything in it is sheathed", default=False),
        )),
        Kind("place", "where things stand; its name is no name of a component", (
            _q("ambient_c", "ambient", "temperature", "degC", "air in this place", positive=False),
            Attribute("engine_space", "engine-space", "flag", "an engine space", default=False),
            Attribute("petrol", "petrol", "flag", "petrol vapour may gather in it", default=False),
            Attribute("wet", "wet", "flag", "a wet place", default=False),
            Attribute("outdoors", "outdoors", "flag", "outdoors", default=False),
            Attribute("kitchen", "kitchen", "flag", "a kitchen", default=False),
        )),
        Kind("connector", "a plug or terminal block of several pins, each a bracket `[NAME.1]` of some run", (
            Attribute("pins", "pins", "count", "how many pins it has", most=200),
            _q("rating_a", "rating", "current", "A", "rating of a pin", bare=True),
            Attribute("at", "at", "reference", "the place that it stands in"),
        )),
        Kind("cable", "several cores in one sheath, a route whose stretch has their size", (
            _q("length_m", "length", "length", "m", "length of the cable", bare=True),
            Attribute("cores", "cores", "count", "how many cores it has", most=200),
            Attribute("size", "size", "size", "size of each core", bare=True),
            Attribute("shared_negative", "shared-negative", "flag", "one core is the negative of all that go through it", default=False),
            Attribute("sort", "type", "text", "what it is, in its maker's words"),
            _q("ambient_c", "ambient", "temperature", "degC", "air around it", positive=False),
        )),
        Kind("switch", "several switches in one plate, each a bracket `[NAME.1]` of some run", (
            Attribute("ways", "ways", "count", "how many switches it holds"),
            _q("rating_a", "rating", "current", "A", "rating of each", bare=True),
            Attribute("worked_by", "worked-by", "choice", "what works it besides a hand", choices=(*CONTACTS, "momentary"), bare=True),
        )),
        Kind("part", "facts about a type, written once; its second word is the kind", ()),
        Kind("case", "an operating state: what is on, or what is off", (
            Attribute("on", "on", "address-list", "these are on, the rest is off"),
            Attribute("off", "off", "address-list", "these are off, the rest is on"),
            Attribute("share", "share", "address-list", "`share lights 50 %`: a part of the rating"),
            Attribute("set", "set", "names", "`set choose both`: the position of a selector"),
        )),
        Kind("stock", "the sizes on the shelf", (
            Attribute("at_most", "at-most", "count", "the greatest number of different sizes"),
            Attribute("sizes", "sizes", "size-list", "the sizes", bare=True),
            Attribute("family", "fuse", "choice", "a family of fuses, taken in the order of the families here", choices=FAMILIES),
            Attribute("breaker", "breaker", "flag", "breakers"),
            _q("rating_a", "rating", "current", "A", "of the family before it these ratings and no other", bare=True),
        ), named=False, titled=False),
        Kind("use", "another file's parts", (Attribute("file", "file", "text", "relative path", bare=True),), named=False),
        Kind("accept", "a warning accepted, with the reason", (), named=False),
        Kind("note", "words for the drawing or the report", (), named=False),
    )
}  # fmt: skip

DEVICE_KINDS = tuple(kind for kind, roles in DEVICE_ROLES.items() if not roles.one_way)
"""What a bracket may be."""
DEVICE: tuple[Attribute, ...] = (
    Attribute("family", "family", "choice", "family of the device", choices=FAMILIES, bare=True),
    _q("rating_a", "rating", "current", "A", "rating", bare=True),
    _q("breaks_a", "breaks", "current", "kA", "largest current that it can interrupt"),
    _q("voltage_v", "voltage", "voltage", "V", "largest DC voltage that it can interrupt", bare=True),
    Attribute("backed_by", "backed-by", "reference", "the device behind which its maker allows it"),
    Attribute("poles", "poles", "count", "poles that open together", default=1, most=4),
    _q("residual_a", "residual", "current", "mA", "residual operating current"),
    Attribute(
        "curve", "curve", "choice", "instantaneous tripping of a breaker by IEC 60898-1", choices=("b", "c", "d")
    ),
    _q("resistance_ohm", "resistance", "resistance", "mohm", "resistance of one pole", bare=True),
    Attribute("normally_open", "normally-open", "flag", "open, unless a case turns it on", default=False),
    Attribute("closed_by", "closed-by", "reference", "closed in the cases that have this part on, and open else"),
    Attribute("worked_by", "worked-by", "choice", "what works a switch besides a hand", choices=(*CONTACTS, "momentary"), bare=True),
    _q("coil_a", "coil", "current", "A", "current of its coil"),
    Attribute("reversing", "reversing", "flag", "a reversing box: two leads to its motor", default=False),
    Attribute("two_way", "two-way", "flag", "one of two switches that work a circuit from both its ends", default=False),
    Attribute("pwm", "pwm", "flag", "dims by switching the full current", default=False),
    Attribute("in_pole", "in", "choice", "the conductor that it sits in, where that is not the positive", choices=("neg", "pe")),
    Attribute("at", "at", "reference", "the place that it stands in"),
    Attribute("remark", "note", "text", "words for its row in the lists"),
    Attribute("sort", "type", "text", "what it is, in its maker's words; of a residual-current device its type"),
    Attribute("ignition_protected", "ignition-protected", "flag", "its maker states that it lights no petrol vapour", default=False),
    Attribute("ports", "ports", "names", "its control ports; without them any word is one"),
    Attribute("part", "part", "reference", "take what is not said here from this `part` statement"),
)  # fmt: skip
SEGMENT: tuple[Attribute, ...] = (
    _q("length_m", "length", "length", "m", "length of this stretch, one way", bare=True, open=True),
    Attribute("via", "via", "reference", "a route or cable that it runs through"),
    Attribute("cores", "core", "numbers", "which cores of the cable; the next free ones where unsaid"),
    Attribute("size", "size", "size", "conductor size", bare=True),
    Attribute("parallel", "parallel", "count", "conductors in parallel in each pole", default=1, most=16),
    _q("insulation_c", "insulation", "temperature", "degC", "temperature rating of the insulation"),
    _q("insulation_v", "insulation-voltage", "voltage", "V", "voltage rating of the insulation", bare=True),
    Attribute("sheath", "sheath", "flag", "in a sheath", default=False),
    Attribute(
        "signal_a", "signal", "quantity-or-word", "the run is a signal: nothing is asked of its volts or its way back",
        dimension="current", unit="A", default=1.0,
    ),
    Attribute("data", "data", "flag", "the run is a made-up lead, bought by the piece", default=False),
    Attribute("data", "loom", "flag", "the same as `data`", default=False),
    Attribute("bonding", "bonding", "flag", "the run bonds, and carries no current in service", default=False),
    Attribute("lead", "type", "text", "what the lead or cable is, in its maker's words"),
    Attribute("colour", "colour", "word", "the colour of its live conductor"),
    Attribute("remark", "note", "text", "words for its row in the lists"),
)  # fmt: skip
