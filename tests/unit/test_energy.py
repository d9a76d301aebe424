"""A bank's day, its recharge, its limits, its charging voltages, its arrays."""

from __future__ import annotations

import math

import pytest
from plates import changed, codes, compiled, of_code

from copperplate.design import compile_plate
from copperplate.text import Source

DAY = changed(("2 A, works", "2 A, daily 10 h, works"))
ALTERNATOR = (
    changed(
        ("load lamp", 'alternator alt "Alternator" 14.2 V, 40 A, self-limiting\nload lamp'),
        ("14.4 V\n", "14.4 V, full 14.2 V\n"),
    )
    + "plus -- [fuse class-t] -- 1 m -- alt.pos\nalt.neg -- 1.2 m -- minus\n"
)
STEP = 'converter step "Step" 5 A, in 12 V, out 24 V, efficiency 90 %, isolated\n'
STEP_RUNS = """plus -- [fuse class-t] -- 1 m -- step.in.pos
step.in.neg -- 1 m -- minus
step.out -//- 3 m -- far
"""
ARRAY = (
    changed(
        (
            "load lamp",
            """solar roof "Array" 100 W, voc 22 V, isc 6 A, vmp 18 V, imp 5.5 A, temp-coefficient -0.3 %/K
  series 2
  coldest -10 degC
controller mppt "Controller" 20 A, max-input 60 V, output 14.2 V
load lamp""",
        )
    )
    + "plus -- [fuse class-t] -- 1 m -- mppt.pos\nmppt.neg -- 1 m -- minus\nroof -//- 3 m -- mppt.pv\n"
)


def lines_of(plate: str) -> dict[tuple[str, str], float]:
    (energy,) = compiled(plate)[0].energy
    return {(line.subject, line.what): line.wh for line in energy.lines}


def test_a_load_takes_its_power_for_its_hours():
    lines = lines_of(DAY)
    assert lines[("lamp", "load")] == pytest.approx(2 * 12.8 * 10)
    lost = lines[("house", "lost in conductors")]
    assert 0 < lost < 0.02 * 256  # the lamp's 3 % budget bounds what its conductors lose
    (energy,) = compiled(DAY)[0].energy
    assert energy.daily_wh == pytest.approx(sum(lines.values()))


def test_days_and_half_the_depth():
    """Short method of a personal log on stand-alone batteries (BS-07): 1000 Wh a day, 2.5 days at 50 % depth of
    discharge is a factor of 5: 416.7 Ah at 12 V."""
    plate = changed(
        ("12.8 V, 100 Ah, lifepo4", "12 V, 416.667 Ah, flooded, usable 50 %"),
        ("2 A, works", "100 W, daily 10 h, works"), ("-- 3 m --", "-- 0.01 m, 2/0 AWG --"),
        ("0.3 m --", "0.01 m, 2/0 AWG --"), ("0.5 m --", "0.01 m, 2/0 AWG --"), ("0.8 m --", "0.01 m, 2/0 AWG --"),
    )  # fmt: skip
    (energy,) = compiled(plate)[0].energy
    assert energy.usable_wh == pytest.approx(2500, rel=1e-4)
    assert energy.autonomy_days == pytest.approx(2.5, rel=1e-3)


def test_depth_and_efficiency_as_maini_and_agrawal_take_them():
    """Satellite Communication, example 4.6 (BS-05): 3600 W for 1.2 h over 80 % depth and 95 % efficiency is 5684.2 Wh
    stored. Here the efficiency is that of an inverter and the store is what lasts exactly one day."""
    plate = f"""system "Store"
  nominal 24 V
battery house "Bank" 25.6 V, {5684.21 / 25.6} Ah, lifepo4, usable 80 %, range 24..29 V, fault-current 2 kA
inverter inv "Inverter" 3600 W, 230 V, efficiency 95 %, daily 1.2 h
house.pos -- 0.01 m, 4/0 AWG -- [main: fuse class-t] -- 0.01 m, 4/0 AWG -- inv.pos
house.neg -- 0.02 m, 4/0 AWG -- inv.neg
"""
    plate = plate.replace(str(5684.21 / 25.6), f"{5684.21 / 25.6:.4f}")
    (energy,) = compiled(plate)[0].energy
    without_cable = energy.daily_wh - sum(line.wh for line in energy.lines if line.what == "lost in conductors")
    assert energy.usable_wh == pytest.approx(without_cable, rel=1e-4)


