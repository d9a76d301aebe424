"""The ends of runs: what an address means, and on which nodes the conductors of a leg land."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from copperplate import units
from copperplate.findings import Finding, Related, finding
from copperplate.model import Part, Pole, Settings
from copperplate.resolve.legs import STROKES, Leg
from copperplate.resolve.names import Names
from copperplate.resolve.words import an, listed
from copperplate.syntax.tree import Word
from copperplate.text import nearest

Current = Literal["dc", "ac"]
AC_POLES: tuple[Pole, ...] = ("l", "l1", "l2", "n", "pe")
AC_KEYS: Mapping[int, tuple[Pole, ...]] = {2: ("l", "n"), 3: ("l", "n", "pe"), 4: ("l1", "l2", "n", "pe")}
DC_PAIR: tuple[Pole, ...] = ("pos", "neg")

_GROUPS: Mapping[str, tuple[tuple[str, Current], ...]] = {
    "battery": (("", "dc"),),
    "solar": (("", "dc"),),
    "alternator": (("", "dc"),),
    "inverter": (("", "dc"), ("ac-in", "ac"), ("ac-out", "ac")),
    "charger": (("", "dc"), ("ac-in", "ac")),
    "converter": (("in", "dc"), ("out", "dc")),
    "controller": (("", "dc"), ("pv", "dc")),
    "shore": (("ac-out", "ac"),),
    "generator": (("ac-out", "ac"),),
}
_EARTHED = ("inverter", "charger")
"""Kinds with an earth terminal of their own, `pe`."""


def groups(part: Part) -> tuple[tuple[str, Current], ...]:
    """The groups of terminals of a part that a pair or a cable lands on: (name, DC or AC)."""
    if part.kind == "load":
        return (("ac-in", "ac"),) if part.values.get("ac") else (("", "dc"),)
    if part.kind == "panel":
        return (("ac-in", "ac"),) if part.values.get("ac") else ()
    if part.kind == "bus":
        if part.values.get("ac"):
            return (("", "ac"),)
        return (("", "dc"),) if part.values.get("polarity") == "both" else ()
    return _GROUPS.get(part.kind, ())


@dataclass(frozen=True, slots=True)
class Target:
    """What an address names: one terminal with its pole (None: not known yet), a group of terminals, a way of a
    panel (`port` its number), or a part as a whole."""

    part: Part
    form: Literal["terminal", "group", "way", "whole"]
    port: str = ""
    pole: Pole | None = None


@dataclass(frozen=True, slots=True)
class Landing:
    """Where the conductors of a leg land: node by pole ("" for the only conductor of a single run). `address` is
    the end as readers write it, `way` the number where it is a way of a panel."""

    part: str
    address: str
    nodes: Mapping[str, str]
    way: int | None = None


def node_id(part: str, port: str) -> str:
    return f"{part}.{port}" if port else part


@dataclass
class Ends:
    """Everything that the ends of legs are understood with."""

    parts: Mapping[str, Part]
    settings: Settings
    names: Names
    findings: list[Finding]
    poled: dict[str, int] = field(default_factory=dict)
    """By junction or AC bar: the greatest number of conductors that reach it together (1: a single pole)."""
    ac_points: set[str] = field(default_factory=set)
    """Junctions in AC runs."""
    lines: dict[tuple[str, str], int] = field(default_factory=dict)
    """By part and AC group: the greatest number of conductors that reach it together."""

    def target(self, word: Word) -> Target | None:
        """What the address names; None with a finding where nothing carries it."""
        name, _, rest = word.text.partition(".")
        part = self.parts.get(name)
        if part is None:
            self._unknown(word, name)
            return None
        target = self._terminal(part, rest)
        if target is None:
            self._no_terminal(word, part, rest)
            self.names.touched.add(name)
        return target

    def _terminal(self, part: Part, rest: str) -> Target | None:
        kind = part.kind
        if kind == "earth":
            pole: Pole = "neg" if part.values.get("conducts") else "pe"
            return None if rest else Target(part, "terminal", "", pole)
        if kind == "junction":
            if rest in (*DC_PAIR, *AC_POLES):
                return Target(part, "terminal", rest, rest)  # type: ignore[arg-type]
            return None if rest else Target(part, "whole")
        if kind == "bus" and not groups(part):
            return self._bar(part, rest)
        if kind == "panel":
            found = self._panel(part, rest)
            if found is not None or not part.values.get("ac"):
                return found
        if not rest:
            return Target(part, "whole")
        for group, current in groups(part):
            if rest == group:
                return Target(part, "group", group)
            prefix = f"{group}." if group else ""
            if rest.startswith(prefix) and rest[len(prefix) :] in (DC_PAIR if current == "dc" else AC_POLES):
                return Target(part, "terminal", rest, rest[len(prefix) :])  # type: ignore[arg-type]
        if rest == "pe" and kind in _EARTHED:
            return Target(part, "terminal", "pe", "pe")
        mains = [group for group, current in groups(part) if current == "ac"]
        if rest in AC_POLES and len(mains) == 1:
            return Target(part, "terminal", f"{mains[0]}.{rest}" if mains[0] else rest, rest)  # type: ignore[arg-type]
        return None

    def _bar(self, part: Part, rest: str) -> Target | None:
        polarity = part.values.get("polarity")
        pole: Pole | None = "pos" if polarity == "positive" else "neg" if polarity == "negative" else None
        if rest and rest != pole:
            return None
        return Target(part, "terminal", "", pole)

    def _panel(self, part: Part, rest: str) -> Target | None:
        if not rest:
            return Target(part, "whole")
        if rest.isascii() and rest.isdigit() and len(rest) < 6:
            return Target(part, "way", str(int(rest)))
        if part.values.get("ac"):
            return None
        if rest == "feed":
            return Target(part, "terminal", "feed", "pos")
        if rest == "neg" and "return" not in part.values:
            return Target(part, "terminal", "neg", "neg")
        return None

    def _unknown(self, word: Word, name: str) -> None:
        kind = self.names.kinds.get(name)
        if name in self.names.unread:
            return
        if kind is not None and kind in ("route", "case", "device", "run"):
            message = f"a run ends at a component, and `{name}` is {an(kind)}"
            help_ = {
                "route": f"`via {name}` between two strokes where the run goes through it",
                "device": "end at a component, or put a `junction` there",
                "run": "put a `junction` where one run leaves another",
            }.get(kind, "end at a component")
            self.findings.append(finding("CP221", word.text, message, word.span, help=help_))
            return
        meant = nearest(name, self.parts)
        if meant is None:
            help_ = f"declare it, as in `load {name} 60 W`, or `junction {name}`"
        else:
            rest = word.text.partition(".")[2]
            help_ = f"`{meant}.{rest}`" if rest else f"`{meant}`"
            self.names.touched.add(meant)
        self.findings.append(finding("CP202", word.text, f"nothing is called `{name}`", word.span, help=help_))

    def _no_terminal(self, word: Word, part: Part, rest: str) -> None:
        related = (Related(part.span, f"the {part.kind}"),)
        if part.kind == "panel" and rest == "neg":
            message = f"`{part.id}` has no negative bar of its own: its circuits return to `{part.values['return']}`"
            help_ = f"end at `{part.values['return']}`, or take `return {part.values['return']}` out"
            self.findings.append(finding("CP222", word.text, message, word.span, related=related, help=help_))
            return
        known = self.terminals(part)
        meant = nearest(rest, known)
        message = f"{an(part.kind)} has no terminal `{rest}`"
        if not known:
            message, help_ = f"{an(part.kind)} has one point and no terminals", f"`{part.id}`"
        elif meant:
            help_ = f"`{part.id}.{meant}`"
        else:
            help_ = f"{listed([f'{part.id}.{port}' for port in known])}"
        self.findings.append(finding("CP222", word.text, message, word.span, related=related, help=help_))

    def terminals(self, part: Part) -> tuple[str, ...]:
        """The terminals of a part as a run may name them."""
        if part.kind == "junction":
            return ("pos", "neg")
        ports = tuple(port for port in part.ports if port)
        return (*ports, "1") if part.kind == "panel" else ports

    # --- landing ------------------------------------------------------------------------------------------

    def is_ac(self, target: Target) -> bool:
        """True where the end can only carry AC."""
        if target.part.kind == "junction":
            return target.part.id in self.ac_points
        kinds = {current for group, current in groups(target.part) if target.form != "group" or group == target.port}
        return kinds == {"ac"}

    def land(self, leg: Leg, side: int, target: Target, other: Target, current: Current, way: int | None) -> Landing | None:
        """The nodes that the conductors of `leg` land on at its near (0) or far (1) end; None with a finding."""
        word = leg.far if side else leg.near
        if leg.conductors == 1:
            return self._land_single(leg, side, word, target, other, way)
        if current == "dc":
            return self._land_pair(leg, side, word, target, way)
        return self._land_cable(leg, side, word, target, way)

    def _land_single(
        self, leg: Leg, side: int, word: Word, target: Target, other: Target, way: int | None
    ) -> Landing | None:
        part = target.part
        if target.form == "terminal":
            address = node_id(part.id, target.port) if target.port != "feed" else part.id
            return Landing(part.id, address, {"": node_id(part.id, target.port)})
        if part.kind == "panel" and (target.form == "way" or (not side and not leg.tapped[0])):
            return Landing(part.id, f"{part.id}.{way}", {"": f"{part.id}.{way}"}, way)
        if part.kind == "panel" and not part.values.get("ac"):
            return Landing(part.id, part.id, {"": f"{part.id}.feed"})
        if part.kind == "junction" and self.poled.get(part.id, 1) == 1:
            return Landing(part.id, part.id, {"": part.id})
        pole = self._pole_of(other, 1 - side)
        port = self._port_for(target, pole, side, leg)
        if port is None:
            self._ask_pole(word, target, side, leg)
            return None
        node = node_id(part.id, port)
        return Landing(part.id, node, {"": node})

    def _pole_of(self, other: Target, side: int) -> Pole | None:
        """The pole that the other end of a single conductor has by itself."""
        if other.pole is not None:
            return other.pole
        if other.part.kind == "panel":
            return "l" if other.part.values.get("ac") and other.form == "way" else "pos"
        return None

    def _port_for(self, target: Target, pole: Pole | None, side: int, leg: Leg) -> str | None:
        part = target.part
        if pole is None:
            return None
        if part.kind == "junction":
            return pole
        if pole == "pe" and part.kind in _EARTHED:
            return "pe"
        wanted: Current = "dc" if pole in DC_PAIR else "ac"
        fitting = [group for group, current in groups(part) if current == wanted]
        if target.form == "group":
            fitting = [group for group in fitting if group == target.port]
        if part.kind == "converter" and len(fitting) == 2:
            fitting = ["in" if side else "out"]
        if part.kind == "controller" and len(fitting) == 2:
            fitting = [""]
        if part.kind == "inverter" and len(fitting) == 2:
            fitting = ["ac-in" if side else "ac-out"]
        if len(fitting) != 1:
            return None
        return f"{fitting[0]}.{pole}" if fitting[0] else pole

    def _ask_pole(self, word: Word, target: Target, side: int, leg: Leg) -> None:
        part = target.part
        inside = [group for group, _ in groups(part)] if target.form == "whole" else [target.port]
        options = [
            node_id(word.text if target.form == "group" else part.id, f"{group}.{pole}" if group and target.form == "whole" else pole)
            for group in inside
            for pole in (DC_PAIR if dict(groups(part)).get(group, "dc") == "dc" else ("l", "n", "pe"))
        ] or [f"{part.id}.pos", f"{part.id}.neg"]
        message = f"`{word.text}` has more than one terminal, and a single conductor lands on one"
        help_ = f"{listed(options)}; a pair `-//-` lands on both"
        self.findings.append(finding("CP223", word.text, message, word.span, label="which one?", help=help_))

    def _land_pair(self, leg: Leg, side: int, word: Word, target: Target, way: int | None) -> Landing | None:
        part = target.part
        if part.kind == "panel" and not part.values.get("ac"):
            if target.form == "way" or (target.form == "whole" and not side and not leg.tapped[0]):
                nodes = {"pos": f"{part.id}.{way}", "neg": self._negative_bar(part)}
                return Landing(part.id, f"{part.id}.{way}", nodes, way)
            if target.form == "whole" or target.port == "feed":
                return Landing(part.id, part.id, {"pos": f"{part.id}.feed", "neg": self._negative_bar(part)})
        if target.form == "terminal":
            self._pair_on_one(leg, side, word, target)
            return None
        if part.kind == "junction":
            return Landing(part.id, part.id, {pole: f"{part.id}.{pole}" for pole in DC_PAIR})
        group = self._group(target, "dc", side, leg)
        if group is None:
            self._wrong_current(leg, word, target, "dc")
            return None
        base = node_id(part.id, group)
        return Landing(part.id, base, {pole: f"{base}.{pole}" for pole in DC_PAIR})

    def _negative_bar(self, panel: Part) -> str:
        bar = self.parts.get(panel.values.get("return", ""))
        if bar is None:
            return f"{panel.id}.neg"
        return f"{bar.id}.neg" if bar.values.get("polarity") == "both" else bar.id

    def _group(self, target: Target, current: Current, side: int, leg: Leg) -> str | None:
        """The group of terminals that a pair or cable lands on."""
        part = target.part
        fitting = [group for group, kind in groups(part) if kind == current]
        if target.form == "group":
            return target.port if target.port in fitting else None
        if len(fitting) == 2 and leg.tapped[side]:
            return None
        if len(fitting) < 2:
            return fitting[0] if fitting else None
        if part.kind == "controller":
            other = (leg.near if side else leg.far).text.partition(".")[0]
            return "pv" if other in self.parts and self.parts[other].kind == "solar" else ""
        return fitting[0] if side else fitting[1]

    def _land_cable(self, leg: Leg, side: int, word: Word, target: Target, way: int | None) -> Landing | None:
        part = target.part
        keys = AC_KEYS[leg.conductors]
        if target.form == "terminal":
            self._pair_on_one(leg, side, word, target)
            return None
        if part.kind == "junction":
            return Landing(part.id, part.id, self._cores(part.id, keys, self.poled.get(part.id, 3), leg, None))
        group = self._group(target, "ac", side, leg)
        if group is None:
            self._wrong_current(leg, word, target, "ac")
            return None
        base = node_id(part.id, group)
        at_way = part.kind == "panel" and (target.form == "way" or (not side and not leg.tapped[0]))
        lines = self.lines.get((part.id, group), 4 if self.settings.ac == "120/240" and part.kind == "panel" else 3)
        if at_way:
            if "l1" in keys and lines != 4:
                message = f"`{part.id}` is fed by one line, and `{STROKES[4]}` takes two"
                help_ = f"feed `{part.id}` by `{STROKES[4]}`, or leave the way by `{STROKES[3]}`"
                self.findings.append(finding("CP229", word.text, message, leg.stroke, help=help_))
                return None
            nodes = {key: f"{base}.{key}" for key in keys}
            nodes.update({key: f"{part.id}.{way}" + ("" if key == "l" else f".{key}") for key in keys if key[0] == "l"})
            return Landing(part.id, f"{part.id}.{way}", nodes, way)
        only = len(groups(part)) == 1
        return Landing(part.id, part.id if only else base, self._cores(base, keys, lines, leg, part))

    def _cores(self, base: str, keys: tuple[Pole, ...], lines: int, leg: Leg, part: Part | None) -> dict[str, str]:
        """Node by core. One line of a split supply is leg 1 or 2, as the load says."""
        nodes = {key: f"{base}.{key}" for key in keys}
        if lines == 4 and "l" in nodes:
            nodes["l"] = f"{base}.l{self.leg_of(leg) or 1}"
        return {**nodes}

    def leg_of(self, leg: Leg) -> int | None:
        """Leg 1 or 2 of a split supply, where the load at one end says it."""
        for word in (leg.far, leg.near):
            part = self.parts.get(word.text.partition(".")[0])
            if part is not None and part.values.get("leg") in (1, 2):
                return int(part.values["leg"])
        return None

    def _pair_on_one(self, leg: Leg, side: int, word: Word, target: Target) -> None:
        """A pair or cable that ends at a single terminal."""
        part = target.part
        stroke = STROKES[leg.conductors]
        related = (Related(part.span, f"the {part.kind}"),)
        if part.kind not in ("bus", "earth"):
            message = f"`{stroke}` is {_cores_in_words(leg.conductors)}, and `{word.text}` is one terminal"
            help_ = f"`{part.id}` takes all of them; `--` is one conductor"
            self.findings.append(finding("CP224", word.text, message, word.span, related=related, help=help_))
            return
        what = f"{part.values.get('polarity', 'single')} bar" if part.kind == "bus" else "single point"
        message = f"`{part.id}` is a {what}: {_cores_in_words(leg.conductors)} cannot land on it"
        self.findings.append(
            finding("CP224", word.text, message, word.span, related=related, help=self._two_singles(leg, side, part))
        )

    def _two_singles(self, leg: Leg, side: int, part: Part) -> str:
        """The repair: a conductor to this bar, and one from the other pole to its bar."""
        far = (leg.near if side else leg.far).text.partition(".")[0]
        positive = part.values.get("polarity") == "positive"
        wanted = "negative" if positive else "positive"
        bars = [p.id for p in self.parts.values() if p.kind == "bus" and p.values.get("polarity") == wanted]
        bar = bars[0] if bars else "a bar"
        ours, theirs = ("pos", "neg") if positive else ("neg", "pos")
        length = units.show(leg.length_m, "ft" if self.settings.units == "us" else "m") if leg.length_m else "..."
        if leg.conductors != 2 or part.kind == "earth":
            return "end at a component with as many poles"
        return f"two single runs: `{part.id} -- {length} -- {far}.{ours}` and `{far}.{theirs} -- {length} -- {bar}`"

    def _wrong_current(self, leg: Leg, word: Word, target: Target, current: Current) -> None:
        part = target.part
        stroke = STROKES[leg.conductors]
        related = (Related(part.span, f"the {part.kind}"),)
        both = [group for group, kind in groups(part) if kind == current]
        if len(both) == 2:
            message = f"`{part.id}` has an input and an output, and a run that passes through must name one"
            help_ = f"end the run at `{part.id}.{both[0]}` and begin another at `{part.id}.{both[1]}`"
            self.findings.append(finding("CP223", word.text, message, word.span, related=related, help=help_))
            return
        has = "AC" if current == "dc" else "DC"
        want = "DC" if current == "dc" else "AC"
        message = f"`{stroke}` carries {want} here, and `{word.text}` has {has} terminals only"
        if part.kind in ("bus", "earth") and current == "ac":
            message = f"`{stroke}` carries AC, and `{word.text}` is a {part.kind} of one pole"
        help_ = f"add `ac` to `{part.id}` if it is an AC {part.kind}" if part.kind in ("load", "panel", "bus") and want == "AC" else ""
        if target.form == "group":
            help_ = f"`{part.id}` has {listed([node_id(part.id, g) for g, _ in groups(part)], 'and')}"
        self.findings.append(finding("CP229", word.text, message, word.span, related=related, help=help_))


def _cores_in_words(conductors: int) -> str:
    return {2: "a pair", 3: "a cable of three cores", 4: "a cable of four cores"}.get(conductors, "one conductor")
