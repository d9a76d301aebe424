"""What a reader hears of far ends: too slow, too hot, not proven."""

from __future__ import annotations

import math
from collections.abc import Mapping

from copperplate.findings import Finding, Measure, Related, finding
from copperplate.protection.opening import OPENS_WITHIN_S, Opening
from copperplate.protection.situation import Situation
from copperplate.standards import adiabatic_k, conductors, fuses
from copperplate.units import enough, exceeds, number, suffices

MANY_TIMES = {"fuse": 6.0, "breaker": 10.0}
"""From these shares of the rating a device without a published curve is only listed. Fuses: every curve that is
shipped (ISO 8820-3 types C, E, F) opens within 1 s at 600 %. Breakers: the top of the instantaneous band of type C,
IEC 60898-1. Neither proves another maker's device."""


LIMITED = " and no more, whatever the fault"
"""What is said of a far end behind a source that limits its own current."""


def check_opening(situation: Situation, found: Mapping[str, Opening]) -> list[Finding]:
    """Far ends that do not open their device in time, or only after the conductor is damaged, and what no published
    curve proves: one line for all devices whose far-end current is many times their rating."""
    result: list[Finding] = []
    silent: list[str] = []
    for device, opening in found.items():
        rating_a = situation.rating_a[device] or 0.0
        far = situation.far[device].current.value
        many = MANY_TIMES[situation.system.devices[device].kind] * rating_a
        if opening.verdict == "not proven" and far >= many:
            silent.append(device)
        elif opening.verdict == "not proven":
            result.append(_small(situation, device, far, rating_a, many))
        elif opening.verdict == "does not open":
            result.append(_slow(situation, device, opening, far, rating_a))
        elif _overheats(opening) and not exceeds(rating_a, situation.ampacity_a(opening.weakest) or 0.0):
            # Where the rating is above what the conductor carries, that is the cause and has its finding.
            result.append(_hot(situation, device, opening, far))
    return [*result, _silent(situation, silent)] if silent else result


def _overheats(opening: Opening) -> bool:
    return opening.i2t is not None and opening.k2s2 is not None and exceeds(opening.i2t, opening.k2s2)


def _where(situation: Situation, device: str) -> tuple[str, tuple[Related, ...], str]:
    """(the far end as readers write it, the run's mark, how its current comes about)."""
    system, far = situation.system, situation.far[device]
    run = system.runs[system.conductors[far.conductor].run]
    end = system.nodes[far.node].part or run.to_end
    limit = next((f"{what} {number(float(value))} A" for what, value, unit in far.current.inputs if unit == "A"), "")
    ohms = [float(value) for what, value, unit in far.current.inputs if unit == "mohm"]
    volts = next(float(value) for what, value, unit in far.current.inputs if unit == "V")
    note = f"{number(volts)} V through {number(sum(ohms))} mohm: battery and hot copper, out and back"
    if limit:
        note = f"{limit}{LIMITED}"
    return end, (Related(run.span, f"the far end is `{end}`"),), note


def _times(far: float, rating_a: float) -> str:
    return f"{number(far / rating_a, 2)} times its rating" if rating_a else "its rating"


