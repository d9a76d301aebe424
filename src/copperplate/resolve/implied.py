"""Ends and runs that a plate means without writing them: a panel's earth bar, and leads to a body that conducts."""

from __future__ import annotations

from dataclasses import replace

from copperplate import units
from copperplate.model import Earth, Panel
from copperplate.resolve.addresses import Ends, Target, earth_pole
from copperplate.resolve.legs import Leg, Stretch
from copperplate.resolve.ways import Targets
from copperplate.syntax.tree import Word

_TO_THE_BODY_M = 0.3
"""Length of the lead from a consumer to the conducting body that it stands on (common practice, no source)."""


def earthed_where_they_stand(targets: list[tuple[Leg, Targets]], ends: Ends) -> list[tuple[Leg, Targets]]:
    """The negative of each part that a single conductor from a panel feeds whose return is a conducting body: a lead
    to the body where it stands, unless the plate draws one."""
    drawn = {word.text for leg, _ in targets for word in (leg.near, leg.far)}
    leads: list[tuple[Leg, Targets]] = []
    for leg, (near, far) in targets:
        panel = near.part if near is not None else None
        if far is None or not isinstance(panel, Panel) or leg.conductors != 1 or leg.signal_a is not None:
            continue
        body, negative = ends.parts.get(panel.return_bar or ""), Word(f"{far.part.id}.neg", leg.far.span)
        whole = far.form == "whole" or far.port == "pos"
        if not (isinstance(body, Earth) and whole and "neg" in far.part.ports and negative.text not in drawn):
            continue
        drawn.add(negative.text)
        line = (Stretch(_TO_THE_BODY_M, (), False, leg.far.span),)
        there, unnamed = Word(body.id, leg.far.span), replace(leg.statement, name=None)
        lead = replace(
            leg, statement=unnamed, near=negative, far=there, line=line, size=None, size_span=None, sound=True
        )
        length = units.show(_TO_THE_BODY_M, ends.settings.length_unit)
        ends.reading.assume(far.part.id, f"earthed to `{body.id}` where it stands, by a lead of {length}")
        leads.append((lead, (ends.target(negative), Target(body, "terminal", "", earth_pole(body)))))
    return leads


def earth_bar(target: Target, other: Target) -> Target:
    """The earth bar of an AC panel that a single conductor joins to an earth."""
    if isinstance(target.part, Panel) and target.part.ac and target.form == "whole" and isinstance(other.part, Earth):
        return Target(target.part, "terminal", "ac-in.pe", "pe")
    return target
