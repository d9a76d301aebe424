"""The re-check passes sound designs and catches what is changed behind its back."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from plates import changed, compiled

from copperplate import audit, network, protection, sizing, stock
from copperplate.audit import recheck
from copperplate.design import _by_node, _conductors
from copperplate.findings import CODES
from copperplate.findings.entry import alternatives, slots
from copperplate.flow import Overload
from copperplate.model import Load
from copperplate.model.results import Design, DeviceResult, RunResult
from copperplate.standards import OutsideTable, conductors, profile

SYSTEMS = {
    "boat": """system "Boat"
  nominal 12 V
  rules cfr-183
  conductors awg
battery house "Bank" 12.8 V, 280 Ah, lifepo4
  range 12.0..14.4 V
  fault-current 3 kA
  terminal stud M8
bus plus "Positive bus" positive, 300 A
bus minus "Negative bus" negative, 300 A
panel cabin "Fuse block" blade, ways 8, way-max 30 A, return minus
  terminal clamp 18..8 AWG
route bay "Engine bay" 2 m, engine-space
load nav "Navigation lights" 2.1 A, critical, works 10.8..15 V
load bilge "Bilge pump" 7.5 A, critical, intermittent, works 10.5..15 V
load fridge "Refrigerator" 60 W, works 10.5..15 V
load lights "Cabin lights" 8 x 0.25 A, drop 10 %
load heater "Heater" 25 A, drop 5 %, works 10..15 V

house.pos -- 0.4 m -- [main: fuse class-t] -- 0.8 m -- plus
house.neg -- 1.2 m -- minus
plus -- [fuse class-t] -- 1 m -- cabin
plus -- [fuse class-t] -- 4 m -- heater.pos
heater.neg -- 4 m -- minus
cabin.1 -//- 8 m -- nav
cabin.2 -//- via bay, 4 m -- bilge
cabin.3 -//- 5 m -- fridge
cabin.4 -//- 6 m -- lights
""",
    "van": """system "Van"
  nominal 12 V
  rules iec-60364
  conductors mm2
  insulation 90 degC
battery house "Bank" 12.8 V, 200 Ah, lifepo4
  range 12.2..14.4 V
  fault-current 3 kA
bus plus "Positive bus" positive, 300 A
bus minus "Negative bus" negative, 300 A
panel block "Fuse block" blade, ways 8, return minus
  terminal clamp 0.75..10 mm2
route duct "Duct" 3 m, conduit
load fridge "Fridge" 55 W, works 10.5..15.5 V
load heater "Heater" 40 W, works 10.5..15 V
load lamps "Lamps" 10 x 0.2 A, drop 10 %
load pump "Pump" 5 A, intermittent, drop 10 %

house.pos -- 0.3 m -- [main: fuse class-t] -- 0.5 m -- plus
house.neg -- 0.8 m -- minus
plus -- [fuse class-t] -- 0.8 m -- block
block.1 -//- via duct, 1.5 m -- fridge
block.2 -//- via duct, 1 m -- heater
block.3 -//- via duct, 4 m -- lamps
block.4 -//- via duct, 2 m -- pump
""",
    "house": """system "Cabin"
  nominal 48 V
  rules nec
  conductors awg
  insulation 90 degC
battery bank "Bank" 12.8 V, 200 Ah, lifepo4, series 4
  link 0.3 m
  range 12.4..14.2 V
  fault-current 4 kA
bus plus "Positive bus" positive, 250 A
bus minus "Negative bus" negative, 250 A
converter step "48 to 12 V" 30 A, in 48 V, out 12.5 V, isolated, works 40..60 V
panel cabin "Fuse block" blade, ways 6
load well "Well" 600 W, intermittent, drop 5 %, works 42..60 V
load lamps "Lamps" 4 x 0.5 A, drop 5 %
load fridge "Fridge" 65 W, drop 4 %, works 10.5..15 V