def test_hours_that_a_case_lasts():
    """Army ordnance course OD1633 (BS-01): 400 Ah last 4 h at 100 A; here the usable 80 % of 100 Ah at 2 A, 40 h."""
    (energy,) = compiled(DAY)[0].energy
    assert energy.by_case == (("everything", pytest.approx(2 * 12.0), pytest.approx(40.0)),)


def test_inverter_and_converter_add_their_losses_and_idle():
    plate = changed(
        ("load lamp", 'inverter inv "Inverter" 500 W, 120 V, efficiency 80 %, idle 10 W, daily 2 h\nload lamp'),
    )  # fmt: skip
    plate += "plus -- [fuse class-t] -- 1 m -- inv.pos\ninv.neg -- 1 m -- minus\n"
    lines = lines_of(changed(("50 A]", "100 A]"), plate=plate))
    assert lines[("inv", "output")] == pytest.approx(1000)
    assert lines[("inv", "conversion loss")] == pytest.approx(250)  # 1000 Wh / 0.8
    assert lines[("inv", "idle")] == pytest.approx(220)  # 10 W for the other 22 h


def test_loads_behind_a_converter_count_with_its_loss():
    plate = changed(("load lamp", STEP + 'load far "Far" 24 W, daily 5 h\nload lamp')) + STEP_RUNS
    lines = lines_of(plate)
    assert lines[("far", "load")] == pytest.approx(120)
    assert lines[("step", "conversion loss")] == pytest.approx(120 / 0.9 - 120)


def test_recharge_at_the_rate_of_the_source():
    """Kuphaldt (BS-03): 70 Ah take 10 h at 7 A; a charge efficiency of 98 % (LiFePO4) makes it 10.2 h."""
    plate = changed(("100 Ah", "70 Ah, usable 100 %"), ("40 A", "7 A"), plate=ALTERNATOR)
    (energy,) = compiled(plate)[0].energy
    (row,) = energy.recharge
    assert row[:2] == ("alt", 7.0) and row[2] == pytest.approx(10 / 0.98, rel=1e-6)


def test_the_bank_takes_no_more_than_its_limit():
    limited = changed(("100 Ah", "100 Ah, max-charge 50 A"), plate=ALTERNATOR)
    assert "CP602" not in codes(limited)
    (found,) = of_code("CP602", compiled(changed(("max-charge 50 A", "max-charge 30 A"), plate=limited))[1])
    assert found.measure is not None
    assert (found.measure.found, found.measure.limit) == (pytest.approx(40.0), pytest.approx(30.0))
    # Limits are of one battery: two in parallel take twice as much.
    assert "CP602" not in codes(changed(("max-charge 50 A", "max-charge 30 A, parallel 2"), plate=limited))


def test_sources_that_only_together_charge_too_much():
    plate = changed(
        ("100 Ah", "100 Ah, max-charge 50 A"),
        ("load lamp", 'alternator second "Second" 14.2 V, 20 A, self-limiting\nload lamp'),
        plate=ALTERNATOR,
    )
    plate += "plus -- [fuse class-t] -- 1 m -- second.pos\nsecond.neg -- 1.2 m -- minus\n"
    assert codes(plate) & {"CP602", "CP615"} == {"CP615"}
    assert not codes(changed(("max-charge 50 A", "max-charge 70 A"), plate=plate)) & {"CP602", "CP615"}


def test_the_bank_gives_no_more_than_its_limit():
    assert "CP601" in codes(changed(("fault-current", "max-discharge 1.9 A, fault-current")))
    assert "CP601" not in codes(changed(("fault-current", "max-discharge 2.1 A, fault-current")))


