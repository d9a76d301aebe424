"""Devices in hot air, which carry less for ever than their rating."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from copperplate.findings import Finding, make
from copperplate.model import Device, System, Traced
from copperplate.model.results import Rating
from copperplate.standards import Profile, fuses
from copperplate.units import exceeds, suffices


def air_c(system: System, profile: Profile) -> dict[str, float]:
    """The air at each device that protects, degC, where it is hotter than devices are rated for. A conductor at the
    device is in the hottest of its routes, and the device in the coolest of those conductors, where it can be mounted.
    A way's device is in its panel, whose air no route tells. One whose place the plate names is in the air of that."""
    space_c, rated_c = profile.figures["engine-space"].value, profile.figures["device-air"].value
    own_c = system.settings.ambient_c
    coolest: dict[str, float] = {}
    for conductor in system.conductors.values():
        routes = [system.routes[name] for name, _ in conductor.routes]
        air = max([own_c, *(max(r.ambient_c or own_c, space_c if r.engine_space else own_c) for r in routes)])
        for node in (conductor.from_node, conductor.to_node):
            coolest[node] = min(air, coolest.get(node, air))
    found: dict[str, float] = {}
    for device in system.devices.values():
        sides = [coolest[node] for leg in device.legs for node in leg if node in coolest and not device.panel]
        air = min(sides, default=own_c)
        if (place := system.places.get(device.at)) is not None:
            air = max(own_c, place.ambient_c or own_c, space_c if place.engine_space else own_c)
        if device.roles.protects and air > rated_c:
            found[device.id] = air
    return found


def share(profile: Profile, family: str, air: float | None) -> Traced | None:
    """What hot air leaves of a rating of a family; None in other air, and where nothing is known of it."""
    return fuses.in_air(family, air) if air is not None and air > profile.figures["device-air"].value else None


def check_hot_air(
    system: System, airs: Mapping[str, float], ratings: Mapping[str, Rating], limits_a: Mapping[str, float]
) -> list[Finding]:
    """Devices that carry less than they must where they stand; `limits_a` is the largest rating that each may have."""
    return [
        finding
        for name, air in airs.items()
        if name in ratings and (finding := _too_hot(system.devices[name], air, ratings[name], limits_a[name]))
    ]


def _too_hot(device: Device, air: float, rating: Rating, limit_a: float) -> Finding | None:
    needs, carries = rating.needs_a.value, rating.carries_a
    if rating.rating_a is None or carries is None or not suffices(rating.rating_a, needs):
        return None
    if rating.air is not None and suffices(carries, needs):
        return None
    figures: dict[str, Any] = {"rating": rating.rating_a, "needs": needs, "air": air, "family": rating.family}
    if rating.air is None:
        return make("CP448", device.id, device.span, rule="makers' data", **figures)
    wanted = needs / rating.air.value
    ratings_a = fuses.family(rating.family, rating.source).ratings_a
    larger = next((a for a in ratings_a if suffices(a, wanted) and not exceeds(a, limit_a)), None)
    rule = rating.air.cited
    return make("CP448", device.id, device.span, carries=carries, next=larger, rule=rule, **figures)
