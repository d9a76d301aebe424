"""Families of fuses and breakers: standard ratings, breaking capacity, voltage, time-current gates.

A gate is a published point: at this share of the rating the device opens not before `min_s` and not after
`max_s`. Between points nothing is interpolated: the slow reading takes the gate below, the fast one the gate above.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import NamedTuple

from copperplate.model import Traced
from copperplate.standards.tables import table
from copperplate.units import exceeds, suffices


@dataclass(frozen=True, slots=True)
class Gate:
    """One point of a time-current curve, for ratings from `rating_min_a` to `rating_max_a`. `share` is current
    over rating; None where the standard sets no time."""

    rating_min_a: float
    rating_max_a: float
    share: float
    min_s: float | None
    max_s: float | None
    status: str


@dataclass(frozen=True, slots=True)
class Family:
    """A family of devices. `interrupting_a`, `voltage_v` (DC): None where only the maker can tell;
    `coloured`: its ratings have colours; `limits`: it cuts a large fault current off
    below its peak; `found_from_a`, `found_to_a`: between which ratings a buyer finds it."""

    id: str
    title: str
    standard: str
    ratings_a: tuple[float, ...]
    interrupting_a: float | None
    voltage_v: float | None
    coloured: bool
    limits: bool
    found_from_a: float
    found_to_a: float
    status: str
    ratings_status: str
    remark: str
    gates: tuple[Gate, ...]


@cache
def family(name: str, standard: str = "") -> Family:
    """The family called `name` in a plate; of one that several standards rate (breakers), the row of `standard`, else
    the first. KeyError for an unknown name."""
    rows = [r for r in table("fuses/families").records if r["family"] == name]
    if not rows:
        raise KeyError(name)
    row = next((r for r in rows if r["standard"] == standard), rows[0])
    return Family(
        name,
        row["title"],
        row["standard"],
        tuple(float(a) for a in row["ratings_a"].split()),
        float(row["interrupting_a"]) if row["interrupting_a"] else None,
        float(row["voltage_v"]) if row["voltage_v"] else None,
        row["coloured"] == "yes",
        row["limits"] == "yes",
        float(row["found_from_a"] or 0.0),
        float(row["found_to_a"] or "inf"),
        row["status"],
        row["status_ratings"],
        row["remark"],
        _gates(name),
    )


def on_shelf(of: Family, ratings_a: tuple[float, ...]) -> Family:
    """A family as it is on the shelf, in these ratings, in all that are made where none is named: a buyer has them."""
    return replace(of, ratings_a=tuple(sorted(ratings_a)) or of.ratings_a, found_from_a=0.0, found_to_a=math.inf)


@cache
def _gates(name: str) -> tuple[Gate, ...]:
    return tuple(
        Gate(
            float(r["rating_min_a"]),
            float(r["rating_max_a"]),
            float(r["percent_of_rating"]) / 100,
            float(r["min_s"]) if r["min_s"] else None,
            float(r["max_s"]) if r["max_s"] else None,
            r["status"],
        )
        for r in table("fuses/gates").records
        if r["family"] == name
    )


@cache
def in_air(name: str, air_c: float) -> Traced | None:
    """The share of its rating that a device of the family carries for ever in air of `air_c`, on the line between the
    two listed airs beside it; 1 below the first. None above the last."""
    rows = [r for r in table("fuses/ambient").records if name in r["families"].split()]
    points = [(float(row["air_c"]), float(row["share"])) for row in rows]
    for row, (low_c, more), (high_c, less) in zip(rows[1:], points, points[1:], strict=False):
        if air_c <= high_c:
            share = min(1.0, more - (more - less) * (air_c - low_c) / (high_c - low_c))
            inputs = (("air", air_c, "degC"),)
            return Traced(share, "", "share in hot air", "between listed airs", inputs, row["source"], row["status"])
    return None


def blade_colour(name: str, rating_a: float) -> str:
    """The colour of a blade fuse of this rating, "" for another family or rating."""
    rows = table("fuses/blade-colours").records if family(name).coloured else ()
    return next((row["colour"] for row in rows if float(row["rating_a"]) == rating_a), "")


class AtOnce(NamedTuple):
    """From which multiple of its rating a device opens at once, and within which time; None where nothing proves it.
    `holds`: up to which multiple it stays closed for that time."""

    times: float
    seconds: float | None
    holds: float | None = None


@cache
def at_once(kind: str, curve: str | None = None) -> AtOnce:
    """That of a "breaker" of `curve`, else of one that states none, of a "fuse", or of a "residual"-current device by
    its residual operating current. KeyError for another kind or curve."""
    for row in table("fuses/at-once").records:
        if (row["kind"], row["curve"]) == (kind, curve or ""):
            seconds, holds = (float(row[key]) if row[key] else None for key in ("seconds", "holds_times"))
            return AtOnce(float(row["times"]), seconds, holds)
    raise KeyError((kind, curve))


def next_rating(of: Family | str, amperes: float) -> float | None:
    """The smallest standard rating that is not below `amperes`; None above the largest. The last 0.01 % is
    forgiven, so that a sum of loads that makes 10 A does not ask for more because of rounding."""
    ratings = (family(of) if isinstance(of, str) else of).ratings_a
    return next((rating for rating in ratings if suffices(rating, amperes)), None)


def slow_gate(of: Family | str, rating_a: float, amperes: float) -> float | None:
    """Seconds within which a device of this rating has opened at `amperes`: the published maximum of the gate at
    or below this current. `math.inf` where the current is below every gate that ends, so that it need not open
    at all; None where no curve of the family is shipped for this rating."""
    gates = _of_rating(of, rating_a)
    if not gates:
        return None
    reached = [g.max_s for g in gates if g.max_s is not None and not exceeds(g.share * rating_a, amperes)]
    return min(reached, default=math.inf)


def fast_gate(of: Family | str, rating_a: float, amperes: float) -> float | None:
    """Seconds for which a device of this rating surely carries `amperes`: the published minimum of the gate at
    or above this current, 0.0 above the last gate; None where no curve is shipped for this rating."""
    gates = _of_rating(of, rating_a)
    if not gates:
        return None
    held = [g.min_s for g in gates if g.min_s is not None and suffices(g.share * rating_a, amperes)]
    return max(held, default=0.0)


def stays_closed(of: Family, rating_a: float, amperes: float, lasts_s: float, curve: str = "") -> bool | None:
    """Whether a device of this rating surely carries `amperes` for `lasts_s`; None where no curve of its family, and no
    `curve` of a breaker, tells."""
    if amperes <= rating_a:
        return True
    if of.id == "breaker":
        band = at_once("breaker", curve)
        if band.holds is None or band.seconds is None:
            return None
        if amperes > band.holds * rating_a * 1.0001:
            return False
        return True if lasts_s <= band.seconds else None
    gate = fast_gate(of, rating_a, amperes)
    return None if gate is None else gate >= lasts_s


def _of_rating(of: Family | str, rating_a: float) -> tuple[Gate, ...]:
    chosen = family(of) if isinstance(of, str) else of
    return tuple(g for g in chosen.gates if g.rating_min_a <= rating_a <= g.rating_max_a)


MUCH_LARGER = 1.2
"""The least rating that a buyer finds of a family is not taken for a current so many times smaller: it would ask for
thicker conductors than the load does."""


def default_family(
    kind: str,
    needs_a: float,
    highest_v: float,
    fault_a: float,
    families: Sequence[Family],
    stated: bool = False,
) -> str:
    """The family taken where the plate names none; the choice is an assumption that the report lists.

    A breaker is a "breaker". A fuse is the first of the `families` that is found in the rating (`needs_a` itself
    where that is `stated`, else the next one made), is for the highest voltage of the circuit, charging included, and
    breaks `fault_a`; then a rating that a buyer rarely finds, a blade of 35 A or a stated class T of 1 A, say. Where
    nothing breaks the fault, the first that carries and is for the voltage, and where nothing is, the last: the checks
    then say what it lacks.
    """
    if kind == "breaker":
        return "breaker"

    def serves(candidate: Family, odd: bool, breaking: bool) -> bool:
        rating = needs_a if stated and needs_a in candidate.ratings_a else next_rating(candidate, needs_a)
        rare = odd and stated
        if rating is None or (stated and rating != needs_a) or (rating < candidate.found_from_a and not rare):
            return False
        if rating > needs_a * MUCH_LARGER and rating == candidate.found_from_a:
            return False
        voltage = (candidate.voltage_v or 0.0) >= highest_v
        breaks = not breaking or (candidate.interrupting_a or 0.0) >= fault_a
        return voltage and breaks and (odd or rating <= candidate.found_to_a)

    for odd, breaking in ((False, True), (True, True), (False, False), (True, False)):
        for candidate in families:
            if serves(candidate, odd, breaking):
                return candidate.id
    return families[-1].id
