"""The checks of protection on the sized system, and the result of every device."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from copperplate.faults import banks, ends_ac, largest, largest_ac, smallest, supplies
from copperplate.findings import Finding
from copperplate.flow import overload
from copperplate.model import Assumption, Device, Load, System
from copperplate.model.graph import graph
from copperplate.model.results import Demand, DeviceResult, Rating, RunResult, Solution
from copperplate.protection import carrying, coordination, disconnection, interrupting, wiring_rules
from copperplate.protection.ac import check_ac
from copperplate.protection.ac_disconnection import AcOpening, ac_assumptions, ac_openings, check_ac_opening, worst
from copperplate.protection.ac_interrupting import check_ac_breaking
from copperplate.protection.ac_loops import check_loops
from copperplate.protection.ac_sources import check_ac_sources
from copperplate.protection.arrays import check_arrays
from copperplate.protection.conductors import check_conductors, places
from copperplate.protection.disconnection_findings import check_opening, check_returns
from copperplate.protection.mains import check_mains
from copperplate.protection.near_end import check_near_end
from copperplate.protection.returns import check_bodies, check_carried_back
from copperplate.protection.small import check_small
from copperplate.protection.study import ProtectionStudy
from copperplate.protection.voltage import highest_v
from copperplate.protection.voltage_limit import check_voltage
from copperplate.protection.ways import check_sheaths, check_unprotected
from copperplate.standards.profile import Profile
from copperplate.standards.supplies import unlimited
from copperplate.units import number, show


@dataclass(frozen=True)
class Checked:
    """What the checks of protection give, and what they looked at."""

    devices: dict[str, DeviceResult]
    findings: tuple[Finding, ...]
    assumptions: tuple[Assumption, ...]
    study: ProtectionStudy


def check(
    system: System,
    profile: Profile,
    demand: Demand,
    ratings: Mapping[str, Rating],
    runs: Mapping[str, RunResult],
    solution: Solution,
) -> Checked:
    """Placement, conductors covered, breaking capacity, voltage, far ends, levels, bars, studs. The results are in
    the order of the devices."""
    all_banks = banks(system)
    net = graph(system)
    mains = supplies(system, profile, net)
    rating_a = {d: ratings[d].rating_a if d in ratings else None for d in system.devices}
    far, heat = smallest(system, net, runs, all_banks, rating_a, disconnection.passing(profile, ratings))
    study = ProtectionStudy(
        system=system,
        profile=profile,
        demand=demand,
        ratings=ratings,
        runs=runs,
        solution=solution,
        overload=overload(system, profile, ratings),
        banks=all_banks,
        highest=highest_v(system, profile),
        sides=(sides := largest(system, profile, net, runs, all_banks)),
        largest={device: both.larger for device, both in sides.items()},
        far=far,
        heat=heat,
        rating_a=rating_a,
        supplies=mains,
        ac_largest=largest_ac(system, profile, net, runs, mains),
        ac_ends=ends_ac(system, profile, net, runs, mains, rating_a),
    )
    opened = disconnection.openings(study)
    ac_opened = ac_openings(study)
    findings = (
        *check_conductors(study, opened),
        *check_sheaths(study),
        *check_carried_back(study, opened),
        *check_bodies(study),
        *check_mains(study),
        *check_small(study),
        *check_unprotected(study),
        *interrupting.check_figures(study),
        *interrupting.check_breaking(study),
        *check_voltage(study),
        *check_opening(study, opened),
        *check_near_end(study),
        *check_returns(study),
        *coordination.check_coordination(study),
        *carrying.check_bars(study),
        *carrying.check_switches(study),
        *wiring_rules.check_studs(study),
        *wiring_rules.check_floating(study),
        *wiring_rules.check_petrol(study),
        *wiring_rules.check_whole(study),
        *wiring_rules.check_strings(study),
        *check_arrays(study),
        *wiring_rules.check_parallel(study),
        *wiring_rules.check_negatives(study),
        *check_ac(study, net),
        *check_ac_sources(study, net),
        *check_loops(study, net),
        *check_ac_breaking(study),
        *check_ac_opening(study, ac_opened),
    )
    return Checked(_results(study, opened, ac_opened), findings, _assumptions(study), study)


def _results(
    study: ProtectionStudy,
    opened: Mapping[str, disconnection.Opening],
    ac_opened: Mapping[str, tuple[AcOpening, ...]],
) -> dict[str, DeviceResult]:
    place_of = places(study)
    behind: dict[str, list[str]] = {}
    for conductor, duty in study.duties.items():
        for name in duty.by:
            behind.setdefault(name, []).append(conductor)
    result: dict[str, DeviceResult] = {}
    for device in study.system.devices.values():
        rating = study.ratings.get(device.id)
        if rating is None:
            continue
        protects = behind.get(device.id, []) if device.roles.protects else []
        carried = [a for a in (study.ampacity_a(c) for c in protects) if a is not None]
        place, end = place_of.get(device.id), opened.get(device.id)
        far = study.far.get(device.id)
        largest_fault = study.largest.get(device.id)
        end_fault = far.current if far and device.roles.protects else None
        mains = ac_opened.get(device.id, ())
        both = study.sides.get(device.id)
        if device.id in study.ac_largest:
            largest_fault, both = study.ac_largest[device.id].current, study.ac_largest[device.id].sides
        result[device.id] = DeviceResult(
            device=device.id,
            rating=rating,
            protects=tuple(dict.fromkeys(study.system.conductors[c].run for c in protects)),
            smallest_ampacity_a=min(carried, default=None),
            distance_from_source_m=place.distance_m if place else None,
            placement_limit_m=place.limit.value if place else None,
            placement_rule=place.limit.source if place else "",
            prospective_fault=largest_fault,
            interrupting_a=rating.interrupting_a,
            end_fault=min((m.end.short for m in mains), key=lambda t: t.value, default=end_fault),
            opens_within_s=_seconds(end, mains),
            i2t_a2s=end.i2t if end and end.i2t is not None and end.i2t != float("inf") else None,
            k2s2_a2s=end.k2s2 if end else None,
            far_end=worst([m.short for m in mains]) if mains else end.verdict if end else "",
            earth_fault=min((m.end.earth for m in mains), key=lambda t: t.value, default=None),
            earth_end=worst([m.earth for m in mains]),
            current_a=_currents(study, device),
            fault_sides=(both.first, both.second) if both else None,
            clearing=min(mains, key=lambda m: m.end.short.value).end.clearing
            if mains
            else far.clearing
            if far and end_fault
            else None,
        )
    return result


def _seconds(end: disconnection.Opening | None, mains: tuple[AcOpening, ...]) -> float | None:
    """The longest time to open at the far end; None where it need not open or nothing tells."""
    times = [m.seconds for m in mains] if mains else [end.seconds if end else None]
    known = [s for s in times if s is not None and s != float("inf")]
    return max(known) if known and len(known) == len(times) else None


def _currents(study: ProtectionStudy, device: Device) -> dict[str, float]:
    return {case: amperes[device.id] for case, amperes in study.solution.device_a.items() if device.id in amperes}


def _assumptions(study: ProtectionStudy) -> tuple[Assumption, ...]:
    """Readings chosen for faults and the families chosen for devices."""
    figures = study.profile.figures
    within, start, times = figures["disconnection"], figures["start-time"], figures["generator-fault"].value
    cold = show(figures["fault-copper"].value, "degC")
    found: list[Assumption] = []
    if study.largest:
        found.append(
            Assumption(
                "system",
                f"largest fault currents take every battery fully charged, copper at {cold}, and a return without "
                "resistance; links inside a bank count nothing",
                "common practice, no source",
            )
        )
    pushing = {
        what.removesuffix(" pushes"): amperes
        for both in study.sides.values()
        for side in (both.first, both.second)
        for what, amperes, _ in (side.inputs if side is not None else ())
        if what.endswith(" pushes")
    }
    for name, amperes in pushing.items():
        how = "the most that it gives"
        if unlimited(study.system.parts[name]):
            how = f"{number(times)} times its rating"
        text = f"adds {number(float(amperes))} A, {how}, to every fault that it can reach"
        found.append(Assumption(name, text, "common practice, no source"))
    found += ac_assumptions(study)
    if study.far:
        together = ", and by all that a case joins together," if len(study.banks) > 1 else ""
        found.append(
            Assumption(
                "system",
                f"a far-end short must open its device within {number(within.value)} s, fed by one battery "
                f"alone{together} at the low end of its range, through copper as hot as its insulation allows",
                within.cited,
            )
        )
    for device in study.system.devices.values():
        rating = study.ratings.get(device.id)
        if rating is None or not device.roles.protects or device.family or device.panel:
            continue
        if device.roles.melts:
            family = study.profile.family(rating.family)
            found.append(Assumption(device.id, f"a {family.title} ({family.standard}) is taken, for none is named"))
    for load in study.system.of(Load):
        if load.inrush_a:
            found.append(Assumption(load.id, f"its start lasts {number(start.value)} s", start.cited))
    return tuple(found)
