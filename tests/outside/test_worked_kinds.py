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
        ("iec-60364", 0.0225, 24, 10, 10, 3), ("iec-60364", 0.0225, 12, 2.5, 8, 5), ("iec-60364", 0.0225, 48, 35, 21, 3),
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
        # IEC 60364-5-52 method C, PVC, 35 °C 0.94: 2.5 mm² 27 A; B1 in conduit 24 A at 40 °C 0.87; XLPE at 55 °C 0.76.
        ("iec-60364", "insulation 70 degC\n  ambient 35 degC", "16 A, drop 20 %", "1 m", "2.5 mm2", 27 * 0.94),
        ("iec-60364", "insulation 70 degC\n  ambient 40 degC", "16 A, drop 20 %", "1 m, via pipe", "2.5 mm2", 24 * 0.87),
        ("iec-60364", "insulation 90 degC\n  ambient 55 degC", "16 A, drop 20 %", "1 m", "2.5 mm2", 33 * 0.76),
        # The small-craft table, from memory: 105 °C in an engine space 0.86; 70 °C insulation 0.75.
        ("iso-13297", "insulation 105 degC", "20 A, drop 20 %", "1 m, via hot", "2.5 mm2", 35 * 0.86),
        ("iso-13297", "insulation 70 degC", "20 A, drop 20 %", "1 m, via hot", "4 mm2", 35 * 0.75),
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
