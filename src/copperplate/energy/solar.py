"""Arrays against their controllers: voltage in the cold, voltage to charge with, power."""

from __future__ import annotations

import math

from copperplate.energy.bank import Bank
from copperplate.energy.recharge import array_w, arrays_of
from copperplate.findings import Finding, Measure, Related, finding
from copperplate.model import Assumption, Part, System, Traced
from copperplate.model.graph import Graph
from copperplate.standards import OutsideTable
from copperplate.standards.solar import cold_string_v
from copperplate.units import number

COLDEST_C = -40.0
"""Taken where a plate does not say how cold its array gets: the last row of NEC Table 690.7(A)."""


def check_solar(system: System, net: Graph, banks: tuple[Bank, ...]) -> tuple[list[Finding], list[Assumption]]:
    """Every array against the controller that it feeds, and that one against the array's power."""
    found: list[Finding] = []
    assumed: list[Assumption] = []
    for controller in system.of_kind("controller"):
        arrays = arrays_of(system, net, controller)
        output = net.outputs.get(controller.id)
        bank = next((b for b in banks if output is not None and b.zone == output.zone), None)
        for array in arrays:
            found += _cold(array, controller, assumed)
            if bank is not None:
                found += _reaches(array, controller, bank)
        if bank is not None and arrays:
            found += _power(arrays, controller, bank)
    return found, assumed


def string_v(array: Part) -> Traced | None:
    """Open-circuit voltage of an array's strings at their coldest; None where the plate gives no open-circuit
    voltage."""
    if not array.get("voc_v"):
        return None
    voc_v, series = array.get("voc_v"), array.get("series", 1)
    coefficient, coldest = array.get("temp_coefficient_per_k"), array.get("coldest_c", COLDEST_C)
    try:
        return cold_string_v(voc_v, series, coefficient, coldest)
    except OutsideTable:
        return cold_string_v(voc_v, series, coefficient, COLDEST_C)


def _cold(array: Part, controller: Part, assumed: list[Assumption]) -> list[Finding]:
    limit = controller.get("max_input_v")
    volts = string_v(array)
    if volts is None:
        if limit is None:
            return []
        return [
            finding(
                "CP610",
                array.id,
                f"`{array.id}` states no open-circuit voltage, and `{controller.id}` takes {number(limit)} V at most",
                array.span,
                label="no `voc`",
                help="`voc` of one module, from its data sheet",
                related=(Related(controller.spans.get("max_input_v", controller.span), "the limit"),),
                rule="NEC 690.7(A)",
            )
        ]
    if "coldest_c" not in array.values or array.get("coldest_c") is None:
        assumed.append(Assumption(array.id, f"its modules get as cold as {COLDEST_C:.0f} °C in daylight", volts.source))
    if array.get("temp_coefficient_per_k") is None:
        assumed.append(
            Assumption(array.id, "its modules are of crystalline silicon, by whose table voc rises", volts.source)
        )
    if limit is None or volts.value <= limit * 1.0001:
        return []
    series = array.get("series", 1)
    most = math.floor(limit / (volts.value / series))
    help = f"{most} in series" if most else f"a controller for {number(volts.value)} V or more"
    coldest = array.get("coldest_c", COLDEST_C)
    return [
        finding(
            "CP603",
            array.id,
            f"`{array.id}` reaches {number(volts.value)} V at {number(coldest)} °C, and `{controller.id}` takes "
            f"{number(limit)} V",
            array.spans.get("voc_v", array.span),
            label=f"{series} in series" if series > 1 else "in the cold",
            notes=(f"{volts.formula}: {number(array.get('voc_v') * series)} V at 25 °C",),
            help=help,
            related=(Related(controller.spans.get("max_input_v", controller.span), f"{number(limit)} V at most"),),
            measure=Measure(volts.value, limit, "V"),
            rule=volts.source,
        )
    ]


def _reaches(array: Part, controller: Part, bank: Bank) -> list[Finding]:
    """The voltage at rated power must lie above the bank's charging voltage: a controller only steps down."""
    vmp = array.get("vmp_v")
    if vmp is None:
        return []
    volts = vmp * array.get("series", 1)
    if volts > bank.full_v:
        return []
    series = math.floor(bank.full_v / vmp) + 1
    return [
        finding(
            "CP604",
            array.id,
            f"`{array.id}` gives {number(volts)} V at its rated power, and `{bank.id}` is full at "
            f"{number(bank.full_v)} V",
            array.spans.get("vmp_v", array.span),
            label=f"{array.get('series', 1)} in series",
            notes=(f"`{controller.id}` is taken to step down only",),
            help=f"{series} in series, if the cold voltage allows, or a controller that steps up",
            related=(Related(bank.parts[0].span, f"full at {number(bank.full_v)} V"),),
            measure=Measure(volts, bank.full_v, "V"),
            rule="common practice, no source",
        )
    ]


def _power(arrays: tuple[Part, ...], controller: Part, bank: Bank) -> list[Finding]:
    rated = controller.get("current_a")
    watts = sum(array_w(array) for array in arrays)
    amperes = watts / bank.nominal_v
    if not rated or amperes <= rated * 1.0001:
        return []
    return [
        finding(
            "CP605",
            controller.id,
            f"`{controller.id}` gives {number(rated)} A of the {number(amperes)} A that {number(watts)} W make at "
            f"{number(bank.nominal_v)} V",
            controller.spans.get("current_a", controller.span),
            label=f"{number(rated)} A",
            help=f"{number(amperes)} A or more, or take the loss in full sun",
            measure=Measure(rated, amperes, "A"),
        )
    ]
