"""What changed between two designs: facts and figures, causes and consequences, what makes no difference."""

from __future__ import annotations

import random

import pytest
from comparing import BOAT, PLATES, compared, document, edited, facts, of

from copperplate import diff
from copperplate.design import compile_plate
from copperplate.diff.change import WEIGHTS
from copperplate.text import Source


@pytest.mark.parametrize("name", PLATES)
def test_a_design_does_not_differ_from_itself(name: str) -> None:
    design = document(PLATES[name])
    found = diff.compare(design, design)
    assert not found["differs"] and not found["changes"] and not found["patch"]
    assert not any(found["findings"].values()) and not any(found["accepted"].values())
    circuits = sum(run["role"] == "run" for run in design["runs"])
    assert diff.text(found) == f"No circuit differs. {circuits} unchanged.\n"


def test_spacing_comments_order_and_units_make_no_difference() -> None:
    lines = BOAT.splitlines()
    runs = [line for line in lines if " -- " in line]
    shuffled = runs[:]
    random.Random(3).shuffle(shuffled)
    text = "\n".join([line for line in lines if line not in runs] + shuffled) + "\n"
    assert text != BOAT
    text = edited(text, ("60 W", "0.06 kW"), ("3 m -- fridge", "300 cm   -- fridge  # cold"), ("0.3 m --", "30 cm --"))
    found = diff.compare(document(BOAT), document(text))
    assert not found["differs"], [change["words"] or change["causes"] for change in found["changes"]]
    assert found["patch"], "the text is another one, and the raw patch says so"


def test_units_shown_are_no_difference_of_the_design() -> None:
    assert not compared(("  rules cfr-183", "  rules cfr-183\n  units us"))["differs"]


def test_a_longer_run_tells_cause_drop_and_size() -> None:
    found = compared(("3 m -- fridge", "6 m -- fridge"))
    change = of(found, "fridge.run")
    assert facts(change)["length"] == (3.0, 6.0)
    old, new = (
        next(r for r in document(t)["runs"] if r["id"] == "fridge.run")
        for t in (BOAT, BOAT.replace("3 m -- fridge", "6 m -- fridge"))
    )
    assert facts(change)["size"] == (old["size"], new["size"]) and old["size"] != new["size"]
    refused = next(c for c in new["candidates"] if c["size"] == old["size"])
    shown = next(r["shown"] for r in refused["rungs"] if r["rule"] == "drop" and r["verdict"] == "refused")
    drop = next(f["words"] for f in change["consequences"] if f["fact"] == "drop")
    assert shown in drop, "the drop that the old size would give is the reason for the new one"
    text = diff.text(found)
    assert "~ fridge.run" in text and "3 m longer: drop" in text and "so 12 -> 10 AWG" in text


def test_a_circuit_more_and_one_less() -> None:
    found = compared(
        ('load pump "Pump" 5 A, intermittent, drop 10 %\n', 'load heater "Heater" 3 A, drop 10 %\n'),
        ("cabin.4 -//- 4 m -- pump", "cabin.5 -//- 4 m -- heater"),
    )
    assert (
        of(found, "heater.run")["change"] == "added" and "new on cabin.5: 3 A, 4 m" in of(found, "heater.run")["words"]
    )
    assert of(found, "pump.run")["words"] == "gone, cabin.4 is spare"
    assert (found["counts"]["added"], found["counts"]["removed"]) == (1, 1)
    assert facts(of(found, "cabin.run"))["current"][0] > facts(of(found, "cabin.run"))["current"][1]


def test_a_way_that_another_circuit_has_now() -> None:
    found = compared(
        ('load pump "Pump" 5 A, intermittent, drop 10 %\n', ""),
        ("cabin.4 -//- 4 m -- pump\n", ""),
        ("cabin.2 -//-", "cabin.4 -//-"),
    )
    assert of(found, "pump.run")["words"] == "gone, cabin.4 now feeds lights"
    assert facts(of(found, "lights.run"))["from"] == ("cabin.2", "cabin.4")


def test_a_load_a_fuse_a_size_and_a_route() -> None:
    assert facts(of(compared(("60 W", "90 W")), "fridge.run"))["power"] == (60.0, 90.0)
    found = compared(("cabin.4 -//- 4 m", "cabin.4 -//- [10 A] -- 4 m, 14 AWG"))
    assert facts(of(found, "pump.run"))["stated rating"] == (5.0, 10.0)
    assert facts(of(found, "pump.run"))["stated size"] == ("16 AWG", "14 AWG")
    moved = facts(of(compared(("cabin.4 -//- 4 m", "cabin.4 -//- via locker, 3 m")), "pump.run"))
    assert moved == {"route": (None, "locker")}


def test_renamed_is_one_change_whatever_hangs_on_it() -> None:
    found = compared(("fridge", "icebox"))
    assert [(c["change"], c["was"], c["address"]) for c in found["changes"]] == [("renamed", "fridge", "icebox")]
    found = compared(("cabin", "block"))
    assert [(c["change"], c["was"], c["address"]) for c in found["changes"]] == [("renamed", "cabin", "block")]
    for old, new in (("main:", "first:"), ("locker", "chest"), ("minus", "return-bar")):
        assert [c["change"] for c in compared((old, new))["changes"]] == ["renamed"], old


def test_renamed_and_changed_at_once() -> None:
    found = compared(("fridge", "icebox"), ("3 m -- icebox", "6 m -- icebox"))
    assert [c["change"] for c in found["changes"] if "icebox" in c["address"]] == ["changed", "renamed"]


