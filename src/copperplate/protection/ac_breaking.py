"""Whether each AC device can break the largest fault current that reaches it."""

from __future__ import annotations

from copperplate.findings import Finding, Measure, finding
from copperplate.model import Device
from copperplate.protection.ac_faults import SHORE_A, Fault, Supply
from copperplate.protection.breaking import backed, kiloamperes, round_up
from copperplate.protection.situation import Situation
from copperplate.units import suffices

EVERY_BREAKER_A = 1500.0
"""The least that a breaker breaks by IEC 60898-1 (5.3.4.1, from memory): up to it one that states nothing will do."""
RULE = "common practice: a device breaks what can reach it; IEC 60909-0 and IEC 60898-1, from memory"


def check_ac_breaking(situation: Situation) -> list[Finding]:
    """An error for each device that breaks less than can reach it. What states no `breaks`, and a supply without
    `fault-current`, make one finding for each supply."""
    silent: dict[str, list[str]] = {}
    weak: dict[str, list[str]] = {}
    found: list[Finding] = []
    currents = {name: fault.current for name, fault in situation.ac_largest.items()}
    for name, fault in situation.ac_largest.items():
        if not situation.protective(name) or name not in situation.ratings:
            continue
        device, amperes = situation.system.devices[name], fault.current.value
        breaks = situation.ratings[name].interrupting_a
        known = fault.supply.stated or fault.supply.kind != "shore"
        if breaks is None:
            if amperes > EVERY_BREAKER_A and not backed(situation, device, currents):
                silent.setdefault(fault.supply.part, []).append(name)
        elif not suffices(breaks, amperes) and not backed(situation, device, currents):
            if known:
                found.append(_cannot(situation, device, fault, breaks))
            else:
                weak.setdefault(fault.supply.part, []).append(name)
    for part, supply in situation.supplies.items():
        if supply.kind == "shore" and not supply.stated:
            if "fault_current_a" not in situation.system.parts[part].unread:
                found.append(_unknown(situation, supply, silent.get(part, []), weak.get(part, [])))
        elif part in silent:
            found.append(_unstated(situation, supply, silent[part]))
    return found


def _list(situation: Situation, names: list[str]) -> tuple[str, ...]:
    """The devices with their currents, the largest first, ten at most."""
    largest = situation.ac_largest
    ranked = sorted(names, key=lambda n: -largest[n].current.value)
    shown = tuple(f"a short at `{n}`: {kiloamperes(largest[n].current.value)}" for n in ranked[:10])
    return (*shown, f"and {len(ranked) - 10} more") if len(ranked) > 10 else shown


def _cannot(situation: Situation, device: Device, fault: Fault, breaks: float) -> Finding:
    amperes = fault.current.value
    uppers = situation.upstream.get(device.id, ())
    behind = f", or `backed-by {uppers[0]}` if its maker states the combination" if uppers else ""
    return finding(
        "CP714",
        device.id,
        f"a short at `{device.id}` can reach {kiloamperes(amperes)}; it breaks {kiloamperes(breaks)}",
        device.span,
        label=f"breaks {kiloamperes(breaks)}",
        notes=(f"`{fault.supply.part}` gives {kiloamperes(fault.supply.most_a)} at its terminals: {fault.supply.how}",),
        help=f"a device that breaks {round_up(amperes)} or more, stated with `breaks`{behind}",
        measure=Measure(breaks, amperes, "A"),
        rule=RULE,
    )


def _unstated(situation: Situation, supply: Supply, names: list[str]) -> Finding:
    most = max(names, key=lambda n: situation.ac_largest[n].current.value)
    amperes = situation.ac_largest[most].current.value
    who = f"`{most}`" if len(names) == 1 else f"{len(names)} AC devices"
    verb = "states" if len(names) == 1 else "state"
    return finding(
        "CP715",
        most,
        f"{who} {verb} no `breaks`, and a short of `{supply.part}` can reach {kiloamperes(amperes)}",
        situation.system.devices[most].span,
        label="no `breaks`",
        notes=_list(situation, names),
        help=f"`breaks {round_up(amperes)}`, if that or more is printed on the device",
        measure=Measure("not stated", amperes, "A"),
        rule=RULE,
    )


def _unknown(situation: Situation, supply: Supply, silent: list[str], weak: list[str]) -> Finding:
    part = situation.system.parts[supply.part]
    notes = [f"{kiloamperes(SHORE_A)} is taken at its terminals for the largest, which is a guess"]
    notes += [f"`{name}` breaks less than a short at it would then be" for name in weak]
    if silent:
        named = ", ".join(f"`{name}`" for name in silent[:6]) + (", ..." if len(silent) > 6 else "")
        notes.append(f"what {named} can break is not stated either")
    if supply.guessed:
        notes.append("nor is it told how soon a short or an earth fault far from it opens a breaker")
    return finding(
        "CP713",
        supply.part,
        f"the fault current of `{supply.part}` is not known, so no AC device is proven to break it",
        part.span,
        label="states no `fault-current`",
        notes=tuple(notes),
        help="`fault-current 3 kA`, with the figure of whoever supplies it, and `breaks` on the devices behind it",
        rule=RULE,
    )
