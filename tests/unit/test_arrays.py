"""Strings of arrays: when each wants a fuse, which fuse serves, and what the home run carries."""

from __future__ import annotations

import pytest
from small_plates import compiled

PLATE = """system "Roof"
  nominal 12 V
  rules {rules}
  conductors mm2
battery house 12.8 V, 200 Ah, lifepo4, range 12..14.4 V, full 14.4 V, fault-current 0.9 kA
controller mppt 60 A, max-input 100 V, output 14.4 V
bus comb positive, 60 A
bus combn negative, 60 A
house.pos -- [fa: fuse class-t 80 A] -- 1 m -- mppt.pos
mppt.neg -- 1 m -- house.neg
comb -- 6 m{home} -- mppt.pv.pos
combn -- 6 m{home} -- mppt.pv.neg
"""
STRING = """solar s{n} 300 W, voc 40 V, isc {isc} A, vmp 33 V, imp {imp} A, temp-coefficient -0.3 %/K{most}
  coldest -10 degC
s{n}.pos -- 4 m{wire} -- {fuse}comb
s{n}.neg -- 4 m{wire} -- combn
"""


def strings(count: int, isc: float, most: str = "", fuse: str = "", home: str = "", rules: str = "iec-60364"):
    parts = "".join(
        STRING.format(n=n, isc=isc, imp=isc * 0.95, most=most, wire="", fuse=fuse and f"[f{n}: {fuse}] -- ")
        for n in range(count)
    )
    return compiled("", PLATE.format(rules=rules, home=home) + parts)


@pytest.mark.parametrize(
    ("count", "isc", "most", "asked"),
    [
        # NEC 690.9(A), worked on a trade forum: three strings of 5 A drive 2 x 1.25 x 5 = 12.5 A back.
        (3, 5, ", max-fuse 15 A", False),
        (3, 9, ", max-fuse 15 A", True),  # 22.5 A
        (2, 9, ", max-fuse 15 A", False),  # 11.25 A
        (2, 14, ", max-fuse 15 A", True),  # 17.5 A: two strings are not always too few
        (4, 4, ", max-fuse 15 A", False),  # 3 x 5 = 15 A, not above
        # Where the plate does not state it: from three strings on (common practice).
        (2, 9, "", False),
        (3, 5, "", True),
    ],
)
def test_strings_want_a_fuse_each_where_the_others_feed_them_too_much(count, isc, most, asked) -> None:
    _, findings = strings(count, isc, most)
    told = [f for f in findings if f.code == "CP426"]
    assert bool(told) is asked
    if told and most:
        assert f"{(count - 1) * 1.25 * isc:.3g} A" in told[0].message
    if most and 1.25 * 1.25 * isc > 15:
        return  # no fuse that carries the string is small enough for such modules
    _, fused = strings(count, isc, most, "fuse gpv")
    assert not [f for f in fused if f.code == "CP426"]


def test_a_fuse_without_a_family_is_made_for_arrays() -> None:
    """9 A x 1.25 x 1.25 = 14.1 A (NEC 690.9(B)); IEC 60269-6 has 15 A, from memory, and the modules stand 15 A."""
    design, findings = strings(3, 9, ", max-fuse 15 A", "fuse")
    rating = design.devices["f0"].rating
    assert (rating.family, rating.rating_a) == ("gpv", 15)
    assert not [f for f in findings if f.code in ("CP407", "CP413", "CP449")]


def test_gg_fuses_never_serve_an_array() -> None:
    _, findings = strings(3, 9, "", "fuse gg 16 A")
    (told,) = [f for f in findings if f.code == "CP449"]
    assert all(f"`f{n}`" in told.message for n in range(3)) and "gpv" in (told.help or "")


@pytest.mark.parametrize("rules", ["iec-60364", "nec"])
def test_fuses_of_strings_do_not_enlarge_the_home_run(rules: str) -> None:
    """Three strings of 9 A give 3 x 1.25 x 9 = 33.75 A for ever whatever their fuses: NEC 690.8. Before any factor
    1.25 x 33.75 = 42.2 A."""
    bare, _ = strings(3, 9, "", rules=rules)
    for fuse in ("fuse gpv 15 A", "fuse gpv 30 A"):
        fused, _ = strings(3, 9, "", fuse, rules=rules)
        assert fused.runs["mppt.pv.pos.run"].size == bare.runs["mppt.pv.pos.run"].size
        ampacity = fused.runs["mppt.pv.pos.run"].ampacity
        assert ampacity is not None and ampacity.value >= 33.75


def test_a_home_run_that_is_too_thin_asks_for_copper_and_not_for_a_smaller_fuse() -> None:
    """1.5 mm² carries 24 A (IEC 60364-5-52 Table B.52.3 method C), and 33.75 A come; a fuse of 24 A would not carry the
    42.2 A that the strings may give."""
    _, findings = strings(3, 9, "", home=", 1.5 mm2")
    told = [f for f in findings if f.subject == "mppt.pv.pos.run" and f.code == "CP432"]
    for finding in told:
        assert "[fuse]" not in (finding.help or "") and "mm²" in (finding.help or "")
        assert all(f"`s{n}`" in " ".join(finding.notes) for n in range(3))
    assert told


@pytest.mark.parametrize(("volts", "told"), [(30, True), (60, False)])
def test_insulation_is_made_for_the_cold_voltage_of_the_string(volts: int, told: bool) -> None:
    """40 V x (1 + 0.003 x 35 K) = 44.2 V at -10 °C, by the modules' own coefficient (NEC 690.7(A))."""
    _, findings = strings(1, 9, "", home=f", {volts} V")
    assert bool([f for f in findings if f.code == "CP451"]) is told
