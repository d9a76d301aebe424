"""Each kind of published worked example again with other figures, as a plate through the whole compiler.

The answers are worked out here by the published rule named beside each, in a line or two of plain arithmetic, from
figures of the tables that the rule names; nothing of the product is used but the finished design as `design.json`
has it.
"""

from __future__ import annotations

from math import log, sqrt
from typing import Any

import pytest

from copperplate.design import compile_plate
from copperplate.schema import to_json
from copperplate.text import Source

# Figures of published tables ------------------------------------------------------------------------------------

CMIL = {"16": 2583, "14": 4107, "12": 6530, "10": 10383, "8": 16510, "6": 26251, "4": 41741, "2": 66371, "1": 83693,
        "1/0": 105535, "2/0": 133077}  # fmt: skip
"""ASTM B258, circular mil, in the sizes that boat cable is stocked in."""
SAE_CMIL = {"14": 3702, "12": 5833, "10": 9343, "8": 14810, "6": 24538, "4": 37360, "2": 62450}
"""Smallest areas of SAE conductors."""
OHM_PER_KFT = {"12": 1.98, "10": 1.24, "8": 0.778, "6": 0.491, "4": 0.308, "3": 0.245, "2": 0.194}
"""NEC chapter 9 Table 8, uncoated copper, stranded."""
MM2 = (1.0, 1.5, 2.5, 4, 6, 10, 16, 25, 35, 50, 70, 95, 120, 150)
OHM_PER_KM = {1.0: 19.5, 1.5: 13.3, 2.5: 7.98, 4: 4.95, 6: 3.30, 10: 1.91, 16: 1.21, 25: 0.780, 35: 0.554, 50: 0.386}
"""IEC 60228, class 5, plain, 20 °C."""


def us(amperes: float, feet: float, volts: float, table: dict[str, int] = CMIL) -> str:
    """US small-craft practice, CM = K I L / E with K = 10.75 and L out and back in feet; the next size up."""
    return next(size for size, mil in table.items() if mil >= 10.75 * amperes * 2 * feet / volts)


def metric(amperes: float, metres: float, volts: float, constant: float) -> float:
    """ISO 10133 annex, S = 0.0164 I L / E, and IEC 60364-5-52 annex G with 0.0225; L out and back."""
    return next(area for area in MM2 if area >= constant * amperes * 2 * metres / volts)


def code(amperes: float, feet: float, volts: float) -> str:
    """NEC chapter 9 Table 8, out and back."""
    return next(size for size, ohm in OHM_PER_KFT.items() if ohm * 2 * feet / 1000 * amperes <= volts)


def design_of(text: str, errors: tuple[str, ...] = ()) -> dict[str, Any]:
    """`design.json` of a plate whose errors are exactly `errors`."""
    design, findings = compile_plate(Source("kind.plate", text), lambda name: None)
    found = [f.code for f in findings if f.severity == "error"]
    assert tuple(found) == errors, [f.message for f in findings if f.severity == "error"]
    assert design is not None
    return to_json(design)


def by_id(entries: list[dict[str, Any]]) -> dict[str, dict[str, Any]]:
    return {entry["id"]: entry for entry in entries}


def dc(volts: float, rules: str, load: str, way: str, more: str = "", bank: str = "") -> str:
    """One battery, one load, one run."""
    bank = bank or f"range {volts}..{volts * 1.2:g} V, fault-current 2 kA"
    return f"""system "Kind"
  nominal {volts} V
  rules {rules}
{more}battery b {volts} V, 200 Ah, agm
  {bank}
load x {load}
b -//- [fuse] -- {way} -- x
"""


# Sizes by voltage drop ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("volts", "amperes", "feet", "share", "system"),
    [
        (12, 8, 22, 3, "awg"), (24, 15, 40, 10, "awg"), (48, 30, 60, 3, "awg"), (12, 1.4, 31, 3, "awg"),
        (36, 40, 17.5, 5, "awg"), (12, 6, 15, 3, "sae"), (24, 22, 33, 3, "sae"),
    ],
)  # fmt: skip
def test_drop_by_circular_mil(volts: float, amperes: float, feet: float, share: float, system: str) -> None:
    table = {"awg": CMIL, "sae": SAE_CMIL}[system]
    size = us(amperes, feet, volts * share / 100, table)
    head = f"  conductors {system}\n"
    design = design_of(dc(volts, "cfr-183", f"{amperes} A, drop {share} %", f"{feet} ft", head))
    run, load = by_id(design["runs"])["x.run"], design["loads"][0]
    assert run["size"] == f"{size} {system.upper()}" and run["governed_by"] in ("drop", "minimum", "protection")
    lost = 10.75 * amperes * 2 * feet / table[size]
    assert run["drop_v"] == pytest.approx(lost, rel=1e-4)
    assert load["drop_percent"] == pytest.approx(100 * lost / volts, rel=1e-4)
    # Spare length is what of the budget the size leaves, one way.
    assert run["spare_length_m"] == pytest.approx(0.3048 * feet * (volts * share / 100 / lost - 1), rel=1e-3)


