"""Whether shorts and earth faults far from an AC supply open a device in time."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from copperplate.findings import Finding, Measure, finding
from copperplate.model import Assumption
from copperplate.protection.ac_faults import End, Supply
from copperplate.protection.opening import OPENS_WITHIN_S, Verdict, tells
from copperplate.protection.situation import Situation
from copperplate.standards import fuses
from copperplate.units import number

MAGNETIC = {"b": 5.0, "c": 10.0, "d": 20.0}
"""Multiples of the rating at which a breaker opens at once for certain: IEC 60898-1 Table 7 (from memory)."""
AT_ONCE_S = 0.1
"""And within which time: IEC 60898-1 Table 7 (from memory), less than 0.1 s."""
RESIDUAL_TIMES, RESIDUAL_S = 5.0, 0.04
"""A residual-current device opens within 0.04 s at five times its operating current: IEC 61008-1 Table 1 (from
memory)."""
TOUCH_S = ((120.0, 0.8), (230.0, 0.4), (400.0, 0.2))
"""Longest times for final circuits by the voltage to earth: IEC 60364-4-41 Table 41.1, TN (from memory)."""
USUAL = 10.0
"""Below this multiple a breaker of no stated curve is told of as a warning: the top of type C."""
RULE = "IEC 60364-4-41 411.3.2, with figures of IEC 60898-1, IEC 61008-1 and IEC 60909-0, from memory"


@dataclass(frozen=True, slots=True)
class AcOpening:
    """What the far-end faults of one supply do to one device. `seconds` to open at the short, None where nothing
    tells; `allowed_s` what an earth fault may last."""

    end: End
    short: Verdict
    seconds: float | None
    earth: Verdict
    allowed_s: float


def worst(verdicts: list[Verdict]) -> Verdict:
    """The least favourable of several verdicts; "" of none."""
    return next((v for v in ("does not open", "not proven", "opens") if v in verdicts), "")


def ac_openings(situation: Situation) -> dict[str, tuple[AcOpening, ...]]:
    """Verdicts by device, one for each supply that reaches it."""
    result: dict[str, tuple[AcOpening, ...]] = {}
    for (device, supply), end in situation.ac_ends.items():
        if device not in situation.ratings or not situation.rating_a.get(device):
            continue
        allowed = _allowed_s(situation, end, situation.supplies[supply])
        # A loop inferred from the largest current is the least that it can be: it proves no opening.
        part = situation.system.parts[supply]
        sure = part.kind != "shore" or part.get("earth_loop_ohm") is not None
        short, seconds = _opens(situation, device, end.short.value, OPENS_WITHIN_S)
        earth, _ = _opens(situation, device, end.earth.value, allowed)
        if not sure:
            short, seconds = ("not proven", None) if short == "opens" else (short, seconds)
            earth = "not proven" if earth == "opens" else earth
        if end.residual_a is not None and end.earth.value >= RESIDUAL_TIMES * end.residual_a:
            earth = "opens"
        result[device] = (*result.get(device, ()), AcOpening(end, short, seconds, earth, allowed))
    return result


def _allowed_s(situation: Situation, end: End, supply: Supply) -> float:
    """The time of final circuits where a load hangs on the far end; that of distribution circuits elsewhere."""
    part = situation.system.parts.get(situation.system.nodes[end.node].part)
    if part is None or part.kind not in ("load", "charger"):
        return OPENS_WITHIN_S
    return next((seconds for volts, seconds in TOUCH_S if supply.volts <= volts * 1.05), TOUCH_S[-1][1])


def _opens(situation: Situation, device: str, amperes: float, allowed_s: float) -> tuple[Verdict, float | None]:
    one, rating_a = situation.system.devices[device], situation.rating_a[device] or 0.0
    if one.kind == "breaker":
        if one.curve and amperes >= MAGNETIC[one.curve] * rating_a:
            return "opens", AT_ONCE_S
        return "not proven", None
    family = situation.profile.family(situation.ratings[device].family)
    seconds = fuses.slow_gate(family, rating_a, amperes)
    if seconds is None or not tells(family, rating_a):
        return "not proven", None
    return ("opens" if seconds <= allowed_s else "does not open"), seconds


def check_ac_opening(situation: Situation, opened: Mapping[str, tuple[AcOpening, ...]]) -> list[Finding]:
    """One finding of each sort for each supply. Where nothing is known of the supply its own finding says so."""
    found: list[Finding] = []
    for supply in situation.supplies.values():
        if supply.guessed:
            continue
        behind = {d: m for d, each in opened.items() for m in each if m.end.supply == supply.part}
        lasting = supply.kind != "shore"
        earth = [d for d, m in behind.items() if m.earth != "opens"]
        shorts = [d for d, m in behind.items() if m.short != "opens"]
        small = [d for d in shorts if not lasting and _times(situation, behind[d], d) < _multiple(situation, d)]
        if earth:
            found.append(_earth(situation, supply, earth, behind))
        if small:
            found.append(_small(situation, supply, small, behind))
        rest = [d for d in shorts if d not in small]
        if rest:
            found.append(_ask(situation, supply, rest, behind))
    return found


def ac_assumptions(situation: Situation) -> list[Assumption]:
    """What is taken for AC faults, supply by supply, and how they are reckoned."""
    if not situation.ac_largest:
        return []
    found = [
        Assumption(
            "system",
            "AC faults: one supply at a time; the neutral, the other line and the protective earth lie beside the line "
            "and are of its size; the largest at 1.1 times the voltage with copper at 20 °C, the smallest at 0.9 times "
            "with copper as hot as its insulation allows; what breakers let through is not judged",
            "IEC 60909-0:2016 Table 1, IEC 60364-4-41, from memory",
        )
    ]
    for supply in situation.supplies.values():
        text = f"gives {number(supply.most_a)} A into a short at its AC terminals at most ({supply.how})"
        if supply.kind == "inverter" and supply.split:
            whole = "all of its power is taken to be had on either of its two lines alone"
            found.append(Assumption(supply.part, whole, "the makers tell; the smaller source capacity is not judged"))
        if supply.kind != "shore":
            text += f", and {number(supply.lasting_a)} A for long"
        elif not situation.system.parts[supply.part].get("earth_loop_ohm"):
            text += f"; {number(supply.loop_ohm)} ohm are taken for the loop outside, line to neutral or to earth"
        found.append(Assumption(supply.part, text, "common practice, no source"))
    return found


def _multiple(situation: Situation, device: str) -> float:
    return MAGNETIC.get(situation.system.devices[device].curve, USUAL)


def _times(situation: Situation, opening: AcOpening, device: str) -> float:
    return opening.end.short.value / (situation.rating_a[device] or 1.0)


def _at(situation: Situation, end: End) -> str:
    """The far end as readers write it."""
    run = situation.system.runs[situation.system.conductors[end.conductor].run]
    return situation.system.nodes[end.node].part or run.to_end


def _who(devices: list[str]) -> str:
    return f"`{devices[0]}`" if len(devices) == 1 else f"{len(devices)} devices"


def _listed(lines: list[str]) -> tuple[str, ...]:
    return (*lines[:8], f"and {len(lines) - 8} more") if len(lines) > 8 else tuple(lines)


def _earth(situation: Situation, supply: Supply, devices: list[str], behind: Mapping[str, AcOpening]) -> Finding:
    def line(device: str) -> str:
        m = behind[device]
        amperes, rating_a = m.end.earth.value, situation.rating_a[device] or 1.0
        return (
            f"`{device}`, {number(rating_a)} A: an earth fault at `{_at(situation, m.end)}` makes {number(amperes)} A, "
            f"and {number(m.allowed_s)} s is allowed"
        )

    least = min(devices, key=lambda d: behind[d].end.earth.value / (situation.rating_a[d] or 1.0))
    return finding(
        "CP716",
        least,
        f"supplied by `{supply.part}`, an earth fault is not proven to open {_who(devices)} in time",
        situation.system.devices[least].span,
        label="no residual-current device on the way",
        notes=_listed([line(d) for d in devices]),
        help="`residual 30 mA` on it, or on the main device: it opens at a fraction of that current",
        measure=Measure(
            behind[least].end.earth.value, _multiple(situation, least) * (situation.rating_a[least] or 0), "A"
        ),
        rule=RULE,
    )


def _small(situation: Situation, supply: Supply, devices: list[str], behind: Mapping[str, AcOpening]) -> Finding:
    def line(device: str) -> str:
        end = behind[device].end
        times = number(_times(situation, behind[device], device), 2)
        return f"`{device}`: {number(end.short.value)} A at `{_at(situation, end)}`, {times} times its rating"

    least = min(devices, key=lambda d: _times(situation, behind[d], d))
    amperes, many = behind[least].end.short.value, _multiple(situation, least)
    curve = situation.system.devices[least].curve
    type_ = f"of type {curve.upper()}" if curve else "of the usual type C"
    outside = "" if situation.system.parts[supply.part].get("earth_loop_ohm") else "; `earth-loop`, if it is measured"
    return finding(
        "CP717",
        least,
        f"a short at `{_at(situation, behind[least].end)}` makes {number(amperes)} A, "
        f"{number(_times(situation, behind[least], least), 2)} times the rating of `{least}`",
        situation.system.devices[least].span,
        label=f"{number(situation.rating_a[least] or 0)} A",
        notes=(
            f"a breaker {type_} opens at once from {number(many)} times its rating",
            *_listed([line(d) for d in devices]),
        ),
        help=f"a larger conductor, a smaller rating, or a breaker of `curve b` (5 times){outside}",
        measure=Measure(amperes, many * (situation.rating_a[least] or 0), "A"),
        rule="IEC 60364-4-43 434.5.2, from memory",
    )


def _ask(situation: Situation, supply: Supply, devices: list[str], behind: Mapping[str, AcOpening]) -> Finding:
    first = situation.system.devices[devices[0]]
    gives = number(max(behind[d].end.short.value for d in devices))
    if supply.kind == "shore":
        message = f"no curve proves how soon a short of `{supply.part}` opens {_who(devices)}"
        help_ = "`curve c` (or b, d), where the breaker is one by IEC 60898-1; else the maker's curve at these currents"
        if all(situation.system.devices[d].kind == "fuse" for d in devices):
            help_ = "the maker's curve at these currents"
        if situation.system.parts[supply.part].get("earth_loop_ohm") is None:
            message = f"nothing proves how soon a short of `{supply.part}` opens {_who(devices)}"
            curves = (
                ""
                if all(situation.system.devices[d].curve for d in devices)
                else ", and `curve c` (or b, d) on breakers"
            )
            help_ = f"`earth-loop` on `{supply.part}`, as an electrician measures it there: 0.4 ohm, say{curves}"
    else:
        message = f"`{supply.part}` gives {gives} A for long in a short, which is not proven to open {_who(devices)}"
        help_ = f"what `{supply.part}` does in a short, from its maker: it should shut down by itself"
    lines = [
        f"`{d}`: {number(behind[d].end.short.value)} A at `{_at(situation, behind[d].end)}`, "
        f"{number(_times(situation, behind[d], d), 2)} times its rating"
        for d in devices
    ]
    return finding(
        "CP718",
        supply.part if supply.kind != "shore" else first.id,
        message,
        situation.system.parts[supply.part].span if supply.kind != "shore" else first.span,
        label=f"{number(supply.lasting_a)} A for long" if supply.kind != "shore" else "not proven",
        notes=_listed(lines),
        help=help_,
        rule="IEC 60364-4-43 434.5.2, from memory",
    )
