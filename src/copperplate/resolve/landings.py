"""Where the conductors of a leg land: the nodes at each of its ends, and what does not fit."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from copperplate import units
from copperplate.model import Bus, Controller, Earth, Junction, Load, Panel, Part, Pole, Solar
from copperplate.model.parts import Current
from copperplate.resolve.addresses import DC_PAIR, Ends, Target, node_id, part_of
from copperplate.resolve.brackets import InLine
from copperplate.resolve.legs import STROKES, Leg
from copperplate.syntax.tree import Word

AC_KEYS: Mapping[int, tuple[Pole, ...]] = {2: ("l", "n"), 3: ("l", "n", "pe"), 4: ("l1", "l2", "n", "pe")}
BETWEEN_LINES: tuple[Pole, ...] = ("l1", "l2", "pe")
"""Cores of a cable of three to a load that takes the voltage between the lines of a split supply."""
_BETWEEN_V = 200.0
"""What states more than this takes both lines of a split supply: 208, 220 or 240 V beside 120 V."""
_CABLES = {2: "a pair", 3: "a cable of three cores", 4: "a cable of four cores"}


@dataclass(frozen=True, slots=True)
class Landing:
    """Where the conductors of a leg land: node by pole ("" for the only conductor of a single run). `address` is
    the end as readers write it, `way` the number where it is a way of a panel."""

    part: str
    address: str
    nodes: Mapping[str, str]
    way: int | None = None


@dataclass(frozen=True, slots=True)
class Approach:
    """One end of a leg: the near (side 0) or the far one (side 1), what it and the other end name, and the way
    that it was given where it is one."""

    leg: Leg
    side: int
    target: Target
    other: Target
    way: int | None

    @property
    def word(self) -> Word:
        return self.leg.far if self.side else self.leg.near

    @property
    def part(self) -> Part:
        return self.target.part

    @property
    def by_way(self) -> bool:
        return self.way is not None

    @property
    def own_bracket(self) -> InLine | None:
        """The bracket beside a way that says no kind: the way's own device."""
        line = self.leg.line
        beside = line[-1 if self.side else 0] if line else None
        return beside if self.by_way and isinstance(beside, InLine) and beside.kind is None else None


def cores(leg: Leg, near: Target, far: Target, ends: Ends) -> tuple[Pole, ...]:
    """The conductors of an AC leg by pole, in the order of the cable."""
    return BETWEEN_LINES if leg.conductors == 3 and _takes_both(near, far, ends) else AC_KEYS[leg.conductors]


def _takes_both(near: Target, far: Target, ends: Ends) -> bool:
    """Whether one end is a load or charger for the voltage between two lines, and the other end has those."""
    for target, other in ((far, near), (near, far)):
        if (target.part.takes_v or 0.0) > _BETWEEN_V:
            out = [group for group, current in other.part.groups if current == "ac"]
            fed = ends.lines_of(other.part, out[-1]) if out else ends.poled.get(other.part.id, 3)
            return ends.settings.ac == "120/240" or fed == 4
    return False


def land(approach: Approach, current: Current, ends: Ends) -> Landing | None:
    """The nodes at one end of a leg; None with a finding where its conductors do not fit there."""
    if approach.leg.conductors == 1:
        return _land_single(approach, ends)
    if current == "dc":
        return _land_pair(approach, ends)
    return _land_cable(approach, ends)


def _land_single(approach: Approach, ends: Ends) -> Landing | None:
    target, part = approach.target, approach.part
    if approach.by_way:
        node = f"{part.id}.{approach.way}"
        return Landing(part.id, node, {"": node}, approach.way)
    if target.form == "terminal":
        node = node_id(part.id, target.port)
        return Landing(part.id, part.id if target.port == "feed" else node, {"": node})
    if isinstance(part, Panel) and not part.ac:
        return Landing(part.id, part.id, {"": f"{part.id}.feed"})
    if isinstance(part, Junction) and ends.poled.get(part.id, 1) == 1:
        return Landing(part.id, part.id, {"": part.id})
    port = _port(approach, _pole_of(approach.other))
    if port is None:
        _ask_terminal(approach, ends)
        return None
    node = node_id(part.id, port)
    return Landing(part.id, node, {"": node})


