"""The energy of each bank, and the sources against their limits."""

from __future__ import annotations

from collections.abc import Iterator

from copperplate.energy.bank import EnergyStore, banks
from copperplate.energy.charging import check_charging
from copperplate.energy.daily import day_of
from copperplate.energy.limits import check_alternators, check_converters, check_limits
from copperplate.energy.recharge import Charging, charging_of, given_wh, recharge
from copperplate.energy.solar import check_solar
from copperplate.findings import Finding, make
from copperplate.model import Assumption, System
from copperplate.model.graph import graph
from copperplate.model.results import Demand, EnergyResult, Solution
from copperplate.standards import Profile
from copperplate.units import NOISE, exceeds


def balance(
    system: System, profile: Profile, demand: Demand, solution: Solution
) -> tuple[tuple[EnergyResult, ...], tuple[Finding, ...], tuple[Assumption, ...]]:
    """The energy of each bank in declaration order, what is wrong with sources and banks, and what was assumed."""
    net = graph(system)
    all_banks, assumed_banks = banks(system, net)
    results: list[EnergyResult] = []
    findings: list[Finding] = []
    assumed: list[Assumption] = []
    for bank in all_banks:
        sources = charging_of(system, net, bank)
        lines, silent, left_on = day_of(system, net, solution, bank)
        daily_wh = sum(line.wh for line in lines)
        if lines:
            assumed += left_on
            if silent:
                names = ", ".join(f"`{name}`" for name in silent)
                text = f"no energy a day is counted for {names}: no `daily` hours are stated"
                assumed.append(Assumption(bank.id, text))
        days = bank.usable_wh / daily_wh if bank.usable_wh is not None and daily_wh > 0.0 else None
        cases, filling = _by_case(system, solution, bank), recharge(bank, sources)
        given = given_wh(bank, sources)
        results.append(EnergyResult(bank.id, lines, daily_wh, bank.usable_wh, days, filling, cases, given))
        findings += check_limits(system, net, demand, bank, sources)
        findings += check_charging(profile, bank, sources)
        findings += _day(bank, daily_wh, days, sources)
    solar, assumed_solar = check_solar(system, profile, net, all_banks)
    findings += [*solar, *check_converters(system, net, demand), *check_alternators(system, net, demand)]
    relevant = [a for a in assumed_banks if any(r.bank == a.subject and r.lines for r in results)]
    return tuple(results), tuple(findings), (*relevant, *assumed, *assumed_solar)


def _by_case(system: System, solution: Solution, bank: EnergyStore) -> tuple[tuple[str, float, float | None], ...]:
    """What the bank gives in each load case as solved, and how long its usable capacity lasts at that."""
    result: list[tuple[str, float, float | None]] = []
    for case in system.cases:
        if case.kind != "load":
            continue
        amperes, watts = 0.0, 0.0
        for battery in bank.batteries:
            given_a = solution.source_a.get(case.id, {}).get(battery.id, 0.0)
            given_a = given_a if given_a > NOISE else 0.0  # What is left of subtractions is no current.
            amperes += given_a
            watts += given_a * solution.held_v.get(case.id, {}).get(battery.id, bank.nominal_v)
        lasts = bank.usable_ah / amperes if bank.usable_ah is not None and amperes > 0.0 else None
        result.append((case.id, watts, lasts))
    return tuple(result)


def _day(bank: EnergyStore, daily_wh: float, days: float | None, sources: tuple[Charging, ...]) -> Iterator[Finding]:
    """Less than a day in the bank, or less given back than a day takes."""
    first = bank.batteries[0]
    if days is not None and days < 1.0:
        yield make(
            "CP612",
            bank.id,
            first.spans.get("capacity_ah", first.span),
            usable=bank.usable_wh,
            daily=daily_wh,
            days=days,
            wanted=1.0,
            hours=days * 24,
            capacity=bank.capacity_ah / days,
        )
    timed = given_wh(bank, sources)
    given = sum(wh for _, wh in timed)
    if timed and exceeds(daily_wh, given):
        yield make(
            "CP613",
            bank.id,
            first.span,
            daily=daily_wh,
            given=given,
            percent=given / daily_wh * 100,
            sources=[{"source": s.part.id, "amperes": s.amperes, "hours": s.daily_h} for s in sources if s.daily_h],
            missing=(daily_wh - given) / bank.nominal_v / bank.charge_efficiency.value,
        )
