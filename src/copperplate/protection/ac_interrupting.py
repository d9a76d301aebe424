"""Whether each AC device can break the largest fault current that reaches it."""

from __future__ import annotations

from copperplate.faults import Supply
from copperplate.findings import Finding, make
from copperplate.protection.interrupting import backed, printed
from copperplate.protection.study import ProtectionStudy
from copperplate.units import suffices


def check_ac_breaking(study: ProtectionStudy) -> list[Finding]:
    """An error for each device that breaks less than can reach it. What states no `breaks`, and a supply without
    `fault-current`, make one finding for each supply."""
    silent: dict[str, list[str]] = {}
    weak: dict[str, list[str]] = {}
    found: list[Finding] = []
    figures, rule = study.profile.figures, study.profile.clauses["breaking-ac"]
    currents = {name: fault.current for name, fault in study.ac_largest.items()}
    for name, fault in study.ac_largest.items():
        device, amperes = study.system.devices[name], fault.current.value
        if not device.roles.protects or name not in study.ratings:
            continue
        breaks = study.ratings[name].interrupting_a
        if breaks is None:
            if amperes > figures["breaker-breaks"].value and not backed(study, device, currents):
                silent.setdefault(fault.supply.part, []).append(name)
        elif not suffices(breaks, amperes) and not backed(study, device, currents):
            supply, uppers = fault.supply, study.upstream.get(name, ())
            if supply.outside and not supply.stated:
                weak.setdefault(supply.part, []).append(name)
                continue
            found.append(
                make(
                    "CP714",
                    name,
                    device.span,
                    current=amperes,
                    breaks=breaks,
                    source=supply.part,
                    most=supply.most_a,
                    how=supply.how,
                    wanted=printed(amperes),
                    upper=uppers[0] if uppers else None,
                    rule=rule,
                )
            )
    for part, supply in study.supplies.items():
        if supply.outside and not supply.stated:
            if "fault_current_a" not in (source := study.system.parts[part]).unread:
                found.append(
                    make(
                        "CP713",
                        part,
                        source.span,
                        taken=figures["shore-fault"].value,
                        weak=weak.get(part),
                        silent=silent.get(part),
                        guessed=supply.guessed,
                        rule=rule,
                    )
                )
        elif part in silent:
            found.append(_unstated(study, supply, silent[part]))
    return found


def _unstated(study: ProtectionStudy, supply: Supply, names: list[str]) -> Finding:
    """Devices behind one supply that may not break what can reach them, the one with the largest current first."""
    amperes = {name: study.ac_largest[name].current.value for name in names}
    ranked = sorted(names, key=lambda name: -amperes[name])
    return make(
        "CP715",
        ranked[0],
        study.system.devices[ranked[0]].span,
        devices=ranked,
        source=supply.part,
        current=amperes[ranked[0]],
        shorts=[{"device": name, "current": amperes[name]} for name in ranked],
        wanted=printed(amperes[ranked[0]]),
        rule=study.profile.clauses["breaking-ac"],
    )
