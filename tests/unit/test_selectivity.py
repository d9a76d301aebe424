"""Devices that our own choice puts above others: clear of them where the conductors carry it, else told."""

from __future__ import annotations

from small_plates import HEAD, compiled

PLATE = """bus plus "Positive bus" positive, {bus}
bus minus "Negative bus" negative, 300 A
load pump "Pump" 20 A, drop 10 %
load lamp "Lamp" 5 A, drop 3 %
bank.pos -- 0.3 m{size} -- [main: fuse class-t{rating}] -- 0.5 m{size} -- plus
bank.neg -- 0.8 m -- minus
plus -- [top: fuse class-t] -- 1 m -- pump.pos
pump.neg -- 1 m -- minus
plus -- [side: fuse class-t] -- 3 m -- lamp.pos
lamp.neg -- 3 m -- minus
"""


def plate(bus: str = "300 A", size: str = "", rating: str = "") -> str:
    return PLATE.format(bus=bus, size=size, rating=rating)


def test_a_main_of_our_own_choice_stands_clear_of_its_branches() -> None:
    design, findings = compiled(plate(size=", 6 AWG"), HEAD)
    ratings = {d: result.rating.rating_a for d, result in design.devices.items()}
    # 1.25 x 25 A of continuous load would be met by 35 A; 1.6 times the 25 A branch is 40 A. 6 AWG at 105 °C carries
    # 120 A outside engine spaces (33 CFR 183.425 table 5).
    assert ratings["top"] == 25.0 and ratings["main"] == 40.0
    assert "CP419" not in {f.code for f in findings} and design.rechecked
    (said,) = [a.text for a in design.assumptions if a.subject == "main" and "stands clear" in a.text]
    assert "35 A would carry its current" in said


def test_no_size_and_no_reason_changes_for_it() -> None:
    stated, _ = compiled(plate(rating=", 35 A"), HEAD)
    free, _ = compiled(plate(), HEAD)
    for run, result in free.runs.items():
        assert (result.size, result.governed_by) == (stated.runs[run].size, stated.runs[run].governed_by)


def test_a_conductor_that_does_not_carry_it_keeps_the_smaller_rating() -> None:
    # 10 AWG at 60 °C carries 40 A (33 CFR 183.425 table 5); in air of 35 °C sqrt(25 / 30) of it, 36.5 A.
    head = HEAD.replace("conductors awg", "conductors awg\n  insulation 60 degC\n  ambient 35 degC")
    design, findings = compiled(plate(size=", 10 AWG"), head)
    carried = design.runs["bank.pos.run"].ampacity
    assert carried is not None and 36.0 < carried.value < 37.0
    assert design.devices["main"].rating.rating_a == 35.0
    assert "CP419" in {f.code for f in findings}


def test_a_bar_that_is_protected_above_its_rating_keeps_the_smaller_one() -> None:
    design, findings = compiled(plate(bus="35 A"), HEAD)
    assert design.devices["main"].rating.rating_a == 35.0
    assert "CP419" in {f.code for f in findings} and "CP421" not in {f.code for f in findings}


def test_a_stated_main_is_checked_and_not_raised() -> None:
    design, findings = compiled(plate(rating=", 35 A"), HEAD)
    assert design.devices["main"].rating.rating_a == 35.0
    assert "CP419" in {f.code for f in findings}
