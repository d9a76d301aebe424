"""The states that give currents for sizing: what each element draws in them, and the network that carries it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from copperplate.model import Case, Charger, Inverter, System
from copperplate.model.graph import Graph, lines_of
from copperplate.model.transfer import handing
from copperplate.network.currents import Draw, share
from copperplate.network.flows import Carrier, Closed, carriers
from copperplate.network.sources import sources_off
from copperplate.network.states import sizing_title


@dataclass(frozen=True, eq=False)
class SizingState:
    """A case as it stands, or `without` some of the batteries in parallel, or `besides` otherwise: its loads or its
    sources off, chargers on. `amperes` by element."""

    case: Case
    bearing: Carrier
    amperes: Sequence[float]
    without: tuple[str, ...] = ()
    besides: str = ""

    @property
    def whole(self) -> bool:
        """Whether nothing of the case is left out."""
        return not (self.without or self.besides)

    @property
    def of(self) -> str:
        """What it is called with its loads and sources as they are."""
        return sizing_title(self.case, *self.without)

    @property
    def title(self) -> str:
        """What it is called."""
        return f"{self.of}, {self.besides}" if self.besides else self.of


def sizing_states(system: System, net: Graph, drawn: Sequence[Draw]) -> Iterator[SizingState]:
    """Each case as it stands first, then what it implies."""
    made: dict[Closed, tuple[tuple[tuple[str, ...], Carrier], ...]] = {}
    for case in system.cases:
        amperes, off = _case_amperes(system, net, case, drawn), sources_off(system, net, case)
        # Nothing comes back through diodes: what loads take beside what sources push comes from their own bank.
        loaded = system.diodes if max(amperes, default=0.0) > 0.0 else frozenset[str]()
        beside = (*_alone(amperes), *_charging_beside(system, net, case, drawn, amperes))
        for besides, single in (("", amperes), *beside):
            pushing = besides and min(single) < 0.0 >= max(single)
            closed = Closed(case.open_devices | (frozenset() if pushing else loaded), off)
            if closed not in made:
                made[closed] = carriers(system, net, closed)
            for out, bearing in made[closed]:
                yield SizingState(case, bearing, single, out, besides)


def _alone(amperes: Sequence[float]) -> tuple[tuple[str, list[float]], ...]:
    """What sources push and what consumers draw, each without the other, where a case has both: a conductor on which
    they oppose must bear either one alone."""
    if min(amperes, default=0.0) >= 0.0 or max(amperes, default=0.0) <= 0.0:
        return ()
    return ("loads off", [min(a, 0.0) for a in amperes]), ("sources off", [max(a, 0.0) for a in amperes])


def _charging_beside(
    system: System, net: Graph, case: Case, drawn: Sequence[Draw], amperes: Sequence[float]
) -> tuple[tuple[str, list[float]], ...]:
    """What consumers draw where the chargers that a load case does not name charge beside them, for a supply is on that
    they hang on."""
    supplies = [ends for part, ends in net.outputs.items() if case.shares.get(part, 0.0) > 0.0]
    live = {ends.zone for ends in supplies if ends.current == "ac"}
    charging = [
        d.full_a if case.kind == "load" and isinstance(system.parts[d.element.part], Charger) else 0.0 for d in drawn
    ]
    more = [
        charge if not a and d.element.role == "supply" and d.element.ends.zone in live else max(a, 0.0)
        for a, charge, d in zip(amperes, charging, drawn, strict=True)
    ]
    return (("chargers on", more),) if any(m > max(a, 0.0) for m, a in zip(more, amperes, strict=True)) else ()


def _case_amperes(system: System, net: Graph, case: Case, drawn: Sequence[Draw]) -> list[float]:
    """Every element's current in a case. An inverter or converter with consumers behind it draws what they need,
    up to its rating and not less than idle; one without draws its rating. The inlet of an inverter that hands a
    supply through draws what they need too, beside its charging where that does not yield to them."""
    result = [share(case, system, net, d.element) * d.full_a for d in drawn]
    behind: dict[str, list[int]] = {}
    for n, d in enumerate(drawn):
        if d.element.role == "supply":
            behind.setdefault(d.element.ends.zone, []).append(n)
    feeding: dict[str, int] = {}
    for d in drawn:
        if d.behind and share(case, system, net, d.element) > 0.0:
            zone = net.outputs[d.element.part].zone
            feeding[zone] = feeding.get(zone, 0) + 1
    for n in _inner_first(net, drawn, behind):
        d = drawn[n]
        if result[n] > 0.0 and d.watts_limit is not None:
            zone = net.outputs[d.element.part].zone
            watts = sum(result[m] * drawn[m].element.ends.nominal_v for m in behind[zone]) / feeding[zone]
            drawn_w = max(min(watts, d.watts_limit) / d.efficiency, d.idle_w)
            result[n] = min(drawn_w / d.supply_v, d.full_a)
    through = handing(system, net)[case.id] if net.inlets else frozenset()
    for n, d in enumerate(drawn):
        if d.element.role == "inlet" and d.element.part in through:
            zone = net.outputs[d.element.part].zone
            inverter = system.parts[d.element.part]
            if case.kind == "load" and isinstance(inverter, Inverter) and inverter.charges_beside:
                result[n] += d.full_a
            lines = net.inlets[d.element.part].third != ""
            for m in behind.get(zone, ()):
                if not lines or d.element.line in lines_of(net, drawn[m].element.ends):
                    volts = net.outputs[d.element.part].nominal_v if lines else drawn[m].element.ends.nominal_v
                    result[n] += result[m] * volts / d.element.ends.nominal_v
    return result


def _inner_first(net: Graph, drawn: Sequence[Draw], behind: Mapping[str, list[int]]) -> list[int]:
    """The inverters and converters with consumers behind them, each after those that it feeds itself."""
    order: list[int] = []
    state = [0] * len(drawn)
    for start in range(len(drawn)):
        stack = [start]
        while stack:
            n = stack[-1]
            inner = behind[net.outputs[drawn[n].element.part].zone] if drawn[n].behind else []
            waiting = [m for m in inner if state[m] == 0]
            if state[n] == 0:
                state[n] = 1
                stack += waiting
                continue
            stack.pop()
            if state[n] == 1:
                state[n] = 2
                if drawn[n].behind:
                    order.append(n)
    return order
