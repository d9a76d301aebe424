"""What has one meaning is taken without a finding, whichever way it is written."""

from __future__ import annotations

import pytest
from plates import compiled
from resolving import resolved, sound

from copperplate.model import Inverter, Window

PLATE = """system "Small"
  nominal 12 V
  rules iso-13297
  conductors mm2
  ac 230 V
battery house 12 V, 100 Ah, agm, range 12..14.4 V, fault-current 0.9 kA
bus live positive, 100 A
bus minus negative, 100 A
panel cabin blade, ways 6, return minus
earth rod
inverter inv 500 W, 230 V, bonds-neutral
panel mains breaker, ac, ways 4, 16 A, breaks 6 kA, curve b
load lamp 2 A
load kettle 400 W, ac
house.pos -- [main: fuse] -- 1 m -- live
house.neg -- 1 m -- minus
live -- 1 m -- cabin
cabin.1 -//- 3 m -- lamp
feed: live -- [inv-fuse: fuse] -- 1 m -- inv.pos
inv.neg -- 1 m -- minus
inv.ac-out -///- [out: breaker 6 A, poles 2, residual 30 mA] -- 1 m -- mains
mains.1 -///- [6 A] -- 3 m -- kettle
mains.ac-in.pe -- 3 m, 6 mm2 -- rod
case dark on lamp
case tea on inv, kettle
"""


def same(plate: str, other: str) -> None:
    """Both plates resolve without an error to the same runs, conductors and devices."""
    first, second = sound(plate), sound(other)
    for left, right in ((first.runs, second.runs), (first.devices, second.devices)):
        assert list(left) == list(right)
    ends = [{(c.id, c.from_node, c.to_node, c.length_m) for c in s.conductors.values()} for s in (first, second)]
    assert ends[0] == ends[1]
    facts = [{(d.id, d.kind, d.family, d.rating_a, d.residual_a) for d in s.devices.values()} for s in (first, second)]
    assert facts[0] == facts[1]
    assert [case.shares for case in first.cases] == [case.shares for case in second.cases]


@pytest.mark.parametrize(
    ("written", "style"),
    [
        ("mains.1 -///- [breaker 6 A] -- 3 m -- kettle", "mains.1 -///- [6 A] -- 3 m -- kettle"),
        ("mains -///- [breaker 6 A] -- 3 m -- kettle", "mains.1 -///- [6 A] -- 3 m -- kettle"),
        ("inverter inv 500 W, ac 230 V, bonds-neutral", "inverter inv 500 W, 230 V, bonds-neutral"),
        ("case dark on lamp, off inv", "case dark on lamp"),
        ("mains -- 3 m, 6 mm2 -- rod", "mains.ac-in.pe -- 3 m, 6 mm2 -- rod"),
        ("feed: live -- [inv-fuse: fuse] -- 1 m -- inv\n", "feed: live -- [inv-fuse: fuse] -- 1 m -- inv.pos\n"),
    ],
)
def test_a_plate_means_the_same_in_both_ways(written: str, style: str) -> None:
    assert style in PLATE
    same(PLATE.replace(style, written), PLATE)


def test_a_way_of_fuses_may_hold_a_breaker_and_the_other_way_round() -> None:
    text = PLATE.replace("cabin.1 -//- 3 m", "cabin.1 -//- [breaker 5 A] -- 3 m")
    device = sound(text).devices["cabin.1"]
    assert (device.kind, device.family, device.rating_a) == ("breaker", "breaker", 5.0)
    named = sound(PLATE.replace("cabin.1 -//- 3 m", "cabin.1 -//- [own: breaker 5 A] -- 3 m"))
    assert {"own", "cabin.1"} <= named.devices.keys()


def test_a_converter_says_what_it_takes_by_a_range() -> None:
    text = PLATE + "converter b2b 5 A, in 11..16 V, out 12 V\n"
    part = sound(text).parts["b2b"]
    assert part.takes_v == 12.0 and part.works == Window(11.0, 16.0)


def test_the_ac_of_an_inverter_is_its_output() -> None:
    part = sound(PLATE.replace("500 W, 230 V", "500 W, ac 230 V")).parts["inv"]
    assert isinstance(part, Inverter) and part.ac_v == 230.0


def test_the_fuse_of_a_load_tells_its_current_or_advises() -> None:
    # 10 A over the factor of 1.25 on continuous current; an intermittent load may draw all of it.
    for text, amperes in (("fuse 10 A", 8.0), ("fuse 10 A, intermittent", 10.0), ("2 A, fuse 10 A", 2.0)):
        plate = PLATE.replace("load lamp 2 A", f"load lamp {text}").replace("rules iso-13297", "rules cfr-183")
        part = sound(plate).parts["lamp"]
        assert part.current_a == pytest.approx(amperes) and part.advised_fuse_a == 10.0


def test_a_pair_leaves_a_positive_bar_that_says_where_it_returns() -> None:
    text = PLATE.replace("bus live positive, 100 A", "bus live positive, 100 A, return minus")
    text = text.replace("cabin.1 -//- 3 m -- lamp", "live -//- [lamp-fuse: fuse] -- 3 m -- lamp")
    pair = sound(text).conductors
    assert (pair["lamp.run+/1"].from_node if "lamp.run+/1" in pair else pair["lamp.run+"].to_node) is not None
    assert pair["lamp.run-"].from_node == "minus" and pair["lamp.run-"].to_node == "lamp.neg"


def test_a_terminal_may_be_a_return() -> None:
    text = PLATE.replace("return minus", "return house.neg")
    assert sound(text).conductors["lamp.run-"].from_node == "house.neg"
    _, findings = resolved(PLATE.replace("return minus", "return house.pos"))
    assert "CP221" in {f.code for f in findings}


BODY = """system "Van"
  nominal 12 V
  rules iso-13297
  conductors mm2
battery house 12 V, 100 Ah, agm, range 12..14.4 V, fault-current 0.9 kA
earth body conducts, 1 mohm
panel block blade, ways 6, return body
load lamp 2 A
load fan 3 A
load cold 4 A
house.pos -- [main: fuse] -- 1 m -- block
house.neg -- 0.5 m, 16 mm2 -- body
block.1 -- 3 m -- lamp
block.2 -//- 3 m -- fan
block.3 -- 3 m -- cold
cold.neg -- 0.5 m -- body
"""


def test_a_panel_that_returns_to_the_body_earths_each_load_where_it_stands() -> None:
    design, findings = compiled(BODY)
    assert not [f for f in findings if f.code.startswith("CP59") or f.code.startswith("CP2")]
    runs = design.system.runs
    assert runs["lamp.neg.run"].length_m == 0.3 and runs["cold.neg.run"].length_m == 0.5
    assert "fan.neg.run" not in runs and design.system.conductors["fan.run-"].from_node == "body"
    assert [a.text for a in design.assumptions if a.subject == "lamp"]


def test_a_bare_stroke_at_a_bar_or_splice_is_mounted_on_it() -> None:
    text = PLATE.replace("live -- 1 m -- cabin", "live -- 1 m -- stud\nstud -- cabin")
    text = text.replace("earth rod", "earth rod\njunction stud")
    design, findings = compiled(text)
    assert not [f for f in findings if f.severity == "error"], findings
    assert design.loads["lamp"].voltage_v > 11.0
