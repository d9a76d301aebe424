"""What flows as solved is never more than what a conductor was sized for or a device was rated by."""

from __future__ import annotations

from dataclasses import replace

import pytest
from small_plates import compiled

from copperplate import audit
from copperplate.model.results import Design

STEP_DOWN = """system "24 to 12 V"
  nominal 24 V
  rules iso-13297
  conductors mm2
"""
COMMON_NEGATIVE = """battery house 12 V, 110 Ah, agm, series 2, link 0.3 m, range 11.8..14.4 V, fault-current 0.9 kA
converter step-down 20 A, in 24 V, out 13.2 V, common-negative
bus minus "Negative bar" negative, 100 A
panel twelve blade, ways 4, return minus
load radio "Radio" 4 A, 12 V, works 10.8..15.6 V
house.pos -- [fuse] -- 1 m -- step-down.in.pos
step-down.in.neg -- 1 m -- minus
house.neg -- 1 m -- minus
step-down.out.pos -- 0.5 m -- twelve
twelve -//- 3 m -- radio
"""
SHORE = """system "Shore charger"
  nominal 12 V
  rules iso-13297
  conductors mm2
  ac 230 V
"""
CHARGER = """battery start 12 V, 100 Ah, agm, range 12..14.4 V, full 14.4 V, fault-current 1.8 kA
shore inlet "Shore inlet" 16 A, 230 V, bonds-neutral, fault-current 3 kA, earth-loop 0.5 ohm
charger dock "Charger" 30 A, in 230 V, out 14.4 V
earth hull "Hull point"
inlet -///- 1 m -- [guard: breaker 10 A, poles 2, residual 30 mA, breaks 6 kA, curve b] -- 3 m
  -- dock.ac-in
start -//- [fuse] -- 1 m -- dock
dock.pe -- 1 m, 4 mm2 -- hull
"""


def exceeding(design: Design) -> list[str]:
    """Runs and devices that carry more in some case than they were made for."""
    flows = {c: max(map(abs, built.current_a.values())) for c, built in design.conductors.items()}
    runs = [
        c
        for c, amperes in flows.items()
        if amperes > design.runs[design.system.conductors[c].run].design_current.value * (1 + 1e-6) + 1e-9
    ]
    devices = [
        name
        for name, device in design.devices.items()
        if max(map(abs, device.current_a.values()), default=0.0) > device.rating.needs_a.value * (1 + 1e-6) + 1e-9
    ]
    return runs + devices


def test_a_shared_negative_takes_the_whole_draw_of_the_converter() -> None:
    """20 A x 13.2 V / 0.9 at 23.6 V less 3 % of 24 V are 12.82 A; the 4 A of the radio, which come back through the
    same conductor the other way, are not taken off, for the radio may be switched off."""
    design, findings = compiled(COMMON_NEGATIVE, STEP_DOWN)
    assert not [f for f in findings if f.severity == "error"] and design.rechecked
    whole = 20 * 13.2 / 0.9 / (23.6 - 0.03 * 24)
    for run in ("step-down.in.pos.run", "step-down.in.neg.run", "house.neg.run"):
        assert design.runs[run].design_current.value == pytest.approx(whole, rel=1e-3)


@pytest.mark.parametrize(("plate", "head"), [(COMMON_NEGATIVE, STEP_DOWN), (CHARGER, SHORE)])
def test_nothing_carries_more_than_it_was_sized_for(plate: str, head: str) -> None:
    design, findings = compiled(plate, head)
    assert not [f for f in findings if f.severity == "error"] and exceeding(design) == []


def test_the_re_check_tells_of_a_run_and_a_device_that_carry_more_than_they_were_made_for() -> None:
    design, _ = compiled(CHARGER, SHORE)
    built = design.conductors["dock.run+"]
    more = replace(built, current_a={case: 39.0 for case in built.current_a})
    swollen = replace(design, conductors={**design.conductors, built.conductor: more})
    assert ("CP592", "dock.run") in {(f.code, f.subject) for f in audit.recheck(swollen)}
    device = design.devices["dock.fuse"]
    loaded = replace(device, current_a={case: 38.0 for case in device.current_a})
    swollen = replace(design, devices={**design.devices, "dock.fuse": loaded})
    assert ("CP595", "dock.fuse") in {(f.code, f.subject) for f in audit.recheck(swollen)}
