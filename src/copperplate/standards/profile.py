"""Rule profiles: which tables, factors, distances and shares hold, chosen by one word.

A profile is a file, `profiles/NAME.toml` in a folder of data; this module gives it its methods. Every constant is
a `Traced` with the source and how it was checked.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from importlib.resources.abc import Traversable
from typing import Any, Literal

from copperplate.model import Size, Traced
from copperplate.model.folders import file_of
from copperplate.model.results import PublishedSource
from copperplate.standards import ampacity, factors, fuses, judged
from copperplate.standards.conductors import area_mm2, series_sizes, size_from
from copperplate.standards.figures import FIGURES
from copperplate.standards.sheets import read_sheet
from copperplate.standards.tables import OutsideTable, table
from copperplate.units import exceeds, suffices

Origin = Literal["battery", "bar"]


@dataclass(frozen=True, eq=False)
class Profile:
    """One rule profile. `sheet` is its file as read; the methods answer from it.

    `clauses` names the rules that findings cite ("drop" -> "IEC 60364-5-52 annex G"); `figures` holds every number by
    name, those of common practice too; `counting` says in words which conductors of a bundle count as loaded,
    `readings` how the rules are read."""

    id: str
    title: str
    edition: str
    counting: str
    readings: tuple[str, ...]
    clauses: Mapping[str, str]
    figures: Mapping[str, Traced]
    sheet: Mapping[str, Any]
    shelf: tuple[tuple[str, tuple[float, ...]], ...] = ()
    """Families of devices that a plate has on its shelf, in the order to take them, each with its ratings there, ()
    for all that are made."""

    def constants(self) -> Mapping[str, Traced]:
        """Every number that the profile's own file states, by its name, for the report."""
        return {name: self.figures[name] for name in self.sheet["stated"]}

    # Sizes -----------------------------------------------------------------------------------------------

    def sizes(self, series: str) -> tuple[Size, ...]:
        """The ladder of "awg", "sae" or "mm2" to choose from, by ascending area: sizes the ampacity table has a
        row for, of those that the trade stocks. A plate may state others that the table knows."""
        return _sizes(self, series)

    def minimum(
        self, series: str, sheath: bool, nominal_v: float = 12.0, parallel: bool = False
    ) -> tuple[Size, Traced]:
        """The smallest size allowed, in `series`, and the rule. `nominal_v` is that of the run's own circuit:
        a profile may ask more below some voltage than above, and more of conductors in `parallel`."""
        entry = self.sheet["minimum"]["sheath" if sheath else "single"]
        below = entry.get("below")
        if below and nominal_v < below["v"]:
            entry = below
        if parallel:
            entry = self.sheet["minimum"].get("parallel", entry)
        named = size_from(*entry["size"].split())
        assert named is not None, entry
        chosen = self.at_least(area_mm2(named), series)
        rule = Traced(
            area_mm2(chosen), "mm2", "minimum size", f"{named.label} or larger", (("size", named.label, ""),),
            entry["source"], entry["status"],
        )  # fmt: skip
        return chosen, rule

    def sheathed(self, outside_m: float | None) -> bool:
        """Whether a run counts as sheathed for its least size: `outside_m` is what lies outside its sheath, see
        `Run.outside_m`."""
        allowed_m = self.sheet["minimum"]["sheath"].get("outside_m", 0.0)
        return outside_m is not None and not exceeds(outside_m, allowed_m)

    def at_least(self, smallest_mm2: float, series: str) -> Size:
        """The smallest size of the ladder that is not below this area; OutsideTable above the largest."""
        for size in self.sizes(series):
            if suffices(area_mm2(size), smallest_mm2):
                return size
        raise OutsideTable(f"no {series} size reaches {smallest_mm2:.3g} mm² under {self.id}")

    @property
    def series(self) -> str:
        """The series of sizes to choose from where the plate names none."""
        return str(self.sheet["conductors"])

    @property
    def ac(self) -> str:
        """The AC supply where the plate states none: "120", "230" or "120/240"."""
        return str(self.sheet["ac"])

    @property
    def exempts_cranking(self) -> bool:
        """Whether the way between a battery and a starter may go without a device."""
        return bool(self.sheet.get("cranking"))

    # Ampacity --------------------------------------------------------------------------------------------

    def ampacity(self, size: Size, insulation_c: float) -> Traced:
        """Table ampacity of one conductor, amperes, before any factor. OutsideTable where no row or column
        holds it. Insulation between two columns reads the lower; a size of another series reads the row of the
        largest size not larger in area (`reading` says so)."""
        return ampacity.look_up(self, size, insulation_c)

    @property
    def before_factors(self) -> bool:
        """Whether the factor on continuous current is held against `unfactored_a` and not against the ampacity after
        factors, which must reach the current alone."""
        return bool(self.sheet.get("continuous", {}).get("checked"))

    def unfactored_a(self, size: Size, insulation_c: float) -> float:
        """Ampacity of one conductor before any factor, amperes, not above that of the terminals' column."""
        return factors.unfactored_a(self, size, insulation_c)

    def reading(self, size: Size, insulation_c: float) -> str:
        """One sentence where the table is not read at its own row or column, else ""."""
        return ampacity.reading(self, size, insulation_c)

    def factors(
        self,
        size: Size,
        insulation_c: float,
        ambient_c: float,
        engine_space: bool,
        nominal_v: float,
        loaded_conductors: int,
        laid: str,
    ) -> tuple[Traced, ...]:
        """The factors on the table ampacity, to be multiplied in order; () where none applies.

        `loaded_conductors`: current-carrying conductors laid together (see `counting`), this run's included.
        OutsideTable where the air is too hot for the insulation, or the bundle larger than the table."""
        return factors.apply(self, size, insulation_c, ambient_c, engine_space, nominal_v, loaded_conductors, laid)

    def bundle_advice(self, nominal_v: float) -> Traced | None:
        """From how many well-loaded conductors on one route advice is due; None where a factor rules instead."""
        advice = self.figures.get("bundle-advice")
        return advice if advice and nominal_v < self.sheet["bundle"].get("from_v", 0.0) else None

    # Voltage drop ----------------------------------------------------------------------------------------

    def judged_ohm_per_m(self, size: Size, tinned: bool = False) -> Traced:
        """The profile's own figure for judging percent budgets: ohm per metre of one conductor."""
        return judged.ohm_per_m(self, size, tinned)

    # Factors on currents and devices ---------------------------------------------------------------------

    def source_factor(self, kind: str) -> tuple[Traced, ...]:
        """Factors on a source's rated current, to be multiplied; they replace the continuous factor. `kind` as
        in a plate: solar, controller, charger, converter, inverter, alternator, generator, shore."""
        named = [f"source-{kind}", f"source-{kind}-second"]
        return tuple(self.figures[name] for name in named if name in self.figures)

    def source_limit(self, kind: str) -> Traced | None:
        """Largest rating of a device in the output of a source that does not limit itself, as a share of the
        source's rated output; None where the profile sets none."""
        return self.figures.get(f"source-limit-{kind}")

    def device_share_limit(self, nominal_v: float) -> Traced:
        """The share that the rule itself would allow: a line in the report, never a default."""
        above = self.figures.get("device-share-limit-50v")
        return above if above is not None and self._share_above(nominal_v) else self.figures["device-share-limit"]

    def next_rating_only(self, nominal_v: float) -> bool:
        """Whether that share is a ceiling on the next standard rating above the ampacity, and not a share of it."""
        return self._share_above(nominal_v) and bool(self.sheet["device_share_limit"].get("next_rating"))

    def _share_above(self, nominal_v: float) -> bool:
        limit = self.sheet.get("device_share_limit")
        return limit is not None and nominal_v >= limit["from_v"]

    def device_cap(self, size: Size, current: Literal["dc", "ac"]) -> Traced | None:
        """Largest device allowed on a small conductor whatever its ampacity, amperes; None where no such rule."""
        return ampacity.device_cap(self, size, current)

    def placement(self, origin: Origin, sheath: bool) -> Traced:
        """How far along the conductor from a "battery" terminal or a "bar" its device may stand, metres."""
        return self.figures[f"placement-{origin}{'-sheath' if sheath else ''}"]

    # Faults ----------------------------------------------------------------------------------------------

    def disconnection(self, volts: float) -> Traced:
        """Longest time in which an earth fault of a final circuit opens its device, by the volts to earth; above the
        table its last row. Elsewhere the figure "disconnection" holds."""
        rule = self.sheet["disconnection"]
        read = table(rule["table"])
        row = next((r for r in read.records if volts <= float(r["volts_max"]) * 1.05), read.records[-1])
        return Traced(
            float(row["seconds"]), "s", "longest disconnection time of a final circuit", "table",
            (("to earth", volts, "V"),), rule.get("source", read.clause), rule.get("status", row["status"]),
        )  # fmt: skip

    # Earth -----------------------------------------------------------------------------------------------

    def earth_size(
        self, device_a: float, series: str, current: Literal["dc", "ac"] = "dc", line: Size | None = None
    ) -> tuple[Size, Traced] | None:
        """The earth conductor for the largest device it must clear, in `series`; None where the profile has no
        table for this current. `line` is the circuit's own conductor, which some tables go by. OutsideTable
        above the table."""
        return ampacity.earth_size(self, device_a, series, current, line)

    # Devices and sources ---------------------------------------------------------------------------------

    def family(self, name: str) -> fuses.Family:
        """A family of devices with the ratings that hold under this profile (breakers differ) and on the shelf."""
        made = fuses.family(name, self.sheet["breaker"])
        kept = dict(self.shelf).get(name)
        return fuses.on_shelf(made, kept) if kept is not None else made

    def fuse_order(self, array: bool = False) -> tuple[str, ...]:
        """The families of fuses in the order in which one is taken where the plate names none; those of an `array`."""
        order = self.sheet["fuses"]["array" if array else "order"].split()
        shelf = [name for name, _ in self.shelf if name != "breaker" and (name in order or not array)]
        return tuple(dict.fromkeys((*shelf, *order)))

    @property
    def never_in_array(self) -> tuple[str, ...]:
        """The families of fuses that never serve an array."""
        return tuple(self.sheet["fuses"]["never_in_array"].split())

    def published(self, source: str, status: str) -> PublishedSource:
        """The publication that a source line names, with the clause and without the row or the words behind it, so
        that the rows of one table are one source; `status` is carried on. What names no document is practice."""
        clause = re.split(r"[,;:] ", source, maxsplit=1)[0]
        for beginning, document in self.sheet["publications"].items():
            if source.startswith(beginning):
                return PublishedSource(document["title"], document["edition"], clause, status)
        return PublishedSource("Practice of the trade, no published source", "", clause, status)


