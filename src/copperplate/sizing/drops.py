"""Voltage drop on supply paths with the sizes as chosen, or with other ones on trial."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from copperplate.sizing.laying import Gauge
from copperplate.sizing.rules import Rules
from copperplate.sizing.supply_paths import MotorStart, SupplyPath
from copperplate.standards import conductors
from copperplate.standards.adiabatic import carries_a

OhmPerMetre = Callable[[Rules, Gauge], float]
AS_CHOSEN: Mapping[str, Gauge] = MappingProxyType({})


@dataclass(frozen=True)
class VoltageDrops:
    """What paths lose with these gauges; a run that no size serves counts with its largest, so that the rest can be
    judged. Of each method `trial` puts other gauges on some runs."""

    rules: Mapping[str, Rules]
    gauges: Mapping[str, Gauge | None]

    def gauge(self, run: str) -> Gauge:
        """The gauge that a run counts with."""
        return self.gauges[run] or self.rules[run].gauges[-1]

    def judged_v(self, path: SupplyPath, trial: Mapping[str, Gauge] = AS_CHOSEN) -> float:
        """Volts lost on a path by the figure that the profile judges with."""
        return self._lost_v(path, trial, judged_ohm_per_m)

    def warm_v(self, path: SupplyPath | MotorStart, trial: Mapping[str, Gauge] = AS_CHOSEN) -> float:
        """Volts lost on a path, or on it while its motor starts, in copper at the temperature that the sizing currents
        give it: no less than as built."""
        return self._lost_v(path, trial, warm_ohm_per_m)

    def _lost_v(self, path: SupplyPath | MotorStart, trial: Mapping[str, Gauge], ohm_per_m: OhmPerMetre) -> float:
        lost = path.fixed_v
        for run, ampere_metres in path.runs:
            if run in self.rules:
                lost += ampere_metres * ohm_per_m(self.rules[run], trial.get(run) or self.gauge(run))
        return lost


def judged_ohm_per_m(_: Rules, g: Gauge) -> float:
    """The resistance that the profile judges budgets with, ohm per metre of one conductor."""
    return g.judged.value


def warm_ohm_per_m(rules: Rules, g: Gauge) -> float:
    """Resistance of a run's conductor as warm as its design current makes it, ohm per metre."""
    laying, parallel, need = rules.laying, rules.run.parallel, rules.requirement
    carries = carries_a(g.ampacity_a * parallel, parallel, laying.insulation_c, g.area_mm2, need.brief_s)
    at_c = warm_c(laying.ambient_c, laying.insulation_c, need.design.value, carries)
    return conductors.ohm_per_m(g.size, at_c, laying.tinned)


def warm_c(ambient_c: float, insulation_c: float, amperes: float, ampacity_a: float) -> float:
    """Ta + (Tmax - Ta)(I/Iz)²: the rise goes with the heat, which goes with the square of the current, and reaches the
    rating of the insulation at the ampacity, at most and where that is not known."""
    heating = min((amperes / ampacity_a) ** 2, 1.0) if ampacity_a else 1.0
    return ambient_c + (insulation_c - ambient_c) * heating