def _pole_of(other: Target) -> Pole | None:
    """The pole that the other end of a single conductor has by itself."""
    if other.pole is None and isinstance(other.part, Panel):
        return "l" if other.part.ac else "pos"
    return other.pole


def _port(approach: Approach, pole: Pole | None) -> str | None:
    """The terminal of that pole, where the part has one such terminal."""
    target, part = approach.target, approach.part
    if pole is None or isinstance(part, Junction):
        return pole
    if pole == "pe" and pole in part.ports:
        return "pe"
    group = _group(approach, "dc" if pole in DC_PAIR else "ac")
    if group is None or (target.form == "whole" and isinstance(part, Earth)):
        return None
    return node_id(group, pole)


def _group(approach: Approach, current: Current) -> str | None:
    """The group of terminals that a pair, a cable or a conductor of known pole lands on."""
    target, part, leg, side = approach.target, approach.part, approach.leg, approach.side
    fitting = [group for group, kind in part.groups if kind == current]
    if target.form == "group":
        return target.port if target.port in fitting else None
    if len(fitting) < 2:
        return fitting[0] if fitting else None
    if leg.tapped[side]:
        return None
    if isinstance(part, Controller):
        return "pv" if isinstance(approach.other.part, Solar) else ""
    return fitting[0] if side else fitting[1]


def _land_pair(approach: Approach, ends: Ends) -> Landing | None:
    target, part = approach.target, approach.part
    if isinstance(part, Panel) and not part.ac:
        if approach.by_way:
            own = approach.own_bracket
            both = own is not None and own.facts.values.get("poles", 1) > 1
            base = f"{part.id}.{approach.way}"
            nodes = {"pos": base, "neg": f"{base}.neg" if both else negative_bar(part, ends.parts)}
            return Landing(part.id, base, nodes, approach.way)
        if target.form == "whole" or target.port == "feed":
            nodes = {"pos": f"{part.id}.feed", "neg": negative_bar(part, ends.parts)}
            return Landing(part.id, part.id, nodes)
    if target.form == "terminal":
        _pair_on_one(approach, ends)
        return None
    if isinstance(part, Junction):
        return Landing(part.id, part.id, {pole: f"{part.id}.{pole}" for pole in DC_PAIR})
    group = _group(approach, "dc")
    if group is None:
        _wrong_current(approach, "dc", ends)
        return None
    base = node_id(part.id, group)
    return Landing(part.id, base, {pole: f"{base}.{pole}" for pole in DC_PAIR})


def negative_bar(panel: Panel, parts: Mapping[str, Part]) -> str:
    """The node that the negatives of a DC panel's circuits land on."""
    bar = parts.get(panel.return_bar or "", panel)
    return bar.id if bar.ports == ("",) else f"{bar.id}.neg"


def _land_cable(approach: Approach, ends: Ends) -> Landing | None:
    target, part, leg = approach.target, approach.part, approach.leg
    keys = cores(leg, target, approach.other, ends)
    if target.form == "terminal":
        _pair_on_one(approach, ends)
        return None
    if isinstance(part, Junction):
        return Landing(part.id, part.id, _cores(part.id, keys, ends.poled.get(part.id, 3), leg, ends))
    group = _group(approach, "ac")
    if group is None:
        _wrong_current(approach, "ac", ends)
        return None
    base = node_id(part.id, group)
    lines = ends.lines_of(part, group)
    if not approach.by_way:
        only = len(part.groups) == 1
        return Landing(part.id, part.id if only else base, _cores(base, keys, lines, leg, ends))
    if "l1" in keys and lines != 4:
        cable = len(keys) == 4
        taker = STROKES[4] if cable else approach.other.part.id
        ends.reading.report("CP229", approach.word.text, leg.stroke, part=part.id, taker=taker, cable=cable)
        return None
    way = f"{part.id}.{approach.way}"
    own = approach.own_bracket
    opened = own.facts.values.get("poles", 1) if own is not None else 1
    nodes: dict[str, str] = {}
    for rank, key in enumerate(keys):
        behind = key[0] == "l" or (key == "n" and rank < opened)
        nodes[key] = f"{base}.{key}" if not behind else way if key == "l" else f"{way}.{key}"
    return Landing(part.id, way, nodes, approach.way)


