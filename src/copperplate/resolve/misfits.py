"""What does not fit where a leg ends: findings with their repairs. Nothing lands there."""

from __future__ import annotations

from typing import Any

from copperplate import units
from copperplate.model import Bus, Earth, Load, Panel, Pole
from copperplate.model.parts import Current
from copperplate.resolve.addresses import DC_PAIR, node_id
from copperplate.resolve.approaches import Approach
from copperplate.resolve.bars import BAR_POLES
from copperplate.resolve.brackets import InLine
from copperplate.syntax.tree import STROKES

_CABLES = {2: "a pair", 3: "a cable of three cores", 4: "a cable of four cores"}


def ask_terminal(approach: Approach) -> None:
    """A single conductor that ends at a part with several terminals, which nothing distinguishes."""
    part, target = approach.part, approach.target
    options = []
    for group, current in part.groups:
        if target.form == "whole" or group == target.port:
            poles = DC_PAIR if current == "dc" else ("l", "n", "pe")
            options += [node_id(part.id, group, pole) for pole in poles]
    options = options or [f"{part.id}.{pole}" for pole in DC_PAIR]
    approach.report("CP223", options=options[:4], ac=any(option.endswith(".pe") for option in options))


def pair_on_one(approach: Approach) -> None:
    """A pair or cable that ends at a single terminal."""
    part, conductors, cable = approach.part, approach.leg.conductors, _CABLES[approach.leg.conductors]
    if isinstance(part, Bus | Earth):
        polarity = part.polarity if isinstance(part, Bus) else None
        singles = _two_singles(approach, polarity)
        approach.report("CP224", part=part.id, polarity=polarity, cable=cable, **singles)
    else:
        taken = "both" if conductors == 2 else "all"
        approach.report("CP224", stroke=approach.leg.stroke.text, cable=cable, part=part.id, taken=taken)


def _two_singles(approach: Approach, polarity: str | None) -> dict[str, str]:
    """The repair: a conductor from the positive bar with the devices of the pair, and one to the negative bar."""
    leg, other, ends = approach.leg, approach.other.part, approach.ends
    theirs = [group for group, current in other.groups if current == "dc"]
    if leg.conductors == 2 and not theirs:
        return {"other": other.id}
    if leg.conductors != 2 or polarity is None or not theirs:
        return {}
    base = node_id(other.id, theirs[0])
    bars = {polarity: approach.part.id}
    for wanted in BAR_POLES:
        bars.setdefault(wanted, ends.bars[wanted][0] if ends.bars[wanted] else f"a {wanted} bar")
    length = units.show(leg.length_m, ends.settings.length_unit) if leg.length_m else "LENGTH"
    line = " -- ".join([thing.span.text for thing in leg.line if isinstance(thing, InLine)] + [length])
    return {
        "out": f"{bars['positive']} -- {line} -- {base}.pos",
        "back": f"{base}.neg -- {length} -- {bars['negative']}",
    }


def wrong_current(approach: Approach, current: Current) -> None:
    """A pair or cable that finds no terminals of its current, or two groups of them."""
    part, leg = approach.part, approach.leg
    fitting = [node_id(part.id, group) for group in approach.groups(current)]
    if len(fitting) == 2 and approach.target.form == "whole":
        if approach.side == 1 or leg.number == 0:  # Else the leg before ends at the same place, with its finding.
            approach.report("CP223", part=part.id, first=fitting[0], last=fitting[1])
        return
    if part.id in approach.ends.reading.names.touched:
        return  # Not all that it states could be read: `ac` may stand there.
    want, has = ("AC", "DC") if current == "ac" else ("DC", "AC")
    about: dict[str, Any] = {"part": part.id, "other": approach.other.part.id, "stroke": leg.stroke.text}
    about |= {"want": want, "has": has, "supply": want == "AC" and leg.conductors == 2}
    about["may_be_ac"] = isinstance(part, Load | Panel | Bus) and want == "AC"
    if approach.target.form == "group":
        about["groups"] = [node_id(part.id, group) for group, _ in part.groups]
    approach.report("CP229", **about)


def several_lines(approach: Approach, keys: tuple[Pole, ...]) -> None:
    """A cable or load of two lines on a way of a panel that has one."""
    cable = len(keys) == 4
    taker = STROKES[4] if cable else approach.other.part.id
    subject, stroke = approach.word.text, approach.leg.stroke
    approach.ends.reading.report("CP229", subject, stroke, part=approach.part.id, taker=taker, cable=cable)