bank.pos -- 0.4 m -- [main: fuse class-t] -- 0.8 m -- plus
bank.neg -- 1.2 m -- minus
plus -- [fuse class-t] -- 20 m -- well.pos
well.neg -- 20 m -- minus
plus -- [fuse class-t] -- 1 m -- step.in.pos
step.in.neg -- 1 m -- minus
step.out -//- 1 m -- cabin
cabin.1 -//- 6 m -- lamps
cabin.2 -//- 5 m -- fridge
""",
}


@pytest.fixture(scope="module", params=SYSTEMS)
def design(request) -> Design:
    made, findings = compiled(SYSTEMS[request.param])
    assert not [f.message for f in findings if f.severity == "error"]
    return made


def test_a_sound_design_passes(design):
    assert design.rechecked and recheck(design) == ()


def rebuilt(design: Design, runs: dict[str, RunResult]) -> Design:
    """The design with other sizes, solved and judged again: consistent in itself, whatever rules it breaks."""
    system, rules = design.system, profile(design.profile)
    demand, _, _ = network.demand(system, rules)
    ratings, _ = protection.rate(system, rules, demand)
    solution, _ = network.solve(system, rules, demand, runs)
    runs, loads, _ = sizing.judge(system, rules, demand, runs, solution)
    devices = protection.check(system, rules, demand, ratings, runs, solution).devices
    fits = sizing.fits(system, runs)
    bought, cuts = stock.materials(system, rules, runs, ratings, fits)
    return replace(
        design, runs=runs, loads=loads, devices=devices, conductors=_conductors(system, solution),
        node_v=_by_node(system, solution), fits=fits, materials=bought, cuts=cuts,
    )  # fmt: skip


def thinner(design: Design) -> Iterator[tuple[str, dict[str, RunResult]]]:
    """Each run, or both leads of a device that has two, one size down, with the ampacity of that size."""
    rules, system = profile(design.profile), design.system
    sizes = list(rules.sizes(system.settings.conductors))
    leads: dict[str, list[str]] = {}
    for run in design.runs:
        near, far = system.end_parts(system.runs[run])
        part = near if system.parts[far].kind == "bus" else far
        leads.setdefault(part, []).append(run)
    for part, names in leads.items():
        changed_runs = dict(design.runs)
        for name in names:
            result = design.runs[name]
            if result.size is None or not system.runs[name].conductor_ids or result.size not in sizes[1:]:
                continue
            size = sizes[sizes.index(result.size) - 1]
            try:
                table = rules.ampacity(size, result.insulation_c)
            except OutsideTable:
                continue
            factor = 1.0
            for one in result.factors:
                factor *= one.value
            assert result.ampacity is not None
            changed_runs[name] = replace(
                result, size=size, area_mm2=conductors.area_mm2(size), table_ampacity_a=table.value,
                copper_mm2_m=result.copper_mm2_m * conductors.area_mm2(size) / result.area_mm2,
                ampacity=replace(result.ampacity, value=table.value * factor * result.parallel),
            )  # fmt: skip
        if changed_runs != design.runs:
            yield part, changed_runs


def test_a_size_down_is_caught_by_the_constraint_that_it_breaks(design):
    """The sizes hold every constraint with the least copper, so one size less must break one of them. The changed
    design is solved again, so that its laws hold: only the constraints themselves can tell."""
    tried = 0
    for part, runs in thinner(design):
        found = recheck(rebuilt(design, runs))
        assert found, part
        assert {f.code for f in found} <= {"CP592", "CP593", "CP594", "CP595", "CP597"}, (part, found)
        tried += 1
    assert tried >= 4, tried


def test_a_size_down_on_paper_alone_breaks_the_laws(design):
    for _, runs in thinner(design):
        assert "CP590" in {f.code for f in recheck(replace(design, runs=runs))}


def test_a_fuse_up_is_caught(design):
    """Each device rated just above the least ampacity that it protects."""
    tried = 0
    system, rules = design.system, profile(design.profile)
    overload = Overload(system, rules, {d: r.rating.rating_a for d, r in design.devices.items()})
    for name, result in design.devices.items():
        if result.smallest_ampacity_a is None:
            continue
        up = replace(result, rating=replace(result.rating, rating_a=result.smallest_ampacity_a * 1.01))
        found = recheck(replace(design, devices={**design.devices, name: up}))
        fed = any(name in overload.guards(conductor) for conductor in system.conductors)
        assert bool(found) or not fed, name
        tried += fed
    assert tried >= 3


def test_a_fuse_down_is_caught(design):
    for name, result in design.devices.items():
        if design.system.devices[name].kind != "fuse" or result.rating.needs_a.value == 0.0:
            continue
        down = replace(result, rating=replace(result.rating, rating_a=result.rating.needs_a.value * 0.98))
        assert "CP595" in {f.code for f in recheck(replace(design, devices={**design.devices, name: down}))}, name


def test_a_longer_conductor_is_caught(design):
    """Half as long again, on the plate's side: the solved voltages no longer belong to it."""
    for name in design.conductors:
        conductor = design.system.conductors[name]
        longer = replace(conductor, length_m=conductor.length_m * 1.5)
        system = replace(design.system, conductors={**design.system.conductors, name: longer})
        if max(map(abs, design.conductors[name].current_a.values())) > 1e-3:
            assert "CP590" in {f.code for f in recheck(replace(design, system=system))}, name


