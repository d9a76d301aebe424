"""Routes: the places that runs share."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from copperplate.model import Route, Run
from copperplate.resolve.facts import read_facts
from copperplate.resolve.names import declared
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
    """The `switch` statements: several switches in one plate, which brackets name."""
    for statement, head, name in declared(reading, "switch"):
        facts = read_facts(statement.items, head.rest, head.title, Place("switch", name.text, reading))
        reading.gangs[name.text] = Gang(name.text, facts.values.pop("ways", 1), facts, name.span)
