"""Cases: who is on, with which share, and whether the bank gives or takes."""

from __future__ import annotations

from collections.abc import Mapping

from resolving import resolved, sound

SMALL = 'system "S"\n  nominal 12 V\nbattery house 12.8 V, 100 Ah\nbus plus positive\nbus minus negative\n'
SMALL += "house.pos -- [main: fuse] -- 1 m -- plus\nhouse.neg -- 1 m -- minus\n"
SMALL += "load a 1 A\nload b 2 A\nalternator alt 14 V, 50 A\nconverter step 5 A, out 5 V\nload usb 1 A\n"
SMALL += "plus -- [sw: switch 10 A] -- 1 m -- a.pos\na.neg -- 1 m -- minus\nplus -- [fuse] -- 1 m -- b.pos\n"
SMALL += "b.neg -- 1 m -- minus\nplus -- [fuse] -- 1 m -- alt.pos\nalt.neg -- 1 m -- minus\n"
SMALL += "plus -- [fuse] -- 1 m -- step.in.pos\nstep.in.neg -- 1 m -- minus\nstep.out -//- 1 m -- usb\n"


def shares(text: str) -> Mapping[str, Mapping[str, float]]:
    return {case.id: dict(case.shares) for case in sound(text).cases}


def test_without_cases_everything_is_on_and_everything_charges() -> None:
    found = shares(SMALL)
    assert found == {"everything": {"a": 1.0, "b": 1.0, "step": 1.0, "usb": 1.0}, "charging": {"alt": 1.0}}
    assert {case.id: case.kind for case in sound(SMALL).cases} == {"everything": "load", "charging": "charge"}


def test_declared_cases_replace_everything_and_charging_stays() -> None:
    assert list(shares(SMALL + "case day on a, b, usb\n")) == ["day", "charging"]


def test_on_turns_the_rest_off_and_off_the_rest_on() -> None:
    found = shares(SMALL + "case day on a, b\ncase night off a\n")
    assert found["day"] == {"a": 1.0, "b": 1.0}
    assert found["night"] == {"b": 1.0, "step": 1.0, "usb": 1.0}


def test_what_feeds_a_load_that_is_on_is_on_and_recorded() -> None:
    system = sound(SMALL + "case day on usb\ncase night on a, b\n")
    assert dict(system.cases[0].shares) == {"step": 1.0, "usb": 1.0}
    assert any(a.subject == "day" and "`step`" in a.text for a in system.assumptions)


def test_a_share_is_of_the_rating() -> None:
    found = shares(SMALL + "case day on a, usb, share a 50 %, share b 25 %\n")
    assert found["day"] == {"a": 0.5, "b": 0.25, "step": 1.0, "usb": 1.0}


def test_a_switch_may_be_open() -> None:
    case = sound(SMALL + "case day on a, b, usb, off sw\n").cases[0]
    assert case.open_devices == {"sw"} and "sw" not in case.shares


def test_a_case_of_sources_charges_and_one_with_loads_is_judged_as_discharging() -> None:
    """With loads on, the low end of the range asks for the larger conductor: the reading taken, and recorded."""
    system = sound(SMALL + "case engine on alt\ncase under-way on alt, a, b, usb\n")
    assert [case.kind for case in system.cases[:2]] == ["charge", "load"]
    assert any(a.subject == "under-way" and "low end" in a.text for a in system.assumptions)


def test_a_charger_that_does_not_say_so_runs_in_both() -> None:
    text = SMALL + "battery aux 12 V, 80 Ah\nconverter dcdc 20 A, out 14 V\nplus -- [fuse] -- 1 m -- dcdc.in.pos\n"
    text += "dcdc.in.neg -- 1 m -- minus\ndcdc.out -//- [f: fuse] -- 1 m -- aux\n"
    found = shares(text)
    assert "dcdc" in found["everything"] and "dcdc" in found["charging"]
    said = shares(text.replace("out 14 V", "out 14 V, charges"))
    assert "dcdc" not in said["everything"] and "dcdc" in said["charging"]


def test_an_inverter_that_charges_does_both() -> None:
    text = SMALL + "inverter inv 1 kW, charges 40 A\nplus -- [fuse] -- 1 m -- inv.pos\ninv.neg -- 1 m -- minus\n"
    found = shares(text)
    assert "inv" in found["everything"] and "inv" in found["charging"]


def test_an_inverter_that_feeds_a_charger_is_on_while_everything_charges() -> None:
    text = SMALL + "inverter inv 1 kW, 120 V\nbattery aux 24 V, 50 Ah\ncharger ch 5 A, out 28 V\n"
    text += "plus -- [fuse] -- 1 m -- inv.pos\ninv.neg -- 1 m -- minus\ninv -///- 2 m -- ch\n"
    system = sound(text + "ch -//- [f: fuse] -- 1 m -- aux\n")
    charging = next(case for case in system.cases if case.id == "charging")
    assert dict(charging.shares) == {"alt": 1.0, "ch": 1.0, "inv": 1.0}
    assert any(a.subject == "charging" and "`inv`" in a.text for a in system.assumptions)


def test_what_nothing_feeds_is_on_in_no_case() -> None:
    system, findings = resolved(SMALL + "load lost 1 A\nload half 1 A\nplus -- [fuse] -- 1 m -- half.pos\n")
    assert system is not None
    assert {f.subject for f in findings if f.severity == "error"} == {"lost", "half.neg"}
    assert not any({"lost", "half"} & set(case.shares) for case in system.cases)


def test_stock_notes_and_acceptance_are_kept() -> None:
    text = SMALL + 'stock 16 AWG, 14 AWG\nstock at-most 3\nnote "By the yard."\naccept CP245 a "known"\n'
    system = sound(text)
    assert system.stock is not None
    assert [size.key for size in system.stock.sizes] == ["16 AWG", "14 AWG"] and system.stock.at_most == 3
    assert [note.text for note in system.notes] == ["By the yard."]
    assert [(a.code, a.subject, a.reason) for a in system.accepts] == [("CP245", "a", "known")]
