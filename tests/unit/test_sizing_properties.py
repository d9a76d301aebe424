"""What must hold on any plate: more is never less, order and names change nothing, currents balance."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from small_plates import compiled, copper

from copperplate.model.results import Design
from copperplate.standards import conductors

quick = settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True)


@dataclass(frozen=True)
class Circuit:
    """One circuit of a random plate."""

    metres: float
    amperes: float
    watts: bool
    intermittent: bool
    drop: int
    routed: bool


@dataclass(frozen=True)
class Plate:
    """A random radial plate with one panel; what a property changes are its fields."""

    circuits: tuple[Circuit, ...]
    lead_m: float
    feed_m: float
    ambient_c: float
    nominal_v: int
    rules: str

    def text(self, order: tuple[int, ...] = (), prefix: str = "c") -> str:
        volts = self.nominal_v
        lines = [
            'system "Random"', f"  nominal {volts} V", f"  rules {self.rules}", "  conductors awg",
            f"  ambient {self.ambient_c} degC", "  insulation 90 degC",
            f'battery bank "Bank" {volts} V, 200 Ah, agm', f"  range {volts}..{1.2 * volts:g} V",
            f"  full {1.2 * volts:g} V", "  fault-current 3 kA", 'bus plus "P" positive, 600 A',
            'bus minus "N" negative, 600 A', 'panel cabin "Panel" blade, ways 12, return minus',
            'route duct "Duct" 1 m, bundle',
            f"bank.pos -- 0.3 m -- [main: fuse class-t] -- {self.lead_m:.2f} m -- plus",
            f"bank.neg -- {self.lead_m + 0.3:.2f} m -- minus",
            f"plus -- [feed: fuse class-t] -- {self.feed_m:.2f} m -- cabin",
        ]  # fmt: skip
        places = order or tuple(range(len(self.circuits)))
        for n in places:
            c = self.circuits[n]
            asks = f"{c.amperes * self.nominal_v:.2f} W" if c.watts else f"{c.amperes:.3f} A"
            lines.append(f"load {prefix}{n} {asks}, drop {c.drop} %" + (", intermittent" if c.intermittent else ""))
        for n in places:
            c = self.circuits[n]
            via = "via duct, " if c.routed else ""
            lines.append(f"cabin.{n + 1} -//- {via}{c.metres:.2f} m -- {prefix}{n}")
        return "\n".join(lines) + "\n"


circuits = st.builds(
    Circuit,
    metres=st.floats(0.5, 9), amperes=st.floats(0.2, 9), watts=st.booleans(), intermittent=st.booleans(),
    drop=st.sampled_from((3, 5, 10)), routed=st.booleans(),
)  # fmt: skip
plates = st.builds(
    Plate,
    circuits=st.lists(circuits, min_size=1, max_size=5).map(tuple), lead_m=st.floats(0.3, 2), feed_m=st.floats(0.3, 3),
    ambient_c=st.sampled_from((25.0, 30.0, 40.0)), nominal_v=st.sampled_from((12, 24, 48)),
    rules=st.sampled_from(("cfr-183", "nec", "iec-60364", "iso-13297")),
)  # fmt: skip


def design_of(plate: Plate, **more: object) -> Design:
    return compiled(plate.text(**more), head="")[0]  # type: ignore[arg-type]


def changed(plate: Plate, number: int, **fields: object) -> Plate:
    number %= len(plate.circuits)
    circuits = list(plate.circuits)
    circuits[number] = replace(circuits[number], **fields)  # type: ignore[arg-type]
    return replace(plate, circuits=tuple(circuits))


def all_sized(*designs: Design) -> bool:
    return all(run.size is not None for design in designs for run in design.runs.values())


@quick
@given(plates, st.integers(0, 4), st.floats(1.05, 2.5))
def test_a_longer_circuit_never_needs_less_copper(plate: Plate, number: int, factor: float) -> None:
    before = design_of(plate)
    metres = plate.circuits[number % len(plate.circuits)].metres * factor
    after = design_of(changed(plate, number, metres=metres))
    if all_sized(before, after) and not over_budget(before, after):
        assert copper(after) >= copper(before) * (1 - 1e-9)


@quick
@given(plates, st.integers(0, 4), st.floats(1.05, 2.0))
def test_a_larger_load_never_needs_less_copper(plate: Plate, number: int, factor: float) -> None:
    before = design_of(plate)
    amperes = plate.circuits[number % len(plate.circuits)].amperes * factor
    after = design_of(changed(plate, number, amperes=amperes))
    if all_sized(before, after) and not over_budget(before, after):
        assert copper(after) >= copper(before) * (1 - 1e-9)


@quick
@given(plates, st.sampled_from((45.0, 50.0, 55.0)))
def test_hotter_air_never_needs_less_copper(plate: Plate, ambient_c: float) -> None:
    before, after = design_of(plate), design_of(replace(plate, ambient_c=ambient_c))
    if all_sized(before, after) and not over_budget(before, after):
        assert copper(after) >= copper(before) * (1 - 1e-9)


@quick
@given(plates)
def test_more_in_one_bundle_never_needs_less_copper(plate: Plate) -> None:
    """Every circuit through the duct, against the same lengths outside it."""
    loose = replace(plate, circuits=tuple(replace(c, routed=False, metres=c.metres + 1) for c in plate.circuits))
    together = replace(plate, circuits=tuple(replace(c, routed=True) for c in plate.circuits))
    before, after = design_of(loose), design_of(together)
    if all_sized(before, after) and not over_budget(before, after):
        assert copper(after) >= copper(before) * (1 - 1e-9)


def over_budget(*designs: Design) -> bool:
    """A load that no size can serve is left out of what is settled; an error tells of it."""
    return any(load.drop_v > load.budget_v * (1 + 1e-9) for design in designs for load in design.loads.values())


@quick
@given(plates, st.floats(1.05, 2.0), st.floats(1.05, 1.5))
def test_a_circuit_on_its_own_never_gets_a_smaller_size(plate: Plate, longer: float, larger: float) -> None:
    """With nothing to share: one circuit straight from the bank."""
    c = plate.circuits[0]

    def alone(metres: float, amperes: float) -> float:
        head = re.sub(r"bus plus[\s\S]*", "", plate.text())
        run = f"load x {amperes:.3f} A, drop {c.drop} %\nbank -//- [fuse] -- {metres:.2f} m -- x\n"
        found = compiled(head + run, head="")[0].runs["x.run"].size
        return conductors.area_mm2(found) if found else float("inf")

    first = alone(c.metres, c.amperes)
    assert alone(c.metres * longer, c.amperes) >= first
    assert alone(c.metres, c.amperes * larger) >= first


@quick
@given(plates, st.randoms(use_true_random=False))
def test_order_and_names_change_no_number(plate: Plate, rng: object) -> None:
    order = list(range(len(plate.circuits)))
    rng.shuffle(order)  # type: ignore[attr-defined]
    one, other = design_of(plate), design_of(plate, order=tuple(order), prefix="load-")
    for n in range(len(plate.circuits)):
        a, b = one.loads[f"c{n}"], other.loads[f"load-{n}"]
        assert abs(a.voltage_v - b.voltage_v) < 1e-9 and abs(a.drop_v - b.drop_v) < 1e-9
        assert one.runs[f"c{n}.run"].size == other.runs[f"load-{n}.run"].size
    assert one.runs["cabin.run"].size == other.runs["cabin.run"].size


@quick
@given(plates)
def test_currents_at_every_node_sum_to_zero(plate: Plate) -> None:
    """Kirchhoff's first law on the finished design, both poles."""
    design = design_of(plate)
    for case in design.system.cases:
        sums = dict.fromkeys(design.system.nodes, 0.0)
        for conductor in design.system.conductors.values():
            if conductor.id in design.conductors:
                amperes = design.conductors[conductor.id].current_a[case.id]
                sums[conductor.from_node] -= amperes
                sums[conductor.to_node] += amperes
        for device in design.system.devices.values():
            (start, end), amperes = device.legs[0], design.devices[device.id].current_a[case.id]
            sums[start] -= amperes
            sums[end] += amperes
        for load in design.loads.values():
            drawn = load.current_a if case.id == load.worst_case else 0.0
            sums[f"{load.load}.pos"] -= drawn
            sums[f"{load.load}.neg"] += drawn
        inside = {"bank.pos", "bank.neg"}
        if all_sized(design):
            assert max(abs(total) for node, total in sums.items() if node not in inside) < 1e-8
            assert abs(sums["bank.pos"] + sums["bank.neg"]) < 1e-8


