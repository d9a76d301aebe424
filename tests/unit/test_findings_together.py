"""Findings that belong together: offers of one run hold together, and what follows from an error is left out."""

from __future__ import annotations

import random
import re
import sys
from dataclasses import replace
from pathlib import Path

from small_plates import BARS, compiled, sound

sys.path.append(str(Path(__file__).parents[1]))
from copperplate import resolve, syntax
from copperplate.design import design_system
from copperplate.findings import Finding
from copperplate.model import Size
from copperplate.text import Source
from random_plates import plate

THIN = """load heater "Heater" 30 A, drop 5 %, works 10.5..15 V
plus -- {before}[heat: fuse class-t{rating}] -- {size} -- heater.pos
heater.neg -- 2 m -- minus
"""


def of(findings: tuple[Finding, ...], severity: str = "error") -> list[Finding]:
    return [f for f in findings if f.severity == severity]


def thin(before: str = "4 m, 18 AWG -- ", rating: str = " 20 A", size: str = "2 m, 18 AWG") -> str:
    return BARS + THIN.format(before=before, rating=rating, size=size)


def test_offers_for_one_run_hold_together() -> None:
    """Alone, the least gauge asks for 16 AWG, the current for 10 AWG, the drop for 8 AWG and the fuse for 40 A."""
    _, findings = compiled(thin())
    errors = of(findings)
    assert {"CP303", "CP304", "CP310", "CP311", "CP405"} <= {f.code for f in errors}
    (offer,) = {f.help for f in errors}
    size, rating = re.match(r"(\S+ AWG) on `heater.pos.run` and (\S+ A) for `heat`", offer).groups()  # type: ignore[union-attr]
    _, mended = compiled(thin(f"4 m, {size} -- ", f" {rating}", f"2 m, {size}"))
    assert not of(mended), [f.message for f in of(mended)]


def test_a_single_error_keeps_its_own_offer() -> None:
    _, findings = compiled(thin(before="", rating="", size="2 m, 18 AWG, parallel 3"))
    (only,) = of(findings)
    assert only.code == "CP304" and "that mends" not in only.help


def test_a_budget_is_not_told_of_where_the_supply_breaks_down() -> None:
    _, findings = compiled(BARS + 'load far "Far" 200 W\ncabin -//- 40 m, 16 AWG -- far\n')
    codes = [f.code for f in findings if f.subject == "far"]
    assert "CP301" in codes and "CP310" not in codes


def test_currents_are_not_told_of_where_a_load_has_no_way_back() -> None:
    """Without its way back a load counts 0 A, so that its feeder seems too small above its neighbour."""
    text = BARS + (
        'load pump "Pump" 20 A\nload lamp "Lamp" 5 A\nplus -- [fuse class-t] -- 3 m -- pump.pos\n'
        "cabin -//- 2 m -- lamp\n"
    )
    _, findings = compiled(text)
    assert "CP232" in {f.code for f in findings}
    assert not {f.code for f in findings} & {"CP412", "CP417", "CP418", "CP419"}


ADVISED = """load inv "Device" 40 A, advised-wire 10 AWG
plus -- [fuse class-t] -- {length}{size} -- inv.pos
inv.neg -- {length}{size} -- minus
"""


def warned(length: str, size: str = "") -> list[Finding]:
    _, findings = compiled(BARS + ADVISED.format(length=length, size=size))
    return [f for f in findings if f.code == "CP502"]


def test_a_maker_who_advises_less_is_told_of_for_stated_sizes_too() -> None:
    free = warned("4 m")
    assert free and "budget" in free[0].notes[0]
    design = sound(BARS + ADVISED.format(length="4 m", size=""))
    chosen = design.runs["inv.pos.run"].size
    assert chosen is not None
    stated = warned("4 m", f", {chosen.label}")
    assert stated and stated[0].subject == free[0].subject


def test_a_stated_size_above_sound_advice_draws_nothing() -> None:
    assert not warned("0.4 m", ", 4 AWG")


def test_a_charging_voltage_that_is_taken_says_so() -> None:
    head = """system "Small"
  nominal 12 V
  rules cfr-183
  conductors awg
battery bank "Bank" 12.8 V, 200 Ah, lifepo4{range}
  fault-current 3 kA
"""
    text = BARS + 'load lamp "Lamp" 2 A, works 10..14 V\ncabin -//- 2 m -- lamp\n'
    for range_, told in (("", True), (", range 12..14.4 V", False)):
        _, findings = compiled(text, head.format(range=range_))
        (found,) = [f for f in findings if f.code == "CP312"]
        assert ("states neither" in found.notes[0]) == told