@cache
def profile(name: str) -> Profile:
    """The rule profile called `name` of the folders that are known; KeyError where there is none, IncompleteProfile
    where its file cannot be used."""
    path = file_of(f"profiles/{name}.toml")
    if path is None:
        raise KeyError(name)
    return profile_from(path)


@lru_cache(maxsize=64)
def with_shelf(rules: Profile, shelf: tuple[tuple[str, tuple[float, ...]], ...]) -> Profile:
    """The rules as they are applied where these devices are on the shelf."""
    return replace(rules, shelf=shelf) if shelf else rules


@lru_cache(maxsize=64)
def with_terminals(rules: Profile, celsius: float | None) -> Profile:
    """The rules as they are applied where equipment is listed for terminals of this temperature; as they are where the
    plate does not say, and where they limit conductors by no terminals."""
    rule = rules.sheet.get("terminals")
    if celsius is None or not rule:
        return rules
    stated = {"small_c": celsius, "large_c": celsius, "source": f"NEC 110.14(C), equipment listed for {celsius:g} °C"}
    return replace(rules, sheet={**rules.sheet, "terminals": {**rule, **stated}})


def profile_from(path: Traversable) -> Profile:
    """The rule profile in a file, by the name of the file; IncompleteProfile where it cannot be used."""
    sheet, name = read_sheet(path), path.name.removesuffix(".toml")
    return Profile(
        name, sheet["title"], sheet["edition"], sheet["counting"], tuple(sheet["readings"]), sheet["clauses"],
        {key: _traced(key, entry) for key, entry in sheet["constants"].items()}, sheet,
    )  # fmt: skip


def _traced(name: str, entry: Mapping[str, Any]) -> Traced:
    known = FIGURES.get(name)
    return Traced(
        float(entry["value"]), entry.get("unit", known.unit if known else ""),
        entry.get("quantity", known.quantity if known else ""), entry.get("formula", ""), (),
        entry["source"], entry["status"],
    )  # fmt: skip


@cache
def _sizes(chosen: Profile, series: str) -> tuple[Size, ...]:
    stocked = chosen.sheet.get("ladder", {}).get(series, "").split()
    return tuple(
        size
        for size in series_sizes(series)
        if (not stocked or size.number in stocked) and ampacity.row_of(chosen, size) is not None
    )
