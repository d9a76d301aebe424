"""Currents for sizing, fixed before any size is known and never less than in the final solve."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import isclose
from types import MappingProxyType
from typing import Any

from copperplate.findings import Finding
from copperplate.model import Assumption, Case, Inverter, Load, System, Traced
from copperplate.model.graph import Graph, graph
from copperplate.model.results import Demand
from copperplate.model.side_by_side import bridging
from copperplate.network.built import starting_ohm
from copperplate.network.currents import Draw, budgets, draws, share
from copperplate.network.flows import Carrier, Closed, carrier, carriers, one_way_each
from copperplate.network.signals import signals
from copperplate.network.sizing_states import sizing_states
from copperplate.network.sources import assumptions, zone_low_v
from copperplate.network.wiring import elements
from copperplate.standards import Profile
from copperplate.units import NOISE, TOLERANCE, exceeds, suffices

Named = tuple[str, float, str]
NOTHING: Mapping[str, float] = MappingProxyType({})


def demand(
    system: System, profile: Profile, at_least: Mapping[str, float] = NOTHING
) -> tuple[Demand, tuple[Finding, ...], tuple[Assumption, ...]]:
    """The currents of every conductor, device and consumer for sizing, and the budgets. See `Demand`. `at_least` by id
    of a consumer, conductor or device: what an earlier solve has shown it to draw or carry.

    A feeder carries the largest of the cases. A conductor with one consumer behind it, or of a run at whose end a
    consumer sits, carries at least the full current of all that is behind it, whatever the cases turn on. Where sources
    and consumers are on together, a conductor bears what either would send through it alone."""
    net = graph(system)
    budget_v = budgets(system, net, profile)
    drawn, assumed = draws(system, net, profile, elements(system, net), budget_v, at_least)
    design: dict[str, float] = {}
    drop: dict[str, float] = {}
    factored: dict[str, float] = {}
    rated: dict[str, float] = {}
    case_a: dict[str, Mapping[str, float]] = {}
    by_case: dict[str, list[Named]] = {}
    for state in sizing_states(system, net, drawn):
        flows = state.bearing.flows(state.amperes)
        loaded = state.bearing.flows([a * d.factor for a, d in zip(state.amperes, drawn, strict=True)])
        if state.whole:
            plain = flows
            case_a[state.case.id] = {c: plain.signed.get(c, 0.0) for c in system.conductors}
        for key, value in flows.borne.items():
            if state.whole or exceeds(value, plain.borne.get(key, 0.0), NOISE):
                by_case.setdefault(key, []).append((state.title, value, "A"))
            _raise(design, key, value)
            _raise(factored, key, loaded.borne[key])
        if state.case.kind == "load" and not state.besides:
            # What sources push may be off: it loses nothing on the way to a load, and gains nothing.
            taking = [max(a, 0.0) for a in state.amperes]
            for key, value in (state.bearing.flows(taking) if taking != state.amperes else flows).shared.items():
                _raise(drop, key, value)
            loading = _inverters_full(system, net, state.case, drawn, state.amperes)
            heavier = [a * d.factor for a, d in zip(loading, drawn, strict=True)] if loading is not None else []
            for key, value in state.bearing.flows(heavier).borne.items() if heavier else ():
                _raise(rated, key, value)
    opened = dict.fromkeys(case.open_devices for case in system.cases if case.kind == "load")
    everything = Closed(bridging(system, net))
    first, *others = one_way_each(system, net, everything)
    parts = opened if opened.keys() != {frozenset()} or first else ()
    parted = [bearing for devices in parts for _, bearing in carriers(system, net, Closed(devices | system.diodes))]
    whole = carrier(system, net, Closed(everything.open_devices | first))
    parted += [carrier(system, net, Closed(everything.open_devices | other)) for other in others]
    why = _branches(system, net, drawn, whole, parted, design, drop, factored)
    _neutrals(system, design, drop, factored)
    for key, value in design.items():
        if key not in why or not suffices(why[key].value, value, NOISE):
            why[key] = Traced(value, "A", "design current", "largest over the cases", _listed(key, value, by_case))
    for key in design.keys() & at_least.keys():
        if at_least[key] > design[key]:
            factored[key] = at_least[key] * (factored[key] / design[key] if design[key] else 1.0)
            inputs = (("sum of the draws", design[key], "A"),)
            design[key] = at_least[key]
            why[key] = Traced(at_least[key], "A", "design current", "as solved with the sizes taken", inputs)
    for key, signal in signals(system).items():
        beside = design.get(key, 0.0) if key in system.devices and system.devices[key].panel else 0.0
        if beside + signal.value > design.get(key, 0.0):
            design[key], why[key] = beside + signal.value, signal
        factored[key] = max(factored.get(key, 0.0) + signal.value if beside else signal.value, factored.get(key, 0.0))
    steady, brief_s = _brief(system, profile, at_least, design)
    supply = [d for d in drawn if d.element.role == "supply"]
    for d in supply:
        why[d.element.part] = d.why
    for d in drawn:
        if d.element.role == "inlet" and d.full_a > 0.0:
            why[f"{d.element.part}.ac-in"] = d.why
    result = Demand(
        design_a={c: design.get(c, 0.0) for c in system.conductors},
        drop_a={c: drop.get(c, 0.0) for c in system.conductors},
        factored_a={c: factored.get(c, 0.0) for c in system.conductors},
        load_a={d.element.part: d.full_a for d in supply},
        device_a={d: design.get(d, 0.0) for d in system.devices},
        device_factored_a={d: factored.get(d, 0.0) for d in system.devices},
        case_a=case_a,
        budget_v=budget_v,
        why=why,
        low_v=zone_low_v(system, net),
        rated_a={d: a for d, a in rated.items() if d in system.devices},
        bank_ohm=starting_ohm(system, net),
        steady_a=steady,
        brief_s=brief_s,
    )
    return result, (), (*assumptions(system), *assumed)


def _listed(key: str, value: float, by_case: Mapping[str, Sequence[Named]]) -> tuple[Named, ...]:
    """What each case brings, and what else makes a design current larger than all of them."""
    listed = tuple(by_case.get(key, ()))
    if exceeds(value, max((amperes for _, amperes, _ in listed), default=0.0), NOISE):
        return (*listed, ("full draw of all behind it", value, "A"))
    return listed


def _inverters_full(
    system: System, net: Graph, case: Case, drawn: Sequence[Draw], amperes: Sequence[float]
) -> list[float] | None:
    """The currents of a case with every inverter that it has on at its rating; None where they are that already."""
    full = [
        max(a, share(case, system, net, d.element) * d.full_a)
        if d.element.role == "supply" and isinstance(system.parts[d.element.part], Inverter)
        else a
        for a, d in zip(amperes, drawn, strict=True)
    ]
    return full if any(exceeds(f, a, NOISE) for f, a in zip(full, amperes, strict=True)) else None


def _brief(
    system: System, profile: Profile, at_least: Mapping[str, float], design: Mapping[str, float]
) -> tuple[dict[str, float], dict[str, float]]:
    """What conductors carry without the loads that run but briefly, and for how many seconds they carry those: of
    conductors that carry some, the longest of all."""
    brief = {load.id: load.for_h * SECONDS for load in system.of(Load) if load.for_h}
    if not brief:
        return {}, {}
    off = {name: replace(load, for_h=None, **_NONE) for name, load in system.parts.items() if isinstance(load, Load)}
    still = {name: off[name] if name in brief else part for name, part in system.parts.items()}
    idle = {name: a for name, a in at_least.items() if name not in brief and name not in system.conductors}
    rest = demand(replace(system, parts=still), profile, idle)[0]
    steady = {c: rest.design_a[c] for c in system.conductors if exceeds(design.get(c, 0.0), rest.design_a[c], NOISE)}
    return steady, dict.fromkeys(steady, max(brief.values()))


_NONE: Mapping[str, Any] = {"current_a": 0.0, "power_w": None, "resistance_ohm": None}
SECONDS = 3600.0


def _raise(figures: dict[str, float], key: str, value: float) -> None:
    if value > figures.get(key, -1.0):
        figures[key] = value


def _branches(
    system: System,
    net: Graph,
    drawn: Sequence[Draw],
    everything: Carrier,
    by_case: Sequence[Carrier],
    design: dict[str, float],
    drop: dict[str, float],
    factored: dict[str, float],
) -> dict[str, Traced]:
    """Raises the figures of branches to the full current behind them; gives the trace of those with one consumer. What
    leads to a consumer is judged as the load cases leave it connected (`by_case`), for a change-over closes one of its
    ways at a time; where none of them feeds it, with all closed."""
    own = _consumer_runs(system, net)
    runs = {**{c.id: c.run for c in system.conductors.values()}, **{d.id: d.run for d in system.devices.values()}}
    why: dict[str, Traced] = {}
    fed: set[str] = set()
    for bearing in (*by_case, everything):
        for key, amperes in _full(drawn, bearing):
            if bearing is not everything:
                taken = runs[key] in own and amperes.count > NOISE
                fed.update([key] if taken else ())
            else:
                taken = amperes.single or (runs[key] in own and key not in fed)
            whole = amperes.whole if taken and amperes.single else None
            if whole is not None and (key not in why or whole.value > why[key].value):
                why[key] = whole
            if taken:
                _raise(design, key, amperes.design)
                _raise(drop, key, amperes.shared)
                _raise(factored, key, amperes.factored)
    return {**_of_one_source(drawn, everything, design), **why}


@dataclass(frozen=True, slots=True)
class _Full:
    """What a conductor or device bears with all consumers behind it at their full draw: amperes, how many they are, and
    the trace of the `whole` draw where it is a `single` one."""

    design: float
    shared: float
    factored: float
    count: float
    single: bool
    whole: Traced


def _full(drawn: Sequence[Draw], bearing: Carrier) -> Iterator[tuple[str, _Full]]:
    """The full draws, by conductor and device. Each circuit by itself: in a negative that two of them share through a
    converter their consumers oppose each other."""
    for zone in dict.fromkeys(d.element.ends.zone for d in drawn if d.element.role == "supply"):
        on = [float(d.element.role == "supply" and d.element.ends.zone == zone) for d in drawn]
        full = bearing.flows([share * d.full_a for share, d in zip(on, drawn, strict=True)])
        factored = bearing.flows([share * d.full_a * d.factor for share, d in zip(on, drawn, strict=True)])
        count = bearing.flows(on).signed
        number = bearing.flows([share * n for n, share in enumerate(on, 1)]).signed
        square = bearing.flows([share * n * n for n, share in enumerate(on, 1)]).signed
        for key, consumers in count.items():
            # Halves of two consumers, from batteries that share them, count one as well: their numbers tell.
            single = isclose(abs(consumers), 1.0, rel_tol=TOLERANCE)
            single = single and isclose(abs(square[key]), number[key] ** 2, rel_tol=TOLERANCE)
            whole = drawn[min(round(abs(number[key])), len(drawn)) - 1].why
            yield key, _Full(full.borne[key], full.shared[key], factored.borne[key], abs(consumers), single, whole)


def _of_one_source(drawn: Sequence[Draw], everything: Carrier, design: Mapping[str, float]) -> dict[str, Traced]:
    """The trace of what carries the current of one source alone, and no more than that."""
    pushes = [d.element.role == "push" for d in drawn]
    count = everything.flows([1.0 if push else 0.0 for push in pushes]).signed
    number = everything.flows([n + 1.0 if push else 0.0 for n, push in enumerate(pushes)]).signed
    found: dict[str, Traced] = {}
    for key, sources in count.items():
        if isclose(abs(sources), 1.0, rel_tol=TOLERANCE):
            why = drawn[min(round(abs(number[key])), len(drawn)) - 1].why
            if why.value > 0.0 and isclose(why.value, design.get(key, 0.0), rel_tol=NOISE):
                found[key] = why
    return found


def _consumer_runs(system: System, net: Graph) -> frozenset[str]:
    """Runs that end at the supply terminals of a consumer."""
    ends = {node for terminals in net.consumers.values() for node in (terminals.pos, terminals.neg)}
    return frozenset(c.run for c in system.conductors.values() if c.from_node in ends or c.to_node in ends)


def _neutrals(system: System, *figures: dict[str, float]) -> None:
    """A neutral carries as much as the largest line of its run: one leg of a split phase may stand alone."""
    for run in system.runs.values():
        if run.current != "ac":
            continue
        by_pole = {c: system.conductors[c].pole for c in run.conductor_ids}
        for figure in figures:
            most = max((figure.get(c, 0.0) for c, pole in by_pole.items() if pole in ("l", "l1", "l2")), default=0.0)
            for c, pole in by_pole.items():
                if pole == "n":
                    _raise(figure, c, most)
