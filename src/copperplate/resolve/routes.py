"""Routes: the places that runs share."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from copperplate.findings import Finding
from copperplate.model import Route, Run
from copperplate.resolve.atoms import Place
from copperplate.resolve.facts import read_facts
from copperplate.resolve.names import Names, read_head
from copperplate.resolve.words import table
from copperplate.syntax.tree import Plate


def read_routes(plate: Plate, names: Names, length_unit: str, findings: list[Finding]) -> dict[str, Route]:
    """The routes that the plate declares, without their runs."""
    routes: dict[str, Route] = {}
    for statement in plate.declarations("route"):
        head = read_head(statement)
        if head.name is None or id(head.name) in names.twice:
            continue
        name = head.name.text
        facts = read_facts(
            statement.items, head.rest, head.title, table("route"), Place("route", name, length_unit, findings)
        )
        if "length_m" not in facts.values and not facts.lacks("length_m"):
            names.unread.add(name)
        values = facts.values
        routes[name] = Route(
            id=name,
            title=facts.title.text if facts.title else "",
            length_m=values.get("length_m"),
            ambient_c=values.get("ambient_c"),
            engine_space=values.get("engine_space", False),
            laid=values.get("laid", ""),
            sheath=values.get("sheath", False),
            runs=(),
            span=head.name.span,
        )
    return routes


def with_runs(routes: Mapping[str, Route], runs: Mapping[str, Run]) -> dict[str, Route]:
    """The routes, each with the runs that go through it."""
    through: dict[str, list[str]] = {name: [] for name in routes}
    for run in runs.values():
        for route in run.routes:
            through[route].append(run.id)
    return {name: replace(route, runs=tuple(through[name])) for name, route in routes.items()}