@pytest.mark.parametrize(
    ("rules", "constant", "volts", "amperes", "metres", "share"),
    [
        ("iso-13297", 0.0164, 24, 12, 9, 3), ("iso-13297", 0.0164, 12, 4, 14, 10), ("iso-13297", 0.0164, 48, 60, 12, 2),
        ("iec-60364", 0.0225, 24, 10, 10, 3), ("iec-60364", 0.0225, 12, 2.5, 8, 5),
        ("iec-60364", 0.0225, 48, 35, 21, 3),
    ],
)  # fmt: skip
def test_drop_in_metric(rules: str, constant: float, volts: float, amperes: float, metres: float, share: float) -> None:
    insulation = "  insulation 70 degC\n"
    design = design_of(dc(volts, rules, f"{amperes} A, drop {share} %", f"{metres} m", insulation))
    run = by_id(design["runs"])["x.run"]
    area = metric(amperes, metres, volts * share / 100, constant)
    assert run["area_mm2"] == area and run["governed_by"] in ("drop", "minimum")
    assert run["drop_v"] == pytest.approx(constant * amperes * 2 * metres / area)


@pytest.mark.parametrize(("volts", "amperes", "feet"), [(48, 20, 50), (24, 8, 60), (12, 16, 9)])
def test_drop_by_the_building_code(volts: float, amperes: float, feet: float) -> None:
    design = design_of(dc(volts, "nec", f"{amperes} A", f"{feet} ft", "  insulation 75 degC\n"))
    run, size = by_id(design["runs"])["x.run"], code(amperes, feet, 0.03 * volts)
    assert (run["size"], run["governed_by"]) == (f"{size} AWG", "drop")
    assert run["drop_v"] == pytest.approx(amperes * 2 * feet * OHM_PER_KFT[size] / 1000)


def test_a_feeder_and_its_branch_lose_together() -> None:
    """Both sizes stated: the branch's current over the feeder's and its own copper; K = 10.75."""
    design = design_of("""system "Kind"
  nominal 12 V
battery b 12 V, 200 Ah, agm, range 12..14.4 V, fault-current 2 kA
panel p blade, ways 4
load x 6 A, drop 8 %
load y 9 A, drop 8 %
b -//- [fuse] -- 12 ft, 6 AWG -- p
p -//- 18 ft, 12 AWG -- x
p -//- 25 ft, 10 AWG -- y
""")
    lost = by_id(design["loads"])
    feeder = 10.75 * 15 * 24 / CMIL["6"]
    assert lost["x"]["drop_v"] == pytest.approx(feeder + 10.75 * 6 * 36 / CMIL["12"], rel=1e-4)
    assert lost["y"]["drop_v"] == pytest.approx(feeder + 10.75 * 9 * 50 / CMIL["10"], rel=1e-4)


# Design currents ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("watts", "low", "share"), [(60, 12.0, 3), (350, 22.4, 10), (1200, 48.0, 5)])
def test_constant_power_at_the_low_voltage_less_its_budget(watts: float, low: float, share: float) -> None:
    """Common practice, no source: P / (U low - budget)."""
    volts = {12.0: 12, 22.4: 24, 48.0: 48}[low]
    bank = f"range {low}..{volts * 1.2:g} V, fault-current 2 kA"
    design = design_of(dc(volts, "cfr-183", f"{watts} W, drop {share} %", "1 m", "", bank))
    expected = watts / (low - volts * share / 100)
    assert by_id(design["runs"])["x.run"]["design_current_a"] == pytest.approx(expected)


