"""Changes behind the compiler's back, for the tests of the re-check.

`spoilt` changes what the plate says, with every size and rating as it was chosen, so that the changed plate is
computed again and is consistent in itself: it is unsafe where the compiler's own checks, which share no code with the
re-check, find an error in it. `forged` changes a finished design on paper alone: each is a lie, whatever it is.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from copperplate.model import (
    DC_POLES,
    Alternator,
    Battery,
    Charger,
    Controller,
    Device,
    Load,
    Panel,
    Part,
    Run,
    Size,
    Solar,
    System,
    Window,
)
from copperplate.model.results import Design
from copperplate.standards import conductors, profile

Change = tuple[str, str, System]


def pinned(design: Design) -> System:
    """The system with every chosen size and rating stated."""
    system = design.system
    runs = {
        name: replace(run, size=design.runs[name].size, parallel=design.runs[name].parallel)
        if run.role == "run" and name in design.runs and design.runs[name].size
        else run
        for name, run in system.runs.items()
    }
    devices = dict(system.devices)
    for name, device in system.devices.items():
        if name in design.devices:
            rating = design.devices[name].rating
            family = rating.family if device.roles.protects else device.family
            devices[name] = replace(device, rating_a=rating.rating_a, family=family)
    return replace(system, runs=runs, devices=devices)


def spoilt(system: System) -> Iterator[Change]:
    """(kind of change, subject, changed system), each change by itself."""
    for run in system.runs.values():
        yield from ((kind, run.id, changed) for kind, changed in _of_run(system, run))
    for device in system.devices.values():
        yield from ((kind, device.id, changed) for kind, changed in _of_device(system, device))
    for part in system.parts.values():
        yield from ((kind, part.id, changed) for kind, changed in _of_part(system, part))
    yield "the negative floats", "system", replace(system, settings=replace(system.settings, negative="floating"))


def smaller(system: System, size: Size, steps: int) -> Size | None:
    """The size so many steps down the ladder of the rules."""
    area = conductors.area_mm2(size) * 0.999
    ladder = profile(system.settings.rules).sizes(system.settings.conductors)
    below = [one for one in ladder if conductors.area_mm2(one) < area]
    return below[-steps] if len(below) >= steps else None


def _of_run(system: System, run: Run) -> Iterator[tuple[str, System]]:
    def laid(**changes: object) -> dict[str, Run]:
        return {**system.runs, run.id: replace(run, **changes)}  # type: ignore[arg-type]

    for steps in (1, 2):
        size = smaller(system, run.size, steps) if run.size is not None and run.conductor_ids else None
        if size is not None:
            yield f"{steps} size down", replace(system, runs=laid(size=size))
    for kind, share, more in (("half as long again", 1.5, 0.0), ("moved 4 m away", 1.0, 4.0)):
        longer = {
            name: replace(system.conductors[name], length_m=system.conductors[name].length_m * share + more)
            for name in run.conductor_ids
        }
        length = run.length_m * share + more
        changed = laid(length_m=length, circuit_length_m=run.circuit_length_m * share + more * len(longer))
        yield kind, replace(system, conductors={**system.conductors, **longer}, runs=changed)
    yield "20 K hotter", replace(system, runs=laid(ambient_c=run.ambient_c + 20.0))
    earths = [name for name in run.conductor_ids if system.conductors[name].pole == "pe"]
    if earths:
        kept = tuple(name for name in run.conductor_ids if name not in earths)
        left = {name: one for name, one in system.conductors.items() if name not in earths}
        yield "no earth", replace(system, runs=laid(conductor_ids=kept, conductors=len(kept)), conductors=left)


def _of_device(system: System, device: Device) -> Iterator[tuple[str, System]]:
    def with_(**changes: object) -> System:
        return replace(system, devices={**system.devices, device.id: replace(device, **changes)})  # type: ignore[arg-type]

    if not device.roles.protects:
        if device.rating_a:
            yield "a twentieth of its rating", with_(rating_a=device.rating_a / 20)
        return
    yield "a switch instead", with_(kind="switch", family=None)
    if not device.rating_a or not device.family:
        return
    ratings = profile(system.settings.rules).family(device.family).ratings_a
    above = [a for a in ratings if a > device.rating_a * 1.001]
    below = [a for a in ratings if a < device.rating_a * 0.999]
    for steps in (1, 3):
        if len(above) >= steps:
            yield f"{steps} rating up", with_(rating_a=above[steps - 1])
    if below:
        yield "1 rating down", with_(rating_a=below[-1])
    yield "breaks 100 A", with_(breaks_a=100.0)
    yield "for 10 V", with_(voltage_v=10.0)


def _of_part(system: System, part: Part) -> Iterator[tuple[str, System]]:
    def with_(**values: object) -> System:
        changed = replace(part, **values, stated=part.stated | set(values))
        return replace(system, parts={**system.parts, part.id: changed})

    def times(kind: str, **fields: tuple[float | None, float]) -> Iterator[tuple[str, System]]:
        for name, (value, factor) in fields.items():
            if value:
                yield kind, with_(**{name: value * factor})

    if isinstance(part, Load):
        larger = "half as much load again"
        yield from times(larger, power_w=(part.power_w, 1.5), current_a=(part.current_a, 1.5))
        yield from times(larger, resistance_ohm=(part.resistance_ohm, 1 / 1.5))
        yield "critical", with_(critical=True)
        yield "largest fuse 0.5 A", with_(max_fuse_a=0.5)
        if part.intermittent:
            yield "continuous", with_(intermittent=False)
        if part.works:
            yield "a narrow window", with_(works=Window(part.works.high - 0.1, part.works.high))
            yield from times("six times the inrush", inrush_a=(part.inrush_a, 6.0))
    elif isinstance(part, Battery):
        yield from times("eight times the fault", fault_current_a=(part.fault_current_a, 8.0))
        yield "discharged with 1 A", with_(max_discharge_a=1.0)
        yield "charged with 0.5 A", with_(max_charge_a=0.5)
        yield "four strings", with_(parallel=4)
    elif isinstance(part, Solar):
        yield from times("four times the voltage", voc_v=(part.voc_v, 4.0))
        yield from times("three times the current", isc_a=(part.isc_a, 3.0))
    elif isinstance(part, Charger | Controller):
        yield from times("a third more volts", out_v=(part.out_v, 1.3))
        yield from times("three times the current", current_a=(part.current_a, 3.0))
    elif isinstance(part, Alternator):
        yield from times("a third more volts", voltage_v=(part.voltage_v, 1.3))
        yield from times("three times the current", current_a=(part.current_a, 3.0))
    elif part.roles.gives:
        yield from times("a tenth of the current", current_a=(part.current_a, 0.1))
        yield from times("a twentieth of the power", power_w=(part.power_w, 0.05))
    elif part.roles.bar:
        yield "rated 1 A", with_(current_a=1.0)
        if isinstance(part, Panel):
            yield "ways for 1 A", with_(way_max_a=1.0)
    if part.roles.mains:
        yield "the other bond", with_(bonds_neutral=not part.bonds_neutral)
    for port, terminal in part.terminals.items():
        if terminal.form == "clamp":
            large = replace(terminal, smallest=Size("2/0", "AWG"), largest=Size("4/0", "AWG"))
            changed = replace(part, terminals={**part.terminals, port: large})
            yield "a clamp for 2/0 AWG and up", replace(system, parts={**system.parts, part.id: changed})


def forged(design: Design) -> Iterator[tuple[str, str, Design]]:
    """(kind, subject, forged design): one figure or line of the finished design changed to what looks better."""
    served = _served(design)
    for name, run in design.runs.items():
        if run.size is None:
            continue
        for steps in (1, 2):
            size = smaller(design.system, run.size, steps)
            if size is not None:
                yield f"{steps} size down", name, _run(design, name, size=size, area_mm2=conductors.area_mm2(size))
        yield "less copper", name, _run(design, name, copper_mm2_m=run.copper_mm2_m * 0.9 - 0.01)
        if run.ampacity is not None:
            yield (
                "more ampacity",
                name,
                _run(design, name, ampacity=replace(run.ampacity, value=run.ampacity.value * 1.1)),
            )
        if not run.protected_by:
            continue
        yield "protected by nothing", name, _run(design, name, protected_by=())
        own = served.get(name, frozenset())
        others = [d for d in design.system.devices if own and not own & served.get(d, own)]
        for other in dict.fromkeys((*others[:1], *others[-1:])):
            yield "protected by another", name, _run(design, name, protected_by=(other,))
            yield "protected by another beside", name, _run(design, name, protected_by=(*run.protected_by, other))
    for name, device in design.devices.items():
        rating = device.rating.rating_a
        if rating is not None:
            better = replace(device, rating=replace(device.rating, rating_a=rating * 1.6))
            yield "a larger rating", name, replace(design, devices={**design.devices, name: better})
        if not design.system.devices[name].roles.protects:
            continue
        if device.prospective_fault is not None:
            less = replace(device, prospective_fault=replace(device.prospective_fault, value=1.0))
            yield "a smaller fault", name, replace(design, devices={**design.devices, name: less})
        if design.system.devices[name].pole in DC_POLES:
            continue
        for kind in ("end_fault", "earth_fault"):
            ends = getattr(device, kind)
            if ends is not None:
                more = replace(device, **{kind: replace(ends, value=ends.value * 1.2)})
                yield "a larger far end", name, replace(design, devices={**design.devices, name: more})
        for kind in ("far_end", "earth_end"):
            if getattr(device, kind) in ("not proven", "does not open"):
                opens = replace(device, **{kind: "opens"})
                yield "an opening unproven", name, replace(design, devices={**design.devices, name: opens})
    for name, conductor in design.conductors.items():
        if max(map(abs, conductor.current_a.values()), default=0.0) < 1e-3:
            continue
        less_a = {case: amperes * 0.9 for case, amperes in conductor.current_a.items()}
        forged_one = replace(conductor, current_a=less_a)
        yield "less current", name, replace(design, conductors={**design.conductors, name: forged_one})
    ends = {node for c in design.system.conductors.values() for node in (c.from_node, c.to_node) if c.pole != "pe"}
    for name, volts in design.node_v.items():
        if name in ends and volts:
            more_v = {case: v + 0.05 for case, v in volts.items()}
            yield "another voltage", name, replace(design, node_v={**design.node_v, name: more_v})
    for name, load in design.loads.items():
        if load.drop_v > 0.0:
            yield (
                "less drop",
                name,
                replace(design, loads={**design.loads, name: replace(load, drop_v=load.drop_v * 0.8)}),
            )
    for number, material in enumerate(design.materials):
        listed = list(design.materials)
        listed[number] = replace(material, quantity=material.quantity + 1)
        yield "another quantity", material.item, replace(design, materials=tuple(listed))
        yield (
            "not bought",
            material.item,
            replace(design, materials=tuple(m for m in design.materials if m != material)),
        )
    for number, cut in enumerate(design.cuts):
        cuts = list(design.cuts)
        cuts[number] = replace(cut, cut_m=cut.length_m)
        yield "cut without slack", cut.conductor, replace(design, cuts=tuple(cuts))
    for number, fit in enumerate(design.fits):
        fits = list(design.fits)
        fits[number] = replace(fit, fitting=f"{fit.fitting} of another stud")
        yield "a wrong lug", fit.conductor, replace(design, fits=tuple(fits))
    for number, energy in enumerate(design.energy):
        days = list(design.energy)
        if energy.daily_wh > 0.0 and energy.autonomy_days is not None:
            days[number] = replace(energy, autonomy_days=energy.autonomy_days * 1.2)
            yield "lasts longer", energy.bank, replace(design, energy=tuple(days))


def _run(design: Design, name: str, **changes: object) -> Design:
    changed = replace(design.runs[name], **changes)  # type: ignore[arg-type]
    return replace(design, runs={**design.runs, name: changed})


def _served(design: Design) -> dict[str, frozenset[str]]:
    """By protective device and by run, the consumers whose way leads through it."""
    found: dict[str, set[str]] = {}
    for load in design.loads.values():
        for step in load.path:
            device, conductor = design.system.devices.get(step.through), design.system.conductors.get(step.through)
            if device is not None and device.roles.protects:
                found.setdefault(device.id, set()).add(load.load)
            if conductor is not None:
                found.setdefault(conductor.run, set()).add(load.load)
    return {name: frozenset(loads) for name, loads in found.items()}
