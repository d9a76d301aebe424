"""The rating of each device: chosen where the plate is silent, checked where it speaks."""

from __future__ import annotations

import math
from collections.abc import Mapping
from types import MappingProxyType

from copperplate.faults import fault_a_by_source
from copperplate.findings import Finding, make
from copperplate.flow import overload
from copperplate.model import Device, Load, Panel, Solar, System, Traced
from copperplate.model.results import Demand, Rating
from copperplate.protection.bounds import (
    Bounds,
    Start,
    limit_of,
    mains_of,
    protected_parts,
    starts,
    starts_through,
)
from copperplate.protection.hot_air import air_c, check_hot_air, share
from copperplate.protection.rating_findings import judge, unproven
from copperplate.protection.voltage import highest_v
from copperplate.standards import fuses
from copperplate.standards.profile import Profile
from copperplate.units import NOISE, exceeds, suffices

NONE: Mapping[str, float] = MappingProxyType({})


def rate(
    system: System,
    profile: Profile,
    demand: Demand,
    at_least: Mapping[str, float] = NONE,
) -> tuple[dict[str, Rating], tuple[Finding, ...]]:
    """The rating of every device, in declaration order: the smallest standard rating of its family that carries
    its needs and lets its motors start, or the maker's advised one where that is larger. Switches, relays,
    selectors and shunts keep what the plate states. `at_least` are ratings that a device of our own choice takes where
    it may. Devices that no current is known for are left out."""
    unrated = overload(system, profile, {})
    protected, mains = protected_parts(system, unrated), mains_of(system, unrated.pole)
    starting = starts_through(system, profile, demand)
    ratings: dict[str, Rating] = {}
    findings: list[Finding] = []
    bound: dict[str, tuple[Rating, fuses.Family, Bounds]] = {}
    highest = highest_v(system, profile)
    fault = fault_a_by_source(system)
    reach = _reach(system, fault)
    airs, limits_a = air_c(system, profile), dict[str, float]()
    for device in system.devices.values():
        amperes = demand.device_factored_a.get(device.id)
        if amperes is None:
            continue
        needs = _needs(profile, demand, device.id, amperes)
        rated_a = demand.rated_a.get(device.id, 0.0) if device.id in mains and device.roles.protects else 0.0
        if exceeds(rated_a, amperes) and not device.rating_a and demand.full_mains:
            needs, amperes = _fully_loaded(needs, rated_a), rated_a
        if not device.roles.protects:
            ratings[device.id] = Rating(
                device.id, device.kind, needs, device.rating_a, device.rating_a is not None, None, device.voltage_v
            )
            continue
        owner = system.parts.get(device.panel)
        panel = owner if isinstance(owner, Panel) else None
        parts, curve = protected.get(device.id, ()), device.curve or (panel.curve if panel else None) or ""
        outlet_a = profile.figures["outlet-circuit"].value
        own_s = profile.figures["start-time"].value
        own = tuple(Start(part.inrush_a, own_s) for part in parts if isinstance(part, Load) and part.inrush_a)
        bounds = Bounds(parts, panel, starting.get(device.id, own), outlet_a, curve)
        zone = system.nodes[device.legs[0][0]].zone
        volts = highest[zone].value if zone in highest else system.nodes[device.legs[0][0]].nominal_v
        in_array = isinstance(system.parts.get(zone), Solar)
        name = _family(profile, device, panel, amperes, volts, reach.get(zone, 0.0), in_array)
        family = profile.family(name)
        air, limits_a[device.id] = share(profile, name, airs.get(device.id)), limit_of(bounds).rating_a
        least_a = max(amperes, at_least.get(device.id, 0.0))
        hot_a = max(least_a, amperes / air.value) if air else least_a
        if exceeds(fuses.next_rating(family, hot_a) or math.inf, limits_a[device.id]):
            hot_a = least_a
        rating_a = device.rating_a or _choose(profile, family, hot_a, bounds)
        ratings[device.id] = Rating(
            device.id,
            name,
            needs,
            rating_a,
            device.rating_a is not None,
            device.breaks_a or family.interrupting_a,
            device.voltage_v or family.voltage_v,
            family.standard,
            family.ratings_status,
            air,
        )
        findings += judge(profile, device, family, ratings[device.id], bounds)
        bound[device.id] = ratings[device.id], family, bounds
        if rating_a and suffices(rating_a, amperes) and not suffices(rating_a, rated_a):
            next_a, span = fuses.next_rating(family, rated_a), device.span
            findings.append(make("CP446", device.id, span, rating=rating_a, needs=rated_a, now=amperes, next=next_a))
    return ratings, (*findings, *unproven(system, bound), *check_hot_air(system, airs, ratings, limits_a))