def test_the_return_of_a_source_is_protected_by_the_device_of_its_positive() -> None:
    """A battery's fault current through an alternator comes in through its fuse and back through its negative."""
    design = sound(
        BARS
        + 'load lamp "Lamp" 5 A\ncabin -//- 2 m -- lamp\n'
        + 'alternator alt "Alternator" 14.2 V, 60 A, self-limiting\n'
        + "plus -- [push: fuse class-t] -- 1 m -- alt.pos\nalt.neg -- 1 m -- minus\n"
    )
    back = design.runs["alt.neg.run"]
    rating = design.devices["push"].rating.rating_a
    assert back.protected_by == ("push",)
    assert rating is not None and back.ampacity is not None and back.ampacity.value >= rating
    assert design.rechecked


PANEL = """bus plus "Positive bus" positive, 300 A
bus minus "Negative bus" negative, 300 A
panel cabin "Fuse block" blade, ways 4
bus far "Far bar" both, 60 A
load lamp "Lamp" 4 A
load pump "Pump" 8 A
load one "One" 4 A
load two "Two" 4 A
bank.pos -- 0.3 m -- [main: fuse class-t] -- 0.5 m -- plus
bank.neg -- 0.8 m -- minus
plus -- [feed: fuse class-t] -- 0.5 m -- cabin.feed
cabin.neg -- 7 m -- minus
plus -- [side: fuse class-t] -- 0.5 m -- far.pos
far.neg -- 7 m -- minus
cabin.1 -//- 2 m -- lamp
cabin.2 -//- 2 m -- pump
far -//- [a: fuse] -- 2 m -- one
far -//- [b: fuse] -- 2 m -- two
"""


def test_single_leads_of_a_panel_or_bar_are_one_size() -> None:
    design = sound(PANEL)
    assert design.runs["cabin.run"].size == design.runs["cabin.neg.run"].size
    assert design.runs["plus.run"].size == design.runs["far.neg.run"].size


def test_a_stated_return_smaller_than_the_device_of_its_positive_is_refused() -> None:
    """16 AWG at 105 °C is good for 25 A (33 CFR 183.425 table 5), and a fault comes back through it at 50 A."""
    text = (
        BARS
        + 'load heater "Heater" 10 A, drop 10 %\nload lamp "Lamp" 40 A, drop 5 %\n'
        + "plus -- [side: fuse class-t] -- 1 m -- lamp.pos\nlamp.neg -- 1 m -- minus\n"
        + "plus -- [heat: fuse class-t 50 A] -- 2 m, 8 AWG -- heater.pos\nheater.neg -- 2 m{size} -- minus\n"
    )
    _, findings = compiled(text.format(size=", 16 AWG"))
    (found,) = [f for f in findings if f.code == "CP404"]
    assert found.subject == "heat" and "`heater.neg.run`" in found.message
    for size in (", 10 AWG", ""):
        design = sound(text.format(size=size))
        ampacity = design.runs["heater.neg.run"].ampacity
        assert ampacity is not None and ampacity.value >= 50.0


def spoilt(seed: int) -> str:
    """A random plate with runs stated too small and fuses too weak."""
    rng, lines = random.Random(seed), []
    for line in plate(seed, "radial", 2, 16).text().splitlines():
        if rng.random() < 0.15:
            line = re.sub(r"(-- [\d.]+ m)(?=\s|$)", r"\1, 18 AWG", line, count=1)
        if rng.random() < 0.1:
            line = re.sub(r"fuse( class-t| blade)\]", r"fuse\1, 5 A]", line, count=1)
        lines.append(line)
    return "\n".join(lines) + "\n"


def test_offers_hold_together_on_random_plates() -> None:
    """What is offered, stated in the plate, leaves no error of what it was offered for."""
    tried = 0
    for seed in range(6000, 6030):
        source = Source("random.plate", spoilt(seed))
        system, _ = resolve.resolve(syntax.parse(source)[0], lambda name: None)
        assert system is not None
        _, findings = design_system(system, source, broken=False)
        offered = [f for f in findings if "that mends" in f.help]
        runs, devices = dict(system.runs), dict(system.devices)
        for f in offered:
            for number, series, run in re.findall(r"(\S+) (AWG|mm²|SAE) on `([^`]+)`", f.help):
                runs[run] = replace(runs[run], size=Size(number, "mm2" if series == "mm²" else series))
            for amperes, device in re.findall(r"([\d.]+) A for `([^`]+)`", f.help):
                devices[device] = replace(devices[device], rating_a=float(amperes))
        _, after = design_system(replace(system, runs=runs, devices=devices), source, broken=False, mend=False)
        subjects = {f.subject for f in offered}
        assert not [f.message for f in of(after) if f.subject in subjects]
        tried += bool(offered)
    assert tried > 10
