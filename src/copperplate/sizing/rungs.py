"""The rungs of the decision ladder that one run judges alone, as readers see them, with the traces of their figures."""

from __future__ import annotations

from functools import cache
from typing import Literal

from copperplate.model import Traced
from copperplate.model.results import Rung
from copperplate.sizing.laying import Gauge, device_cap, minimum
from copperplate.sizing.makers import MakersSize
from copperplate.sizing.requirements import RunRequirement
from copperplate.sizing.rules import ALONE, Rule, Rules
from copperplate.standards import Profile
from copperplate.standards.adiabatic import brief_a
from copperplate.units import NOISE, exceeds, number, show

NOT_JUDGED = {rule: Rung(rule, "not judged", "-") for rule in ("protection", "drop", "start", *ALONE)}


def rung(rules: Rules, rule: Rule, g: Gauge) -> Rung:
    """One cell of the ladder, of a rule that the run judges alone."""
    refused = rules.refuses(rule, g)
    if rule == "minimum":
        return _minimum(g, rules.profile, rules.series)
    if rule == "ampacity":
        return _ampacity(g, rules.run.parallel, rules.requirement, refused)
    if rule == "protection":
        return _protection(rules, g, refused)
    if rule == "terminal":
        return _terminal(rules, g, refused) if rules.ends else NOT_JUDGED[rule]
    if rule == "stock":
        return Rung(rule, _verdict(refused), "no" if refused else "ok") if rules.shelf else NOT_JUDGED[rule]
    makers = [m for m in rules.makers if bool(m.advice) == (rule == "advice")]
    if not makers or (rule == "comparable" and rules.advice_mm2):
        return NOT_JUDGED[rule]
    most = max(makers, key=lambda m: m.area_mm2)
    return Rung(rule, _verdict(refused), "too small" if refused else "ok", _trace(most))


def _terminal(rules: Rules, g: Gauge, refused: bool) -> Rung:
    missed = [words for _, words, low, high in rules.ends if not low <= g.area_mm2 <= high]
    words = missed[0] if missed else "; ".join(dict.fromkeys(w for _, w, _, _ in rules.ends))
    large = any(g.area_mm2 > high for _, _, _, high in rules.ends)
    shown = ("too large" if large else "too small") if refused else "ok"
    trace = Traced(g.area_mm2, "mm2", "terminal", words, (), "the plate", "stated")
    return Rung("terminal", _verdict(refused), shown, trace)


def _protection(rules: Rules, g: Gauge, refused: bool) -> Rung:
    if not rules.requirement.protect_a:
        return NOT_JUDGED["protection"]
    by = _listed(rules.requirement.protected_by)
    cap = device_cap(rules.profile, g.size, rules.run.current)
    share = rules.profile.figures["device-share"]
    inputs: list[tuple[str, float | str, str]] = [("ampacity", g.ampacity_a * rules.run.parallel, "A")]
    if cap is not None:
        inputs.append(("largest device", cap.value, "A"))
    formula = f"rating of {by} <= ampacity" if by else "most that its source can give <= ampacity"
    trace = Traced(
        rules.requirement.protect_a, "A", "rating that the conductor must carry", formula, tuple(inputs),
        share.source, share.status,
    )  # fmt: skip
    return Rung("protection", _verdict(refused), f"{number(rules.requirement.protect_a)} A", trace)


def _listed(devices: tuple[str, ...]) -> str:
    """As many devices as a reader wants to see."""
    return ", ".join(devices[:3]) + (f" and {len(devices) - 3} more" if len(devices) > 3 else "")


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
    if requirement.brief_s is not None:
        briefly_a = brief_a(g.laying.insulation_c, g.area_mm2, requirement.brief_s) * parallel
        carried += (("for", requirement.brief_s, "s"), ("briefly", design_a, "A"))
        carried += (("stands for so long", briefly_a, "A"),)
    if requirement.unfactored_a:
        carried += (
            ("before factors", g.unfactored_a * parallel, "A"),
            ("to carry before factors", requirement.unfactored_a, "A"),
        )
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
