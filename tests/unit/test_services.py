"""Signals, made-up leads and bonds: how they are drawn, named, sized and listed."""

from __future__ import annotations

import pytest

from copperplate.design import compile_plate
from copperplate.diff import compare
from copperplate.drawing import sheets
from copperplate.findings import Finding
from copperplate.model.results import Design
from copperplate.schema import to_json
from copperplate.text import Source

HEAD = """
system "Signals"
  nominal 12 V
  rules iso-13297
  conductors mm2
battery house 12.8 V, 200 Ah, lifepo4, range 12..14.4 V, fault-current 3 kA
panel helm "Helm panel" blade, ways 4
load radio "Radio" 3 A
load gauge "Fuel gauge" ports feed sender
load sender "Fuel sender"
load antenna "Whip antenna"
house -//- [helm-fuse: fuse] -- 1 m -- [isolator: switch 60 A] -- 1 m -- helm
helm -//- 3 m, 4 mm2 -- radio
"""


def compiled(text: str) -> tuple[Design, tuple[Finding, ...]]:
    design, findings = compile_plate(Source("t.plate", HEAD + text), lambda name: None)
    assert design is not None
    return design, findings


def errors(text: str) -> list[tuple[str, str]]:
    return [(f.code, f.message) for f in compiled(text)[1] if f.severity == "error"]


SOUND = """
helm.2 -- 3 m, signal -- [key: switch] -- 1 m -- gauge.feed
spare: helm.2 -- 6 m, signal 2 A -- gauge.feed
gauge.sender -- 4 m, signal -- sender.out
sender.ground -- 4 m, signal -- house.neg
radio -- 5 m, data, type "coax 50 ohm" -- antenna
"""


def test_a_signal_asks_nothing_of_volts_or_its_way_back_and_is_sized_by_what_it_states() -> None:
    design, findings = compiled(SOUND)
    assert not [f for f in findings if f.severity in ("error", "warning")] and design.rechecked
    run = design.runs["gauge.sender-sender.out.run"]
    # ISO 10133:2012 7.7: 1 mm² for a separate conductor longer than 200 mm; 1 A asks for less.
    assert run.size is not None and run.size.label == "1 mm²" and run.governed_by == "minimum"
    assert run.design_current.value == 1.0
    assert design.runs["spare"].design_current.value == 2.0
    # The way carries both signals that leave by it: 1 + 2 A.
    assert design.devices["helm.2"].rating.rating_a == 3.0
    assert "gauge" not in design.loads and "sender" not in design.loads


def test_services_go_by_both_their_ends() -> None:
    design, _ = compiled(SOUND)
    assert {"helm-gauge.feed.run", "spare", "sender.ground-house.neg.run"} <= design.system.runs.keys()
    assert list(design.system.leads) == ["radio-antenna.run"]


def test_several_leads_on_a_post_need_no_names() -> None:
    text = """
bus plus positive
load pump 5 A
load lamp 1 A
plus -- [a: fuse] -- 1 m -- pump.pos
plus -- [b: fuse] -- 1 m -- lamp.pos
pump.neg -- 1 m -- house.neg
lamp.neg -- 1 m -- house.neg
house.pos -- [c: fuse] -- 1 m -- plus
house.pos -- [d: fuse] -- 2 m -- helm.feed
"""
    design, findings = compiled(text)
    assert "CP207" not in {f.code for f in findings}
    assert {"house.pos.run", "house-helm.run", "house.pos-helm.run", "pump.pos.run"} <= design.system.runs.keys()
    again, findings = compiled(text + "house.pos -- [e: fuse] -- 1 m -- plus\n")
    assert {"house.pos-plus.run", "house.pos-plus.run-2"} <= again.system.runs.keys()
    assert [f.subject for f in findings if f.code == "CP207"] == ["house.pos-plus.run"]


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("gauge.level -- 2 m, signal -- sender.out", "CP222"),
        ("helm.2 -- 2 m -- gauge.feed", "CP222"),
        ("helm.2 -//- 2 m, signal -- radio", "CP239"),
        ("radio -//- 2 m, data -- antenna", "CP238"),
        ("radio -- 1 m, data -- [fuse 1 A] -- 1 m -- antenna", "CP238"),
    ],
)
def test_what_a_service_cannot_do_is_found(text: str, code: str) -> None:
    assert code in [found for found, _ in errors(f"\n{text}\n")]


def test_a_signal_from_a_battery_has_its_device_near_by() -> None:
    """The only way back to a device is 8 m of signal."""
    assert [found for found, _ in errors(SOUND + "extra: house.pos -- 2 m, signal -- gauge.feed\n")] == ["CP402"]


def test_the_control_sheet_shows_each_signal_and_lead_once() -> None:
    design, _ = compiled(SOUND)
    (sheet,) = [sheet for sheet in sheets(design) if sheet.slug == "control"]
    for run in design.system.runs.values():
        for name in run.conductor_ids:
            assert (f'data-conductor="{name}"' in sheet.svg) == (run.signal_a is not None)
    assert 'data-device="key"' in sheet.svg and 'data-lead="radio-antenna.run"' in sheet.svg
    others = [other for other in sheets(design) if other.slug.startswith(("dc-", "wiring-diagram"))]
    assert not any('data-conductor="spare"' in other.svg for other in others)
    assert any("signals, sheet" in other.svg for other in others)


def test_a_lead_is_bought_by_the_piece_and_compared() -> None:
    design, _ = compiled(SOUND)
    assert [(m.item, m.quantity) for m in design.materials if m.group == "lead"] == [("coax 50 ohm, 5 m", 1)]
    longer, _ = compiled(SOUND.replace("5 m, data", "6 m, data"))
    changes = compare(to_json(design), to_json(longer))["changes"]
    assert [(c["kind"], c["address"], [f["fact"] for f in c["causes"]]) for c in changes] == [
        ("lead", "radio-antenna.run", ["length"])
    ]