@pytest.mark.parametrize(
    ("volts", "low", "watts", "efficiency", "fuse"),
    [(12, 12.0, 800, 90, 100), (24, 23.0, 2000, 92, 125), (48, 47.2, 3000, 94, 90)],
)
def test_the_current_of_an_inverter(volts: float, low: float, watts: float, efficiency: float, fuse: float) -> None:
    """Output over efficiency at the low voltage (less its budget of 3 %), and 125 % on the device (NEC 215.3)."""
    design = design_of(f"""system "Kind"
  nominal {volts} V
battery b {volts} V, 400 Ah, agm, range {low}..{volts * 1.2:g} V, fault-current 6 kA
inverter i {watts} W, efficiency {efficiency} %
b -//- 0.1 m -- [f: fuse class-t] -- 1 m -- i
""")
    amperes = watts / (efficiency / 100) / (low - 0.03 * volts)
    assert by_id(design["runs"])["i.run"]["design_current_a"] == pytest.approx(amperes)
    device = by_id(design["devices"])["f"]
    assert device["needs_a"] == pytest.approx(1.25 * amperes)
    assert device["rating_a"] == fuse


# Ampacities ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("rules", "head", "load", "way", "size", "ampacity"),
    [
        # 33 CFR 183.425 Table 5 and note 1: 75 °C, engine space, 40 x 0.75; a fuse of 25 A for 20 A.
        ("cfr-183", "insulation 75 degC", "20 A, drop 20 %", "1 m, via hot", "10 AWG", 40 * 0.75),
        # Table 5 at 105 °C and 40 °C of air, thermal formula: 16 AWG 25 A.
        ("cfr-183", "ambient 40 degC", "10 A, drop 20 %", "1 m", "16 AWG", 25 * sqrt(65 / 75)),
        # 60 °C insulation in air of 45 °C: 12 AWG 25 sqrt(15/30) = 17.7 is below the 20 A fuse, 10 AWG 28.3 is not.
        ("cfr-183", "insulation 60 degC\n  ambient 45 degC", "16 A, drop 20 %", "1 m", "10 AWG", 40 * sqrt(15 / 30)),
        # NEC 310.16 at 75 °C, 36 to 40 °C 0.88, terminals 60 °C to 1 AWG: 8 AWG min(50 x 0.88, 40) for a 35 A fuse.
        ("nec", "insulation 75 degC\n  ambient 40 degC", "28 A, drop 20 %", "1 m", "8 AWG", 40),
        # NEC 310.15(C)(1): two loaded conductors in a conduit need no factor.
        ("nec", "insulation 90 degC\n  ambient 50 degC", "9.6 A, drop 20 %", "1 m, via pipe", "12 AWG", 20),
        # IEC 60364-4-43 433.1, Ib <= In <= Iz: a fuse of 16 A for 16 A. 60364-5-52 method C, PVC, 35 °C 0.94: 1.5 mm²
        # 19.5 A; B1 in conduit at 40 °C 0.87: 1.5 mm² 17.5 A is too little, 2.5 mm² 24 A; XLPE at 55 °C 0.76.
        ("iec-60364", "insulation 70 degC\n  ambient 35 degC", "16 A, drop 20 %", "1 m", "1.5 mm2", 19.5 * 0.94),
        ("iec-60364", "insulation 70 degC\n  ambient 40 degC", "16 A, drop 9 %", "1 m, via pipe", "2.5 mm2", 24 * 0.87),
        ("iec-60364", "insulation 90 degC\n  ambient 55 degC", "16 A, drop 20 %", "1 m", "2.5 mm2", 33 * 0.76),
        # The small-craft table, from memory: 105 °C in an engine space 0.86; 70 °C insulation 0.75, and the fuse of
        # 30 A, for it stands in that air (60 °C) too, which leaves 0.867 of 25 A (common practice): 4 mm² carries
        # 26.25 A.
        ("iso-13297", "insulation 105 degC", "20 A, drop 20 %", "1 m, via hot", "2.5 mm2", 35 * 0.86),
        ("iso-13297", "insulation 70 degC", "20 A, drop 20 %", "1 m, via hot", "6 mm2", 45 * 0.75),
        ("iso-13297", "insulation 85 degC\n  ambient 50 degC", "20 A, drop 20 %", "1 m", "4 mm2", 40 * sqrt(35 / 55)),
    ],
)  # fmt: skip
def test_ampacity_with_its_factors(rules: str, head: str, load: str, way: str, size: str, ampacity: float) -> None:
    routes = "route hot 0.5 m, engine-space\nroute pipe 0.5 m, conduit\n"
    text = dc(24, rules, load, way, f"  {head}\n").replace("load x", f"{routes}load x")
    run = by_id(design_of(text)["runs"])["x.run"]
    assert run["size"] == size
    assert run["ampacity_a"] == pytest.approx(ampacity, rel=1e-6)


