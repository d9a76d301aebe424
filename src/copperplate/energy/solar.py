"""Arrays against their controllers: voltage in the cold, voltage to charge with, power."""

from __future__ import annotations

import math
from collections.abc import Iterator

from copperplate.energy.bank import EnergyStore
from copperplate.energy.recharge import array_w, arrays_of
from copperplate.findings import Finding, make
from copperplate.model import Assumption, Controller, Solar, System, Traced
from copperplate.model.graph import Graph
from copperplate.standards import Profile
from copperplate.standards.solar import cold_string_v
from copperplate.units import exceeds, show


def check_solar(
    system: System, profile: Profile, net: Graph, banks: tuple[EnergyStore, ...]
) -> tuple[list[Finding], list[Assumption]]:
    """Every array against the controller that it feeds, and that one against the array's power."""
    findings: list[Finding] = []
    assumed: list[Assumption] = []
    for controller in system.of(Controller):
        arrays = arrays_of(system, net, controller)
        output = net.outputs.get(controller.id)
        bank = next((b for b in banks if output is not None and b.zone == output.zone), None)
        for array in arrays:
            volts = _string_v(array, profile)
            findings += _cold(array, controller, volts, profile)
            if volts is not None:
                assumed += _silent(array, volts, profile)
            if bank is not None:
                findings += _reaches(array, controller, bank)
        if bank is not None and arrays:
            findings += _power(arrays, controller, bank)
    return findings, assumed


def _string_v(array: Solar, profile: Profile) -> Traced | None:
    """Open-circuit voltage of an array's strings at their coldest; None where the plate gives no open-circuit
    voltage."""
    if not array.voc_v:
        return None
    return cold_string_v(profile, array.voc_v, array.series, array.temp_coefficient_per_k, array.coldest_c)


def _silent(array: Solar, volts: Traced, profile: Profile) -> Iterator[Assumption]:
    """What is taken where the plate does not tell how an array's voltage rises in the cold."""
    if array.coldest_c is None:
        coldest = show(profile.figures["coldest"].value, "degC")
        yield Assumption(array.id, f"its modules get as cold as {coldest} in daylight", volts.source)
    if array.temp_coefficient_per_k is None:
        yield Assumption(array.id, "its modules are of crystalline silicon, by whose table voc rises", volts.source)


def _cold(array: Solar, controller: Controller, volts: Traced | None, profile: Profile) -> Iterator[Finding]:
    """The open-circuit voltage in the cold against what the controller takes."""
    limit, place = controller.max_input_v, {"limit": controller.spans.get("max_input_v", controller.span)}
    if limit is None:
        return
    if volts is None:
        rule = profile.clauses["solar-voltage"]
        yield make("CP610", array.id, array.span, at=place, controller=controller.id, limit=limit, rule=rule)
    elif exceeds(volts.value, limit):
        yield make(
            "CP603",
            array.id,
            array.spans.get("voc_v", array.span),
            at=place,
            controller=controller.id,
            limit=limit,
            volts=volts.value,
            coldest=profile.figures["coldest"].value if array.coldest_c is None else array.coldest_c,
            series=array.series,
            several=array.series > 1,
            formula=volts.formula,
            warm=(array.voc_v or 0.0) * array.series,
            most=math.floor(limit / (volts.value / array.series)) or None,
            rule=volts.source,
        )


def _reaches(array: Solar, controller: Controller, bank: EnergyStore) -> Iterator[Finding]:
    """The voltage at rated power must lie above the bank's charging voltage: a controller only steps down."""
    if array.vmp_v is not None and array.vmp_v * array.series <= bank.full_v:
        yield make(
            "CP604",
            array.id,
            array.spans.get("vmp_v", array.span),
            at={"bank": bank.batteries[0].span},
            volts=array.vmp_v * array.series,
            bank=bank.id,
            full=bank.full_v,
            series=array.series,
            controller=controller.id,
            wanted=math.floor(bank.full_v / array.vmp_v) + 1,
        )


def _power(arrays: tuple[Solar, ...], controller: Controller, bank: EnergyStore) -> Iterator[Finding]:
    """What the arrays make at the bank's voltage against the controller's rating."""
    watts, rated = sum(array_w(array) for array in arrays), controller.current_a
    amperes = watts / bank.nominal_v
    if rated and exceeds(amperes, rated):
        span = controller.spans.get("current_a", controller.span)
        nominal = bank.nominal_v
        yield make("CP605", controller.id, span, rated=rated, amperes=amperes, watts=watts, nominal=nominal)
