"""What the file of a rule profile says: figures and choices by name, each with what it is for.

The table that a file is held to when it is read, so that whatever asks a profile finds an answer there.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple


class Figure(NamedTuple):
    """A number below `[constants]`. A file may word the quantity in its own way; `optional`: a profile need not have
    it."""

    quantity: str
    unit: str = ""
    optional: bool = False


FIGURES: Mapping[str, Figure] = {
    "drop-default": Figure("voltage-drop budget, default"),
    "drop-critical": Figure("voltage-drop budget, critical circuits"),
    "judged": Figure("constant by which voltage drop is judged"),
    "device-factor": Figure("factor on continuous current, devices"),
    "conductor-factor": Figure("factor on continuous current, conductors"),
    "device-share": Figure("device rating over ampacity, largest"),
    "device-share-limit": Figure("device rating over ampacity, limit of the rules"),
    "device-share-limit-50v": Figure("device rating over ampacity, limit of the rules from 50 V", optional=True),
    "placement-bar": Figure("device within, along the conductor", "m"),
    "placement-bar-sheath": Figure("device within, along the conductor", "m"),
    "placement-battery": Figure("device within, along the conductor", "m"),
    "placement-battery-sheath": Figure("device within, along the conductor", "m"),
    "engine-space": Figure("air in an engine space", "degC"),
    "bundle-advice": Figure("loaded conductors on one route from which advice is due, under 50 V", optional=True),
    "studs-lugs": Figure("lugs on one stud, at most"),
    "source-solar": Figure("factor on short-circuit current, sun above standard"),
    "source-solar-second": Figure("factor on short-circuit current, continuous", optional=True),
    "source-controller": Figure("factor on rated output, continuous"),
    "source-charger": Figure("factor on rated output, continuous"),
    "source-converter": Figure("factor on rated output, continuous"),
    "source-inverter": Figure("factor on rated output, continuous"),
    "source-alternator": Figure("factor on rated output"),
    "source-generator": Figure("factor on rated output"),
    "source-shore": Figure("factor on rated supply"),
    "disconnection": Figure("longest time to open at a far-end short, and at an earth fault in distribution", "s"),
    "fault-voltage-highest": Figure("voltage factor of the largest fault current"),
    "fault-voltage-lowest": Figure("voltage factor of the smallest fault current"),
    "fault-copper": Figure("copper at the largest fault current", "degC"),
    "cable-reactance": Figure("reactance of one conductor of an AC circuit", "ohm/m"),
    "shore-fault": Figure("fault current of a shore supply that states none", "A"),
    "shore-loop": Figure("loop outside a shore supply that states neither it nor a fault current", "ohm"),
    "subtransient": Figure("sub-transient reactance of a generator that states none"),
    "inverter-fault": Figure("current of an inverter into a short, over its output"),
    "generator-fault": Figure("current of a DC generator into a short, over its rating"),
    "breaker-breaks": Figure("least that every breaker breaks", "A"),
    "residual": Figure("residual operating current that protects people", "A"),
    "selectivity": Figure("rating over that of a device below, from which it stays closed"),
    "start-time": Figure("how long the start of a motor lasts", "s"),
    "strings-solar": Figure("solar strings in parallel from which each wants a device"),
    "strings-battery": Figure("battery strings in parallel from which each wants a device"),
    "voltage-unstated": Figure("DC voltage up to which a device need not state its own", "V"),
    "coldest": Figure("coldest air of an array that states none", "degC"),
    "outlet": Figure("draw of a socket outlet whose circuit states none", "VA"),
    "outlet-circuit": Figure("largest device before socket outlets that state no larger one", "A"),
    "well-loaded": Figure("share of its ampacity from which a conductor counts as well loaded"),
    "drop-largest": Figure("largest voltage-drop budget that is offered"),
    "link": Figure("length of a link between batteries that states none", "m"),
    "slack": Figure("share that a conductor is cut longer than its run"),
    "slack-least": Figure("length that it is cut longer at least", "m"),
    "trickle": Figure("charge in an hour over capacity, up to which an array needs no controller"),
}


@dataclass(frozen=True, slots=True)
class Entry:
    """Something that a file says besides its figures, by its path ("ambient.base_c").

    `form`: "text", "texts" (a list of them), "number", "table" (that stands in a folder), "size" or "colour" (with
    source and status), or the words to choose from. `beside`: it is asked for only where that path has that value, or
    any where that is "". `optional`: it may be left out. `columns` that a table must have, numbers in each."""

    purpose: str
    form: str | tuple[str, ...] = "text"
    beside: tuple[str, str] = ("", "")
    optional: bool = False
    columns: tuple[str, ...] = ()


ENTRIES: Mapping[str, Entry] = {
    "title": Entry("the name of the rules"),
    "edition": Entry("which edition they are taken from"),
    "conductors": Entry("the series of sizes where a plate names none", ("awg", "sae", "mm2")),
    "ac": Entry("the AC supply where a plate states none", ("120", "230", "120/240")),
    "breaker": Entry("the standard whose ratings breakers have"),
    "counting": Entry("which conductors of a bundle count, in words"),
    "readings": Entry("how the rules are read, a sentence each", "texts"),
    "ampacity.table": Entry("the table of ampacities", "table"),
    "ampacity.conduit_table": Entry("the table of ampacities in conduit", "table", optional=True),
    "ladder.awg": Entry("the gauges that are stocked", optional=True),
    "ladder.mm2": Entry("the areas that are stocked", optional=True),
    "ladder.sae": Entry("the SAE gauges that are stocked", optional=True),
    "minimum.single": Entry("the least size of a conductor by itself", "size"),
    "minimum.sheath": Entry("the least size of a conductor in a sheath", "size"),
    "engine_space.table": Entry(
        "the table of factors in engine spaces", "table", optional=True, columns=("insulation_c", "factor")
    ),
    "ambient.rule": Entry("how air hotter than that of the ampacity table is reckoned", ("table", "formula")),
    "ambient.base_c": Entry("the air that the ampacity table is for", "number"),
    "ambient.table": Entry(
        "the table of factors by the air", "table", ("ambient.rule", "table"), columns=("ambient_max_c",)
    ),
    "ambient.source": Entry("where the formula comes from", "text", ("ambient.rule", "formula")),
    "bundle.table": Entry("the table of factors of bundles", "table", columns=("factor",)),
    "bundle.counts": Entry("what that table goes by", ("conductors", "circuits")),
    "bundle.from_v": Entry("the voltage from which it holds", "number", optional=True),
    "terminals.small_to": Entry("the largest gauge of small terminals", "text", ("terminals", "")),
    "terminals.small_c": Entry("the column of small terminals", "number", ("terminals", "")),
    "terminals.large_c": Entry("the column of large terminals", "number", ("terminals", "")),
    "terminals.source": Entry("where the columns of terminals come from", "text", ("terminals", "")),
    "solar.table": Entry(
        "the table of factors on the voltage of modules in the cold", "table",
        columns=("ambient_min_c", "ambient_max_c", "voc_factor"),
    ),
    "disconnection.table": Entry(
        "the table of disconnection times of final circuits", "table", columns=("volts_max", "seconds")
    ),
    "judged.rule": Entry("by what formula voltage drop is judged", ("circular mil", "area", "table")),
    "judged.table": Entry("the table of resistances", "table", ("judged.rule", "table")),
    "device_cap.table": Entry(
        "the table of devices on small conductors", "table", ("device_cap", ""), columns=("device_max_a",)
    ),
    "device_share_limit.from_v": Entry(
        "the voltage from which the second limit holds", "number", ("constants.device-share-limit-50v", "")
    ),
    "device_share_limit.next_rating": Entry(
        "whether the second limit is the next standard rating", ("yes",), optional=True
    ),
    "residual.law": Entry("what must have residual-current protection, not only should", ("outlets",), optional=True),
    "earth.table": Entry("the table of earth conductors", "table", ("earth", "")),
    "earth.by": Entry("what the table of earth conductors goes by", ("device", "line"), ("earth", "")),
    **{
        f"colours.{current}-{pole}": Entry("the colour of such a conductor", "colour")
        for current, poles in (("dc", ("pos", "neg", "mid", "pe")), ("ac", ("l", "l1", "l2", "n", "pe")))
        for pole in poles
    },
    "clauses.ac-apart": Entry("the rule that parts AC from DC"),
    "clauses.device-rating": Entry("the rule of ratings over ampacity"),
    "clauses.device-voltage": Entry("the rule of the voltage of devices"),
    "clauses.bond": Entry("the rule that joins neutral and earth once"),
    "clauses.breaking": Entry("the rule of what devices break"),
    "clauses.breaking-ac": Entry("the rule of what AC devices break, and how that is reckoned"),
    "clauses.drop": Entry("the rule of voltage drop"),
    "clauses.earth-fault": Entry("the rule that earth faults open a device"),
    "clauses.fault-loop": Entry("the rule by which the smallest fault currents are reckoned"),
    "clauses.floating": Entry("the rule that both poles open where the negative floats"),
    "clauses.line-fuse": Entry("the rule against fuses in AC lines", beside=("clauses.double-pole", "")),
    "clauses.parallel": Entry("the rule against devices in parallel"),
    "clauses.protection": Entry("the rule that asks for a device"),
    "clauses.residual": Entry("the rule that asks for residual-current devices"),
    "clauses.short": Entry("the rule that shorts open a device before a conductor is damaged"),
    "clauses.solar-voltage": Entry("the rule of the voltage of modules in the cold"),
    "clauses.transfer": Entry("the rule that parts AC sources"),
    "clauses.whole": Entry("the rule that earthed conductors stay whole"),
}  # fmt: skip