@pytest.mark.parametrize(
    ("rules", "circuits", "laid", "insulation", "size", "ampacity"),
    [
        # NEC 310.15(C)(1): six conductors 80 %, eight 70 %, ten 50 %; 90 °C column 30 and 40 A, terminals 20 and 30 A.
        ("nec", 3, "conduit", 90, "12 AWG", 20), ("nec", 4, "conduit", 75, "10 AWG", 35 * 0.7),
        ("nec", 5, "conduit", 90, "10 AWG", 40 * 0.5),
        # IEC B.52.17: three circuits bunched 0.70, six 0.57; four in one layer 0.75.
        ("iec-60364", 3, "bundle", 70, "4 mm2", 36 * 0.70), ("iec-60364", 4, "free-air", 70, "2.5 mm2", 27 * 0.75),
        ("iec-60364", 6, "bundle", 90, "4 mm2", 45 * 0.57),
        # Small craft, from memory: four to six conductors 0.7, seven to 24 0.6; 105 and 70 °C.
        ("iso-13297", 2, "bundle", 105, "2.5 mm2", 35 * 0.7), ("iso-13297", 4, "bundle", 70, "4 mm2", 35 * 0.6),
        # 33 CFR 183.435(b): no factor below 50 V.
        ("cfr-183", 4, "bundle", 105, "16 AWG", 25),
    ],
)  # fmt: skip
def test_runs_that_share_a_route(
    rules: str, circuits: int, laid: str, insulation: int, size: str, ampacity: float
) -> None:
    lines = [f'system "Kind"\n  nominal 24 V\n  rules {rules}\n  insulation {insulation} degC']
    lines += ["battery b 24 V, 400 Ah, agm, range 24..28 V, fault-current 2 kA", f"route way 2 m, {laid}"]
    for n in range(circuits):
        lines += [f"load x{n} 16 A, drop 20 %", f"b -//- [fuse class-t 20 A] -- via way -- x{n}"]
    for run in design_of("\n".join(lines) + "\n")["runs"]:
        assert (run["size"], run["ampacity_a"]) == (size, pytest.approx(ampacity))


# Fuses -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("family", "load", "rating"),
    [
        # 125 % of continuous current (NEC 215.3), 100 % of what is intermittent; the next of the family's ratings.
        ("blade", "3.3 A", 5), ("blade", "6 A", 7.5), ("blade", "6.1 A", 10), ("blade", "10 A, intermittent", 10),
        ("mini-blade", "19 A", 25), ("high-blade", "49 A", 70), ("single-bolt", "61 A", 80), ("gg", "27 A", 40),
        ("class-t", "85 A", 110), ("strip", "90 A, intermittent", 100), ("breaker", "9 x 1.1 A", 15),
    ],
)  # fmt: skip
def test_the_next_standard_rating(family: str, load: str, rating: float) -> None:
    kind = "breaker" if family == "breaker" else f"fuse {family}"
    bank = "range 12..14.4 V, fault-current 900 A"
    text = dc(12, "cfr-183", f"{load}, drop 20 %", "1 m", bank=bank).replace("[fuse]", f"[f: {kind}, breaks 1 kA]")
    assert by_id(design_of(text)["devices"])["f"]["rating_a"] == rating


