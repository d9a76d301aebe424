"""From the tree of a plate to the resolved system, stage by stage."""

from __future__ import annotations

import gc

from copperplate.findings import Finding, make
from copperplate.model import Route, System
from copperplate.resolve.building import build
from copperplate.resolve.cases import CaseReading, implied_cases, read_cases, sort_actors
from copperplate.resolve.circuits import connect
from copperplate.resolve.components import read_components, with_alternating_current
from copperplate.resolve.devices import check_backing
from copperplate.resolve.legs import Reading, read_legs
from copperplate.resolve.names import Names, gather_names
from copperplate.resolve.opened import Openings
from copperplate.resolve.plans import Plan
from copperplate.resolve.poles import find_poles
from copperplate.resolve.reach import Net, check_reach
from copperplate.resolve.remarks import link_banks, read_accepts, read_notes, read_stock
from copperplate.resolve.routes import read_routes, with_runs
from copperplate.resolve.settings import length_unit, read_settings
from copperplate.resolve.types import Library, Reader, gather_types
from copperplate.resolve.wires import check_returns, lay_wires
from copperplate.resolve.zones import find_zones
from copperplate.syntax.tree import Plate


def resolve(plate: Plate, read: Reader) -> tuple[System | None, tuple[Finding, ...]]:
    """The system that a plate describes, and what is wrong with the plate.

    None for a file that describes none: an empty one, or parts only. With error findings the system holds what
    could be understood. `read` gives the source of a file named by `use`. Never raises on any tree."""
    collecting = gc.isenabled()
    gc.disable()  # A system is hundreds of thousands of small objects that all stay: collecting would only cost.
    try:
        return _resolve(plate, read)
    finally:
        if collecting:
            gc.enable()


def _resolve(plate: Plate, read: Reader) -> tuple[System | None, tuple[Finding, ...]]:
    findings: list[Finding] = []
    settings, assumptions = read_settings(plate, findings)
    unit = length_unit(plate)
    names = gather_names(plate, findings)
    library = gather_types(plate, read, unit, findings)
    if settings is None:
        return None, tuple(findings)
    parts, more = read_components(plate, settings, names, library, unit, findings)
    assumptions += more
    parts = check_returns(parts, names, assumptions, findings)
    places = read_routes(plate, names, unit, findings)
    used: set[str] = set()
    legs = read_legs(Reading(plate, places, names, library, unit, findings, used))
    settings, more = with_alternating_current(settings, parts, any(leg.conductors > 2 for leg in legs))
    assumptions += more
    wiring = lay_wires(legs, parts, settings, names, findings)
    poles, crossed = find_poles(wiring, findings)
    circuits = connect(wiring, poles, crossed, settings)
    find_zones(circuits, wiring, settings, findings)
    supply = check_reach(Net(circuits, wiring, settings, names, findings))
    built = build(Plan(wiring, circuits, poles, settings, places, findings))
    check_backing(built.devices, names, findings)
    assumptions += wiring.assumptions + built.assumptions
    links = link_banks(wiring.parts, settings, assumptions, findings)
    actors = sort_actors(wiring.parts, supply, circuits, assumptions)
    openings = Openings(built, circuits, supply)
    reading = CaseReading(wiring.parts, built.devices, actors, supply, openings, names, unit, assumptions, findings)
    declared = read_cases(plate, reading)
    cases = (*declared, *implied_cases(actors, wiring.parts, supply, bool(declared), assumptions))
    _report_unused_places(places, used, library, names, findings)
    runs = {**built.runs, **links}
    known = {
        "system": None, **library.types, **wiring.parts, **runs, **built.devices, **built.conductors, **built.nodes,
        **places, **dict.fromkeys(case.id for case in cases),
    }  # fmt: skip
    system = System(
        settings=settings,
        parts=wiring.parts,
        nodes=built.nodes,
        runs=runs,
        conductors=built.conductors,
        devices=built.devices,
        routes=with_runs(places, runs),
        cases=cases,
        stock=read_stock(plate, unit, findings),
        accepts=read_accepts(plate, known, [*wiring.parts, *runs, *built.devices], findings),
        notes=read_notes(plate, findings),
        assumptions=tuple(dict.fromkeys(assumptions)),
        files=tuple(library.files),
        ties=tuple(circuits.ties),
    )
    return system, tuple(findings)


def _report_unused_places(
    places: dict[str, Route], used: set[str], library: Library, names: Names, findings: list[Finding]
) -> None:
    for name, place in places.items():
        if name not in used and name not in names.touched:
            findings.append(make("CP245", name, place.span, route=True))
    for name, kind in library.types.items():
        if kind.own and name not in library.used:
            findings.append(make("CP245", name, kind.span, kind=kind.kind))