def _slow(situation: Situation, device: str, opening: Opening, far: float, rating_a: float) -> Finding:
    end, related, note = _where(situation, device)
    rating = situation.ratings[device]
    family = situation.profile.family(rating.family)
    when = "need not open it" if math.isinf(opening.seconds or 0.0) else f"may take {number(opening.seconds or 0.0)} s"
    smaller = [
        r
        for r in family.ratings_a
        if suffices(r, rating.needs_a.value)
        and r < rating_a
        and (fuses.slow_gate(family, r, far) or math.inf) <= OPENS_WITHIN_S
    ]
    help = f"{number(smaller[-1])} A, which opens in time" if smaller else "a larger conductor: more current at its end"
    if not smaller and note.endswith(LIMITED):
        # No copper makes a source that limits itself give more.
        carried = bool(opening.weakest) and (situation.ampacity_a(opening.weakest) or 0.0) >= far
        help = f"conductors that carry {enough(far)} A for ever, which is all that can come"
        help = (
            f"accept it: its conductors carry {number(far)} A for ever, which is all that can come" if carried else help
        )
    return finding(
        "CP412",
        device,
        f"a short at `{end}` makes {number(far)} A, {_times(far, rating_a)}, and {when}",
        situation.system.devices[device].span,
        label=f"{family.title}, {number(rating_a)} A",
        notes=(note, f"{number(OPENS_WITHIN_S)} s is allowed: IEC 60364-4-41 411.3.2.3"),
        help=help,
        related=related,
        measure=Measure("never" if math.isinf(opening.seconds or 0.0) else opening.seconds or 0.0, OPENS_WITHIN_S, "s"),
        rule="IEC 60364-4-41 411.3.2.3, from memory",
    )


def _hot(situation: Situation, device: str, opening: Opening, far: float) -> Finding:
    end, related, note = _where(situation, device)
    run = situation.runs[situation.system.conductors[opening.weakest].run]
    least = math.sqrt(opening.i2t or 0.0) / adiabatic_k(run.insulation_c).value / run.parallel
    sizes = situation.profile.sizes(situation.system.settings.conductors)
    larger = next((size for size in sizes if conductors.area_mm2(size) >= least), None)
    return finding(
        "CP414",
        device,
        f"a short at `{end}` lets {number(opening.i2t or 0.0)} A²s pass before `{device}` opens, and `{run.run}` "
        f"stands {number(opening.k2s2 or 0.0)} A²s",
        situation.system.devices[device].span,
        label=f"{number(far)} A at the far end",
        notes=(note,),
        help=f"{larger.label} stands it, or a smaller rating"
        if larger
        else "a smaller rating, or conductors in parallel",
        related=related,
        measure=Measure(opening.i2t or 0.0, opening.k2s2 or 0.0, "A²s"),
        rule="IEC 60364-4-43 434.5.2",
    )


def _small(situation: Situation, device: str, far: float, rating_a: float, many: float) -> Finding:
    end, related, note = _where(situation, device)
    family = situation.profile.family(situation.ratings[device].family)
    return finding(
        "CP417",
        device,
        f"a short at `{end}` makes {number(far)} A, {_times(far, rating_a)}; "
        f"no curve of a {family.title} proves that it opens",
        situation.system.devices[device].span,
        label=f"{family.title}, {number(rating_a)} A",
        notes=(note,),
        help=f"read the maker's curve at {number(far)} A: {number(OPENS_WITHIN_S)} s or less",
        related=related,
        measure=Measure(far, many, "A"),
        rule="IEC 60364-4-41 411.3.2.3, from memory",
    )


def _silent(situation: Situation, devices: list[str]) -> Finding:
    """One line for all the devices that no published curve tells of."""

    def far(device: str) -> float:
        return situation.far[device].current.value

    def times(device: str) -> float:
        return far(device) / (situation.rating_a[device] or 1.0)

    least = min(devices, key=times)
    who = f"`{devices[0]}` opens" if len(devices) == 1 else f"{len(devices)} devices open"
    whose = "its rating" if len(devices) == 1 else "their ratings"
    titles = dict.fromkeys(situation.profile.family(situation.ratings[d].family).title for d in devices)
    return finding(
        "CP418",
        devices[0],
        f"no published curve proves how soon {who} at a short at the far end, which is {number(times(least), 2)} times "
        f"{whose} or more",
        situation.system.devices[devices[0]].span,
        label=", ".join(titles),
        notes=tuple(f"`{d}`: {number(far(d))} A, {number(times(d), 2)} times its rating" for d in devices),
        help=f"read the makers' curves: {number(OPENS_WITHIN_S)} s or less at these currents",
        rule="IEC 60364-4-41 411.3.2.3, from memory",
    )