def _cores(base: str, keys: tuple[Pole, ...], lines: int, leg: Leg, ends: Ends) -> dict[str, str]:
    """Node by core. One line of a split supply is leg 1 or 2, as the load says."""
    nodes: dict[str, str] = {key: f"{base}.{key}" for key in keys}
    if lines == 4 and "l" in nodes:
        nodes["l"] = f"{base}.l{leg_of(leg, ends) or 1}"
    return nodes


def leg_of(leg: Leg, ends: Ends) -> int | None:
    """Leg 1 or 2 of a split supply, where the load at one end says it."""
    for word in (leg.far, leg.near):
        part = ends.parts.get(part_of(word.text))
        if isinstance(part, Load) and part.leg in (1, 2):
            return part.leg
    return None


# --- what does not fit -----------------------------------------------------------------------------------


def _report(code: str, approach: Approach, ends: Ends, **figures: Any) -> None:
    word, part = approach.word, approach.part
    at = {"part": part.span}
    ends.reading.report(code, word.text, word.span, kind=part.kind, **figures, at=at)


def _ask_terminal(approach: Approach, ends: Ends) -> None:
    """A single conductor that ends at a part with several terminals, and nothing tells which."""
    part, target = approach.part, approach.target
    options = []
    for group, current in part.groups:
        if target.form == "whole" or group == target.port:
            poles = DC_PAIR if current == "dc" else ("l", "n", "pe")
            options += [node_id(part.id, group, pole) for pole in poles]
    options = options or [f"{part.id}.{pole}" for pole in DC_PAIR]
    ac = any(option.endswith(".pe") for option in options)
    _report("CP223", approach, ends, options=options[:4], ac=ac)


def _pair_on_one(approach: Approach, ends: Ends) -> None:
    """A pair or cable that ends at a single terminal."""
    part, leg = approach.part, approach.leg
    cable = _CABLES[leg.conductors]
    if not isinstance(part, Bus | Earth):
        taken = "both" if leg.conductors == 2 else "all"
        _report("CP224", approach, ends, stroke=leg.stroke.text, cable=cable, part=part.id, taken=taken)
        return
    polarity = part.polarity if isinstance(part, Bus) else None
    singles = _two_singles(approach, polarity, ends)
    _report("CP224", approach, ends, part=part.id, polarity=polarity, cable=cable, **singles)


def _two_singles(approach: Approach, polarity: str | None, ends: Ends) -> dict[str, str]:
    """The repair: a conductor from the positive bar with the devices of the pair, and one to the negative bar."""
    part, leg, other = approach.part, approach.leg, approach.other.part
    theirs = [group for group, current in other.groups if current == "dc"]
    if leg.conductors == 2 and not theirs:
        return {"other": other.id}
    if leg.conductors != 2 or polarity is None or not theirs:
        return {}
    base = node_id(other.id, theirs[0])
    bars = {polarity: part.id}
    for wanted in ("positive", "negative"):
        bars.setdefault(wanted, ends.bars[wanted][0] if ends.bars[wanted] else f"a {wanted} bar")
    length = units.show(leg.length_m, ends.settings.length_unit) if leg.length_m else "LENGTH"
    line = " -- ".join([thing.span.text for thing in leg.line if isinstance(thing, InLine)] + [length])
    return {
        "out": f"{bars['positive']} -- {line} -- {base}.pos",
        "back": f"{base}.neg -- {length} -- {bars['negative']}",
    }


def _wrong_current(approach: Approach, current: Current, ends: Ends) -> None:
    """A pair or cable that finds no terminals of its current, or two groups of them."""
    part, leg = approach.part, approach.leg
    both = [node_id(part.id, group) for group, kind in part.groups if kind == current]
    if len(both) == 2 and approach.target.form == "whole":
        if approach.side == 1 or leg.number == 0:  # Else the leg before ends at the same place and has told it.
            _report("CP223", approach, ends, part=part.id, first=both[0], last=both[1])
        return
    want, has = ("AC", "DC") if current == "ac" else ("DC", "AC")
    about: dict[str, Any] = {"part": part.id, "other": approach.other.part.id, "stroke": leg.stroke.text}
    about |= {"want": want, "has": has, "supply": want == "AC" and leg.conductors == 2}
    about["may_be_ac"] = isinstance(part, Load | Panel | Bus) and want == "AC"
    if approach.target.form == "group":
        about["groups"] = [node_id(part.id, group) for group, _ in part.groups]
    _report("CP229", approach, ends, **about)
