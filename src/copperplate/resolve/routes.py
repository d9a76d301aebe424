"""Routes: the places that runs share."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from copperplate.model import Device, DeviceKind, Part, Route, Run
from copperplate.model import Place as Location
from copperplate.resolve.facts import read_facts
from copperplate.resolve.names import declared, read_head
from copperplate.resolve.reading import Gang, Place, Reading


def read_routes(reading: Reading) -> None:
    """The routes that the plate declares, without their runs."""
    for statement, head, name in declared(reading, "route"):
        facts = read_facts(statement.items, head.rest, head.title, Place("route", name.text, reading))
        if "length_m" not in facts.values and not facts.lacks("length_m"):
            reading.names.unread.add(name.text)
        values = facts.values
        reading.routes[name.text] = Route(
            id=name.text,
            title=facts.title.text if facts.title else "",
            length_m=values.get("length_m"),
            ambient_c=values.get("ambient_c"),
            engine_space=values.get("engine_space", False),
            laid=values.get("laid", ""),
            sheath=values.get("sheath", False),
            runs=(),
            span=name.span,
        )


def with_runs(routes: Mapping[str, Route], runs: Mapping[str, Run]) -> dict[str, Route]:
    """The routes, each with the runs that go through it."""
    through: dict[str, list[str]] = {name: [] for name in routes}
    for run in runs.values():
        for route in run.routes:
            through[route].append(run.id)
    return {name: replace(route, runs=tuple(through[name])) for name, route in routes.items()}


def read_gangs(reading: Reading) -> None:
    """The `switch` and `connector` statements: several switches in one plate, and pins, which brackets name."""
    counts: tuple[tuple[DeviceKind, str], ...] = (("switch", "ways"), ("connector", "pins"))
    for kind, count in counts:
        for statement, head, name in declared(reading, kind):
            facts = read_facts(statement.items, head.rest, head.title, Place(kind, name.text, reading))
            reading.gangs[name.text] = Gang(name.text, facts.values.pop(count, 1), facts, name.span, kind)


def read_places(reading: Reading) -> None:
    """The `place` statements. Their names are no names of components."""
    for statement in reading.plate.declarations("place"):
        head = read_head(statement)
        if head.name is None:
            continue
        facts = read_facts(statement.items, head.rest, head.title, Place("place", head.name.text, reading))
        values = facts.values
        reading.places[head.name.text] = Location(
            id=head.name.text,
            title=facts.title.text if facts.title else "",
            ambient_c=values.get("ambient_c"),
            engine_space=values.get("engine_space", False),
            petrol=values.get("petrol", False),
            sockets=tuple(word for word in ("wet", "outdoors", "kitchen") if word in values),
        )


def places_of(parts: Mapping[str, Part], devices: Mapping[str, Device], reading: Reading) -> dict[str, Location]:
    """The places where things stand: those declared, routes that things stand in, and those that only things name."""
    found = dict(reading.places)
    things: list[Part | Device] = [*parts.values(), *devices.values()]
    for thing in things:
        if thing.at and thing.at not in found:
            route = reading.routes.get(thing.at)
            if route is not None:
                reading.used_routes.add(route.id)
                found[thing.at] = Location(route.id, route.title, route.ambient_c, route.engine_space)
            else:
                found[thing.at] = Location(thing.at, "")
    return found
