"""Whether shorts and earth faults far from an AC supply open a device in time."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from copperplate.faults import End, Supply
from copperplate.findings import Finding, make
from copperplate.model import Assumption, Inverter, Shore
from copperplate.protection.disconnection import Verdict, tells
from copperplate.protection.study import ProtectionStudy
from copperplate.standards import fuses
from copperplate.units import number, show


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


def ac_openings(study: ProtectionStudy) -> dict[str, tuple[AcOpening, ...]]:
    """Verdicts by device, one for each supply that reaches it."""
    result: dict[str, tuple[AcOpening, ...]] = {}
    lasting = study.profile.figures["disconnection"].value
    residual_times = fuses.at_once("residual").times
    for (device, supply), end in study.ac_ends.items():
        if device not in study.ratings or not study.rating_a.get(device):
            continue
        allowed = _allowed_s(study, end, study.supplies[supply])
        short, seconds = _opens(study, device, end.short.value, lasting)
        earth, _ = _opens(study, device, end.earth.value, allowed)
        if _unmeasured(study, supply):
            # A loop inferred from the largest current is the least that it can be: it proves no opening.
            short, seconds = ("not proven", None) if short == "opens" else (short, seconds)
            earth = "not proven" if earth == "opens" else earth
        if end.residual_a is not None and end.earth.value >= residual_times * end.residual_a:
            earth = "opens"
        result[device] = (*result.get(device, ()), AcOpening(end, short, seconds, earth, allowed))
    return result


def _unmeasured(study: ProtectionStudy, supply: str) -> bool:
    """Whether a shore supply tells nothing of the loop outside."""
    part = study.system.parts[supply]
    return isinstance(part, Shore) and part.earth_loop_ohm is None


def _allowed_s(study: ProtectionStudy, end: End, supply: Supply) -> float:
    """The time of final circuits where a load hangs on the far end; that of distribution circuits elsewhere."""
    part = study.system.parts.get(study.system.nodes[end.node].part)
    if part is None or not part.roles.consumes or part.roles.mains:
        return study.profile.figures["disconnection"].value
    return study.profile.disconnection(supply.volts).value


def _opens(study: ProtectionStudy, device: str, amperes: float, allowed_s: float) -> tuple[Verdict, float | None]:
    rating_a = study.rating_a[device] or 0.0
    if not study.system.devices[device].roles.melts:
        at_once = fuses.at_once("breaker", study.system.devices[device].curve)
        if at_once.seconds is not None and amperes >= at_once.times * rating_a:
            return "opens", at_once.seconds
        return "not proven", None
    family = study.profile.family(study.ratings[device].family)
    seconds = fuses.slow_gate(family, rating_a, amperes)
    if seconds is None or not tells(family, rating_a, study.profile.figures["disconnection"].value):
        return "not proven", None
    return ("opens" if seconds <= allowed_s else "does not open"), seconds


def check_ac_opening(study: ProtectionStudy, opened: Mapping[str, tuple[AcOpening, ...]]) -> list[Finding]:
    """One finding of each sort for each supply. Where nothing is known of the supply its own finding says so."""
    found: list[Finding] = []
    for supply in study.supplies.values():
        if supply.guessed:
            continue
        behind = {d: m for d, each in opened.items() for m in each if m.end.supply == supply.part}
        earth = [d for d, m in behind.items() if m.earth != "opens"]
        shorts = [d for d, m in behind.items() if m.short != "opens"]
        small = [d for d in shorts if supply.outside and _times(study, behind[d], d) < _multiple(study, d)]
        if earth:
            found.append(_earth(study, supply, earth, behind))
        if small:
            found.append(_small(study, supply, small, behind))
        rest = [d for d in shorts if d not in small]
        if rest:
            found.append(_ask(study, supply, rest, behind))
    return found


def ac_assumptions(study: ProtectionStudy) -> list[Assumption]:
    """What is taken for AC faults, supply by supply, and how they are reckoned."""
    if not study.ac_largest:
        return []
    figures = study.profile.figures
    highest, lowest = (figures[f"fault-voltage-{end}"].value for end in ("highest", "lowest"))
    text = (
        "AC faults: one supply at a time; the neutral, the other line and the protective earth lie beside the line and "
        f"are of its size; the largest at {number(highest)} times the voltage with copper at "
        f"{show(figures['fault-copper'].value, 'degC')}, the smallest at {number(lowest)} times with copper as hot as "
        "its insulation allows; what breakers let through is not judged"
    )
    found = [Assumption("system", text, figures["fault-voltage-highest"].cited)]
    for supply in study.supplies.values():
        text = f"gives {number(supply.most_a)} A into a short at its AC terminals at most ({supply.how})"
        if isinstance(study.system.parts[supply.part], Inverter) and supply.split:
            whole = "all of its power is taken to be had on either of its two lines alone"
            found.append(Assumption(supply.part, whole, "the makers tell; the smaller source capacity is not judged"))
        if not supply.outside:
            text += f", and {number(supply.lasting_a)} A for long"
        elif _unmeasured(study, supply.part):
            text += f"; {number(supply.loop_ohm)} ohm are taken for the loop outside, line to neutral or to earth"
        found.append(Assumption(supply.part, text, "common practice, no source"))
    return found


def _multiple(study: ProtectionStudy, device: str) -> float:
    return fuses.at_once("breaker", study.system.devices[device].curve).times


def _times(study: ProtectionStudy, opening: AcOpening, device: str) -> float:
    return opening.end.short.value / (study.rating_a[device] or 1.0)


def _at(study: ProtectionStudy, end: End) -> str:
    """The far end as readers write it."""
    run = study.system.runs[study.system.conductors[end.conductor].run]
    return study.system.nodes[end.node].part or run.to_end


def _shorts(study: ProtectionStudy, devices: list[str], behind: Mapping[str, AcOpening]) -> list[dict[str, object]]:
    return [
        {
            "device": device,
            "current": behind[device].end.short.value,
            "end": _at(study, behind[device].end),
            "times": _times(study, behind[device], device),
        }
        for device in devices
    ]


def _earth(study: ProtectionStudy, supply: Supply, devices: list[str], behind: Mapping[str, AcOpening]) -> Finding:
    rating_a = {d: study.rating_a[d] or 1.0 for d in devices}
    least = min(devices, key=lambda d: behind[d].end.earth.value / rating_a[d])
    faults = [
        {
            "device": device,
            "rating": rating_a[device],
            "end": _at(study, behind[device].end),
            "current": behind[device].end.earth.value,
            "allowed": behind[device].allowed_s,
        }
        for device in devices
    ]
    return make(
        "CP716",
        least,
        study.system.devices[least].span,
        source=supply.part,
        devices=devices,
        faults=faults,
        current=behind[least].end.earth.value,
        needed=_multiple(study, least) * rating_a[least],
        residual=study.profile.figures["residual"].value,
        rule=study.profile.clauses["earth-fault"],
    )


def _small(study: ProtectionStudy, supply: Supply, devices: list[str], behind: Mapping[str, AcOpening]) -> Finding:
    shorts = _shorts(study, devices, behind)
    least = min(devices, key=lambda d: _times(study, behind[d], d))
    device, rating_a, many = (
        study.system.devices[least],
        study.rating_a[least] or 0,
        _multiple(study, least),
    )
    return make(
        "CP717",
        least,
        device.span,
        end=_at(study, behind[least].end),
        current=behind[least].end.short.value,
        times=_times(study, behind[least], least),
        rating=rating_a,
        curve=device.curve.upper() or None,
        many=many,
        needed=many * rating_a,
        shorts=shorts,
        unmeasured=_unmeasured(study, supply.part),
        earliest=fuses.at_once("breaker", "b").times,
        rule=study.profile.clauses["short"],
    )


def _ask(study: ProtectionStudy, supply: Supply, devices: list[str], behind: Mapping[str, AcOpening]) -> Finding:
    protective = [study.system.devices[d] for d in devices]
    subject = protective[0] if supply.outside else study.system.parts[supply.part]
    unmeasured = _unmeasured(study, supply.part)
    return make(
        "CP718",
        subject.id,
        subject.span,
        source=supply.part,
        devices=devices,
        shorts=_shorts(study, devices, behind),
        most=max(behind[d].end.short.value for d in devices),
        lasting=None if supply.outside else supply.lasting_a,
        unmeasured=unmeasured,
        uncurved=unmeasured and not all(device.curve for device in protective),
        fuses=all(device.roles.melts for device in protective),
        rule=study.profile.clauses["short"],
    )
