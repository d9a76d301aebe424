"""Values in the units that the model counts in, defaults, types, and what is assumed."""

from __future__ import annotations

import pytest
from resolving import resolved, sound

from copperplate.model import Advice, Budget, Size, Terminal, Window
from copperplate.model.kinds import DEVICE_KINDS, KINDS
from copperplate.resolve.words import DIMENSION_WORDS, table
from copperplate.units import UNITS

SMALL = 'system "S"\n  nominal 12 V\nbattery house 12.8 V, 100 Ah\nload a 1 A\nhouse -//- 1 m -- a\n'


def test_values_are_counted_as_their_keys_say() -> None:
    text = SMALL.replace("100 Ah", "100 Ah, fault-current 5 kA, usable 80 %, range 12.0..14.4 V, link 1 ft, parallel 2")
    values = sound(text).parts["house"].values
    assert values["fault_current_a"] == 5000.0 and values["usable"] == 0.8 and values["capacity_ah"] == 100.0
    assert values["range"] == Window(12.0, 14.4) and values["parallel"] == 2 and values["series"] == 1
    assert values["link_m"] == pytest.approx(0.3048)  # the international foot, 1959


def test_temperatures_and_coefficients() -> None:
    text = (
        SMALL.replace("nominal 12 V", "nominal 12 V\n  ambient 104 degF") + "solar s 100 W, isc 6 A, coldest -20 degC\n"
    )
    system = sound(text + "  temp-coefficient -0.27 %/K\n")
    assert system.settings.ambient_c == pytest.approx(40.0)  # (104 - 32) / 1.8
    assert system.parts["s"].values["coldest_c"] == -20.0
    assert system.parts["s"].values["temp_coefficient_per_k"] == pytest.approx(-0.0027)


def test_a_count_of_loads_is_the_count_and_one_of_them() -> None:
    values = sound(SMALL.replace("load a 1 A", "load a 8 x 0.25 A, drop 0.3 V")).parts["a"].values
    assert (values["count"], values["current_a"], values["drop"]) == (8, 0.25, Budget(volts=0.3))


def test_terminals_and_advice_by_port() -> None:
    text = SMALL + "converter c 5 A, out 5 V\n  terminal in clamp 1.5..6 mm2\n  terminal out.pos stud M6\n"
    text += '  terminal lead 14 AWG\n  advised-wire in 4 mm2 to 3 m\n  comparable-wire 6 mm2 "a like one"\n'
    text += "load b 1 A\nhouse -//- [fuse] -- 1 m -- c\nc -//- 1 m -- b\n"
    part = sound(text).parts["c"]
    clamp = Terminal("clamp", smallest=Size("1.5", "mm2"), largest=Size("6", "mm2"))
    lead = Terminal("lead", smallest=Size("14", "AWG"), largest=Size("14", "AWG"))
    assert part.terminal("in.pos") == part.terminal("in.neg") == clamp
    assert part.terminal("out.pos") == Terminal("stud", stud="M6")
    assert part.terminal("out.neg") == lead
    assert part.advised["in.pos"] == Advice(Size("4", "mm2"), 3.0)
    assert part.comparable == (Size("6", "mm2"), "a like one")


@pytest.mark.parametrize(
    ("written", "smallest", "largest"),
    [("14..2/0 AWG", "14", "2/0"), ("2/0..14 AWG", "14", "2/0"), ("1..4/0 AWG", "1", "4/0")],
)
def test_a_clamp_of_gauges_runs_from_thin_to_thick(written: str, smallest: str, largest: str) -> None:
    part = sound(SMALL.replace("1 A", f"1 A, terminal clamp {written}")).parts["a"]
    terminal = part.terminal("pos")
    assert terminal is not None
    assert (terminal.smallest, terminal.largest) == (Size(smallest, "AWG"), Size(largest, "AWG"))


