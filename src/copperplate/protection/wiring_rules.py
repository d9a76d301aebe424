"""Rules of wiring that are no question of amperes: lugs on studs, floating negatives, strings in parallel."""

from __future__ import annotations

from copperplate.findings import Finding, Measure, Related, finding
from copperplate.model import DC_POLES, PROTECTIVE
from copperplate.protection.situation import Situation
from copperplate.units import number

STRINGS = 3
"""From this many parallel strings each wants a device of its own: two good ones can feed one that fails
(NEC 690.9(A) for solar; common practice for batteries)."""


def check_studs(situation: Situation) -> list[Finding]:
    """Ring terminals on each stud: four at most, or four times as many as the bar has studs."""
    system = situation.system
    lugs = situation.profile.constants()["studs-lugs"]
    landing: dict[str, list[str]] = {}
    ways = {device.run for device in system.devices.values() if device.panel}
    for conductor in system.conductors.values():
        for node in (conductor.from_node, conductor.to_node):
            part = system.parts.get(system.nodes[node].part)
            if part is not None and part.kind == "panel" and conductor.run in ways:
                continue  # the circuits of a panel land on its own terminals, not on the stud of its feed
            landing.setdefault(node, []).extend([conductor.id] * system.runs[conductor.run].parallel)
    for device in system.devices.values():
        for leg in device.legs if not device.panel else ():
            for node in leg:
                landing.setdefault(node, []).append(device.id)
    found: list[Finding] = []
    for node, ends in landing.items():
        part = system.parts.get(system.nodes[node].part)
        if part is None or part.kind in ("junction", "earth"):
            continue
        port = system.nodes[node].port
        terminal = part.terminals.get(port) or part.terminal(port.rpartition(".")[0])
        studs = part.get("studs", 0) if part.kind == "bus" else 1
        if terminal is None or terminal.form != "stud" or not studs or len(ends) <= lugs.value * studs:
            continue
        limit = int(lugs.value * studs)
        found.append(
            finding(
                "CP424",
                part.id,
                f"{len(ends)} ring terminals land on `{node}`, whose {studs} stud{'s' if studs > 1 else ''} "
                f"{terminal.stud} take{'' if studs > 1 else 's'} {limit}",
                part.spans.get("terminal", part.span),
                label=f"{terminal.stud}: {number(lugs.value)} a stud at most",
                help=f"{-(-len(ends) // int(lugs.value))} studs" if part.kind == "bus" else "a bar beside it",
                measure=Measure(len(ends), limit, "lugs"),
                rule=lugs.source,
            )
        )
    return found


def check_floating(situation: Situation) -> list[Finding]:
    """A negative that floats is no earthed return: a device opens both poles together."""
    system = situation.system
    if system.settings.negative != "floating":
        return []
    single = [
        device
        for device in system.devices.values()
        if device.kind in PROTECTIVE and device.poles < 2 and device.pole in DC_POLES
    ]
    if not single:
        return []
    names = ", ".join(f"`{device.id}`" for device in single[:4]) + (", ..." if len(single) > 4 else "")
    return [
        finding(
            "CP425",
            single[0].id,
            f"the negative floats, and {len(single)} device{'s open' if len(single) > 1 else ' opens'} one pole only: "
            f"{names}",
            single[0].span,
            label="one pole",
            help="`poles 2` on each, or `negative earthed` where it is",
            related=tuple(Related(device.span, "one pole") for device in single[1:4]),
            measure=Measure(len(single), 0, "devices"),
            rule="46 CFR 111.05-37(a); common practice for insulated DC systems",
        )
    ]


def check_whole(situation: Situation) -> list[Finding]:
    """A fuse or single-pole breaker in an earthed negative or a neutral leaves the live conductor closed when it
    opens; a protective earth has no device at all."""
    system = situation.system
    floating = system.settings.negative == "floating"
    found: list[Finding] = []
    for device in system.devices.values():
        poles = {system.nodes[b].pole for _, b in device.legs}
        earthed = poles <= {"neg", "n"} and device.kind in PROTECTIVE and not (floating and poles == {"neg"})
        if not earthed and "pe" not in poles:
            continue
        what = "a protective earth" if "pe" in poles else "the earthed negative" if "neg" in poles else "the neutral"
        found.append(
            finding(
                "CP429",
                device.id,
                f"the {device.kind} `{device.id}` stands in {what}: when it opens, the rest stays live",
                device.span,
                label="in a conductor that must stay whole",
                help=f"delete `{device.id}`" if "pe" in poles else f"`{device.id}` in the other conductor",
                rule="46 CFR 183.380(b), 111.05-37(a)",
            )
        )
    return found


def check_strings(situation: Situation) -> list[Finding]:
    """Three or more strings in parallel inside one bank or array: each wants its own fuse."""
    found: list[Finding] = []
    for part in situation.system.of_kind("battery", "solar"):
        strings = part.get("parallel", 1)
        if strings < STRINGS:
            continue
        fed = "a battery that fails" if part.kind == "battery" else "a module that fails"
        found.append(
            finding(
                "CP426",
                part.id,
                f"`{part.id}` has {strings} strings in parallel, and no fuse in each is drawn",
                part.spans.get("parallel", part.span),
                label=f"{strings - 1} strings can feed one",
                notes=(f"{fed} is fed by the others, before the main device",),
                help=(
                    "a `battery` statement for each string, each with its fuse to the bar; or accept this where the "
                    "bank has them inside"
                    if part.kind == "battery"
                    else "a fuse in each string, of the module's largest series fuse, in its combiner"
                ),
                measure=Measure(strings, STRINGS - 1, "strings"),
                rule="NEC 690.9(A)" if part.kind == "solar" else "common practice, no source",
            )
        )
    return found


def check_parallel(situation: Situation) -> list[Finding]:
    """Devices that join the same two parts of the circuit: neither opens it alone, and they need not share."""
    circuit = situation.circuit
    number_of = {name: index for index, name in enumerate(circuit.names)}
    region_of = {node: index for index, region in enumerate(situation.regions) for node in region.nodes}
    joining: dict[frozenset[int], list[str]] = {}
    for device in situation.system.devices.values():
        for leg in device.legs if device.kind in PROTECTIVE else ():
            ends = frozenset(region_of[number_of[node]] for node in leg if node in number_of)
            if len(ends) == 2 and device.id not in joining.get(ends, ()):
                joining.setdefault(ends, []).append(device.id)
    found: list[Finding] = []
    told: set[tuple[str, ...]] = set()
    for beside in joining.values():
        if len(beside) < 2 or tuple(beside) in told:
            continue
        told.add(tuple(beside))
        first, *others = (situation.system.devices[name] for name in beside)
        found.append(
            finding(
                "CP434",
                others[0].id,
                f"`{others[0].id}` stands in parallel with `{first.id}`: neither opens the circuit alone",
                others[0].span,
                label="beside the other",
                notes=("they need not share the current, and together they let the sum of their ratings pass",),
                help="one device and one conductor (or `parallel 2` behind one device)",
                related=(Related(first.span, "the other"),),
                measure=Measure(len(beside), 1, "devices"),
                rule="46 CFR 111.50-3(d)",
            )
        )
    return found
