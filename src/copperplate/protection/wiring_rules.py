"""Rules of wiring that are no question of amperes: lugs on studs, floating negatives, strings in parallel."""

from __future__ import annotations

from copperplate.findings import Finding, Places, make
from copperplate.model import DC_POLES, Battery, Bus, Device, Part
from copperplate.model.groups import Groups
from copperplate.protection.study import ProtectionStudy


def check_studs(study: ProtectionStudy) -> list[Finding]:
    """Ring terminals on each stud: four at most, or four times as many as the bar has studs."""
    system = study.system
    lugs = study.profile.figures["studs-lugs"]
    landing: dict[str, list[str]] = {}
    ways = {device.run for device in system.devices.values() if device.panel}
    for conductor in system.conductors.values():
        for node in (conductor.from_node, conductor.to_node):
            part = system.parts.get(system.nodes[node].part)
            if part is not None and part.roles.protects and conductor.run in ways:
                continue  # the circuits of a panel land on its own terminals, not on the stud of its feed
            landing.setdefault(node, []).extend([conductor.id] * system.runs[conductor.run].parallel)
    for device in system.devices.values():
        for leg in device.legs if not device.panel else ():
            for node in leg:
                landing.setdefault(node, []).append(device.id)
    found: list[Finding] = []
    for node, ends in landing.items():
        part = system.parts.get(system.nodes[node].part)
        if part is None or part.roles.is_splice or part.roles.grounds:
            continue
        port = system.nodes[node].port
        terminal = part.terminals.get(port) or part.terminal(port.rpartition(".")[0])
        studs = (part.studs or 0) if isinstance(part, Bus) else 1
        if terminal is None or terminal.form != "stud" or not studs or len(ends) <= lugs.value * studs:
            continue
        found.append(
            make(
                "CP424",
                part.id,
                part.spans.get("terminal", part.span),
                lugs=len(ends),
                node=node,
                several=studs if studs > 1 else None,
                stud=terminal.stud,
                limit=int(lugs.value * studs),
                each=lugs.value,
                wanted=-(-len(ends) // int(lugs.value)) if isinstance(part, Bus) else None,
                rule=lugs.source,
            )
        )
    return found


def check_floating(study: ProtectionStudy) -> list[Finding]:
    """A negative that floats is no earthed return: a device opens both poles together."""
    system = study.system
    if system.settings.negative != "floating":
        return []
    single = [
        device
        for device in system.devices.values()
        if device.roles.protects and device.poles < 2 and device.pole in DC_POLES
    ]
    if not single:
        return []
    first, *others = single
    rule = study.profile.clauses["floating"]
    at: Places = {"device": [(device.span, {}) for device in others[:3]]}
    return [make("CP425", first.id, first.span, at=at, devices=[d.id for d in single], count=len(single), rule=rule)]


def check_whole(study: ProtectionStudy) -> list[Finding]:
    """A fuse or single-pole breaker in an earthed negative or a neutral leaves the live conductor closed when it
    opens; a protective earth has no device that could open at all."""
    system = study.system
    floating, rule = system.settings.negative == "floating", study.profile.clauses["whole"]
    found: list[Finding] = []
    for device in system.devices.values():
        poles = {system.nodes[b].pole for _, b in device.legs}
        earthed = poles <= {"neg", "n"} and device.roles.protects and not (floating and poles == {"neg"})
        earth = "pe" in poles and not device.roles.measures
        if earthed or earth:
            what = "a protective earth" if earth else "the earthed negative" if "neg" in poles else "the neutral"
            found.append(
                make("CP429", device.id, device.span, kind=device.kind, conductor=what, earth=earth, rule=rule)
            )
    return found


def check_strings(study: ProtectionStudy) -> list[Finding]:
    """Strings in parallel inside one bank, so many that two good ones can feed one that fails: each wants a fuse of its
    own."""
    fewest = study.profile.figures["strings-battery"]
    return [
        make(
            "CP426",
            part.id,
            part.spans.get("parallel", part.span),
            strings=part.parallel,
            others=part.parallel - 1,
            limit=int(fewest.value) - 1,
            rule=fewest.cited,
        )
        for part in study.system.of(Battery)
        if part.parallel >= fewest.value
    ]


def check_parallel(study: ProtectionStudy) -> list[Finding]:
    """Devices that join the same two parts of the circuit, as it stands with what is normally open: neither opens it
    alone, and they need not share."""
    pole = study.overload.pole
    apart = Groups[int]()
    for line in pole.lines:
        device = study.system.devices.get(line.id)
        if not (line.protects or (device is not None and device.normally_open)):
            apart.join(line.a, line.b)
    joining: dict[frozenset[int], list[str]] = {}
    for device in study.system.devices.values():
        for leg in device.legs if device.roles.protects else ():
            ends = frozenset(apart.root(pole.number[node]) for node in leg if node in pole.number)
            if len(ends) == 2 and device.id not in joining.get(ends, ()):
                joining.setdefault(ends, []).append(device.id)
    found: list[Finding] = []
    for beside in dict.fromkeys(map(tuple, joining.values())):
        if len(beside) < 2:
            continue
        first, *others = (study.system.devices[name] for name in beside)
        at, rule = {"first": first.span}, study.profile.clauses["parallel"]
        found.append(make("CP434", others[0].id, others[0].span, at=at, first=first.id, devices=len(beside), rule=rule))
    return found


def check_negatives(study: ProtectionStudy) -> list[Finding]:
    """Switches in the negative alone: with one open, both conductors of its load stay live."""
    system = study.system
    if system.settings.negative != "earthed":
        return []
    return [
        make("CP450", device.id, device.span, kind=device.kind)
        for device in system.devices.values()
        if device.roles.switches
        and not device.roles.protects
        and {system.nodes[before].pole for before, _ in device.legs} == {"neg"}
        and system.runs[device.run].signal_a is None
        and device.id not in study.overload.cranking
    ]


def check_petrol(study: ProtectionStudy) -> list[Finding]:
    """What stands where petrol vapour may gather must not light it (33 CFR 183.410), under any profile. A single bar,
    splice or battery makes no spark of its own in service."""
    system = study.system
    things: list[Part | Device] = [
        *(part for part in system.parts.values() if not (part.roles.splits or part.roles.grounds or part.roles.stores)),
        *(device for device in system.devices.values() if not device.panel),
    ]
    return [
        make("CP514", thing.id, thing.span, place=place.title or place.id)
        for thing in things
        if (place := system.places.get(thing.at or "")) is not None and place.petrol and not thing.ignition_protected
    ]