def test_the_string_in_the_cold_by_its_coefficient():
    """SS-02 (training page on string sizing): 49.5 V, -0.28 %/K, -5 °C is 53.66 V, and 18 of them stay under 1000 V."""
    plate = changed(
        ("voc 22 V", "voc 49.5 V"), ("-0.3 %/K", "-0.28 %/K"), ("series 2", "series 19"), ("-10 degC", "-5 degC"),
        ("max-input 60 V", "max-input 1000 V"), plate=ARRAY,
    )  # fmt: skip
    (found,) = of_code("CP603", compiled(plate)[1])
    assert found.measure is not None and found.measure.found == pytest.approx(19 * 53.658, rel=1e-4)
    assert found.help == "18 in series"
    assert "CP603" not in codes(changed(("series 19", "series 18"), plate=plate))


def test_the_string_in_the_cold_by_the_table():
    """NEC 690.7(A), no coefficient known: 1.14 from -10 to -6 °C."""
    plate = changed((", temp-coefficient -0.3 %/K", ""), ("max-input 60 V", "max-input 50 V"), plate=ARRAY)
    (found,) = of_code("CP603", compiled(plate)[1])
    assert found.measure is not None and found.measure.found == pytest.approx(2 * 22 * 1.14)
    assert "NEC" in found.rule


def test_arrays_and_their_controllers():
    assert not {"CP603", "CP604", "CP605", "CP610"} & codes(ARRAY)
    assert "CP610" in codes(changed(("voc 22 V, ", ""), plate=ARRAY))
    assert "CP604" in codes(changed(("vmp 18 V", "vmp 7 V"), plate=ARRAY))
    small = of_code("CP605", compiled(changed(('"Controller" 20 A', '"Controller" 10 A'), plate=ARRAY))[1])
    assert len(small) == 1 and small[0].measure is not None
    assert small[0].measure.limit == pytest.approx(200 / 12.8)


@pytest.mark.parametrize(
    ("chemistry", "volts", "code"),
    [
        # Charging voltages of a 12 V block: LiFePO4 14.2 to 14.6 V, AGM 14.4 to 14.7 V, gel to 14.5 V.
        ("12.8 V, 100 Ah, lifepo4", "14.6 V", None),
        ("12.8 V, 100 Ah, lifepo4", "14.9 V", "CP606"),
        ("12 V, 100 Ah, agm", "14.7 V", None),
        ("12 V, 100 Ah, agm", "15 V", "CP606"),
        ("12 V, 100 Ah, gel", "14.7 V", "CP606"),
        ("12.8 V, 100 Ah, lifepo4", "13.2 V", "CP608"),
    ],
)
def test_charging_voltage_against_the_chemistry(chemistry, volts, code):
    bank = ("12.8 V, 100 Ah, lifepo4\n  range 12.0..14.4 V, full 14.2 V", chemistry)
    plate = changed(bank, ("14.2 V, 40 A", f"{volts}, 40 A"), ("10.5..15 V", "10.5..16 V"), plate=ALTERNATOR)
    found = codes(plate) & {"CP606", "CP607", "CP608"}
    assert found == ({code} if code else set())


def test_charging_voltage_against_the_stated_full():
    assert "CP607" in codes(changed(("14.2 V, 40 A", "14.4 V, 40 A"), plate=ALTERNATOR))
    assert "CP609" in codes(changed(("full 14.2 V", "full 15.2 V"), ("10.5..15 V", "10.5..16 V"), plate=ALTERNATOR))


def test_a_day_against_the_bank_and_against_its_sources():
    assert "CP612" not in codes(DAY)
    assert "CP612" in codes(changed(("100 Ah", "20 Ah"), plate=DAY))
    day = changed(("2 A, works", "2 A, daily 10 h, works"), plate=ALTERNATOR)
    assert "CP613" not in codes(day)  # no source says how long it runs
    assert "CP613" in codes(changed(("self-limiting", "self-limiting, daily 0.4 h"), plate=day))
    assert "CP613" not in codes(changed(("self-limiting", "self-limiting, daily 0.6 h"), plate=day))
    assert 0.4 * 40 * 12.8 * 0.98 < 2 * 12.8 * 10 < 0.6 * 40 * 12.8 * 0.98