def test_a_longer_way_to_the_main_device_is_caught(design):
    first = next(c for c in design.system.conductors.values() if c.id.endswith("pos.run/1"))
    longer = replace(first, length_m=first.length_m + 2.0)
    system = replace(design.system, conductors={**design.system.conductors, first.id: longer})
    found = recheck(rebuilt(replace(design, system=system), dict(design.runs)))
    if profile(design.profile).placement("battery", False).value < first.length_m + 2.0:
        assert "CP595" in {f.code for f in found}


def test_a_larger_load_is_caught(design):
    for part in design.system.of(Load):
        key = next(k for k in ("current_a", "power_w") if getattr(part, k))
        more = replace(part, **{key: getattr(part, key) * 1.2})
        system = replace(design.system, parts={**design.system.parts, part.id: more})
        assert {f.code for f in recheck(replace(design, system=system))} & {"CP590", "CP594"}, part.id


def test_a_smaller_breaking_capacity_is_caught(design):
    """A device that cannot break what reaches it, of which no finding has told."""
    tried = 0
    for name, result in design.devices.items():
        if result.prospective_fault is None or design.system.devices[name].panel:
            continue
        weak: DeviceResult = replace(result, interrupting_a=result.prospective_fault.value * 0.9)
        assert "CP596" in {f.code for f in recheck(replace(design, devices={**design.devices, name: weak}))}, name
        tried += 1
    assert tried >= 2


def test_a_run_without_a_size_is_caught(design):
    name = next(iter(design.runs))
    bare = replace(design.runs[name], size=None)
    assert "CP591" in {f.code for f in recheck(replace(design, runs={**design.runs, name: bare}))}


def test_a_battery_without_its_fuse_is_caught():
    """The plate's main device is turned into a switch after the design was made; the fuses on the bar are then 2.4 m
    from the battery, past the 72 in of US small-craft practice."""
    made, _ = compiled(changed(("0.8 m -- plus", "2 m -- plus"), plate=SYSTEMS["boat"]))
    main = replace(made.system.devices["main"], kind="switch")
    system = replace(made.system, devices={**made.system.devices, "main": main})
    assert made.rechecked and "CP595" in {f.code for f in recheck(replace(made, system=system))}


def test_two_batteries_on_one_bar_pass():
    plate = changed(
        ("bus plus", 'battery second "Second" 12.8 V, 100 Ah, lifepo4, range 12..14.4 V, fault-current 2 kA\nbus plus')
    )
    plate += "second.pos -- 0.3 m -- [other: fuse class-t, 50 A] -- 0.5 m -- plus\nsecond.neg -- 0.8 m -- minus\n"
    made, findings = compiled(plate)
    assert not [f for f in findings if f.severity == "error"] and made.rechecked


AC = """system "AC"
  nominal 12 V
  rules cfr-183
  conductors awg
  ac 120 V
shore inlet "Shore inlet" 30 A, 120 V
  bonds-neutral
panel mains "AC panel" breaker, ways 4, ac
load kettle "Kettle" 10 A, ac

inlet -///- 1 m -- [shore-main: breaker 30 A, poles 2, residual 30 mA] -- 3 m -- mains
mains.1 -///- [20 A] -- 5 m -- kettle
"""


def test_ac_lines_are_rechecked_too():
    made, _ = compiled(AC)
    assert made.rechecked
    way = made.devices["mains.1"]
    larger = replace(way, rating=replace(way.rating, rating_a=(way.smallest_ampacity_a or 0.0) * 1.1))
    assert "CP595" in {f.code for f in recheck(replace(made, devices={**made.devices, "mains.1": larger}))}
    inlet = replace(made.system.parts["inlet"], current_a=500.0)
    system = replace(made.system, parts={**made.system.parts, "inlet": inlet})
    assert "CP595" in {f.code for f in recheck(replace(made, system=system))}


def test_every_finding_of_the_re_check_has_a_sentence_and_every_sentence_a_check():
    """By the names of the figures that each check gives: of a row's sentences the first that they fill is taken."""
    rows = {code: entry for code, entry in CODES.items() if code.startswith("CP59")}
    used: dict[str, set[int]] = {code: set() for code in rows}
    for path in sorted(Path(audit.__file__).parent.glob("*.py")):
        for call in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(call, ast.Call) or not isinstance(call.func, ast.Name) or call.func.id != "make":
                continue
            code = call.args[0].value
            given = {"subject", *(keyword.arg for keyword in call.keywords)}
            sentences = alternatives(rows[code].message)
            filled = [number for number, text in enumerate(sentences) if given >= set(slots(text))]
            assert filled, (path.name, call.lineno, given)
            assert given == set(slots(sentences[filled[0]])) | {"subject"}, (path.name, call.lineno, given)
            used[code].update(filled)
    assert all(len(used[code]) == len(alternatives(entry.message)) for code, entry in rows.items()), used