def test_a_panel_has_terminals_for_its_feed_and_its_ways() -> None:
    text = SMALL + "panel p ways 3\n  terminal feed stud M6\n  terminal way clamp 0.75..6 mm2\nload b 1 A\n"
    part = sound(text + "house -//- [fuse] -- 1 m -- p\np.2 -//- 1 m -- b\n").parts["p"]
    way = part.terminal("2")
    assert part.terminal("feed") == Terminal("stud", stud="M6")
    assert way is not None and way.largest == Size("6", "mm2")


def test_what_a_part_says_fills_what_the_load_leaves_out() -> None:
    text = SMALL.replace(
        "load a 1 A", "part lamp load, 24 W, works 10..15 V, drop 5 %\nload a part lamp, 1 A, drop 8 %"
    )
    part = sound(text).parts["a"]
    assert part.values["works"] == Window(10.0, 15.0) and "works" in part.stated
    assert part.values["drop"] == Budget(share=0.08)
    assert part.values["current_a"] == 1.0 and "power_w" not in part.values
    assert part.values["part"] == "lamp"


def test_a_device_takes_its_facts_from_its_part() -> None:
    text = SMALL.replace("load a", "part mini fuse mini-blade, 5 A, breaks 1 kA\nload a")
    device = sound(text.replace("house -//- 1 m", "house -//- [part mini] -- 1 m")).devices["a.fuse"]
    assert (device.kind, device.family, device.rating_a, device.breaks_a) == ("fuse", "mini-blade", 5.0, 1000.0)


@pytest.mark.parametrize(
    ("rules", "conductors", "paper"),
    [("cfr-183", "awg", "a4"), ("nec", "awg", "a4"), ("iso-13297", "mm2", "a4"), ("iec-60364", "mm2", "a4")],
)
def test_the_series_of_sizes_follows_the_rules(rules: str, conductors: str, paper: str) -> None:
    settings = sound(SMALL.replace("nominal 12 V", f"nominal 12 V\n  rules {rules}")).settings
    assert (settings.conductors, settings.paper) == (conductors, paper)


def test_every_default_of_the_system_is_an_assumption_and_nothing_stated_is() -> None:
    said = {a.text for a in sound(SMALL).assumptions if a.subject == "system"}
    assert len(said) == 6  # rules, ambient, insulation, drop, series of sizes, negative
    stated = "\n  rules nec\n  ambient 25 degC\n  insulation 90 degC\n  drop 5 %\n  conductors mm2\n  negative floating"
    system = sound(SMALL.replace("nominal 12 V", "nominal 12 V" + stated))
    assert not [a for a in system.assumptions if a.subject == "system"]
    assert system.settings.drop == Budget(share=0.05) and system.settings.negative == "floating"


def test_letter_paper_where_the_plate_counts_in_feet() -> None:
    assert sound(SMALL.replace("nominal 12 V", "nominal 12 V\n  units us")).settings.paper == "letter"


def test_the_title_of_a_plate_without_one_is_the_name_of_its_file() -> None:
    system, _ = resolved(SMALL.replace('system "S"', "system"))
    assert system is not None and system.settings.title == "test"


def test_efficiencies_that_nobody_states_are_assumed() -> None:
    text = SMALL + "inverter i 500 W\nhouse -//- [fuse] -- 1 m -- i\n"
    system = sound(text)
    assert system.parts["i"].values["efficiency"] == 0.9 and "efficiency" not in system.parts["i"].stated
    assert any(a.subject == "i" and "90 %" in a.text for a in system.assumptions)


def test_every_dimension_of_the_table_has_units_and_words() -> None:
    """What the messages need: a unit of each dimension that an attribute may have, and words for every unit."""
    known = {unit.dimension for unit in UNITS.values()}
    assert known == set(DIMENSION_WORDS)
    for kind in (*KINDS, *DEVICE_KINDS, "run"):
        for attribute in table(kind).attributes.values():
            assert not attribute.dimension or attribute.dimension in known, (kind, attribute.word)


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_no_word_of_a_kind_means_two_things(kind: str) -> None:
    """A bare word is either the word of an attribute or one choice of one attribute."""
    words = table(kind)
    assert not set(words.attributes) & set(words.choices)