def test_more_than_a_converter_gives():
    plate = changed(("load lamp", STEP + 'load far "Far" 6 A\nload lamp')) + STEP_RUNS
    assert "CP614" in codes(plate)
    assert "CP614" not in codes(changed(('"Far" 6 A', '"Far" 4 A'), plate=plate))


def test_a_bank_without_capacity_says_no_days():
    (energy,) = compiled(changed((", 100 Ah", ""), plate=DAY))[0].energy
    assert energy.usable_wh is None and energy.autonomy_days is None and energy.recharge == ()
    assert math.isfinite(energy.daily_wh)


@pytest.mark.parametrize(
    ("array", "refused"),
    [
        ("100 W, voc 22 V, isc 6 A, vmp 18 V, imp 5.5 A", True),
        ("100 W, isc 6 A", True),  # open to any voltage, as far as the plate says
        ("100 W, voc 14 V, isc 8 A, vmp 12.8 V, imp 7.8 A", False),  # never above the bank's own end of charge
        ("10 W, voc 22 V, isc 0.6 A, vmp 18 V, imp 0.55 A", False),  # 0.8 A for 100 Ah
    ],
)
def test_an_array_wired_to_a_bank_needs_a_controller(array: str, refused: bool) -> None:
    plate = changed(
        ("load lamp", f"solar sun {array}\nload lamp"),
        (
            "lamp.neg --",
            "plus -- [sun-fuse: fuse class-t 15 A] -- 2 m -- sun.pos\nsun.neg -- 2 m -- minus\nlamp.neg --",
        ),
    )
    found = of_code("CP606", compiled(plate)[1])
    assert [f.subject for f in found] == (["sun"] if refused else [])


@pytest.mark.parametrize(
    ("lines", "told"),
    [
        (
            "converter step out 24 V\nload far 2 A\nplus -- [f: fuse] -- 1 m -- step.in.pos\n"
            "step.in.neg -- 1 m -- minus\nstep.out -//- 1 m -- far\n",
            "CP614",
        ),
        (
            "solar sun 100 W, voc 22 V, isc 6 A, vmp 18 V, imp 5.5 A\ncontroller mppt max-input 60 V, output 14.2 V\n"
            "plus -- [f: fuse] -- 1 m -- mppt.pos\nmppt.neg -- 1 m -- minus\nsun -//- 1 m -- mppt.pv\n",
            "CP605",
        ),
        ("alternator alt 14.2 V\nalt.pos -- 0.1 m -- [f: fuse] -- 1 m -- plus\nalt.neg -- 1 m -- minus\n", "CP428"),
    ],
)
def test_a_rating_that_is_not_stated_is_told_once(lines: str, told: str) -> None:
    """The plate is asked for it, and nothing is compared with zero."""
    _, findings = compile_plate(Source("a.plate", changed() + lines), lambda name: None)
    assert "CP209" in {f.code for f in findings} and told not in {f.code for f in findings}


def test_a_long_chain_of_converters_has_its_day_reckoned() -> None:
    """Each loses the same share: what the bank gives is the load's energy over the product of all efficiencies."""
    stages = 1_200
    lines = [
        'system "Chain"\n  nominal 12 V\n  rules cfr-183',
        "battery bank 12 V, 200 Ah, agm\n  range 12..14.4 V\n  fault-current 3 kA",
        "bank.pos -- [fuse class-t] -- 1 m -- c0.in.pos\nbank.neg -- 1 m -- c0.in.neg",
        "load last 0.01 A, daily 2 h",
        f"c{stages - 1}.out -//- 1 m -- last",
    ]
    for n in range(stages):
        lines.append(f"converter c{n} 5 A, in 12 V, out 12 V, efficiency 99.9 %, isolated")
        if n:
            lines.append(f"c{n - 1}.out -//- 1 m -- c{n}.in")
    design, _ = compile_plate(Source("chain.plate", "\n".join(lines) + "\n"), lambda name: None)
    assert design is not None
    taken = sum(line.wh for line in design.energy[0].lines if line.what != "lost in conductors")
    assert taken == pytest.approx(0.01 * 12 * 2 / 0.999**stages, rel=1e-9)
