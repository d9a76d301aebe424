"""The rungs of the decision ladder that one run can judge alone: everything but the shared voltage-drop budgets."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache, cached_property
from typing import Literal

from copperplate.model import Advice, Part, Run, Size, System, Traced
from copperplate.model.results import Demand, Rung
from copperplate.sizing.bundles import loaded
from copperplate.sizing.ends import describe, limits, terminals
from copperplate.sizing.laying import Gauge, Laying, device_cap, gauge, ladder, minimum
from copperplate.sizing.requirements import RunRequirement
from copperplate.standards import OutsideTable, Profile, conductors
from copperplate.units import NOISE, exceeds, number, show, suffices

Rule = Literal["minimum", "ampacity", "protection", "drop", "start", "advice", "comparable", "terminal", "stock"]
ALONE: tuple[Rule, ...] = ("minimum", "ampacity", "protection", "advice", "comparable", "terminal", "stock")
NOT_JUDGED = {rule: Rung(rule, "not judged", "-") for rule in ("protection", "drop", "start", *ALONE)}


@dataclass(frozen=True)
class MakersSize:
    """What a maker asks of one run's conductors: the size as he writes it, and the area of the smallest of the ladder
    that is not smaller. `advice` None where it comes from a comparable device, read from `leaflet`; `applies` False
    beyond its length."""

    part: Part
    size: Size
    area_mm2: float
    advice: Advice | None
    applies: bool
    leaflet: str = ""


@dataclass(frozen=True, eq=False)
class Rules:
    """The rules of one run, with the gauges to choose from."""

    run: Run
    profile: Profile
    series: str
    laying: Laying
    requirement: RunRequirement
    nominal_v: float
    makers: tuple[MakersSize, ...]
    ends: tuple[tuple[str, str, float, float], ...]
    """(node, terminal in words, smallest, largest area) of every stated clamp or stud at its ends."""
    shelf: frozenset[Size]

    @cached_property
    def gauges(self) -> tuple[Gauge, ...]:
        """The ladder of the profile, and what else is on the shelf, in the way that this run lies."""
        known = ladder(self.profile, self.series, self.laying)
        others = [self.of(size) for size in self.shelf if all(g.size != size for g in known)]
        return tuple(sorted((*known, *others), key=lambda g: (g.area_mm2, g.size.key))) if others else known

    def of(self, size: Size) -> Gauge:
        """A size that need not be on the ladder, in the way that this run lies."""
        return gauge(self.profile, size, self.series, self.laying)

    def here(self, g: Gauge) -> Gauge:
        """The same size in the way that this run lies."""
        return g if g.laying is self.laying else self.of(g.size)

    @property
    def fixed(self) -> Gauge:
        """The gauge that the rest is judged with where the run has no choice: its stated size, or the largest where
        none serves."""
        return self.of(self.run.size) if self.run.size is not None else self.gauges[-1]

    @cached_property
    def advice_mm2(self) -> float:
        """The smallest area that the maker's advice allows; 0.0 without. Advice for a shorter length is the least for
        this one: no maker asks for less further away."""
        return max((m.area_mm2 for m in self.makers if m.advice), default=0.0)

    @cached_property
    def comparable_mm2(self) -> float:
        """The smallest area that comparable devices ask for; 0.0 where the maker himself advises."""
        if any(m.advice and m.applies for m in self.makers):
            return 0.0
        return max((m.area_mm2 for m in self.makers if not m.advice), default=0.0)

    def refuses(self, rule: Rule, g: Gauge) -> bool:
        """Whether a rule refuses a size for this run."""
        if rule == "minimum":
            return g.below_minimum
        if rule == "ampacity":
            return bool(g.outside) or not suffices(g.ampacity_a * self.run.parallel, self.requirement.carries_a, NOISE)
        if rule == "protection":
            return self._unprotected(g)
        if rule == "advice":
            return not suffices(g.area_mm2 * self.run.parallel, self.advice_mm2)
        if rule == "comparable":
            return not suffices(g.area_mm2 * self.run.parallel, self.comparable_mm2)
        if rule == "terminal":
            return any(not low <= g.area_mm2 <= high for _, _, low, high in self.ends)
        return bool(self.shelf) and g.size not in self.shelf

    @cached_property
    def _devices(self) -> str:
        """The devices that protect the run, as many as a reader wants to see."""
        by = self.requirement.protected_by
        return ", ".join(by[:3]) + (f" and {len(by) - 3} more" if len(by) > 3 else "")

    def _unprotected(self, g: Gauge) -> bool:
        """Whether the devices of the run let more pass than a size may carry for ever."""
        rating_a = self.requirement.protect_a
        if not rating_a:
            return False
        share = self.profile.device_share(self.nominal_v).value
        cap = device_cap(self.profile, g.size, self.run.current)
        capped = cap is not None and self.run.parallel == 1 and bool(self.requirement.protected_by)
        over = capped and cap is not None and exceeds(rating_a, cap.value, NOISE)
        return over or not suffices(g.ampacity_a * share * self.run.parallel, rating_a, NOISE)

    def allows(self, g: Gauge, rules: tuple[Rule, ...]) -> bool:
        """Whether none of these rules refuses a size."""
        for rule in rules:  # noqa: SIM110, an `all()` over a generator takes twice the time of this hot loop
            if self.refuses(rule, g):
                return False
        return True

    def refused_by(self, g: Gauge, rules: tuple[Rule, ...] = ALONE) -> tuple[Rule, ...]:
        """The rules that refuse a size, in the order of the ladder."""
        return tuple(rule for rule in rules if self.refuses(rule, g))

    def rung(self, rule: Rule, g: Gauge) -> Rung:
        """One cell of the ladder."""
        refused = self.refuses(rule, g)
        if rule == "minimum":
            return _minimum(g, self.profile, self.series)
        if rule == "ampacity":
            return _ampacity(g, self.run.parallel, self.requirement, refused)
        if rule == "protection":
            return self._protection(g, refused)
        if rule == "terminal":
            return self._terminal(g, refused) if self.ends else NOT_JUDGED[rule]
        if rule == "stock":
            return Rung(rule, _verdict(refused), "no" if refused else "ok") if self.shelf else NOT_JUDGED[rule]
        makers = [m for m in self.makers if bool(m.advice) == (rule == "advice")]
        if not makers or (rule == "comparable" and self.advice_mm2):
            return NOT_JUDGED[rule]
        most = max(makers, key=lambda m: m.area_mm2)
        return Rung(rule, _verdict(refused), "too small" if refused else "ok", _trace(most))

    def _terminal(self, g: Gauge, refused: bool) -> Rung:
        missed = [words for _, words, low, high in self.ends if not low <= g.area_mm2 <= high]
        words = missed[0] if missed else "; ".join(dict.fromkeys(w for _, w, _, _ in self.ends))
        large = any(g.area_mm2 > high for _, _, _, high in self.ends)
        shown = ("too large" if large else "too small") if refused else "ok"
        trace = Traced(g.area_mm2, "mm2", "terminal", words, (), "the plate", "stated")
        return Rung("terminal", _verdict(refused), shown, trace)

    def _protection(self, g: Gauge, refused: bool) -> Rung:
        if not self.requirement.protect_a:
            return NOT_JUDGED["protection"]
        by = self._devices
        cap = device_cap(self.profile, g.size, self.run.current)
        share = self.profile.device_share(self.nominal_v)
        inputs: list[tuple[str, float | str, str]] = [("ampacity", g.ampacity_a * self.run.parallel, "A")]
        if cap is not None:
            inputs.append(("largest device", cap.value, "A"))
        formula = f"rating of {by} <= ampacity" if by else "most that its source can give <= ampacity"
        trace = Traced(
            self.requirement.protect_a, "A", "rating that the conductor must carry", formula, tuple(inputs),
            share.source, share.status,
        )  # fmt: skip
        return Rung("protection", _verdict(refused), f"{number(self.requirement.protect_a)} A", trace)


def _verdict(refused: bool) -> Literal["ok", "refused"]:
    return "refused" if refused else "ok"


@cache
def _minimum(g: Gauge, profile: Profile, series: str) -> Rung:
    rule = minimum(profile, series, g.laying)[1]
    return Rung("minimum", _verdict(g.below_minimum), "too small" if g.below_minimum else "ok", rule)


def _ampacity(g: Gauge, parallel: int, requirement: RunRequirement, refused: bool) -> Rung:
    """The ampacity with what it is held against: the current to carry, and what that is of the design current."""
    trace = _laid_ampacity(g, parallel)
    if trace is None:
        return Rung("ampacity", _verdict(refused), "-", None)
    design_a, carries_a = requirement.design.value, requirement.carries_a
    carried: tuple[tuple[str, float | str, str], ...] = (("to carry", carries_a, "A"),)
    if design_a > 0.0 and exceeds(carries_a, design_a, NOISE):
        carried += (("times the design current", carries_a / design_a, ""),)
    held = Traced(
        trace.value, trace.unit, trace.quantity, trace.formula, trace.inputs + carried, trace.source, trace.status
    )
    return Rung("ampacity", _verdict(refused), number(trace.value), held)


@cache
def _laid_ampacity(g: Gauge, parallel: int) -> Traced | None:
    return g.ampacity(parallel)


def _trace(maker: MakersSize) -> Traced:
    source = f"`{maker.part.id}` states it"
    if maker.advice is None:
        text = f"{maker.size.label} or larger, as {maker.leaflet}"
        return Traced(maker.area_mm2, "mm2", "comparable wire", text, (), source, "stated")
    reach = "" if maker.advice.to_length_m is None else f" to {show(maker.advice.to_length_m, 'm')}"
    text = f"{maker.size.label} or larger{reach}"
    return Traced(maker.area_mm2, "mm2", "advised wire", text, (), source, "stated")


def layings(system: System, profile: Profile, demand: Demand) -> dict[str, Laying]:
    """How the conductors of every run that joins terminals of the plate (links and earths apart) lie, by run id."""
    settings = system.settings
    together = loaded(system, demand)
    known: dict[Laying, Laying] = {}
    by_run: dict[str, Laying] = {}
    for run in system.runs.values():
        if run.role == "link" or run.earth or not run.conductor_ids:
            continue
        laying = Laying(
            insulation_c=run.insulation_c or settings.insulation_c,
            ambient_c=max(run.ambient_c, profile.engine_space_c.value) if run.engine_space else run.ambient_c,
            engine_space=run.engine_space,
            nominal_v=_nominal_v(system, run),
            loaded=together[run.id],
            laid=run.laid,
            sheath=profile.sheathed(run.outside_m),
            tinned=settings.tinned,
        )
        by_run[run.id] = known.setdefault(laying, laying)
    return by_run


def _nominal_v(system: System, run: Run) -> float:
    return system.nodes[system.conductors[run.conductor_ids[0]].from_node].nominal_v


def carried_a(system: System, profile: Profile, layings: Mapping[str, Laying]) -> dict[str, float | None]:
    """What each conductor of a stated size carries after its factors, all in parallel together, amperes; None where
    the size is left out or where the tables do not reach."""
    carried: dict[str, float | None] = dict.fromkeys(system.conductors)
    for run_id, laying in layings.items():
        run = system.runs[run_id]
        if run.size is not None:
            laid = gauge(profile, run.size, system.settings.conductors, laying)
            for conductor in run.conductor_ids if not laid.outside else ():
                carried[conductor] = laid.ampacity_a * run.parallel
    return carried


def rules(
    system: System, profile: Profile, layings: Mapping[str, Laying], required: Mapping[str, RunRequirement]
) -> dict[str, Rules]:
    """The rules of every run that lies somewhere, by run id."""
    settings = system.settings
    shelf = frozenset(system.stock.sizes) if system.stock else frozenset[Size]()
    by_run: dict[str, Rules] = {}
    for run_id, laying in layings.items():
        run = system.runs[run_id]
        by_run[run.id] = Rules(
            run=run,
            profile=profile,
            series=settings.conductors,
            laying=laying,
            requirement=required[run.id],
            nominal_v=_nominal_v(system, run),
            makers=_makers(system, profile, run),
            ends=_ends(system, run),
            shelf=shelf,
        )
    return by_run


def _makers(system: System, profile: Profile, run: Run) -> tuple[MakersSize, ...]:
    """Advice and comparable sizes of the parts at the ends of a run, each for the terminals that the run reaches."""
    makers: list[MakersSize] = []
    done: set[str] = set()
    for conductor in (system.conductors[c] for c in run.conductor_ids):
        for node in (conductor.from_node, conductor.to_node):
            part = system.parts.get(system.nodes[node].part)
            if part is None or part.id in done or not (part.advised or part.comparable):
                continue
            done.add(part.id)
            port = node.removeprefix(part.id).lstrip(".")
            advice = part.advised.get(port) or part.advised.get(port.rpartition(".")[0]) or part.advised.get("")
            if advice is not None:
                applies = advice.to_length_m is None or not exceeds(run.length_m, advice.to_length_m, NOISE)
                area = _on_ladder(profile, system, advice.size)
                makers.append(MakersSize(part, advice.size, area, advice, applies))
            if part.comparable is not None:
                size, leaflet = part.comparable
                makers.append(MakersSize(part, size, _on_ladder(profile, system, size), None, True, leaflet))
    return tuple(makers)


def _on_ladder(profile: Profile, system: System, size: Size) -> float:
    """Area of the smallest size of the plate's series that is not smaller; the size's own above the ladder."""
    area = conductors.area_mm2(size)
    try:
        return conductors.area_mm2(profile.at_least(area, system.settings.conductors))
    except OutsideTable:
        return area


def _ends(system: System, run: Run) -> tuple[tuple[str, str, float, float], ...]:
    """Every stated clamp or stud at the ends of a run, see `Rules.ends`."""
    return tuple(
        (node, describe(terminal), *limits(terminal))
        for conductor in (system.conductors[c] for c in run.conductor_ids)
        for node, terminal in terminals(system, conductor)
    )