# Faults ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("volts", "emf", "source", "mohm", "metres", "area"),
    [
        # e.m.f. fully charged: AGM 13.2 V, LiFePO4 13.6 V and flooded 12.73 V a block, as rested voltages are read.
        ("24 V, 200 Ah, agm, range 24..28.8 V, fault-current 3 kA", 26.4, "b", 26.4 / 3, 0.8, 25),
        ("12.8 V, 100 Ah, lifepo4, range 12..14.4 V, internal-resistance 4 mohm, parallel 2", 13.6, "b", 2, 1.2, 35),
        ("12 V, 100 Ah, flooded, series 2, range 11.5..14.4 V, internal-resistance 5 mohm", 25.46, "b", 10, 0.5, 16),
        ("12.8 V, 100 Ah, lifepo4, series 4, range 12..14.4 V, fault-current 4 kA, parallel 2", 54.4, "b",
         54.4 / 8, 1.0, 50),
    ],
)  # fmt: skip
def test_the_fault_current_at_a_device(
    volts: str, emf: float, source: str, mohm: float, metres: float, area: float
) -> None:
    """U / (own resistance + copper to the device, 20 °C, IEC 60228): common practice, no source."""
    nominal = {26.4: 24, 13.6: 12, 25.46: 24, 54.4: 48}[emf]
    design = design_of(f"""system "Kind"
  nominal {nominal} V
  rules cfr-183
  conductors mm2
battery b {volts}
load x 20 A, drop 20 %
b -//- {metres} m, {area} mm2 -- [f: fuse class-t 50 A] -- 3 m -- x
""")
    device = by_id(design["devices"])["f"]
    copper = OHM_PER_KM[area] * metres
    assert device["prospective_fault_a"] == pytest.approx(emf / (mohm + copper) * 1000, rel=1e-4)


@pytest.mark.parametrize(
    ("family", "amperes", "metres", "area", "insulation"),
    [("blade", 10, 8, 2.5, 70), ("blade", 20, 5, 6, 105), ("high-blade", 60, 9, 16, 90)],
)
def test_the_far_end_and_the_heat_that_copper_stands(
    family: str, amperes: float, metres: float, area: float, insulation: int
) -> None:
    """U low / (own + out and back at the insulation's temperature, 0.393 % a kelvin); k by IEC 60364-5-54 annex A with
    a final 160 °C; times of ISO 8820-3: 600 % opens within 0.15 s (type C) and 1 s (type E), 200 % 5 s and 50 s."""
    text = dc(12, "iec-60364", f"{amperes * 0.7} A, drop 30 %", f"{metres} m, {area:g} mm2",
              f"  insulation {insulation} degC\n", "range 12..14 V, fault-current 950 A")  # fmt: skip
    device = by_id(design_of(text.replace("[fuse]", f"[f: fuse {family} {amperes} A]"))["devices"])["f"]
    hot = 1 + 0.00393 * (insulation - 20)
    loop = 13.2 / 950 + 2 * metres * OHM_PER_KM[area] * hot / 1000
    assert device["end_fault_a"] == pytest.approx(12 / loop, rel=1e-4)
    times = 12 / loop / amperes
    table = {"blade": ((6, 0.15), (3.5, 0.5), (2, 5)), "high-blade": ((6, 1), (3.5, 7), (2, 50))}[family]
    assert device["opens_within_s"] == next(seconds for share, seconds in table if times >= share)
    k = 226 * sqrt(log(1 + (160 - insulation) / (234.5 + insulation)))
    assert device["k2s2"] == pytest.approx((k * area) ** 2, rel=1e-4)


@pytest.mark.parametrize(
    ("family", "fault", "refused"),
    [("blade", 0.9, False), ("blade", 1.2, True), ("single-bolt", 1.9, False), ("single-bolt", 2.6, True),
     ("class-t", 19, False), ("class-t", 24, True)],
)  # fmt: skip
def test_what_a_fuse_breaks(family: str, fault: float, refused: bool) -> None:
    """ISO 8820-3 1 kA, ISO 8820-6 2 kA, UL 248-15 20 kA DC: the device at the battery cannot break more."""
    bank = f"range 12..14.4 V, fault-current {fault} kA"
    text = dc(12, "cfr-183", "20 A, drop 20 %", "2 m", bank=bank).replace("[fuse]", f"[f: fuse {family} 30 A]")
    device = by_id(design_of(text, ("CP411",) if refused else ())["devices"])["f"]
    assert (device["prospective_fault_a"] > device["interrupting_a"]) is refused


# Alternating current ---------------------------------------------------------------------------------------------

MAINS = """system "Kind"
  nominal 12 V
  rules {rules}
  ac {volts} V
  insulation {insulation} degC
shore dock 63 A, {volts} V, bonds-neutral, fault-current 3 kA
panel mains ac, breaker, ways 4
load one {load}, ac
dock.ac-out -///- 2 m -- [main: breaker {main} A, poles 2, residual 30 mA, breaks 6 kA] -- 1 m -- mains
mains -///- [own: breaker, poles {poles}, breaks 6 kA] -- {length} -- one
"""


