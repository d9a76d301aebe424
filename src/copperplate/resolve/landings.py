"""Where the conductors of a leg land: the nodes at each of its ends, and what does not fit."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from copperplate import units
from copperplate.findings import Related, finding
from copperplate.model import Bus, Controller, Earth, Junction, Load, Panel, Part, Pole, Solar
from copperplate.model.parts import Current
from copperplate.resolve.addresses import DC_PAIR, Ends, Target, node_id, part_of
from copperplate.resolve.legs import STROKES, InLine, Leg
from copperplate.resolve.words import listed
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
    return f"{group}.{pole}" if group else pole


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
        taker = f"`{STROKES[4]}`" if len(keys) == 4 else f"`{approach.other.part.id}`"
        message = f"`{part.id}` is fed by one line, and {taker} takes two"
        help_ = f"feed `{part.id}` by `{STROKES[4]}`"
        help_ += f", or leave the way by `{STROKES[3]}`" if len(keys) == 4 else ", or give the load its voltage"
        ends.findings.append(finding("CP229", approach.word.text, message, leg.stroke, help=help_))
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


def _report(code: str, approach: Approach, ends: Ends, message: str, help_: str, **more: Any) -> None:
    word = approach.word
    related = (Related(approach.part.span, f"the {approach.part.kind}"),)
    ends.findings.append(finding(code, word.text, message, word.span, help=help_, related=related, **more))


def _ask_terminal(approach: Approach, ends: Ends) -> None:
    """A single conductor that ends at a part with several terminals, and nothing tells which."""
    part, target = approach.part, approach.target
    options = []
    for group, current in part.groups:
        if target.form == "whole" or group == target.port:
            poles = DC_PAIR if current == "dc" else ("l", "n", "pe")
            options += [node_id(part.id, f"{group}.{pole}" if group else pole) for pole in poles]
    options = options or [f"{part.id}.{pole}" for pole in DC_PAIR]
    message = f"`{approach.word.text}` has more than one terminal, and a single conductor lands on one"
    ac = any(option.endswith(".pe") for option in options)
    both = "a cable `-///-` lands on all" if ac else "a pair `-//-` lands on both"
    help_ = f"{listed(options[:4])}; {both}"
    _report("CP223", approach, ends, message, help_, label="which one?")


def _pair_on_one(approach: Approach, ends: Ends) -> None:
    """A pair or cable that ends at a single terminal."""
    part, leg = approach.part, approach.leg
    cable = _CABLES[leg.conductors]
    if not isinstance(part, Bus | Earth):
        message = f"`{leg.stroke.text}` is {cable}, and `{approach.word.text}` is one terminal"
        _report(
            "CP224",
            approach,
            ends,
            message,
            f"`{part.id}` takes {'both' if leg.conductors == 2 else 'all'}; `--` is one conductor",
        )
        return
    polarity = part.polarity if isinstance(part, Bus) else None
    what = f"a {polarity} bar" if polarity else f"a {part.kind} of one pole"
    message = f"`{part.id}` is {what}: {cable} cannot land on it"
    _report("CP224", approach, ends, message, _two_singles(approach, ends))


def _two_singles(approach: Approach, ends: Ends) -> str:
    """The repair: a conductor from the positive bar with the devices of the pair, and one to the negative bar."""
    part, leg, other = approach.part, approach.leg, approach.other.part
    polarity = part.polarity if isinstance(part, Bus) else None
    theirs = [group for group, current in other.groups if current == "dc"]
    if leg.conductors == 2 and not theirs:
        return f"`--`, for `{other.id}` is one pole too"
    if leg.conductors != 2 or polarity is None or not theirs:
        return "end at a component with as many poles"
    base = node_id(other.id, theirs[0])
    bars = {polarity: part.id}
    for wanted in ("positive", "negative"):
        bars.setdefault(wanted, ends.bars[wanted][0] if ends.bars[wanted] else f"a {wanted} bar")
    length = units.show(leg.length_m, "ft" if ends.settings.units == "us" else "m") if leg.length_m else "LENGTH"
    line = " -- ".join([thing.span.text for thing in leg.line if isinstance(thing, InLine)] + [length])
    out = f"{bars['positive']} -- {line} -- {base}.pos"
    back = f"{base}.neg -- {length} -- {bars['negative']}"
    return f"two single runs: `{out}` and `{back}`"


def _wrong_current(approach: Approach, current: Current, ends: Ends) -> None:
    """A pair or cable that finds no terminals of its current, or two groups of them."""
    part, leg, word = approach.part, approach.leg, approach.word.text
    both = [group for group, kind in part.groups if kind == current]
    if len(both) == 2 and approach.target.form == "whole":
        if approach.side == 0 and leg.number > 0:
            return  # The leg before ends at the same place and has told it.
        message = f"`{part.id}` has an input and an output, and a run that goes on behind it must say which it means"
        first, last = (node_id(part.id, group) for group in both)
        help_ = f"end this run at `{first}` and begin another at `{last}`"
        _report("CP223", approach, ends, message, help_)
        return
    want, has = ("AC", "DC") if current == "ac" else ("DC", "AC")
    message = f"`{leg.stroke.text}` carries {want} here, and `{word}` has {has} terminals only"
    help_ = "end it at a component of its kind"
    if want == "AC" and leg.conductors == 2:
        message = f"`{approach.other.part.id}` takes AC, and `{word}` has DC terminals only"
        help_ = "feed it from an AC panel, a shore supply or an inverter's `ac-out`"
    elif isinstance(part, Load | Panel | Bus) and want == "AC":
        help_ = f"add `ac` to `{part.id}` if it is an AC {part.kind}; else `-//-`, a pair"
    elif approach.target.form == "group":
        help_ = f"`{part.id}` has {listed([node_id(part.id, g) for g, _ in part.groups], 'and')}"
    _report("CP229", approach, ends, message, help_)
