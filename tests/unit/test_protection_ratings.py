"""Ratings of devices: chosen, checked, held to what makers, panels and laws allow."""

from __future__ import annotations

import pytest
from plates import changed, codes, compiled, of_code
from small_plates import BARS, HEAD

from copperplate.model import Converter, Inverter, Solar
from copperplate.standards import fuses
from copperplate.standards.supplies import rated_a
from copperplate.text import Source, Span


@pytest.mark.parametrize(
    ("load", "intermittent", "needs", "rating"),
    [
        # NEC 210.20(A): a device carries 125 % of a continuous load and 100 % of the rest.
        ("8 A", False, 10.0, 10.0),
        ("8 A", True, 8.0, 10.0),
        ("12 A", False, 15.0, 15.0),
        ("12.1 A", False, 15.125, 20.0),
        ("40 A", True, 40.0, 40.0),
    ],
)
def test_the_next_standard_rating_above_the_needs(load, intermittent, needs, rating):
    words = f"{load}, intermittent, drop 10 %, works" if intermittent else f"{load}, drop 10 %, works"
    design, _ = compiled(changed(("2 A, works", words), ("50 A]", "200 A]"), ("150 A", "250 A")))
    assert design.devices["lamp-fuse"].rating.needs_a.value == pytest.approx(needs)
    assert design.devices["lamp-fuse"].rating.rating_a == rating


def test_a_stated_rating_is_kept_and_judged():
    design, findings = compiled(changed(("2 A, works", "20 A, works"), ("class-t]", "class-t 15 A]")))
    (found,) = of_code("CP405", findings)
    assert design.devices["lamp-fuse"].rating.rating_a == 15.0
    assert found.subject == "lamp-fuse" and found.help == "25 A"
    assert found.measure is not None and found.measure.limit == pytest.approx(25.0)


def test_the_maker_of_the_equipment_bounds_from_above_and_below():
    advised, _ = compiled(changed(("2 A, works", "2 A, advised-fuse 10 A, works")))
    assert advised.devices["lamp-fuse"].rating.rating_a == 10.0
    bound = changed(("2 A, works", "2 A, max-fuse 2 A, works"))
    design, findings = compiled(bound)
    (found,) = of_code("CP407", findings)
    # UL 248-15 has 1, 3, 6 A and nothing between 2.5 A, which it must carry, and 2 A, which the maker allows.
    assert design.devices["lamp-fuse"].rating.rating_a == 3.0
    assert "less" in found.help or "at most" in found.help


def test_a_motor_starts_where_the_fast_gate_holds():
    """ISO 8820-3 type C, as tabled: at 200 % not before 0.15 s, at 350 % not before 0.08 s; a start of 0.1 s at 30 A
    needs 15 A or more (30 A is 200 % of it)."""
    pump = changed(
        ("lamp \"Lamp\" 2 A, works 10.5..15 V", "lamp \"Pump\" 5 A, intermittent, drop 10 %, inrush 30 A"),
        ("fuse class-t]", "fuse blade]"),
    )  # fmt: skip
    design, findings = compiled(pump)
    assert design.devices["lamp-fuse"].rating.rating_a == 15.0
    assert not of_code("CP410", findings)
    family = fuses.family("blade")
    assert (fuses.fast_gate(family, 15.0, 30.0) or 0.0) >= 0.1 > (fuses.fast_gate(family, 10.0, 30.0) or 0.0)
    assert "CP410" in codes(changed(("fuse blade]", "fuse blade 10 A]"), plate=pump))


def test_a_feeder_lets_a_motor_start_while_all_else_runs():
    """A start of 60 A beside 10 A of lamps is 70 A in the feeder's blade fuse. It must carry 17.5 A, so 20 A would do,
    and opens from 0.08 s at 350 % of that (ISO 8820-3 type C, as tabled)."""
    plate = (
        HEAD
        + BARS.replace("[feed: fuse class-t]", "[feed: fuse blade{stated}]")
        + 'load pump "Pump" 5 A, intermittent, drop 10 %, inrush 60 A\nload lamp "Lamp" 10 A\n'
        + "cabin -//- 1 m -- pump\ncabin -//- 1 m -- lamp\n"
    )
    design, findings = compiled(plate.replace("{stated}", ""))
    rating = design.devices["feed"].rating
    family = fuses.family("blade")
    assert rating.needs_a.value == pytest.approx(17.5) and rating.rating_a is not None
    assert (fuses.fast_gate(family, 20.0, 70.0) or 0.0) < 0.1 <= (fuses.fast_gate(family, rating.rating_a, 70.0) or 0.0)
    carried = design.runs["cabin.run"].ampacity
    assert carried is not None and carried.value >= rating.rating_a
    assert not of_code("CP410", findings)
    assert of_code("CP410", compiled(plate.replace("{stated}", " 20 A"))[1])


def test_an_alternator_that_does_not_limit_itself():
    """33 CFR 183.460(b), from memory: at most 120 % of rated output."""
    plate = (
        changed(("load lamp", 'alternator alt "Alternator" 14.2 V, 50 A\nload lamp'))
        + "alt.pos -- 0.1 m -- [alt-fuse: fuse class-t 60 A] -- 1 m -- plus\nalt.neg -- 1.2 m -- minus\n"
    )
    assert "CP428" not in codes(plate)
    assert "CP428" in codes(changed(("class-t 60 A", "class-t 70 A"), plate=plate))
    limits_itself = ("14.2 V, 50 A", "14.2 V, 50 A, self-limiting")
    assert "CP428" not in codes(changed(("class-t 60 A", "class-t 70 A"), limits_itself, plate=plate))


def test_the_family_follows_current_voltage_and_fault():
    design, _ = compiled(changed(("class-t]", "]"), ("[lamp-fuse: fuse ]", "[lamp-fuse: fuse]")))
    # 3 kA can reach it: blades (ISO 8820-3) break 1 kA, bolts (ISO 8820-6) begin at 30 A; gG breaks 25 kA.
    assert design.devices["lamp-fuse"].rating.family == "gg"
    small = changed(("class-t]", "]"), ("[lamp-fuse: fuse ]", "[lamp-fuse: fuse]"), ("3 kA", "0.9 kA"))
    assert compiled(small)[0].devices["lamp-fuse"].rating.family == "blade"


def test_what_a_limited_source_pushes_at_most():
    span = Span(Source("a.plate", "solar\n"), 0, 5)
    # NEC 690.8(A)(1): the short-circuit currents of the modules in parallel, added.
    assert rated_a(Solar(id="array", span=span, isc_a=5.8, imp_a=5.4, series=2, parallel=3), 24.0) == pytest.approx(
        17.4
    )
    assert rated_a(Converter(id="dcdc", span=span, current_a=30.0, out_v=12.0), 12.0) == 30.0
    # Watts over volts.
    assert rated_a(Inverter(id="inv", span=span, power_w=2400.0), 120.0) == pytest.approx(20.0)