@pytest.mark.parametrize(
    ("rules", "volts", "insulation", "load", "length", "rating", "size"),
    [
        # NEC 210.20(A) 125 %, 240.4(D) 15 A on 14 AWG, 20 on 12, 30 on 10.
        ("nec", 120, 75, "11 A, drop 5 %", "6 m", 15, "14 AWG"),
        ("nec", 120, 75, "1800 W, drop 5 %", "6 m", 20, "12 AWG"),
        ("nec", 120, 75, "23 A, drop 5 %", "6 m", 30, "10 AWG"),
        # The same as practice on US boats; Table 5 at 105 °C allows more on each.
        ("cfr-183", 120, 105, "2000 W, drop 5 %", "5 m", 25, "10 AWG"),
        # IEC 60364-4-43 433.1, Ib <= In <= Iz: 10 A on a breaker of 10 A, 18 on 20, 30 on 32 (IEC 60898-1); method C.
        ("iec-60364", 230, 70, "2300 W, drop 5 %", "9 m", 10, "1.5 mm2"),
        ("iec-60364", 230, 70, "18 A, drop 5 %", "12 m", 20, "2.5 mm2"),
        ("iec-60364", 230, 70, "30 A, drop 5 %", "15 m", 32, "4 mm2"),
    ],
)  # fmt: skip
def test_a_branch_of_alternating_current(
    rules: str, volts: int, insulation: int, load: str, length: str, rating: float, size: str
) -> None:
    text = MAINS.format(rules=rules, volts=volts, insulation=insulation, load=load, length=length, main=63, poles=2)
    if rules != "iec-60364":
        text = text.replace("breaker 63 A", "breaker 60 A")
    design = design_of(text.replace("[own: breaker, poles 2, breaks 6 kA] -- ", ""))
    run = next(r for r in design["runs"] if r["to"] == "one")
    assert by_id(design["devices"])["mains.1"]["rating_a"] == rating
    assert run["size"] == size


@pytest.mark.parametrize(
    ("rules", "volts", "amperes", "metres", "size", "ohm_per_m"),
    [
        ("nec", 120, 12, 30.48, "10 AWG", 1.24 / 304.8), ("nec", 120, 16, 45.72, "6 AWG", 0.491 / 304.8),
        ("iec-60364", 230, 10, 40, "4 mm2", 0.0225 / 4), ("iec-60364", 230, 16, 32, "4 mm2", 0.0225 / 4),
        ("cfr-183", 120, 9, 30, "12 AWG", 10.75 / 6530 / 0.3048), ("iso-13297", 230, 8, 60, "2.5 mm2", 0.0164 / 2.5),
    ],
)  # fmt: skip
def test_the_drop_of_alternating_current(
    rules: str, volts: int, amperes: float, metres: float, size: str, ohm_per_m: float
) -> None:
    """2 I L R over line and neutral, as NEC chapter 9, IEC 60364-5-52 annex G and small-craft practice have it."""
    load = f"{amperes} A, drop 3 %"
    text = MAINS.format(rules=rules, volts=volts, insulation=75, load=load, length=f"{metres} m", main=60, poles=2)
    text = text.replace("[own: breaker, poles 2, breaks 6 kA] -- ", "").replace("breaker 60 A", "breaker 50 A")
    text = text.replace("2 m -- [main", "0.01 m, {0} -- [main").replace("1 m -- mains", "0.01 m -- mains")
    run = next(r for r in design_of(text.replace("{0}", "4 AWG" if "AWG" in size else "25 mm2"))["runs"]
               if r["to"] == "one")  # fmt: skip
    assert (run["size"], run["governed_by"]) == (size, "drop")
    assert run["drop_v"] == pytest.approx(2 * amperes * metres * ohm_per_m, rel=1e-3)


# Sun, banks and days ---------------------------------------------------------------------------------------------

SUN = """system "Kind"
  nominal {nominal} V
  rules nec
  insulation 90 degC
battery b {nominal} V, 200 Ah, agm, range {nominal}..{full} V, fault-current 3 kA
solar a {watts} W, voc {voc} V, isc {isc} A, vmp {vmp} V, imp {imp} A{more}, series {series}, parallel {parallel}
  coldest {coldest} degC
controller c 80 A, max-input {limit} V, output {full} V
a -//- [string: fuse gg, breaks 20 kA] -- 3 m -- c.pv
b -//- 0.2 m -- [out: fuse class-t] -- 1 m -- c
"""


