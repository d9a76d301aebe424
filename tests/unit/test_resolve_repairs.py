"""Mistakes of beginners: one finding for each cause, with the repair that was meant."""

from __future__ import annotations

import pytest
from resolving import resolved

HEAD = """system "Small"
  nominal 12 V
battery house 12 V, 100 Ah, agm, fault-current 0.9 kA
bus plus positive, 100 A
bus minus negative, 100 A
panel cabin blade, ways 8, return minus
house.pos -- 0.15 m -- [main: fuse class-t 60 A] -- 0.5 m -- plus
house.neg -- 0.5 m -- minus
plus -- [feed: fuse class-t 30 A] -- 0.5 m -- cabin
"""

MISTAKES: list[tuple[str, list[tuple[str, str]]]] = [
    # a stroke that counts in the wrong place, and an arrow that counts nothing, leave no conductor missing as well
    ("load a 2 A\ncabin -- 2 m -//- a", [("CP113", "-- here, and -//- at the beginning")]),
    # an arrow is read as a stroke; the way back is what lacks then
    ("load a 2 A\ncabin -> 2 m -- a", [("CP232", "`a.neg -- 2 m -- minus`")]),
    # both poles of a load exchanged
    (
        "load a 2 A\nplus -- [fuse 5 A] -- 2 m -- a.neg\na.pos -- 2 m -- minus",
        [("CP230", "`a.pos`"), ("CP230", "`a.neg`")],
    ),
    ("bus aft positive, 50 A\nplus -//- 2 m -- aft", [("CP224", "`--`, for `aft` is one pole too")]),
    # batteries in series, one by one: a string; of unlike ones the weakest limits all
    (
        "battery b1 12 V, 80 Ah, agm\nbattery b2 12 V, 80 Ah, agm\nbattery b3 12 V, 80 Ah, agm\n"
        "b1.neg -- 0.3 m -- b2.pos\nb2.neg -- 0.3 m -- b3.pos",
        [],
    ),
    (
        "battery b1 12 V, 80 Ah, agm\nbattery b2 12 V, 90 Ah, agm\nb1.neg -- 0.3 m -- b2.pos",
        [("CP618", "batteries of one type and age in a string")],
    ),
    (
        "solar s1 100 W, voc 22 V, isc 6 A\nsolar s2 100 W, voc 22 V, isc 6 A\ns1.neg -- 0.3 m -- s2.pos",
        [("CP230", "`series 2` on `s1` instead of `s2`: units in series are one `solar` here")],
    ),
    # values
    ("load a 2 A, terminal stud M99\ncabin -//- 2 m -- a", [("CP129", "`terminal stud M8`")]),
    ("load a 2 A, terminal pos stud 3/7 in\ncabin -//- 2 m -- a", [("CP129", "`terminal pos stud 3/8 in`")]),
    ("load a 2 A\ncabin -//- 2 m, 2.5 mm -- a", [("CP121", "`2.5 mm2`, if the size is meant")]),
    ("load a 2 A\ncabin -//- 2.5 mm -- a", [("CP121", "`2.5 mm2`, if the size is meant")]),
    ("load a 2 A\ncabin -//- 150 mm -- a", []),
    ("panel b blade, ways 4 A, return minus\nplus -- 1 m -- b", [("CP126", "write it as `ways 4`")]),
    ("load a 2 A\ncabin -//- 2 m -- a\nstock", [("CP124", "`stock 16 AWG, 14 AWG, 10 AWG` or `stock at-most 4`")]),
    ("load a 2 A\nroute duct 2 m\ncabin -//- via duct, via duct -- a", [("CP205", "leave one of them out")]),
    ("load a 2 A, daily 30 h\ncabin -//- 2 m -- a", [("CP127", "`daily 24 h` at most")]),
    (
        "load a 2 A\ncabin -//- [f: fuse 5 A, backed-by f] -- 2 m -- a",
        [("CP210", "`backed-by` with the device before it, as its maker states the combination")],
    ),
    ("load a 2 A\ncabin -//- [f: fuse 5 A, backed-by cabin.fuze] -- 2 m -- a", [("CP202", "`backed-by cabin.1`")]),
    ("load a 2 A\ncabin -//- [f: fuse 5 A, backed-by feed] -- 2 m -- a", []),
    ("load a 2 A\na -//- 2 m -- cabin", [("CP207", "draw it from the panel: `cabin -//- ... -- a`")]),
    ("load a 2 A, daily 24 h\ncabin -//- 2 m -- a", []),
    ("part x load, 2 A\npart y load, part x\nload a part y\ncabin -//- 2 m -- a", [("CP204", "say its facts here")]),
    ("part x load, part x, 2 A\nload a part x\ncabin -//- 2 m -- a", [("CP204", "say its facts here")]),
]


@pytest.mark.parametrize(("lines", "expected"), MISTAKES, ids=[lines.splitlines()[-1] for lines, _ in MISTAKES])
def test_one_cause_draws_one_finding_with_its_repair(lines: str, expected: list[tuple[str, str]]) -> None:
    _, findings = resolved(HEAD + lines + "\n")
    assert [(f.code, f.help) for f in findings if f.code != "CP245"] == expected


@pytest.mark.parametrize(
    ("said", "meant"), [("lithium", "`lifepo4`"), ("lead-acid", "`flooded`"), ("wet", "`flooded`")]
)
def test_a_chemistry_by_another_name(said: str, meant: str) -> None:
    _, findings = resolved(HEAD.replace("agm", said))
    assert [(f.code, f.help) for f in findings if f.code != "CP245"] == [("CP204", meant)]