def test_one_of_two_alike_is_not_guessed_to_be_renamed() -> None:
    """Two equal lamps on one bar: where both names are gone and both are new, nobody can tell which is which."""
    lamp = 'load {0} "Lamp" 1 A, drop 10 %\n{0}-run: cabin.{1} -//- 4 m -- {0}\n'
    before = BOAT + lamp.format("lamp-a", 6) + lamp.format("lamp-b", 7)
    after = BOAT + lamp.format("spot-a", 7) + lamp.format("spot-b", 6)
    found = diff.compare(document(before), document(after))
    renamed = {c["was"]: c["address"] for c in found["changes"] if c["change"] == "renamed"}
    assert renamed.get("lamp-a", "spot-b") == "spot-b" and renamed.get("lamp-b", "spot-a") == "spot-a"


def test_what_follows_from_the_system_is_said_once() -> None:
    found = compared(("  conductors awg", "  conductors awg\n  ambient 45 degC"))
    assert facts(of(found, "system")) == {"ambient": (30.0, 45.0)}
    assert not [f for c in found["changes"] if c["kind"] == "circuit" for f in c["causes"]]


def test_findings_that_appear_and_go_and_safety_first() -> None:
    found = compared(
        ("cabin.2 -//- via locker, 5 m", "cabin.2 -//- via locker, 25 m, 16 AWG"), ('"Fridge"', '"Cold box"')
    )
    assert any(f["code"] == "CP310" and f["subject"] == "lights" for f in found["findings"]["new"])
    weights = [WEIGHTS.index(change["weight"]) for change in found["changes"]]
    assert weights == sorted(weights) and found["changes"][0]["address"] == "lights.run"
    assert found["changes"][0]["weight"] == "safety" and found["new"]["errors"] == 1
    text = diff.text(found)
    assert text.startswith("new.plate has 1 error") and "! new error CP310" in text
    back = diff.compare(document(edited(BOAT, ("via locker, 5 m", "via locker, 25 m, 16 AWG"))), document(BOAT))
    assert any(f["code"] == "CP310" for f in back["findings"]["gone"])


def test_less_protection_by_decision_comes_first() -> None:
    for old, new in (
        ("[main: fuse class-t]", "[main: switch 100 A]"),
        ("cabin.2 -//- via", "cabin.2 -//- [10 A] -- via"),
    ):
        before = edited(BOAT, ("cabin.2 -//- via", "cabin.2 -//- [3 A] -- via")) if "[10 A]" in new else BOAT
        after = before.replace("[3 A]", "[10 A]") if "[10 A]" in new else edited(before, (old, new))
        assert diff.compare(document(before), document(after))["changes"][0]["weight"] == "safety"


def test_the_register_of_accepted_findings() -> None:
    warned = edited(BOAT, ("60 A, return", "40 A, return"), ("5 A, intermittent", "50 A, intermittent"))
    code, subject = next((f["code"], f["subject"]) for f in document(warned)["findings"] if f["severity"] == "warning")
    accepted = warned + f'accept {code} {subject} "agreed with the owner"\n'
    found = diff.compare(document(warned), document(accepted))
    assert [(a["code"], a["reason"]) for a in found["accepted"]["new"]] == [(code, "agreed with the owner")]
    assert not found["findings"]["gone"], "an accepted finding is not gone"
    assert f"! accepted {code} {subject}: “agreed with the owner”" in diff.text(found)
    other = diff.compare(document(accepted), document(accepted.replace("the owner", "the yard")))
    assert other["accepted"]["reason"][0]["was"] == "agreed with the owner"
    back = diff.compare(document(accepted), document(warned))
    assert back["accepted"]["gone"] and not back["findings"]["new"]


def test_copper_and_energy_by_hand() -> None:
    """One metre more of 16 AWG, 1.309 mm² (ASTM B258), two conductors of 8.89 g/cm³ (IEC 60028): 23.3 g. Ten hours
    of 60 W against 90 W: 300 Wh a day, and what conductors within 3 % of 90 W can lose at most."""
    found = compared(("4 m -- pump", "5 m -- pump"))
    copper = found["materials"]["copper_kg"]
    assert of(found, "pump.run")["change"] == "changed" and "size" not in facts(of(found, "pump.run"))
    assert copper["new"] - copper["old"] == pytest.approx(2 * 1.309 * 8.89e-3, rel=2e-3)
    daily = next(e for e in compared(("60 W", "90 W"))["energy"] if e["fact"] == "daily")
    assert 300 <= daily["new"] - daily["old"] <= 300 + 0.03 * 900


def test_batteries_cases_and_title_block() -> None:
    found = compared(("100 Ah, lifepo4", "100 Ah, lifepo4, parallel 2"))
    assert facts(of(found, "house"))["parallel"] == (1, 2)
    assert facts(of(found, "house"))["fault-current"] == pytest.approx((3000.0, 6000.0))
    case = BOAT + 'case night "Night" on fridge, lights\n'
    found = compared(("on fridge, lights", "on fridge, pump"), text=case)
    assert {f["subject"]: (f["old"], f["new"]) for f in of(found, "night")["causes"]} == {
        "pump": (None, 1.0),
        "lights": (1.0, None),
    }
    found = compared(("  conductors awg", '  conductors awg\n  revision "B"'))
    assert of(found, "title block")["weight"] == "words" and found["differs"]


def test_a_plate_that_makes_no_design_is_still_answered() -> None:
    _, findings = compile_plate(Source("new.plate", "system\n[[["), lambda name: None)
    found = diff.compare(document(BOAT), diff.as_json(None, findings), "old.plate", "new.plate")
    assert not found["comparable"] and found["differs"]
    assert "Only the findings are compared." in diff.text(found)
    assert diff.text(diff.compare(document(""), document(BOAT), "a", "b")).endswith("b is new: 5 circuits.\n")
    assert diff.text(diff.compare(document(BOAT), document(""), "a", "b")).endswith("a is gone: 5 circuits.\n")