@pytest.mark.parametrize(
    ("voc", "more", "series", "coldest", "cold_v"),
    [
        # NEC 690.7(A): the module's coefficient against 25 °C; without one the row of Table 690.7(A).
        (22.4, ", temp-coefficient -0.3 %/K", 4, -10, 4 * 22.4 * (1 + 0.003 * 35)),
        (37.9, ", temp-coefficient -0.28 %/K", 3, -18, 3 * 37.9 * (1 + 0.0028 * 43)),
        (45.6, "", 2, -7, 2 * 45.6 * 1.14), (45.6, "", 2, -33, 2 * 45.6 * 1.23), (21.8, "", 3, 12, 3 * 21.8 * 1.06),
    ],
)  # fmt: skip
def test_a_cold_string_against_the_controller(
    voc: float, more: str, series: int, coldest: float, cold_v: float
) -> None:
    for limit, errors in ((cold_v + 0.5, ()), (cold_v - 0.5, ("CP603",))):
        text = SUN.format(nominal=24, full=28.8, watts=150, voc=voc, isc=6.1, vmp=voc * 0.8, imp=5.7, more=more,
                          series=series, parallel=1, coldest=coldest, limit=limit)  # fmt: skip
        design_of(text, errors)


@pytest.mark.parametrize(
    ("isc", "parallel", "rating", "ratings_next"),
    [(3.9, 1, 10, 6), (6.2, 2, 20, 16), (10.9, 2, 40, 32), (9.1, 1, 16, 10)],
)
def test_the_fuse_of_an_array(isc: float, parallel: int, rating: float, ratings_next: float) -> None:
    """NEC 690.8: 1.25 x 1.25 of the short-circuit current; the next gG rating (IEC 60269)."""
    text = SUN.format(nominal=12, full=14.4, watts=120, voc=22, isc=isc, vmp=18, imp=isc * 0.93, more="", series=1,
                      parallel=parallel, coldest=0, limit=100)  # fmt: skip
    design = design_of(text)
    device, run = by_id(design["devices"])["string"], by_id(design["runs"])["c.pv.run"]
    assert device["needs_a"] == pytest.approx(1.5625 * isc * parallel)
    assert ratings_next < device["needs_a"] <= device["rating_a"] == rating
    assert run["ampacity_a"] >= device["rating_a"]


@pytest.mark.parametrize(
    ("volts", "hours", "watts", "capacity", "usable", "parallel", "series"),
    [(12, 5, 60, 110, 50, 2, 1), (24, 8, 90, 75, 60, 1, 2), (48, 24, 35, 50, 80, 3, 4)],
)
def test_a_day_and_the_days_that_a_bank_lasts(
    volts: int, hours: float, watts: float, capacity: float, usable: float, parallel: int, series: int
) -> None:
    """Common practice, no source: watts by hours, over capacity by voltage by usable share."""
    block = volts / series
    design = design_of(f"""system "Kind"
  nominal {volts} V
battery b {block:g} V, {capacity} Ah, agm, series {series}, parallel {parallel}, usable {usable} %
  range {block:g}..{block * 1.2:g} V, fault-current 1 kA
load x {watts} W, daily {hours} h, drop 10 %
b -//- [fuse class-t] -- 0.01 m -- x
""")
    bank = design["energy"]["b"]
    assert bank["daily_wh"] == pytest.approx(watts * hours, rel=1e-3)
    assert bank["usable_wh"] == pytest.approx(volts * capacity * parallel * usable / 100)
    assert bank["autonomy_days"] == pytest.approx(
        volts * capacity * parallel * usable / 100 / (watts * hours), rel=1e-3
    )


