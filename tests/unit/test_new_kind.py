"""A new kind of consumer is one class: entered in the table of kinds, it is read, checked, sized, drawn and listed."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass

import pytest

from copperplate import diff, schema
from copperplate.design import compile_plate
from copperplate.editor.completion import proposals
from copperplate.findings import Finding
from copperplate.making import make
from copperplate.model.attributes import says
from copperplate.model.kinds import KINDS, component
from copperplate.model.parts import Load
from copperplate.model.results import Design
from copperplate.syntax import format as in_the_one_style
from copperplate.text import Source
from copperplate.why.ladder import ladder
from copperplate.why.tree import show


@dataclass(frozen=True, kw_only=True)
class Oven(Load):
    """A load that its thermostat turns on and off."""

    kind = "oven"
    meaning = "a load that its thermostat turns on and off"

    heating_share: float | None = says(
        "heating", "share", "share of the time that it heats", dimension="share", unit="%"
    )


DC = """system "Galley"
  nominal 12 V
battery house "House battery" 12 V, 200 Ah, agm, fault-current 1.5 kA, range 12.0..14.4 V
bus minus "Negative bar" negative, 150 A
panel helm "Fuse block" blade, ways 4, 100 A, return minus
part small oven, 120 W, works 10.5..15 V
oven cooker "Oven" 240 W, heating 40 %, works 10.5..15 V, daily 1 h, drop 5 %
oven warmer "Plate warmer" part small
load lamp "Lamp" 24 W
house.pos -- 0.4 m -- [main: fuse] -- 1.2 m -- helm
house.neg -- 1.5 m -- minus
helm.1 -//- 3 m -- cooker
helm.2 -//- 3 m -- warmer
helm.3 -//- 3 m -- lamp
case cooking on cooker, warmer
case night on lamp
"""
AC = """system "Quay"
  nominal 12 V
  ac 230 V
  rules iso-13297
shore quay "Quay" 230 V, 16 A, fault-current 1.2 kA
panel mains "AC panel" breaker, ac, ways 2
oven cooker "Oven" 2000 W, ac, heating 60 %
load kettle "Kettle" 1500 W, ac
quay -///- 5 m -- [inlet: breaker 16 A, poles 2, residual 30 mA] -- 1 m -- mains
mains.1 -///- 4 m -- cooker
mains.2 -///- 4 m -- kettle
case cooking on cooker
case tea on kettle
"""


@pytest.fixture(autouse=True)
def oven(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(KINDS, "oven", component(Oven))


def as_loads(plate: str) -> str:
    """The same plate with loads in place of its ovens."""
    return plate.replace("oven", "load").replace(", heating 40 %", "").replace(", heating 60 %", "")


def compiled(plate: str) -> tuple[Design, tuple[Finding, ...]]:
    design, findings = compile_plate(Source("galley.plate", plate), lambda name: None)
    assert design is not None
    return design, findings


def pack(plate: str) -> dict[str, str]:
    """The files of a plate's pack but its design, each without the sum of the plate's text."""
    files = {
        name: data.decode() for name, data in make({"galley.plate": plate.encode()}, "galley.plate").files().items()
    }
    digest = json.loads(files.pop("galley.design.json"))["system"]["source_sha256"]
    return {name: text.replace(digest, "").replace(digest[:12], "") for name, text in files.items()}


@pytest.mark.parametrize("plate", [DC, AC])
def test_an_oven_is_designed_as_a_load_is(plate: str) -> None:
    """Every figure, finding and reason is that of a load; only the part tells its kind and its share."""
    told, as_load = (json.loads(schema.to_text(compiled(text)[0])) for text in (plate, as_loads(plate)))
    (cooker,) = (part for part in told["parts"] if part["id"] == "cooker")
    assert cooker["kind"] == "oven" and cooker["values"].pop("heating_share") == (0.4 if plate is DC else 0.6)
    cooker["stated"].remove("heating_share")
    for part in told["parts"]:
        part["kind"] = {"oven": "load"}.get(part["kind"], part["kind"])
    told["system"].pop("source_sha256"), as_load["system"].pop("source_sha256")
    assert told == as_load
    assert told["loads"] and not [f for f in told["findings"] if f["severity"] == "error"]


@pytest.mark.parametrize("plate", [DC, AC])
def test_an_oven_is_drawn_and_listed(plate: str) -> None:
    drawn, as_load = pack(plate), pack(as_loads(plate))
    assert drawn.keys() == as_load.keys() and sum(name.endswith(".svg") for name in drawn) >= 2
    assert any("Oven" in text for name, text in drawn.items() if name.endswith(".svg"))
    # One figure more is stated in the plate, and the table of what figures rest on counts it.
    rests = re.compile(r"(?m)^.*(?:stated in the plate|by what they rest on).*$")
    assert all(rests.sub("", drawn[name]) == rests.sub("", as_load[name]) for name in drawn)


def test_the_reasons_and_the_tree_of_an_oven_are_shown() -> None:
    (design, _), (as_load, _) = compiled(DC), compiled(as_loads(DC))
    assert "cooker" in show(design) and show(design) == show(as_load)
    assert ladder(design, "cooker.run", 100) == ladder(as_load, "cooker.run", 100)


def test_what_changed_about_an_oven_is_told_as_of_a_load() -> None:
    def changes(plate: str) -> str:
        old, new = (compiled(text) for text in (plate, plate.replace("helm.1 -//- 3 m", "helm.1 -//- 9 m")))
        return diff.text(diff.compare(diff.as_json(*old), diff.as_json(*new)))

    assert "cooker" in changes(DC) and changes(DC) == changes(as_loads(DC))


@pytest.mark.parametrize(
    ("statement", "code", "message"),
    [
        ("oven grill", "CP209", "`grill` does not say what it takes"),
        ("oven grill 5 A, 60 W", "CP210", "`grill` says `5 A` and `60 W`, and one of them follows from the other"),
        ("oven grill 5 A, heating 140 %", "CP127", "`heating` is 140 %, and it cannot be more than 100 %"),
        ("oven grill 5 A, heatting 40 %", "CP204", "an oven has no `heatting`"),
        ("oven grill 5 A, 12 Ah", "CP120", "`12 Ah` is a capacity, and an oven has none"),
        ("load grill 5 A, heating 40 %", "CP204", "a load has no `heating`"),
        ("oven grill part fan\npart fan load, 4 A", "CP215", "`grill` is an oven, and the part `fan` is a load"),
        ("oven grill 5 A", "CP233", "no run reaches `grill`"),
        ("oven grill 5 A\nhelm -//- 2 m -- grill", "CP240", "no case turns `grill` on, so no feeder counts it"),
    ],
)
def test_a_plate_s_mistakes_in_an_oven_are_told(statement: str, code: str, message: str) -> None:
    findings = compiled(DC + statement + "\n")[1]
    assert message in [f.message for f in findings if f.code == code]


def test_an_oven_has_the_one_style_and_is_proposed() -> None:
    assert in_the_one_style(Source("galley.plate", DC)) == (DC, ())
    assert "oven" in [proposal.word for proposal in proposals("ov", {})]
    assert "duty" in [proposal.word for proposal in proposals("oven cooker 240 W, du", {"cooker": "oven"})]
