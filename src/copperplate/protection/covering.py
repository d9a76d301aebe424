"""Whether each conductor carries what the devices before it let pass for ever."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from copperplate.findings import Finding, Measure, Related, finding
from copperplate.model import Run, Size
from copperplate.protection.placement import limit_of
from copperplate.protection.situation import Situation
from copperplate.protection.topology import Stretch
from copperplate.standards import OutsideTable
from copperplate.standards.conductors import area_mm2
from copperplate.units import exceeds, number, suffices


@dataclass(frozen=True, slots=True)
class Reliance:
    """The devices whose ratings a conductor must carry together (`bound_a` their sum, None where one has no
    rating): those at its far end where it is short enough to rely on them, else those before it."""

    devices: tuple[str, ...]
    bound_a: float | None


def reliances(situation: Situation) -> dict[str, Reliance]:
    """What each guarded conductor relies on, in declaration order."""
    over: dict[str, list[Stretch]] = {}
    for stretch in situation.stretches:
        for conductor in stretch.conductors if stretch.device else ():
            over.setdefault(conductor, []).append(stretch)
    result: dict[str, Reliance] = {}
    for conductor, guard in situation.guards.items():
        stretches = over.get(conductor, [])
        near = not any(exceeds(s.length_m, limit_of(situation, s).value) for s in stretches)
        if (stretches and near) or (not guard.devices and not guard.limited_a):
            result[conductor] = Reliance(guard.own_end, guard.own_end_a(situation.rating_a))
            continue
        sums = [(sum(situation.rating_a.get(d) or 0.0 for d in side), side) for side in guard.sides]
        bound = guard.upstream_a(situation.rating_a)
        devices = max(sums, key=lambda one: one[0])[1] if sums else ()
        result[conductor] = Reliance(devices, bound)
    return result


def check_covering(situation: Situation, relies: Mapping[str, Reliance]) -> list[Finding]:
    """Devices rated above what their conductors carry, and conductors that get smaller without a device."""
    system = situation.system
    worst: dict[tuple[str, str], tuple[float, str]] = {}
    for conductor, reliance in relies.items():
        carried = situation.ampacity_a(conductor)
        if reliance.bound_a is None or carried is None:
            continue
        run = system.runs[system.conductors[conductor].run]
        share = situation.profile.device_share(system.nodes[system.conductors[conductor].from_node].nominal_v)
        if not exceeds(reliance.bound_a, carried * share.value):
            continue
        own = [d for d in reliance.devices if system.devices[d].run == run.id]
        key = ("own", own[0]) if own else ("step", run.id)
        if situation.guards[conductor].limited_a >= reliance.bound_a:
            key = ("limited", run.id)
        if key not in worst or carried < worst[key][0]:
            worst[key] = (carried, conductor)
    say = {"own": _above, "step": _step, "limited": _limited}
    return [
        say[kind](situation, subject, conductor, relies[conductor], carried)
        for (kind, subject), (carried, conductor) in worst.items()
    ]


def _above(situation: Situation, device_id: str, conductor: str, reliance: Reliance, carried: float) -> Finding:
    """The run's own device is rated above the run's ampacity."""
    device = situation.system.devices[device_id]
    rating = situation.ratings[device_id]
    run = situation.system.runs[situation.system.conductors[conductor].run]
    size = situation.runs[run.id].size
    bound = reliance.bound_a or 0.0
    ways: list[str] = []
    needs = rating.needs_a.value
    made = [
        r for r in situation.profile.family(rating.family).ratings_a if suffices(r, needs) and not exceeds(r, carried)
    ]
    if made and len(reliance.devices) == 1:
        ways.append(f"{number(made[0])} A")
    larger = _size_for(situation, run, bound)
    if larger:
        ways.append(larger.label)
    return finding(
        "CP404",
        device_id,
        f"`{device_id}` is {number(bound)} A and `{run.id}` ({size.label if size else ''}) carries {number(carried)} A",
        device.span,
        label=f"{number(bound)} A",
        notes=_in_law(situation, conductor, bound, carried),
        help=" or ".join(ways) or "less load on this circuit",
        related=(Related(run.size_span or run.span, f"carries {number(carried)} A after its factors"),),
        measure=Measure(bound, carried, "A"),
        rule=situation.profile.clauses["device-rating"],
    )


def check_small(situation: Situation, relies: Mapping[str, Reliance]) -> list[Finding]:
    """Devices above what the profile allows on a small conductor, whatever its ampacity."""
    system = situation.system
    found: list[Finding] = []
    told: set[str] = set()
    for conductor, reliance in relies.items():
        run = system.runs[system.conductors[conductor].run]
        result = situation.runs.get(run.id)
        if result is None or result.size is None or reliance.bound_a is None or not reliance.devices:
            continue
        cap = situation.profile.device_cap(result.size, run.current)
        if cap is None or run.parallel > 1 or not exceeds(reliance.bound_a, cap.value) or run.id in told:
            continue
        told.add(run.id)
        sizes = situation.profile.sizes(system.settings.conductors)
        caps = [(size, situation.profile.device_cap(size, run.current)) for size in sizes]
        larger = [s for s, c in caps if area_mm2(s) > result.area_mm2 and (c is None or c.value >= reliance.bound_a)]
        found.append(
            finding(
                "CP433",
                reliance.devices[0],
                f"`{reliance.devices[0]}` is {number(reliance.bound_a)} A, and {result.size.label} of `{run.id}` may "
                f"have {number(cap.value)} A before it",
                system.devices[reliance.devices[0]].span,
                label=f"{number(reliance.bound_a)} A",
                help=f"{larger[0].label}, or {number(cap.value)} A" if larger else f"{number(cap.value)} A",
                related=(Related(run.size_span or run.span, result.size.label),),
                measure=Measure(reliance.bound_a, cap.value, "A"),
                rule=cap.source,
            )
        )
    return found


def _limited(situation: Situation, run_id: str, conductor: str, reliance: Reliance, carried: float) -> Finding:
    """A run without a device carries less than its current-limited source gives."""
    run = situation.system.runs[run_id]
    size = situation.runs[run.id].size
    bound = reliance.bound_a or 0.0
    ways = [f"a `[fuse]` of {number(carried)} A or less where it begins"]
    larger = _size_for(situation, run, bound)
    if larger:
        ways.append(larger.label)
    return finding(
        "CP432",
        run_id,
        f"`{run_id}` ({size.label if size else ''}) carries {number(carried)} A, and its source gives "
        f"{number(bound)} A",
        run.size_span or run.span,
        label="no device before it",
        help=", or ".join(ways),
        measure=Measure(bound, carried, "A"),
        rule=situation.profile.clauses["protection"],
    )


def _step(situation: Situation, run_id: str, conductor: str, reliance: Reliance, carried: float) -> Finding:
    """A run relies on devices of other runs and carries less than they let pass."""
    system = situation.system
    run = system.runs[run_id]
    size = situation.runs[run.id].size
    bound = reliance.bound_a or 0.0
    before = " and ".join(f"`{d}`" for d in reliance.devices)
    start = run.from_end
    ways = [f"a `[fuse]` of {number(carried)} A or less where it leaves `{start}`"]
    larger = _size_for(situation, run, bound)
    if larger:
        ways.append(larger.label)
    return finding(
        "CP403",
        run.id,
        f"`{run.id}` ({size.label if size else ''}) carries {number(carried)} A, and {before} before it "
        f"{'lets' if len(reliance.devices) == 1 else 'let'} {number(bound)} A pass",
        run.size_span or run.span,
        label="it gets smaller here without a device of its own",
        notes=_in_law(situation, conductor, bound, carried),
        help=", or ".join(ways),
        related=tuple(
            Related(system.devices[d].span, f"{number(situation.rating_a.get(d) or 0.0)} A") for d in reliance.devices
        ),
        measure=Measure(bound, carried, "A"),
        rule=situation.profile.clauses["protection"],
    )


def _in_law(situation: Situation, conductor: str, bound: float, carried: float) -> tuple[str, ...]:
    """The line that says what the rule itself would allow, where that is more than is kept to here."""
    nominal = situation.system.nodes[situation.system.conductors[conductor].from_node].nominal_v
    limit = situation.profile.device_share_limit(nominal)
    if limit.value <= situation.profile.device_share(nominal).value:
        return ()
    verdict = "within" if bound <= limit.value * carried else "above"
    return (
        f"{number(limit.value * 100)} % of it, {number(limit.value * carried)} A, is the limit of {limit.source}: "
        f"{number(bound)} A is {verdict} that, and 100 % is kept to here",
    )


def _size_for(situation: Situation, run: Run, amperes: float) -> Size | None:
    """The smallest size of the plate's series that carries `amperes` under this run's factors."""
    result = situation.runs[run.id]
    factor = 1.0
    for one in result.factors:
        factor *= one.value
    for size in situation.profile.sizes(situation.system.settings.conductors):
        try:
            table = situation.profile.ampacity(size, result.insulation_c)
        except OutsideTable:
            continue
        if suffices(table.value * factor * result.parallel, amperes):
            return size
    return None
