"""The energy of each bank, and the sources against their limits."""

from __future__ import annotations

from copperplate.energy.bank import Bank, banks
from copperplate.energy.charging import check_charging
from copperplate.energy.daily import day_of
from copperplate.energy.limits import check_alternators, check_converters, check_limits
from copperplate.energy.recharge import Charging, charging_of, given_wh, recharge
from copperplate.energy.solar import check_solar
from copperplate.findings import Finding, Measure, finding
from copperplate.model import Assumption, System
from copperplate.model.graph import graph
from copperplate.model.results import Demand, EnergyResult, Solution
from copperplate.standards import Profile
from copperplate.units import number

ROUNDING_A = 1e-9
"""Currents up to here are what is left of subtractions."""


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
        lines, silent, said = day_of(system, net, solution, bank)
        daily = sum(line.wh for line in lines)
        if lines:
            assumed += said
            if silent:
                names = ", ".join(f"`{name}`" for name in silent)
                assumed.append(
                    Assumption(bank.id, f"no energy a day is counted for {names}: no `daily` hours are stated")
                )
        autonomy = bank.usable_wh / daily if bank.usable_wh is not None and daily > 0.0 else None
        results.append(
            EnergyResult(
                bank.id,
                lines,
                daily,
                bank.usable_wh,
                autonomy,
                recharge(bank, sources),
                _by_case(system, solution, bank),
            )
        )
        findings += check_limits(system, net, demand, bank, sources)
        findings += check_charging(bank, sources)
        findings += _day(bank, daily, autonomy, sources)
    solar, assumed_solar = check_solar(system, net, all_banks)
    findings += [*solar, *check_converters(system, net, demand), *check_alternators(system, net, demand)]
    relevant = [a for a in assumed_banks if any(r.bank == a.subject and r.lines for r in results)]
    return tuple(results), tuple(findings), (*relevant, *assumed, *assumed_solar)


def _by_case(system: System, solution: Solution, bank: Bank) -> tuple[tuple[str, float, float | None], ...]:
    """What the bank gives in each load case as solved, and how long its usable capacity lasts at that."""
    result: list[tuple[str, float, float | None]] = []
    for case in system.cases:
        if case.kind != "load":
            continue
        amperes, watts = 0.0, 0.0
        for part in bank.parts:
            given = solution.source_a.get(case.id, {}).get(part.id, 0.0)
            given = given if given > ROUNDING_A else 0.0
            amperes += given
            watts += given * solution.held_v.get(case.id, {}).get(part.id, bank.nominal_v)
        lasts = bank.usable_ah / amperes if bank.usable_ah is not None and amperes > 0.0 else None
        result.append((case.id, watts, lasts))
    return tuple(result)


def _day(bank: Bank, daily: float, autonomy: float | None, sources: tuple[Charging, ...]) -> list[Finding]:
    """Less than a day in the bank, or less given back than a day takes."""
    found: list[Finding] = []
    part = bank.parts[0]
    if autonomy is not None and autonomy < 1.0:
        found.append(
            finding(
                "CP612",
                bank.id,
                f"`{bank.id}` holds {number(bank.usable_wh or 0.0)} Wh of the {number(daily)} Wh that a day takes",
                part.spans.get("capacity_ah", part.span),
                label=f"{number(autonomy * 24)} h",
                help=f"{number(_capacity_ah(bank) / autonomy)} Ah for one day",
                measure=Measure(autonomy, 1.0, "days"),
            )
        )
    given = given_wh(bank, sources)
    if given is not None and daily > given * 1.0001:
        found.append(
            finding(
                "CP613",
                bank.id,
                f"a day takes {number(daily)} Wh from `{bank.id}`, and its sources give {number(given)} Wh back",
                part.span,
                label=f"{number(given / daily * 100, 2)} % comes back",
                notes=tuple(
                    f"`{s.part.id}`: {number(s.amperes)} A for {number(s.daily_h or 0.0)} h"
                    for s in sources
                    if s.daily_h
                ),
                help=f"{number((daily - given) / bank.nominal_v / bank.charge_efficiency.value)} Ah more a day",
                measure=Measure(given, daily, "Wh"),
            )
        )
    return found


def _capacity_ah(bank: Bank) -> float:
    return sum(part.get("capacity_ah", 0.0) * part.get("parallel", 1) for part in bank.parts) or 1.0