@pytest.mark.parametrize(("first", "second"), [(3.0, 3.0), (2.0, 5.0), (4.0, 1.5)])
def test_two_banks_share_by_resistance_and_add_in_a_fault(first: float, second: float) -> None:
    """Kirchhoff: each gives I = (E / R) beside the other; a short at the bar has the sum behind its own
    leads; the fuse of one has its own bank on one side and the other bank on the other, and breaks the larger."""
    design = design_of(f"""system "Kind"
  nominal 12 V
  conductors mm2
battery p 12 V, 100 Ah, agm, range 12..14.4 V, internal-resistance {first} mohm
battery q 12 V, 100 Ah, agm, range 12..14.4 V, internal-resistance {second} mohm
bus plus positive, 300 A
bus minus negative, 300 A
load x 40 A, drop 10 %
p.pos -- [fp: fuse class-t 100 A] -- 1 m, 35 mm2 -- plus
q.pos -- [fq: fuse class-t 100 A] -- 1 m, 35 mm2 -- plus
p.neg -- 1 m, 35 mm2 -- minus
q.neg -- 1 m, 35 mm2 -- minus
plus -- [fx: fuse class-t 60 A] -- 2 m, 16 mm2 -- x.pos
x.neg -- 2 m, 16 mm2 -- minus
""")
    lead = OHM_PER_KM[35] * 1
    devices = by_id(design["devices"])
    at_bar = 13.2 / (first + lead) + 13.2 / (second + lead)
    assert devices["fx"]["prospective_fault_a"] == pytest.approx(1000 * at_bar, rel=1e-4)
    at_first = max(13.2 / first, 13.2 / (second + 2 * lead))
    assert devices["fp"]["prospective_fault_a"] == pytest.approx(1000 * at_first, rel=1e-4)


# Earths, motors and engines --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("rules", "amperes", "line", "earth"),
    [
        # NEC Table 250.122 by the device: to 20 A 12 AWG, 60 A 10, 100 A 8, 200 A 6.
        ("nec", 14, "10 AWG", "12 AWG"), ("nec", 40, "6 AWG", "10 AWG"), ("nec", 70, "2 AWG", "8 AWG"),
        ("nec", 85, "1/0 AWG", "6 AWG"),
        # IEC 60364-5-54 Table 54.2 (from memory) by the line: as it to 16 mm², 16 mm² to 35 mm², half above.
        ("iec-60364", 40, "10 mm2", "10 mm2"), ("iec-60364", 60, "35 mm2", "16 mm2"),
        ("iec-60364", 90, "70 mm2", "35 mm2"),
    ],
)  # fmt: skip
def test_an_earth_conductor(rules: str, amperes: float, line: str, earth: str) -> None:
    design = design_of(f"""system "Kind"
  nominal 24 V
  rules {rules}
  insulation 90 degC
battery b 24 V, 200 Ah, agm, range 24..28.8 V, fault-current 3 kA
earth rod "Rod"
bus minus negative, 300 A
load x {amperes} A, drop 8 %
b.pos -- 0.1 m -- [f: fuse class-t] -- 1 m, {line} -- x.pos
x.neg -- 1 m, {line} -- minus
b.neg -- 1 m, {line} -- minus
minus -- 3 m -- rod
""")
    run = by_id(design["runs"])["minus.run"]
    assert (run["size"], run["governed_by"]) == (earth, "earth table")


@pytest.mark.parametrize(
    ("volts", "low", "amperes", "inrush", "works", "metres", "area"),
    [(12, 11.8, 15, 70, 9.5, 6, 10), (24, 23.5, 20, 90, 18, 12, 10), (12, 12.0, 8, 45, 10, 5, 6)],
)
def test_what_is_left_as_a_motor_starts(
    volts: float, low: float, amperes: float, inrush: float, works: float, metres: float, area: float
) -> None:
    """U low less the starting current over both conductors, warm from the sizing current, and less what the start adds
    over the battery's own resistance, 2.2 V a cell charged over its 3 kA (common practice): IEC 60228 class 5,
    T = Ta + (Tmax - Ta)(I / Iz)^2; 33 CFR 183.425 Table 5 at 105 °C, rows of 8 and 10 AWG."""
    design = design_of(f"""system "Kind"
  nominal {volts} V
  conductors mm2
battery b {volts} V, 200 Ah, agm, range {low}..{volts * 1.2:g} V, fault-current 3 kA
load m {amperes} A, inrush {inrush} A, works {works}..{volts * 1.3:g} V, drop 10 %
b -//- [fuse class-t] -- {metres} m, {area} mm2 -- m
""")
    load, run = by_id(design["loads"])["m"], by_id(design["runs"])["m.run"]
    assert run["ampacity_a"] == {10: 80, 6: 60}[area]
    warm = 30 + 75 * (amperes / run["ampacity_a"]) ** 2
    ohm = 2 * metres * OHM_PER_KM[area] / 1000 * (1 + 0.00393 * (warm - 20))
    inside = 2.2 * volts / 2 / 3000
    assert load["start_v"] == pytest.approx(low - inrush * ohm - (inrush - amperes) * inside, rel=2e-3)
    assert load["start_v"] >= works