def _fully_loaded(needs: Traced, rated_a: float) -> Traced:
    """What the main device of a bank must carry with every inverter at its rating."""
    inputs = (("as its cases draw", needs.value, "A"),)
    source = "common practice, no source: the main stands for a fully loaded inverter"
    return Traced(rated_a, "A", "current to carry", "with every inverter at its rating", inputs, source, "practice")


def _needs(profile: Profile, demand: Demand, device: str, amperes: float) -> Traced:
    """What a device must carry, from its design current and the factors of continuous loads and of sources."""
    design = demand.device_a.get(device, 0.0)
    why = demand.why.get(device)
    inputs: tuple[tuple[str, float | str, str], ...] = (("design current", design, "A"),)
    if design > 0.0:
        inputs += (("factor", amperes / design, ""),)
    source = why.source if why is not None and why.source != "the plate" else ""
    continuous = profile.figures["device-factor"] if not source and exceeds(amperes, design, NOISE) else None
    return Traced(
        amperes, "A", "current to carry", "design current x factors", inputs,
        continuous.source if continuous else source, continuous.status if continuous else "",
    )  # fmt: skip


def _reach(system: System, fault: Mapping[str, float | None]) -> dict[str, float]:
    """An upper bound of the fault current in each zone, before any size is known: every battery of it, without the
    resistance of any cable."""
    by_zone: dict[str, float] = {}
    for source, amperes in fault.items():
        zone = system.nodes[f"{source}.pos"].zone
        by_zone[zone] = by_zone.get(zone, 0.0) + (amperes or 0.0)
    return by_zone


def _family(
    profile: Profile,
    device: Device,
    panel: Panel | None,
    amperes: float,
    highest_v: float,
    reach_a: float,
    array: bool,
) -> str:
    """The family of a device. One that states what it breaks, or what backs it, need not break its fault by family."""
    if device.family:
        return device.family
    if panel is not None and panel.family:
        return panel.family
    fault_a = 0.0 if device.breaks_a or device.backed_by else reach_a
    stated, needs_a = device.rating_a is not None, device.rating_a or amperes
    volts = 0.0 if device.voltage_v else highest_v
    families = [profile.family(name) for name in profile.fuse_order(array)]
    return fuses.default_family(device.kind, needs_a, volts, fault_a, families, stated)


def _choose(profile: Profile, family: fuses.Family, amperes: float, bounds: Bounds) -> float | None:
    """The smallest rating that carries `amperes`, lets the motors behind it start, and is not below what the
    maker advises; the last two only as far as the maker's and the panel's limits allow."""
    least = fuses.next_rating(family, amperes)
    if least is None:
        return None
    wanted = least
    advised = max((part.advised_fuse_a or 0.0 for part in bounds.parts), default=0.0)
    if advised > wanted:
        wanted = advised if advised in family.ratings_a else (fuses.next_rating(family, advised) or wanted)
    for rating in family.ratings_a:
        if rating >= wanted and starts(family, rating, bounds) is not False:
            wanted = rating
            break
    return wanted if wanted <= limit_of(bounds).rating_a else least