@quick
@given(plates)
def test_no_load_exceeds_its_budget_without_an_error(plate: Plate) -> None:
    design, findings = compiled(plate.text(), head="")
    told = {f.subject for f in findings if f.severity == "error"}
    for load in design.loads.values():
        assert load.drop_v <= load.budget_v * (1 + 1e-9) or load.load in told or f"{load.load}.run" in told


def sizes(design: Design) -> dict[str, object]:
    return {run.run: run.size for run in design.runs.values()}


def steady(plate: Plate) -> Plate:
    """With loads that draw the same at any voltage, always: what the margins of a run are reckoned for."""
    return replace(plate, circuits=tuple(replace(c, watts=False, intermittent=False) for c in plate.circuits))


def told(plate: Plate) -> list[tuple[str, str]]:
    return [(f.code, f.subject) for f in compiled(plate.text(), head="")[1]]


@quick
@given(plates, st.integers(0, 4))
def test_within_its_spare_length_all_sizes_serve_and_beyond_it_something_gives(plate: Plate, number: int) -> None:
    number %= len(plate.circuits)
    plate = changed(steady(plate), number, metres=round(plate.circuits[number].metres, 2), routed=False)
    before = design_of(plate)
    run = before.runs[f"c{number}.run"]
    if run.spare_length_m is None or not all_sized(before) or over_budget(before):
        return
    metres, binding = plate.circuits[number].metres, run.spare_length_by
    assert binding is not None and binding.subject in before.loads
    within = design_of(changed(plate, number, metres=metres + max(run.spare_length_m - 0.02, 0.0)))
    longer_m = within.system.runs[run.run].length_m - before.system.runs[run.run].length_m
    assert copper(within) <= copper(before) * (1 + 1e-9) + 2 * run.area_mm2 * longer_m
    if sizes(within) == sizes(before):
        load = within.loads[binding.subject]
        assert load.drop_v <= load.budget_v * (1 + 1e-9)
    beyond = changed(plate, number, metres=metres + run.spare_length_m + 0.02)
    assert sizes(design_of(beyond)) != sizes(before) or told(beyond) != told(plate)


@quick
@given(plates, st.integers(0, 4))
def test_within_its_spare_current_all_sizes_serve_and_beyond_it_something_gives(plate: Plate, number: int) -> None:
    number %= len(plate.circuits)
    plate = changed(steady(plate), number, amperes=round(plate.circuits[number].amperes, 3))
    before = design_of(plate)
    run = before.runs[f"c{number}.run"]
    if run.spare_current_a is None or not all_sized(before) or over_budget(before):
        return
    amperes, binding = plate.circuits[number].amperes, run.spare_current_by
    assert binding is not None and binding.subject in (*before.loads, *before.devices, *before.runs)
    within = design_of(changed(plate, number, amperes=amperes + max(run.spare_current_a - 0.002, 0.0)))
    assert copper(within) <= copper(before) * (1 + 1e-9)
    beyond = changed(plate, number, amperes=amperes + run.spare_current_a * 1.01 + 0.01)
    assert sizes(design_of(beyond)) != sizes(before) or told(beyond) != told(plate)
