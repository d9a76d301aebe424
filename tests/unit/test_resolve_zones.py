"""Poles, zones and nominal voltages: which source a node belongs to."""

from __future__ import annotations

import pytest
from resolving import sound

SMALL = 'system "S"\n  nominal 12 V\nbattery house 12.8 V, 100 Ah\nbus plus positive\nbus minus negative\n'
SMALL += "house.pos -- [fuse] -- 1 m -- plus\nhouse.neg -- 1 m -- minus\n"


def zones(text: str) -> dict[str, tuple[str, str, float]]:
    """By node: pole, zone, nominal voltage."""
    return {n.id: (n.pole, n.zone, n.nominal_v) for n in sound(text).nodes.values()}


@pytest.mark.parametrize(
    ("nominal", "battery", "zone_v"),
    [
        ("12 V", "12.8 V", 12.0),
        ("24 V", "12.8 V, 100 Ah, series 2, link 0.2 m", 24.0),
        ("48 V", "51.2 V", 48.0),
        ("48 V", "12 V", 12.0),
        ("12 V", "25.6 V", 24.0),
    ],
)
def test_a_battery_gives_its_zone_the_nominal_voltage_of_its_class(nominal: str, battery: str, zone_v: float) -> None:
    """12.8, 25.6 and 51.2 V are batteries of four, eight and sixteen cells for 12, 24 and 48 V systems (common
    practice, no source)."""
    text = f'system "S"\n  nominal {nominal}\nbattery house {battery}\nload a 1 A\nhouse -//- 1 m -- a\n'
    text += f"battery main {nominal}\nload b 1 A\nmain -//- 1 m -- b\n"
    assert zones(text)["a.pos"] == ("pos", "house", zone_v)


def test_the_output_voltage_of_a_converter_is_the_nominal_one_behind_it() -> None:
    text = SMALL + "converter step 5 A, in 12 V, out 5 V\nload usb 1 A\nplus -- [f: fuse] -- 1 m -- step.in.pos\n"
    found = zones(text + "step.in.neg -- 1 m -- minus\nstep.out -//- 2 m -- usb\n")
    assert found["step.in.pos"] == ("pos", "house", 12.0)
    assert found["step.out.pos"] == found["usb.pos"] == ("pos", "step", 5.0)
    assert found["usb.neg"] == ("neg", "step", 5.0)


def test_a_converter_that_charges_a_battery_belongs_to_its_zone() -> None:
    text = SMALL + "battery aux 12 V, 80 Ah\nconverter dcdc 20 A, in 12 V, out 14.4 V, charges\n"
    text += (
        "plus -- [f: fuse] -- 1 m -- dcdc.in.pos\ndcdc.in.neg -- 1 m -- minus\ndcdc.out -//- [g: fuse] -- 1 m -- aux\n"
    )
    found = zones(text)
    assert found["dcdc.out.pos"] == ("pos", "aux", 12.0)
    assert found["dcdc.in.pos"] == ("pos", "house", 12.0)


def test_two_voltages_may_share_a_negative_bar() -> None:
    text = SMALL + "battery aux 24 V, 100 Ah\nload winch 40 A\naux.pos -- [f: fuse] -- 2 m -- winch.pos\n"
    found = zones(text + "winch.neg -- 2 m -- minus\naux.neg -- 2 m -- minus\n")
    assert found["winch.pos"] == ("pos", "aux", 24.0)
    assert found["plus"] == ("pos", "house", 12.0)
    assert found["minus"] == ("neg", "house", 12.0)


def test_the_negatives_of_a_converter_with_one_are_tied() -> None:
    text = SMALL + "converter step 5 A, in 12 V, out 24 V, common-negative\nload a 1 A\n"
    text += "plus -- [f: fuse] -- 1 m -- step.in.pos\nstep.in.neg -- 1 m -- minus\n"
    system = sound(text + "step.out.pos -- [g: fuse] -- 1 m -- a.pos\na.neg -- 1 m -- minus\n")
    assert system.ties == (("step.in.neg", "step.out.neg"),)
    assert system.nodes["a.pos"].nominal_v == 24.0


def test_an_array_is_a_zone_of_its_own_in_front_of_its_controller() -> None:
    text = SMALL + "solar roof 100 W, voc 24 V, isc 6 A, vmp 20 V, series 2\ncontroller mppt 20 A, output 14.4 V\n"
    text += "roof -//- 3 m -- mppt\nmppt -- [f: fuse] -- 1 m -- plus\nmppt.neg -- 1 m -- minus\n"
    found = zones(text)
    assert found["mppt.pv.pos"] == ("pos", "roof", 40.0)
    assert found["mppt.pos"] == ("pos", "house", 12.0)


def test_poles_go_through_splices_and_bars_that_say_none() -> None:
    text = SMALL + "junction a\njunction b\nbus odd\nload l 1 A\nk: plus -- [f: fuse] -- 1 m -- a\n"
    system = sound(text + "a -- 1 m -- b\nb -- 1 m -- odd\nodd -- 1 m -- l.pos\nl.neg -- 1 m -- minus\n")
    assert {system.nodes[n].pole for n in ("a", "b", "odd")} == {"pos"}
    assert system.parts["odd"].values["polarity"] == "positive"
    assert any(a.subject == "odd" and "positive" in a.text for a in system.assumptions)


def test_a_bar_that_a_pair_lands_on_carries_both_poles() -> None:
    text = 'system "S"\n  nominal 12 V\nbattery house 12.8 V\nbus bar\nload a 1 A\nhouse -//- [fuse] -- 1 m -- bar\n'
    system = sound(text + "bar -//- 1 m -- a\n")
    assert (system.nodes["bar.pos"].pole, system.nodes["bar.neg"].pole) == ("pos", "neg")
    assert system.parts["bar"].ports == ("pos", "neg")


def test_what_no_source_reaches_has_no_zone() -> None:
    assert zones(SMALL + "battery spare 12 V\n")["spare.pos"] == ("pos", "", 12.0)
