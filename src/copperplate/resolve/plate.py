"""From the tree of a plate to the resolved system, stage by stage."""

from __future__ import annotations

import gc

from copperplate.findings import Finding
from copperplate.model import System
from copperplate.resolve.actors import implied_cases, sort_actors
from copperplate.resolve.bars import check_returns
from copperplate.resolve.building import build
from copperplate.resolve.cables import read_cables, with_cables
from copperplate.resolve.cases import Stage, read_cases, with_contacts
from copperplate.resolve.circuits import connect
from copperplate.resolve.components import read_components, with_alternating_current
from copperplate.resolve.contacts import Contacts, check_contacts
from copperplate.resolve.controls import Contact
from copperplate.resolve.devices import check_backing
from copperplate.resolve.legs import read_legs
from copperplate.resolve.names import attach_lines, gather_names
from copperplate.resolve.opened import Openings
from copperplate.resolve.poles import find_poles
from copperplate.resolve.reach import check_reach
from copperplate.resolve.reading import Reading
from copperplate.resolve.remarks import link_banks, read_accepts, read_notes, read_stock
from copperplate.resolve.routes import places_of, read_gangs, read_places, read_routes, with_runs
from copperplate.resolve.settings import length_unit, read_settings
from copperplate.resolve.signals import check_signals
from copperplate.resolve.strings import join_strings
from copperplate.resolve.types import Reader, gather_types
from copperplate.resolve.wires import lay_wires
from copperplate.resolve.zones import find_zones
from copperplate.syntax.tree import Plate


def resolve(plate: Plate, read: Reader) -> tuple[System | None, tuple[Finding, ...]]:
    """The system that a plate describes, and what is wrong with the plate.

    None for a file that describes none: an empty one, or parts only. With error findings the system holds what
    could be understood. `read` gives the source of a file named by `use`. Never raises on any tree."""
    collecting = gc.isenabled()
    gc.disable()  # A system is hundreds of thousands of small objects that all stay: collecting would only cost.
    try:
        reading = Reading(plate, length_unit(plate))
        return _resolve(reading, read), tuple(reading.findings)
    finally:
        if collecting:
            gc.enable()


def _resolve(reading: Reading, read: Reader) -> System | None:
    attach_lines(reading)
    settings = read_settings(reading)
    gather_names(reading)
    gather_types(reading, read)
    if settings is None:
        return None
    parts = check_returns(read_components(settings, reading), reading)
    read_routes(reading)
    read_gangs(reading)
    read_places(reading)
    read_cables(reading)
    legs, splices = with_cables(read_legs(reading), parts, reading)
    parts |= splices
    parts, legs, strings = join_strings(parts, legs, reading)
    settings = with_alternating_current(settings, parts, any(leg.conductors > 2 for leg in legs), reading)
    wiring = lay_wires(legs, parts, settings, reading)
    poles, crossed = find_poles(wiring)
    circuits = connect(wiring, poles, crossed, [(f"{t}.neg", f"{s.name}.neg") for s in strings for t in s.tapped])
    find_zones(circuits)
    supply = check_reach(circuits)
    check_signals(circuits)
    built = build(circuits)
    check_backing(built.devices, reading)
    links = link_banks(wiring.parts, strings, settings, reading)
    actors = sort_actors(circuits, supply)
    contacts = Contacts(built, actors)
    check_contacts(contacts, reading)
    openings = Openings(built, supply)
    cases = read_cases(Stage(actors, built.devices, openings, contacts, reading))
    implied = implied_cases(actors, bool(cases), reading)
    cases = (*cases, *(made for case in implied for made in with_contacts(case, contacts, openings)))
    places = places_of(wiring.parts, built.devices, reading)
    _report_unused(reading)
    runs, routes, types = {**built.runs, **links}, reading.routes, reading.library.types
    known = {
        "system": None, **types, **wiring.parts, **runs, **built.devices, **built.conductors, **built.nodes,
        **routes, **dict.fromkeys(case.id for case in cases),
    }  # fmt: skip
    return System(
        settings=settings,
        parts={name: part for name, part in wiring.parts.items() if not isinstance(part, Contact)},
        nodes=built.nodes,
        runs=runs,
        conductors=built.conductors,
        devices=built.devices,
        routes=with_runs(routes, runs),
        cases=cases,
        stock=read_stock(reading),
        accepts=read_accepts(known, [*wiring.parts, *runs, *built.devices], reading),
        notes=read_notes(reading),
        assumptions=tuple(dict.fromkeys(reading.assumptions)),
        files=tuple(reading.library.files),
        ties=tuple(circuits.ties),
        leads=wiring.leads,
        places=places,
    )


def _report_unused(reading: Reading) -> None:
    """Routes that no run goes through, and types that nothing is of."""
    for name, route in reading.routes.items():
        if name not in reading.used_routes and name not in reading.names.touched:
            reading.report("CP245", name, route.span, route=True)
    for name, type in reading.library.types.items():
        if type.own and name not in reading.library.used:
            reading.report("CP245", name, type.span, kind=type.kind)
