"""The conductors between the batteries of a bank, against the wiring of series and parallel strings by hand: in
series negative to positive, strings joined at both ends (common practice, no source)."""

from __future__ import annotations

import pytest

from copperplate.design import compile_plate
from copperplate.text import Source

PLATE = """system "Bank"
  nominal {volts} V
  rules cfr-183
battery house 12.8 V, 100 Ah, lifepo4{bank}, link 0.2 m, fault-current 3 kA
  terminal stud M8
bus minus negative, terminal stud M8
load lamp 20 A
house.pos -- 0.2 m -- [fuse class-t] -- 2 m -- lamp.pos
lamp.neg -- 2 m -- minus
house.neg -- 1 m -- minus
"""


@pytest.mark.parametrize(
    ("bank", "volts", "ends"),
    [
        (", parallel 2", 12, ["house 1 + to house 2 +", "house 1 - to house 2 -"]),
        (", series 2", 24, ["house 1 - to house 2 +"]),
        (
            ", series 2, parallel 3",
            24,
            [
                "house 1 - to house 2 +",
                "house 3 - to house 4 +",
                "house 5 - to house 6 +",
                "house 1 + to house 3 +",
                "house 2 - to house 4 -",
                "house 3 + to house 5 +",
                "house 4 - to house 6 -",
            ],
        ),
    ],
)
def test_every_battery_is_joined_and_every_link_is_bought_cut_and_ended(bank: str, volts: int, ends: list[str]) -> None:
    design, _ = compile_plate(Source("bank.plate", PLATE.format(bank=bank, volts=volts)), lambda name: None)
    assert design is not None and not design.errors
    assert [f"{link.from_end} to {link.to_end}" for link in design.links] == ends
    assert [link.id for link in design.links] == [f"house.link/{n}" for n in range(1, len(ends) + 1)]
    cuts = {cut.conductor: cut for cut in design.cuts}
    leads = [design.runs[run.id] for run in design.system.runs.values() if "house" in design.system.end_parts(run)]
    lead = max(leads, key=lambda run: run.area_mm2)
    for link in design.links:
        cut = cuts[link.marker]
        assert (cut.from_end, cut.to_end, cut.colour) == (link.from_end, link.to_end, link.colour)
        assert lead.size is not None and cut.size == lead.size.key
        assert cut.from_fitting == cut.to_fitting == f"ring lug {lead.size.label}, M8"
        assert [fit.node for fit in design.fits if fit.conductor == link.id] == [link.from_end, link.to_end]
    lugs = next(m for m in design.materials if m.item == f"ring lug {lead.size.label}, M8")
    assert set(lugs.where) >= {link.marker for link in design.links}
    assert {link.colour for link in design.links if link.pole == "pos"} <= {"RD"}
